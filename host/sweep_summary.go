package main

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
)

// A sweepSummary counts results. Two of them added give that of both,
// whatever the order, so that a sweep in parts has the summary of the whole.
type sweepSummary struct {
	Rows    int64                 `json:"rows"`
	Status  [3]int64              `json:"status"`
	Numbers map[int]*sketch       `json:"numbers,omitempty"`
	Codes   map[int]map[int]int64 `json:"codes,omitempty"`
}

// A sketch counts numbers in bins 1/256 of a power of two wide and keeps the
// least of each, so that a quantile is right within 0.4 %, and exact where
// results come in steps as settings do.
type sketch struct {
	N    int64             `json:"n"`
	Max  float64           `json:"max"`
	Bins map[int32]tallied `json:"bins"`
}

type tallied struct {
	N     int64   `json:"n"`
	Least float64 `json:"least"`
}

func newSketch() *sketch { return &sketch{Bins: map[int32]tallied{}} }

// binShift leaves sign, exponent and eight bits of the mantissa.
const binShift = 52 - 8

func binOf(v float64) int32 { return int32(int64(math.Float64bits(v+0)) >> binShift) }

func (s *sketch) add(v float64, n int64) {
	if s.N == 0 || v > s.Max {
		s.Max = v
	}
	s.N += n
	s.tally(binOf(v), tallied{n, v})
}

func (s *sketch) tally(bin int32, t tallied) {
	old, ok := s.Bins[bin]
	if ok {
		t.N += old.N
		t.Least = min(t.Least, old.Least)
	}
	s.Bins[bin] = t
}

func (s *sketch) merge(o *sketch) {
	if o.N == 0 {
		return
	}
	if s.N == 0 || o.Max > s.Max {
		s.Max = o.Max
	}
	s.N += o.N
	for bin, t := range o.Bins {
		s.tally(bin, t)
	}
}

// quantiles returns the numbers that shares of them do not pass; that of 0 is
// the least.
func (s *sketch) quantiles(shares ...float64) (q []float64) {
	bins := make([]tallied, 0, len(s.Bins))
	for _, t := range s.Bins {
		bins = append(bins, t)
	}
	slices.SortFunc(bins, func(a, b tallied) int { return cmp.Compare(a.Least, b.Least) })
	for _, share := range shares {
		left := int64(math.Ceil(share * float64(s.N)))
		v := s.Max
		for _, t := range bins {
			if left -= t.N; left <= 0 {
				v = t.Least
				break
			}
		}
		q = append(q, v)
	}
	return q
}

// newSweepSummary makes room for outputs.
func newSweepSummary(outputs []sweepOutput) *sweepSummary {
	s := &sweepSummary{Numbers: map[int]*sketch{}, Codes: map[int]map[int]int64{}}
	for i := range outputs {
		if outputs[i].Codes != nil {
			s.Codes[i] = map[int]int64{}
		} else {
			s.Numbers[i] = newSketch()
		}
	}
	return s
}

// take counts rows, in place of what was counted before.
func (s *sweepSummary) take(g *sweepRows) {
	s.Rows, s.Status = int64(g.n), [3]int64{}
	for _, status := range g.status[:g.n] {
		s.Status[status]++
	}
	for c, k := range s.Numbers {
		clear(k.Bins)
		k.N, k.Max = 0, 0
		// Neighbours are often the same: count runs.
		run, last := int64(0), 0.0
		for i, v := range g.out[c][:g.n] {
			if g.status[i] != statusOK {
				continue
			}
			if run > 0 && v != last {
				k.add(last, run)
				run = 0
			}
			last = v
			run++
		}
		if run > 0 {
			k.add(last, run)
		}
	}
	for c, counts := range s.Codes {
		clear(counts)
		for i, v := range g.out[c][:g.n] {
			if g.status[i] == statusOK {
				counts[int(v)]++
			}
		}
	}
}

func (s *sweepSummary) merge(o *sweepSummary) {
	s.Rows += o.Rows
	for i := range s.Status {
		s.Status[i] += o.Status[i]
	}
	for c, k := range o.Numbers {
		s.Numbers[c].merge(k)
	}
	for c, counts := range o.Codes {
		for code, n := range counts {
			s.Codes[c][code] += n
		}
	}
}

// print writes the summary for a person.
func (s *sweepSummary) print(to io.Writer, outputs []sweepOutput) {
	line := fmt.Sprintf("%s points, %s ok", grouped(s.Rows), grouped(s.Status[statusOK]))
	for status, name := range statusNames {
		if n := s.Status[status]; status != statusOK && n > 0 {
			line += fmt.Sprintf(", %s %s", grouped(n), name)
		}
	}
	fmt.Fprintln(to, line)
	if s.Status[statusOK] == 0 {
		return
	}
	wide := 0
	for i := range outputs {
		wide = max(wide, width(outputs[i].Path))
	}
	if len(s.Numbers) > 0 {
		fmt.Fprintf(to, "%s  unit      least       5 %%    median      95 %%      most\n", left("", wide))
	}
	for i := range outputs {
		if k := s.Numbers[i]; k != nil && k.N > 0 {
			q := append(k.quantiles(0, 0.05, 0.5, 0.95), k.Max)
			l := left(outputs[i].Path, wide) + "  " + left(outputs[i].Unit, 4)
			for _, v := range q {
				l += right(fmt.Sprintf("%.4g", v), 10)
			}
			fmt.Fprintln(to, l)
		}
	}
	for i := range outputs {
		if counts := s.Codes[i]; counts != nil {
			codes := make([]int, 0, len(counts))
			for code := range counts {
				codes = append(codes, code)
			}
			slices.SortFunc(codes, func(a, b int) int {
				if counts[a] != counts[b] {
					return int(min(max(counts[b]-counts[a], -1), 1))
				}
				return a - b
			})
			var parts []string
			for _, code := range codes {
				parts = append(parts, fmt.Sprintf("%s %.3g %%", outputs[i].Codes[code], 100*float64(counts[code])/float64(s.Status[statusOK])))
			}
			fmt.Fprintln(to, left(outputs[i].Path, wide)+"  "+strings.Join(parts, ", "))
		}
	}
}

// grouped prints a count with commas between its thousands.
func grouped(n int64) string {
	s := fmt.Sprint(n)
	for at := len(s) - 3; at > 0; at -= 3 {
		s = s[:at] + "," + s[at:]
	}
	return s
}
