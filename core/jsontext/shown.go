package jsontext

import "unicode/utf8"

// MaxProblems bounds a report; whoever has fifty problems does not read a fifty-first.
const MaxProblems = 50

// MaxShown bounds what a problem repeats of the input, in bytes.
const MaxShown = 60

// Shown makes foreign text fit to repeat: one line, at most max characters and
// MaxShown bytes, nothing that moves a terminal's cursor or turns its writing.
func Shown(text []byte, max int) []byte {
	var b []byte
	for n := 0; len(text) > 0; n++ {
		c, size := utf8.DecodeRune(text)
		if c < 0x20 || c >= 0x7f && c < 0xa0 || c == 0x2028 || c == 0x2029 ||
			c >= 0x200b && c <= 0x200f || c >= 0x202a && c <= 0x202e || c >= 0x2066 && c <= 0x2069 || c == 0xfeff {
			c = utf8.RuneError
		}
		if n == max || len(b)+utf8.RuneLen(c) > MaxShown {
			break
		}
		b = utf8.AppendRune(b, c)
		text = text[size:]
	}
	return b
}
