package main

import (
	"math"
	"strings"
)

// ladder draws the limits: one bar for each on a common axis of amps into the
// charger, shortest first. A solid bar is the limit's own ceiling at the asked
// confidence, what follows it faintly is that of the likeliest vehicle.
func (g *page) ladder(a answer) {
	type rung struct {
		name          string
		safe, likely  float64
		safeOK, likes bool
	}
	var rungs []rung
	var free []string
	names := 0
	for _, l := range a.rows("limits") {
		r := rung{name: spaced(l.text("limit"))}
		r.safe, r.safeOK = l.num("input_A")
		r.likely, r.likes = l.num("nominal_A")
		if !r.safeOK {
			free = append(free, r.name)
			continue
		}
		rungs = append(rungs, r)
		names = max(names, width(r.name))
	}
	if len(rungs) == 0 {
		return
	}
	most := 0.0
	for _, r := range rungs {
		most = max(most, r.safe)
		if r.likes {
			most = max(most, r.likely)
		}
	}
	near := max(a.number("nominal.input_A"), leastAxis/2)
	top := max(min(most, 2*near), rungs[0].safe, 1) // far limits need not be seen to scale
	step := tick(top, 6)

	const numbers = 13 // two columns of figures at the right
	before := 2 + names + 1
	cells := g.width - before - numbers
	if cells < 12 {
		cells = 12
	}
	at := func(v float64) int { return int(math.Round(v / top * float64(cells))) }
	mark := min(at(a.number("advice.draw_A")), cells-1)

	g.head("Ladder of limits: amps into the charger")
	axis := blank(before + cells)
	for v := 0.0; v <= top; v += step {
		s := fixed(v, 0)
		if from := before + at(v); from+width(s) <= len(axis) {
			copy(axis[from:], []rune(s))
		}
	}
	g.line(string(axis) + right("safe", 6) + right("likely", 7))
	advised := "charger off"
	if w := a.number("advice.output_W"); w > 0 {
		advised = "set here: " + fixed(w, 0) + " W out, " + amps(a.number("advice.draw_A")) + " in"
	}
	if before+mark+2+width(advised) <= g.width {
		g.line(string(blank(before+mark)) + "▼ " + advised)
	} else {
		g.line(right(advised+" ▼", before+mark+1))
	}
	for i, r := range rungs {
		bar := blank(cells)
		solid, faint := min(at(r.safe), cells), 0
		if r.safe > 0 && solid == 0 {
			solid = 1
		}
		likely := "never"
		if r.likes {
			likely = rungAmps(r.likely)
			faint = min(at(r.likely), cells)
		} else {
			faint = cells
		}
		for c := range bar {
			switch {
			case c < solid:
				bar[c] = '█'
			case c < faint:
				bar[c] = '░'
			}
		}
		if r.safe > top {
			bar[cells-1] = '►'
		}
		if mark >= 0 && bar[mark] != '►' {
			bar[mark] = '│'
		}
		lead := "  "
		if i == 0 {
			lead = "► "
		}
		l := lead + left(r.name, names) + " " + string(bar) + right(rungAmps(r.safe), 6) + right(likely, 7)
		if i == 0 {
			g.bolded(l)
		} else {
			g.line(l)
		}
	}
	share := fixed(100*a.number("ceiling.confidence"), 0) + " %"
	legend := "  ► the ceiling   █ safe for " + share + "   ░ up to the likeliest vehicle's own   │ set here"
	if width(legend) <= g.width {
		g.line(legend)
	} else {
		g.para("  ", legend)
	}
	if len(free) > 0 {
		g.para("  ", "No bar, for never reached or not described: "+strings.Join(free, ", ")+".")
	}
}

// leastAxis is what the axis shows at least of limits that lie so far, in A.
const leastAxis = 60

// tick returns a round step that parts a span into at most n.
func tick(span float64, n int) float64 {
	for step := 1.0; ; step *= 10 {
		for _, k := range [...]float64{1, 2, 5} {
			if span <= k*step*float64(n)+1e-9 {
				return k * step
			}
		}
	}
}

func blank(n int) []rune { return []rune(strings.Repeat(" ", max(n, 0))) }

// rungAmps writes amps within the width of their column.
func rungAmps(a float64) string {
	if a >= 9999.95 {
		return fixed(a/1000, 0) + "k"
	}
	return fixed(a, 1)
}
