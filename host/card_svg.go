package main

import (
	"bytes"
	"fmt"
	"html"
	"math"
)

// The picture of a card is laid out once, in mm on A6, and scaled to A5.
const (
	cardWide   = 105.0
	cardHigh   = 148.0
	cardMargin = 4.0
	cardLetter = 9 * 25.4 / 72 // 9 pt, the least that is read at arm's length
	cardPitch  = 1.12 * cardLetter
)

// svg is the card as a picture to print. It names usual fonts and takes the
// widest of them for where lines break, so that none runs over.
func (d *card) svg(paper string) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, `<title>%s</title>`+"\n", html.EscapeString(d.head()))
	text := func(x, y, size float64, anchor, weight, s string) {
		fmt.Fprintf(&b, `<text x="%s" y="%s" font-size="%s" text-anchor="%s" font-weight="%s">%s</text>`+"\n", mm(x), mm(y), mm(size), anchor, weight, html.EscapeString(s))
	}
	rule := func(x1, y1, x2, y2, thick float64) {
		fmt.Fprintf(&b, `<path d="M%s %sL%s %s" stroke="#000" stroke-width="%s"/>`+"\n", mm(x1), mm(y1), mm(x2), mm(y2), mm(thick))
	}
	const across = cardWide - 2*cardMargin
	y := cardMargin + 4.6
	para := func(s string) {
		for _, l := range wrapLetters(s, across/cardLetter) {
			text(cardMargin, y, cardLetter, "start", "normal", l)
			y += cardPitch
		}
		y += 0.8
	}

	text(cardMargin, y, 1.35*cardLetter, "start", "bold", cardTitle)
	text(cardWide-cardMargin, y, cardLetter, "end", "bold", d.date)
	if d.name != "" {
		for _, l := range wrapLetters(d.name, across/cardLetter/1.15) {
			y += cardPitch
			text(cardMargin, y, cardLetter, "start", "bold", l)
		}
	}
	y += 1.4
	rule(cardMargin, y, cardWide-cardMargin, y, 0.6)
	y += 1.2 + cardLetter
	para(d.rig)
	para("For: " + d.holdsFor)

	y -= cardPitch - 0.8
	const first, headHigh, rowHigh = 14.5, 5.0, 7.5
	columnWide := (across - first) / float64(len(d.ambientC))
	top := y
	centre := func(j int) float64 { return cardMargin + first + (float64(j)+0.5)*columnWide }
	text(cardMargin+first/2, y+3.8, cardLetter, "middle", "bold", cardCorner)
	for j, t := range d.ambientC {
		text(centre(j), y+3.8, cardLetter, "middle", "bold", number(t))
	}
	y += headHigh
	for i, cells := range d.cells {
		thick := 0.25
		if i == 0 {
			thick = 0.6
		}
		rule(cardMargin, y, cardWide-cardMargin, y, thick)
		text(cardMargin+first/2, y+rowHigh/2+1.1, cardLetter, "middle", "bold", number(d.engineRpm[i]))
		for j, c := range cells {
			if c.amps() == "" {
				text(centre(j), y+rowHigh/2+1.1, cardLetter, "middle", "bold", c.watts())
				continue
			}
			text(centre(j), y+3.3, cardLetter, "middle", "bold", c.watts())
			text(centre(j), y+6.7, cardLetter, "middle", "normal", c.amps())
		}
		y += rowHigh
	}
	for j := range len(d.ambientC) + 1 {
		x, thick := cardMargin+first+float64(j)*columnWide, 0.25
		if j == 0 {
			thick = 0.6
		}
		rule(x, top, x, y, thick)
	}
	rule(cardMargin, top, cardMargin, y, 0.25)
	rule(cardMargin, top, cardWide-cardMargin, top, 0.25)
	rule(cardMargin, y, cardWide-cardMargin, y, 0.25)

	y += 1.2 + cardLetter
	para(cardCaption + " " + cardReading)
	sure := cardSure(d.confidence)
	for _, s := range d.remarks {
		sure += " " + s
	}
	para(sure)
	cautions := ""
	for _, s := range cardCautions {
		cautions += "▲" + s + " "
	}
	para(cautions)
	b.WriteString("</svg>\n")
	// What is higher than the page would be made smaller, never cut.
	head := fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" width="%smm" height="%smm" viewBox="0 0 %s %s" font-family="'Liberation Sans', Arial, Helvetica, sans-serif" fill="#000">`+"\n"+
		`<rect width="100%%" height="100%%" fill="#fff"/>`+"\n",
		mm(cardPapers[paper][0]), mm(cardPapers[paper][1]), mm(cardWide), mm(max(cardHigh, y-cardPitch+1.5)))
	return append([]byte(head), b.Bytes()...)
}

func mm(v float64) string { return number(math.Round(1000*v) / 1000) }

// wrapLetters breaks a text into lines of at most n times the letters' size.
func wrapLetters(s string, n float64) (lines []string) {
	l, at := "", 0.0
	for _, word := range words(s) {
		w := 0.0
		for _, r := range word {
			w += letterWide(r)
		}
		switch {
		case l == "":
			l, at = word, w
		case at+0.32+w <= n:
			l, at = l+" "+word, at+0.32+w
		default:
			lines = append(lines, l)
			l, at = word, w
		}
	}
	return append(lines, l)
}

// letterWide is about how wide a letter is in the wider of the usual fonts, in
// its size. From memory.
func letterWide(r rune) float64 {
	switch {
	case r == 'm' || r == 'w' || r == 'M' || r == 'W' || r == '▲' || r == '%':
		return 0.92
	case r == 'i' || r == 'l' || r == 'j' || r == 't' || r == 'f' || r == '.' || r == ',' || r == ':' || r == ';' || r == '\'' || r == '·' || r == ' ':
		return 0.34
	case r >= 'A' && r <= 'Z':
		return 0.70
	}
	return 0.59
}
