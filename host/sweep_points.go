package main

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"spareamps/core"
)

// A sweepColumn is a column of input values.
type sweepColumn struct {
	field *core.Field // nil: which rig
	names []string    // of a choice or the rigs; nil for numbers
}

func (c *sweepColumn) name() string {
	if c.field == nil {
		return "rig"
	}
	return c.field.Path
}

// A sweepFactor is a set of columns that step together.
type sweepFactor struct {
	n       int64
	columns []int
	values  [][]float64 // by column of it
	texts   [][][]byte  // the same as written
	variant []int32     // by step: which combination of rig and choices
	ways    int32       // combinations there are
	firsts  []int64     // by combination: the first step that has it
}

// A sweepVariant is a rig with its choices made: all that columns of numbers
// do not say.
type sweepVariant struct {
	rig      int
	request  []byte
	conflict bool // no row of it can be answered
}

// sweepPoints are the points of a sweep, by number: the first factor is the
// slowest, samples are the fastest.
type sweepPoints struct {
	columns  []sweepColumn
	numbers  []int // those columns that are numbers: the columns of a block
	factors  []*sweepFactor
	samples  *sampler // nil: none
	sampled  []int    // its columns
	variants []sweepVariant
	n        int64
}

const (
	mostVariants = 10_000
	mostPoints   = 1 << 50
)

// newSweepPoints crosses factors and samples.
func newSweepPoints(rigs []string, groups [][]*sweepAxis, s *sampler) (*sweepPoints, error) {
	p := &sweepPoints{n: 1, samples: s}
	add := func(c sweepColumn) int {
		p.columns = append(p.columns, c)
		if c.names == nil {
			p.numbers = append(p.numbers, len(p.columns)-1)
		}
		return len(p.columns) - 1
	}
	if len(rigs) > 1 {
		f := &sweepFactor{n: int64(len(rigs)), columns: []int{add(sweepColumn{names: rigs})}, values: [][]float64{make([]float64, len(rigs))}}
		for i := range rigs {
			f.values[0][i] = float64(i)
		}
		p.factors = append(p.factors, f)
	}
	for _, group := range groups {
		f := &sweepFactor{n: int64(len(group[0].values))}
		for _, a := range group {
			c := sweepColumn{field: a.field}
			if a.field.Kind == core.Choice {
				c.names = a.field.Choices
			}
			f.columns = append(f.columns, add(c))
			f.values = append(f.values, a.values)
		}
		p.factors = append(p.factors, f)
	}
	if s != nil {
		for _, spread := range s.spreads {
			p.sampled = append(p.sampled, add(sweepColumn{field: spread.field}))
		}
	}
	for i := range p.columns {
		for j := range i {
			if p.columns[i].field != nil && p.columns[j].field != nil && p.columns[i].field.Path == p.columns[j].field.Path {
				return nil, &usageError{p.columns[i].name() + " is swept twice", "an input is in one --axis, column of --cases or --spread"}
			}
		}
	}
	ways := int64(1)
	for _, f := range p.factors {
		if p.n > mostPoints/f.n {
			return nil, &usageError{"more points than can be counted", ""}
		}
		p.n *= f.n
		p.prepare(f)
		if ways *= int64(f.ways); ways > mostVariants {
			return nil, &usageError{fmt.Sprintf("more than %d combinations of rigs and choices", mostVariants), "sweep them in several runs"}
		}
	}
	if s != nil {
		if p.n > mostPoints/s.n {
			return nil, &usageError{"more points than can be counted", ""}
		}
		p.n *= s.n
	}
	return p, nil
}

// prepare numbers the combinations of choices in a factor and writes its
// values once.
func (p *sweepPoints) prepare(f *sweepFactor) {
	f.variant = make([]int32, f.n)
	seen := map[string]int32{}
	for k, c := range f.columns {
		text := make([][]byte, 0, min(f.n, 4096))
		if f.n <= 4096 {
			for _, v := range f.values[k] {
				text = append(text, p.columns[c].append(nil, v))
			}
		}
		f.texts = append(f.texts, text)
	}
	for i := range f.variant {
		key := ""
		for k, c := range f.columns {
			if p.columns[c].names != nil {
				key += strconv.Itoa(int(f.values[k][i])) + ","
			}
		}
		id, ok := seen[key]
		if !ok {
			id = int32(len(seen))
			seen[key] = id
			f.firsts = append(f.firsts, int64(i))
		}
		f.variant[i] = id
	}
	f.ways = int32(max(len(seen), 1))
}

// append writes a value of a column.
func (c *sweepColumn) append(b []byte, v float64) []byte {
	if c.names != nil {
		return append(b, c.names[int(v)]...)
	}
	return strconv.AppendFloat(b, v, 'g', -1, 64)
}

// makeVariants makes the requests of all combinations. A combination whose
// parts do not go together is one whose rows say so, unless all are such.
func (p *sweepPoints) makeVariants(bases []core.Request, outputs ...string) *badInput {
	var first *badInput
	good := false
	total := int32(1)
	for _, f := range p.factors {
		total *= f.ways
	}
	p.variants = make([]sweepVariant, total)
	for id := range p.variants {
		v := &p.variants[id]
		rest := int32(id)
		steps := make([]int64, len(p.factors))
		for k := len(p.factors) - 1; k >= 0; k-- {
			f := p.factors[k]
			steps[k] = f.firsts[rest%f.ways]
			rest /= f.ways
		}
		set := func(q *core.Request, choices bool) {
			for k, f := range p.factors {
				for j, c := range f.columns {
					if field := p.columns[c].field; field != nil && !isUnknown(field) && (p.columns[c].names != nil) == choices {
						alternative(q, field.Path)
						_ = q.Set(field.Path, fieldText(field, f.values[j][steps[k]])) // checked when read
					}
				}
			}
		}
		for k, f := range p.factors {
			if p.columns[f.columns[0]].field == nil {
				v.rig = int(f.values[0][steps[k]])
			}
		}
		q := bases[v.rig]
		q.Rig.Alternator.Points = slices.Clone(q.Rig.Alternator.Points)
		set(&q, true)
		set(&q, false)
		for j, c := range p.sampled {
			field := p.columns[c].field
			if isUnknown(field) {
				continue
			}
			alternative(&q, field.Path)
			_ = q.Set(field.Path, number(p.samples.value(0, j, v.rig)))
		}
		v.request = q.JSON()
		if _, problem := core.NewBlock(v.request, p.names(outputs)); problem != nil {
			bad := refused(problem)
			if bad == nil {
				bad = &badInput{problems: []core.Problem{{Message: string(problem)}}}
			}
			for _, x := range bad.problems {
				if x.Code != "conflict" {
					return bad
				}
			}
			if v.conflict = true; first == nil {
				first = bad
			}
			continue
		}
		good = true
	}
	if good {
		return nil
	}
	return first
}

// names are the columns of a block as the core takes them.
func (p *sweepPoints) names(outputs []string) []byte {
	var b strings.Builder
	for _, c := range p.numbers {
		b.WriteString(p.columns[c].name() + "\n")
	}
	if len(p.numbers) == 0 {
		b.WriteString("\n")
	}
	b.WriteString("\n")
	for _, o := range outputs {
		b.WriteString(o + "\n")
	}
	return []byte(b.String())
}

// fill puts rows from..from+n into columns and variants.
func (p *sweepPoints) fill(from int64, n int, in [][]float64, steps [][]int64, variants []int32) {
	samples := int64(1)
	if p.samples != nil {
		samples = p.samples.n
	}
	digits := make([]int64, len(p.factors))
	outer, sample := from/samples, from%samples
	for k := len(digits) - 1; k >= 0; k-- {
		digits[k] = outer % p.factors[k].n
		outer /= p.factors[k].n
	}
	for i := range n {
		variant := int32(0)
		for k, f := range p.factors {
			d := digits[k]
			steps[k][i] = d
			variant = variant*f.ways + f.variant[d]
			for j, c := range f.columns {
				in[c][i] = f.values[j][d]
			}
		}
		variants[i] = variant
		for j, c := range p.sampled {
			in[c][i] = p.samples.value(sample, j, p.variants[variant].rig)
		}
		if sample++; sample < samples {
			continue
		}
		sample = 0
		for k := len(digits) - 1; k >= 0; k-- {
			if digits[k]++; digits[k] < p.factors[k].n {
				break
			}
			digits[k] = 0
		}
	}
}

// key is a hash of everything that decides the bytes of the results: what is
// asked, and what answers.
func (p *sweepPoints) key(format string, outputs []string, from provenance) string {
	sum := sha256.New()
	text, _ := json.Marshal(from)
	fmt.Fprintf(sum, "2 %s %s %q\n", text, format, outputs)
	for _, c := range p.columns {
		fmt.Fprintf(sum, "%s %q\n", c.name(), c.names)
	}
	var word [8]byte
	for _, f := range p.factors {
		fmt.Fprintf(sum, "%d %v\n", f.n, f.columns)
		for _, values := range f.values {
			for _, v := range values {
				binary.LittleEndian.PutUint64(word[:], math.Float64bits(v))
				sum.Write(word[:])
			}
		}
	}
	if s := p.samples; s != nil {
		fmt.Fprintf(sum, "%d %v %d\n", s.n, s.random, s.seed)
		for _, x := range s.spreads {
			fmt.Fprintf(sum, "%s %c %v %v %v %v\n", x.field.Path, x.law, x.a, x.b, x.centre, x.wide)
		}
	}
	for i := range p.variants {
		fmt.Fprintf(sum, "%s\n", p.variants[i].request)
	}
	return hex.EncodeToString(sum.Sum(nil))[:32]
}
