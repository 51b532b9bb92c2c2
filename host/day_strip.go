package main

import (
	"math"
	"strings"
)

// stripDays is for how many days the strips show anything of a day.
const stripDays = 8

// strips draws the day as rows of blocks: time to the right, a block's height
// from nothing to the figure at the row's end.
func (g *page) strips(a answer, days float64) {
	at := a.rows("series.at_min")
	if len(at) == 0 || days > stripDays {
		return
	}
	const before, after = 18, 12
	cells := 48
	if before+cells+after > g.width {
		cells = 24
	}
	begin := at[0].value.(float64)
	if len(at) > 1 {
		begin -= at[1].value.(float64) - begin
	}
	minutes := days * 1440 / float64(cells)
	s := strip{g: g, cells: cells, minutes: minutes, begin: begin, at: at, a: a}

	each := number(minutes) + " minutes"
	if minutes >= 60 {
		each = strings.TrimSuffix(strings.TrimSuffix(fixed(minutes/60, 1), "0"), ".") + " h"
	}
	g.head("The day, " + each + " to a column")
	g.line(strings.Repeat(" ", before) + s.ruler(days))
	g.line(left("  charger", before) + s.directions())
	most := 0.0
	for _, v := range a.rows("stretches") {
		most = max(most, v.number("allowed_W"))
	}
	if most > 0 {
		s.row("  charging", "charge_W", most, " "+fixed(most, 0)+" W")
		s.row("  allowed", "allowed_W", most, " "+fixed(most, 0)+" W")
	}
	if top := s.top("sun_W"); top >= 1 {
		s.row("  sun", "sun_W", top, " "+fixed(top, 0)+" W")
	}
	if top := s.top("house_W"); top >= 1 {
		s.row("  house loads", "house_W", top, " "+fixed(top, 0)+" W")
	}
	s.row("  house battery", "house_soc", 1, " 100 %")
	s.row("  starter battery", "starter_soc", 1, " 100 %")
	heights := "height up to the figure at the row's end"
	if g.ascii {
		heights = "digits are tenths of the figure at the row's end, # all of it"
	}
	g.para("  ", "C charge, F feed the vehicle's side, . off; "+heights+".")
}

// A strip draws rows of one day.
type strip struct {
	g       *page
	cells   int
	minutes float64 // of a cell
	begin   float64
	at      []answer // end of each step of the series
	a       answer
}

// means returns the mean of a column in each cell.
func (s *strip) means(name string) []float64 {
	sum, n := make([]float64, s.cells), make([]float64, s.cells)
	step := s.begin
	for i, v := range s.a.rows("series." + name) {
		end := s.at[i].value.(float64)
		c := min(int((step+end-2*s.begin)/2/s.minutes), s.cells-1)
		x, _ := v.value.(float64)
		sum[c] += x
		n[c]++
		step = end
	}
	last := 0.0
	for c := range sum {
		if n[c] > 0 {
			last = sum[c] / n[c]
		}
		sum[c] = last
	}
	return sum
}

func (s *strip) top(name string) (top float64) {
	for _, v := range s.means(name) {
		top = max(top, v)
	}
	return top
}

func (s *strip) row(label, name string, top float64, end string) {
	var b strings.Builder
	for _, v := range s.means(name) {
		b.WriteRune(s.g.block(v / top))
	}
	s.g.line(left(label, 18) + b.String() + end)
}

// block is a share as a block of that height.
func (g *page) block(share float64) rune {
	switch {
	case !(share > 0.005):
		return '.'
	case g.ascii && share >= 0.95:
		return '#'
	case g.ascii:
		return rune('0' + int(share*10))
	}
	eighths := int(math.Round(share * 8))
	return []rune("▁▁▂▃▄▅▆▇█")[min(max(eighths, 0), 8)]
}

// ruler names hours, or days where there are several.
func (s *strip) ruler(days float64) string {
	line := blank(s.cells + 2)
	put := func(c int, text string) {
		if c+len(text) <= len(line) {
			copy(line[c:], []rune(text))
		}
	}
	if days > 1 {
		free := 0
		for d := 0.0; d < days; d++ {
			if c := int(d * 1440 / s.minutes); c >= free {
				text := number(d + 1)
				put(c, text)
				free = c + len(text) + 1
			}
		}
		return string(line)
	}
	for c := range s.cells {
		from := s.begin + float64(c)*s.minutes
		// The cell in which a third hour falls.
		mark := math.Ceil(from/180-1e-9) * 180
		if mark < from+s.minutes-1e-9 {
			put(c, clock(mark)[:2])
		}
	}
	return string(line)
}

// directions says for each cell what the charger is set to at its middle.
func (s *strip) directions() string {
	cells := make([]rune, s.cells)
	letter := map[string]rune{"charge": 'C', "feed": 'F', "off": '.'}
	handovers := s.a.rows("handovers")
	charges := s.means("charge_W")
	for c := range cells {
		cells[c] = '.'
		if len(handovers) == 0 { // by itself
			if charges[c] > 0 {
				cells[c] = 'C'
			}
			continue
		}
		middle := s.begin + (float64(c)+0.5)*s.minutes
		for _, h := range handovers {
			if s.time(h) <= middle {
				cells[c] = letter[h.text("to")]
			}
		}
	}
	return string(cells)
}

// time is when a hand-over is due, in minutes since midnight of the first day.
func (s *strip) time(h answer) float64 {
	hour, minute, _ := strings.Cut(h.text("at"), ":")
	at := 60*decimalOr0(hour) + decimalOr0(minute)
	start := s.begin + (h.number("day")-1)*1440
	for at < start-0.5 {
		at += 1440
	}
	return at
}

func decimalOr0(text string) float64 { v, _ := decimal(text); return v }
