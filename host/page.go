package main

import (
	"bytes"
	"strconv"
	"strings"
	"unicode/utf8"
)

// A page lays text out for a person, in at most width columns.
type page struct {
	to    *bytes.Buffer
	width int
	bold  bool // a terminal that takes it
	ascii bool
}

const (
	pageMost  = 80
	pageLeast = 60
)

// newPage fits a page to what the program writes to.
func (p *program) newPage() page {
	g := page{to: &p.data, width: pageMost, ascii: p.ascii}
	width := p.width
	if n, err := strconv.Atoi(p.env("COLUMNS")); err == nil && n > 0 {
		width = n
	}
	if width > 0 {
		g.width = max(pageLeast, min(width, pageMost))
	}
	toTerminal := p.terminal && (p.outFile == "" || p.outFile == "-")
	g.bold = toTerminal && p.env("NO_COLOR") == "" && p.env("TERM") != "dumb"
	for _, name := range []string{"LC_ALL", "LC_CTYPE", "LANG"} {
		if v := p.env(name); v != "" {
			g.ascii = g.ascii || v == "C" || v == "POSIX"
			break
		}
	}
	return g
}

// plain replaces what lies outside ASCII where that is asked for.
func (g *page) plain(s string) string {
	if !g.ascii {
		return s
	}
	s = asciiText.Replace(s)
	return strings.Map(func(r rune) rune {
		if r >= utf8.RuneSelf {
			return '?'
		}
		return r
	}, s)
}

var asciiText = strings.NewReplacer(
	"°", "", "²", "2", "Ω", "ohm", "·", ".", "−", "-", "±", "+-", "≤", "<=", "≥", ">=",
	"█", "#", "░", "-", "│", "|", "▼", "v", "►", ">", "…", "...", "–", "-", "’", "'",
)

// line writes a line as it is.
func (g *page) line(s string) {
	g.to.WriteString(strings.TrimRight(g.plain(s), " "))
	g.to.WriteByte('\n')
}

// head begins a part.
func (g *page) head(s string) {
	g.to.WriteByte('\n')
	g.strong(s)
}

// strong writes lines that are to be seen first.
func (g *page) strong(s string) {
	for _, l := range wrap(g.plain(s), g.width) {
		g.bolded(l)
	}
}

// bolded writes one such line as it is.
func (g *page) bolded(l string) {
	if g.bold {
		l = "\x1b[1m" + l + "\x1b[0m"
	}
	g.line(l)
}

// para writes a paragraph; its first line begins with lead, the others are
// indented as far.
func (g *page) para(lead, s string) {
	for i, l := range wrap(g.plain(s), g.width-width(lead)) {
		if i > 0 {
			lead = strings.Repeat(" ", width(lead))
		}
		g.line(lead + l)
	}
}

// wrap breaks a text into lines of at most n columns where words end.
func wrap(s string, n int) (lines []string) {
	l := ""
	for _, word := range words(s) {
		switch {
		case l == "":
			l = word
		case width(l)+1+width(word) <= n:
			l += " " + word
		default:
			lines = append(lines, l)
			l = word
		}
	}
	return append(lines, l)
}

// words splits a text where a line may break: never between a number and its
// unit.
func words(s string) (list []string) {
	for _, w := range strings.Fields(s) {
		if n := len(list); n > 0 && isUnit(w) && endsInDigit(list[n-1]) {
			list[n-1] += " " + w
			continue
		}
		list = append(list, w)
	}
	return list
}

func isUnit(w string) bool {
	w = strings.TrimRight(w, ".,;:)")
	for _, u := range [...]string{"A", "W", "V", "°C", "%", "K", "m", "mm", "mm²", "rpm", "Ah", "Wh", "kWh", "L", "mΩ", "min", "minutes", "km/h"} {
		if w == u {
			return true
		}
	}
	return false
}

func endsInDigit(w string) bool {
	last := w[len(w)-1]
	return last >= '0' && last <= '9'
}

// width counts columns: every character printed here takes one.
func width(s string) int { return utf8.RuneCountInString(s) }

// left and right pad to n columns.
func left(s string, n int) string { return s + strings.Repeat(" ", max(0, n-width(s))) }

func right(s string, n int) string { return strings.Repeat(" ", max(0, n-width(s))) + s }

// sentence gives a remark of the core a capital and a full stop.
func sentence(s string) string {
	if s == "" {
		return ""
	}
	return strings.ToUpper(s[:1]) + s[1:] + "."
}

// spaced turns a code into words.
func spaced(code string) string { return strings.ReplaceAll(code, "_", " ") }

// fixed prints a number with so many decimals, without the sign of a zero.
func fixed(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return s
}

// percent prints a share.
func percent(share float64) string { return fixed(100*share, 0) + " %" }

// amps prints a current: a tenth below 10 A, where it matters.
func amps(v float64) string {
	if v < 9.95 {
		return fixed(v, 1) + " A"
	}
	return fixed(v, 0) + " A"
}

// number prints a number as short as it is.
func number(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
