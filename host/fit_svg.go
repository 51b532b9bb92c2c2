package main

import (
	"fmt"
	"html"
	"strings"
)

// fitSVG draws a fit: the ceiling before and after, and how far each reading
// lies from what the likeliest vehicle shows. What it shows is in the table of
// the answer as well; nothing is told by colour alone.
func fitSVG(a answer) []byte {
	const (
		wide, row  = 720.0, 22.0
		left, axis = 210.0, 420.0
	)
	var b strings.Builder
	y := 0.0
	text := func(x float64, anchor, weight, s string) {
		fmt.Fprintf(&b, `<text x="%.1f" y="%.1f" text-anchor="%s" font-weight="%s">%s</text>`+"\n", x, y, anchor, weight, html.EscapeString(s))
	}
	y += 24
	text(16, "start", "700", "Ceiling before and after, amps into the charger")
	most := 1.0
	for _, m := range a.rows("moments") {
		most = max(most, m.number("before_A"), m.number("after_A"))
	}
	for _, m := range a.rows("moments") {
		y += row
		text(left-10, "end", "400", fixed(m.number("engine_rpm"), 0)+" rpm, "+fixed(m.number("speed_kmh"), 0)+" km/h, "+fixed(m.number("ambient_C"), 0)+" °C")
		for i, path := range []string{"before_A", "after_A"} {
			fill := `fill="none" stroke="#222"`
			if i == 1 {
				fill = `fill="#222"`
			}
			fmt.Fprintf(&b, `<rect x="%.1f" y="%.1f" width="%.1f" height="7" %s/>`+"\n", left, y-14+9*float64(i), axis*m.number(path)/most, fill)
		}
		text(left+axis+8, "start", "400", fixed(m.number("before_A"), 1)+" → "+fixed(m.number("after_A"), 1)+" A")
	}
	y += row
	text(left, "start", "400", "outlined: before; filled: after")

	y += 1.6 * row
	text(16, "start", "700", "Readings against the likeliest vehicle, in deviations")
	y += row
	at := func(off float64) float64 { return left + axis*(min(max(off, -4), 4)+4)/8 }
	for _, tick := range []float64{-4, -2, 0, 2, 4} {
		text(at(tick), "middle", "400", fixed(tick, 0))
	}
	rows := a.rows("readings")
	if len(rows) > 200 {
		rows = rows[:200]
	}
	top := y + 6
	for _, r := range rows {
		y += row
		text(left-10, "end", "400", "row "+fixed(r.number("row")+1, 0)+", "+spaced(r.text("reading")))
		x := at(r.number("off"))
		if r.text("outlier") == "yes" {
			fmt.Fprintf(&b, `<path d="M%.1f %.1fl10 10m0 -10l-10 10" stroke="#222" stroke-width="2.5"/>`+"\n", x-5, y-10)
			text(left+axis+8, "start", "700", "outlier")
		} else {
			fmt.Fprintf(&b, `<circle cx="%.1f" cy="%.1f" r="5" fill="#222"/>`+"\n", x, y-5)
		}
	}
	fmt.Fprintf(&b, `<path d="M%.1f %.1fV%.1f" stroke="#222" stroke-dasharray="3 3"/>`+"\n", at(0), top, y+4)
	y += 1.4 * row
	text(16, "start", "400", "An estimate, not a guarantee: the makers' ratings and local codes win.")
	y += 16
	return []byte(fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %.0f %.0f" width="%.0f" height="%.0f" font-family="'Liberation Sans', Arial, Helvetica, sans-serif" font-size="13" fill="#222"><rect width="100%%" height="100%%" fill="#fff"/>`+"\n", wide, y, wide, y) + b.String() + "</svg>\n")
}
