package jsontext

import (
	"unicode/utf8"
)

const (
	MaxBytes = 1 << 20
	MaxDepth = 8 // the deepest request needs 5
)

// A Reader takes JSON text apart, strictly by RFC 8259. It stops at the first
// fault, which it keeps in fault and at; every method then returns ok false.
type Reader struct {
	Text    []byte
	pos     int
	depth   int
	Fault   string
	at      int
	scratch []byte // the last text that held an escape
}

//go:noinline
func (r *Reader) Fail(fault string) bool {
	if r.Fault == "" {
		r.Fault, r.at = fault, r.pos
	}
	return false
}

// Start refuses what can be seen before reading.
func (r *Reader) Start() bool {
	if utf8.Valid(r.Text) {
		if len(r.Text) >= 3 && string(r.Text[:3]) == "\ufeff" {
			return r.Fail("the text starts with a byte order mark; save it as utf-8 without one")
		}
		return true
	}
	for r.pos < len(r.Text) {
		c, size := utf8.DecodeRune(r.Text[r.pos:])
		if c == utf8.RuneError && size == 1 {
			break
		}
		r.pos += size
	}
	return r.Fail("not utf-8 text")
}

// End refuses anything behind the value.
func (r *Reader) End() bool {
	if r.Peek() != 0 || r.pos < len(r.Text) {
		return r.Fail("more text behind the end")
	}
	return true
}

// Peek skips white space and returns the next byte, 0 at the end.
func (r *Reader) Peek() byte {
	for ; r.pos < len(r.Text); r.pos++ {
		switch c := r.Text[r.pos]; c {
		case ' ', '\n', '\t', '\r':
		default:
			return c
		}
	}
	return 0
}

// Open enters an object or list.
func (r *Reader) Open() bool {
	if r.depth == MaxDepth {
		return r.Fail("nested deeper than 8 levels")
	}
	r.depth++
	r.pos++
	return true
}

// Next steps to the next member of an object or list, which ends with close.
func (r *Reader) Next(first bool, close byte) (more, ok bool) {
	switch c := r.Peek(); {
	case c == close:
		r.pos++
		r.depth--
		return false, true
	case first:
		return true, true
	case c == ',':
		r.pos++
		if r.Peek() == close {
			return false, r.Fail("comma without a value behind it")
		}
		return true, true
	}
	if close == '}' {
		return false, r.Unexpected("a comma or }")
	}
	return false, r.Unexpected("a comma or ]")
}

// Key reads the next key of an object, with its colon.
func (r *Reader) Key(first bool) (key []byte, more, ok bool) {
	if more, ok = r.Next(first, '}'); !more {
		return nil, false, ok
	}
	if r.Peek() != '"' {
		return nil, false, r.Unexpected("a key in double quotes")
	}
	if key, ok = r.String(); !ok {
		return nil, false, false
	}
	if r.Peek() != ':' {
		return nil, false, r.Unexpected("a colon behind the key")
	}
	r.pos++
	return key, true, true
}

func (r *Reader) Unexpected(want string) bool {
	if r.pos >= len(r.Text) {
		return r.Fail("the text ends where " + want + " is due")
	}
	return r.Fail(want + " is due, not " + string(Shown(r.Text[r.pos:], 1)))
}

// Skip reads a value of any kind and drops it.
func (r *Reader) Skip() bool {
	switch c := r.Peek(); c {
	case '{':
		if !r.Open() {
			return false
		}
		for first := true; ; first = false {
			if _, more, ok := r.Key(first); !more {
				return ok
			}
			if !r.Skip() {
				return false
			}
		}
	case '[':
		if !r.Open() {
			return false
		}
		for first := true; ; first = false {
			if more, ok := r.Next(first, ']'); !more {
				return ok
			}
			if !r.Skip() {
				return false
			}
		}
	case '"':
		_, ok := r.String()
		return ok
	case 't':
		return r.Word("true")
	case 'f':
		return r.Word("false")
	case 'n':
		return r.Word("null")
	default:
		_, ok := r.Number()
		return ok
	}
}

func (r *Reader) Word(word string) bool {
	if rest := r.Text[r.pos:]; len(rest) >= len(word) && string(rest[:len(word)]) == word {
		r.pos += len(word)
		return true
	}
	return r.noValue()
}

func (r *Reader) noValue() bool {
	n := 0
	for rest := r.Text[r.pos:]; n < len(rest) && (rest[n]|0x20 >= 'a' && rest[n]|0x20 <= 'z'); n++ {
	}
	if n == 0 {
		return r.Unexpected("a value")
	}
	return r.Fail(string(Shown(r.Text[r.pos:r.pos+n], 20)) + " is no json value")
}

// Number reads a number and returns its text.
func (r *Reader) Number() (text []byte, ok bool) {
	t, i := r.Text, r.pos
	if i < len(t) && t[i] == '-' {
		i++
	}
	switch {
	case i < len(t) && t[i] == '0':
		i++
		if i < len(t) && IsDigit(t[i]) {
			return nil, r.Fail("number with a leading zero")
		}
	case i < len(t) && IsDigit(t[i]):
		i = Digits(t, i)
	case i == r.pos:
		return nil, r.noValue()
	default:
		return nil, r.Fail("minus sign without a number")
	}
	if i < len(t) && t[i] == '.' {
		i++
		if i == len(t) || !IsDigit(t[i]) {
			return nil, r.Fail("number without a digit behind its point")
		}
		i = Digits(t, i)
	}
	if i < len(t) && t[i]|0x20 == 'e' {
		i++
		if i < len(t) && (t[i] == '+' || t[i] == '-') {
			i++
		}
		if i == len(t) || !IsDigit(t[i]) {
			return nil, r.Fail("number without a digit in its exponent")
		}
		i = Digits(t, i)
	}
	text = t[r.pos:i]
	r.pos = i
	return text, true
}

func IsDigit(c byte) bool { return c >= '0' && c <= '9' }

func Digits(t []byte, i int) int {
	for i < len(t) && IsDigit(t[i]) {
		i++
	}
	return i
}

// String reads a text in double quotes. What it returns holds until the next call.
func (r *Reader) String() (s []byte, ok bool) {
	r.pos++
	start := r.pos
	escaped := false
	for r.pos < len(r.Text) {
		switch c := r.Text[r.pos]; {
		case c == '"':
			s = r.Text[start:r.pos]
			if escaped {
				r.scratch = append(r.scratch, s...)
				s = r.scratch
			}
			r.pos++
			return s, true
		case c < 0x20:
			return nil, r.Fail("control character in a text")
		case c == '\\':
			if !escaped {
				escaped = true
				r.scratch = r.scratch[:0]
			}
			r.scratch = append(r.scratch, r.Text[start:r.pos]...)
			if !r.escape() {
				return nil, false
			}
			start = r.pos
		default:
			r.pos++
		}
	}
	return nil, r.Fail("text without a closing quote")
}

// escape reads one escape sequence into scratch.
func (r *Reader) escape() bool {
	if r.pos+1 >= len(r.Text) {
		return r.Fail("text without a closing quote")
	}
	c := r.Text[r.pos+1]
	switch c {
	case '"', '\\', '/':
	case 'b':
		c = '\b'
	case 'f':
		c = '\f'
	case 'n':
		c = '\n'
	case 'r':
		c = '\r'
	case 't':
		c = '\t'
	case 'u':
		u, ok := r.hex4()
		if !ok {
			return r.Fail("\\u without four hexadecimal digits")
		}
		if u >= 0xd800 && u <= 0xdfff {
			low, ok := r.hex4At(r.pos + 6)
			if u > 0xdbff || !ok || low < 0xdc00 || low > 0xdfff {
				return r.Fail("half of a surrogate pair")
			}
			u = 0x10000 + (u-0xd800)<<10 + (low - 0xdc00)
			r.pos += 6
		}
		r.scratch = utf8.AppendRune(r.scratch, u)
		r.pos += 6
		return true
	default:
		return r.Fail("unknown escape in a text")
	}
	r.scratch = append(r.scratch, c)
	r.pos += 2
	return true
}

func (r *Reader) hex4() (rune, bool) { return r.hex4At(r.pos) }

// hex4At reads a \uXXXX at pos.
func (r *Reader) hex4At(pos int) (u rune, ok bool) {
	if pos+6 > len(r.Text) || r.Text[pos] != '\\' || r.Text[pos+1] != 'u' {
		return 0, false
	}
	for _, c := range r.Text[pos+2 : pos+6] {
		switch {
		case IsDigit(c):
			u = u<<4 | rune(c-'0')
		case c|0x20 >= 'a' && c|0x20 <= 'f':
			u = u<<4 | rune(c|0x20-'a'+10)
		default:
			return 0, false
		}
	}
	return u, true
}

// Place names the position of a fault for a person.
func (r *Reader) Place() string {
	line, start := 1, 0
	for i, c := range r.Text[:r.at] {
		if c == '\n' {
			line, start = line+1, i+1
		}
	}
	var b []byte
	b = append(b, "line "...)
	b = AppendNumber(b, float64(line))
	b = append(b, ", column "...)
	b = AppendNumber(b, float64(1+utf8.RuneCount(r.Text[start:r.at])))
	b = append(b, " (byte "...)
	b = AppendNumber(b, float64(r.at))
	return string(append(b, ')'))
}
