package main

import (
	"slices"
	"strconv"
	"strings"
)

// learned prints a fit.
func (g *page) learned(a answer) {
	for i, s := range a.rows("says") {
		text := sentence(s.text("text"))
		switch {
		case i == 0:
			g.strong(text)
		case s.text("code") == "outlier":
			g.para("! ", text)
		case s.text("code") != "next":
			g.para("", text)
		}
	}
	g.head("Ceiling before and after: amps into the charger, advised setting")
	g.line("  engine    road     air" + right("before", 18) + right("after", 18))
	for _, m := range a.rows("moments") {
		g.line(right(fixed(m.number("engine_rpm"), 0)+" rpm", 10) + right(fixed(m.number("speed_kmh"), 0)+" km/h", 8) + right(fixed(m.number("ambient_C"), 0)+" °C", 7) +
			right(fixed(m.number("before_A"), 1)+" A", 8) + right(fixed(m.number("before_W"), 0)+" W", 8) +
			right(fixed(m.number("after_A"), 1)+" A", 10) + right(fixed(m.number("after_W"), 0)+" W", 8))
	}
	g.residuals(a)
	g.parameters(a)
	headed := false
	for _, n := range a.rows("next") {
		if !headed {
			g.head("What to read next: expected gain at the moment asked")
			headed = true
		}
		g.para("  "+right("+"+fixed(n.number("gain_A"), 1)+" A", 8)+"  ", spaced(n.text("reading"))+": "+n.text("how"))
	}
	g.remarks(a)
	g.cautions(a)
}

// residualsMost is how many readings are printed; of more, the worst.
const residualsMost = 24

// residuals draws how far each reading lies from what is expected.
func (g *page) residuals(a answer) {
	rows := a.rows("readings")
	off := func(r answer) float64 {
		v := r.number("off")
		if v < 0 {
			return -v
		}
		return v
	}
	head := "Readings beside what the likeliest vehicle shows"
	if len(rows) > residualsMost {
		head += ": the " + strconv.Itoa(residualsMost) + " worst of " + strconv.Itoa(len(rows))
		slices.SortStableFunc(rows, func(a, b answer) int {
			switch {
			case off(a) > off(b):
				return -1
			case off(a) < off(b):
				return 1
			}
			return 0
		})
		rows = rows[:residualsMost]
	}
	g.head(head)
	g.line("   row reading            read expected   off  -4   0   +4")
	for _, r := range rows {
		decimals := 1
		if u := r.text("unit"); u == "V" || u == "1" {
			decimals = 2
		}
		strip := []rune("····┼····")
		at := int(4.5 + max(-4, min(4, r.number("off"))))
		strip[at] = '●'
		mark := " "
		if r.text("outlier") == "yes" {
			mark = "!"
		}
		g.line(mark + right(fixed(r.number("row")+1, 0), 5) + " " + left(spaced(r.text("reading")), 15) + right(fixed(r.number("value"), decimals), 8) +
			right(fixed(r.number("expected"), decimals), 9) + right(signed(r.number("off")), 6) + "  " + string(strip))
	}
	g.line("  off: in deviations of one reading; !: an outlier")
}

func signed(v float64) string {
	if v <= -0.05 {
		return "-" + fixed(-v, 1)
	}
	return "+" + fixed(max(v, 0), 1)
}

// parameters prints what became of the unknowns.
func (g *page) parameters(a answer) {
	g.head("What was learned, in spreads of what was assumed: mean ± spread; 0 ± 1 is nothing")
	none := []string{}
	for _, e := range a.rows("parameters") {
		if e.text("informed") != "yes" {
			none = append(none, spaced(e.text("parameter")))
			continue
		}
		g.para(g.plain("  "+left(spaced(e.text("parameter")), 19)+right(signed(e.number("mean")), 5)+" ± "+fixed(e.number("spread"), 2)+"  "), e.text("meaning"))
	}
	if len(none) > 0 {
		g.para("  ", "Nothing learned of: "+strings.Join(none, ", ")+".")
	}
}
