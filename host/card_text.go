package main

import "strings"

// card prints a card as text.
func (g *page) card(d *card) {
	g.strong(d.head())
	if d.rig != "" {
		g.para("", d.rig)
	}
	g.para("", "For: "+d.holdsFor)
	g.line("")
	const first, column = 7, 12
	row := func(head string, cells []string) string {
		s := right(head, first)
		for _, c := range cells {
			s += right(c, column)
		}
		return s
	}
	var heads []string
	for _, t := range d.ambientC {
		heads = append(heads, number(t)+" °C")
	}
	g.bolded(g.plain(row(cardCorner, heads)))
	for i, cells := range d.cells {
		var texts []string
		for _, c := range cells {
			texts = append(texts, strings.TrimSpace(left(c.watts(), 6)+right(c.amps(), 5)))
		}
		g.line(row(number(d.engineRpm[i]), texts))
	}
	g.line("")
	g.para("", cardCaption)
	g.para("", cardReading)
	g.para("", cardSure(d.confidence))
	for _, s := range d.remarks {
		g.para("  - ", s)
	}
	g.head("Cautions")
	for _, s := range cardCautions {
		g.para("  - ", s)
	}
}

// head is the title of a card, with the name and the day.
func (d *card) head() string {
	s := cardTitle
	if d.name != "" {
		s += " · " + d.name
	}
	return s + " · " + d.date
}
