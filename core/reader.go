package core

import (
	"unicode/utf8"
)

const (
	maxJSONBytes = 1 << 20
	maxJSONDepth = 8 // the deepest request needs 5
)

// A reader takes JSON text apart, strictly by RFC 8259. It stops at the first
// fault, which it keeps in fault and at; every method then returns ok false.
type reader struct {
	text    []byte
	pos     int
	depth   int
	fault   string
	at      int
	scratch []byte // the last text that held an escape
}

//go:noinline
func (r *reader) fail(fault string) bool {
	if r.fault == "" {
		r.fault, r.at = fault, r.pos
	}
	return false
}

// start refuses what can be seen before reading.
func (r *reader) start() bool {
	if utf8.Valid(r.text) {
		if len(r.text) >= 3 && string(r.text[:3]) == "\ufeff" {
			return r.fail("the text starts with a byte order mark; save it as utf-8 without one")
		}
		return true
	}
	for r.pos < len(r.text) {
		c, size := utf8.DecodeRune(r.text[r.pos:])
		if c == utf8.RuneError && size == 1 {
			break
		}
		r.pos += size
	}
	return r.fail("not utf-8 text")
}

// end refuses anything behind the value.
func (r *reader) end() bool {
	if r.peek() != 0 || r.pos < len(r.text) {
		return r.fail("more text behind the end")
	}
	return true
}

// peek skips white space and returns the next byte, 0 at the end.
func (r *reader) peek() byte {
	for ; r.pos < len(r.text); r.pos++ {
		switch c := r.text[r.pos]; c {
		case ' ', '\n', '\t', '\r':
		default:
			return c
		}
	}
	return 0
}

// open enters an object or list.
func (r *reader) open() bool {
	if r.depth == maxJSONDepth {
		return r.fail("nested deeper than 8 levels")
	}
	r.depth++
	r.pos++
	return true
}

// next steps to the next member of an object or list, which ends with close.
func (r *reader) next(first bool, close byte) (more, ok bool) {
	switch c := r.peek(); {
	case c == close:
		r.pos++
		r.depth--
		return false, true
	case first:
		return true, true
	case c == ',':
		r.pos++
		if r.peek() == close {
			return false, r.fail("comma without a value behind it")
		}
		return true, true
	}
	if close == '}' {
		return false, r.unexpected("a comma or }")
	}
	return false, r.unexpected("a comma or ]")
}

// key reads the next key of an object, with its colon.
func (r *reader) key(first bool) (key []byte, more, ok bool) {
	if more, ok = r.next(first, '}'); !more {
		return nil, false, ok
	}
	if r.peek() != '"' {
		return nil, false, r.unexpected("a key in double quotes")
	}
	if key, ok = r.string(); !ok {
		return nil, false, false
	}
	if r.peek() != ':' {
		return nil, false, r.unexpected("a colon behind the key")
	}
	r.pos++
	return key, true, true
}

func (r *reader) unexpected(want string) bool {
	if r.pos >= len(r.text) {
		return r.fail("the text ends where " + want + " is due")
	}
	return r.fail(want + " is due, not " + string(shown(r.text[r.pos:], 1)))
}

// skip reads a value of any kind and drops it.
func (r *reader) skip() bool {
	switch c := r.peek(); c {
	case '{':
		if !r.open() {
			return false
		}
		for first := true; ; first = false {
			if _, more, ok := r.key(first); !more {
				return ok
			}
			if !r.skip() {
				return false
			}
		}
	case '[':
		if !r.open() {
			return false
		}
		for first := true; ; first = false {
			if more, ok := r.next(first, ']'); !more {
				return ok
			}
			if !r.skip() {
				return false
			}
		}
	case '"':
		_, ok := r.string()
		return ok
	case 't':
		return r.word("true")
	case 'f':
		return r.word("false")
	case 'n':
		return r.word("null")
	default:
		_, ok := r.number()
		return ok
	}
}

func (r *reader) word(word string) bool {
	if rest := r.text[r.pos:]; len(rest) >= len(word) && string(rest[:len(word)]) == word {
		r.pos += len(word)
		return true
	}
	return r.noValue()
}

func (r *reader) noValue() bool {
	n := 0
	for rest := r.text[r.pos:]; n < len(rest) && (rest[n]|0x20 >= 'a' && rest[n]|0x20 <= 'z'); n++ {
	}
	if n == 0 {
		return r.unexpected("a value")
	}
	return r.fail(string(shown(r.text[r.pos:r.pos+n], 20)) + " is no json value")
}

// number reads a number and returns its text.
func (r *reader) number() (text []byte, ok bool) {
	t, i := r.text, r.pos
	if i < len(t) && t[i] == '-' {
		i++
	}
	switch {
	case i < len(t) && t[i] == '0':
		i++
		if i < len(t) && isDigit(t[i]) {
			return nil, r.fail("number with a leading zero")
		}
	case i < len(t) && isDigit(t[i]):
		i = digits(t, i)
	case i == r.pos:
		return nil, r.noValue()
	default:
		return nil, r.fail("minus sign without a number")
	}
	if i < len(t) && t[i] == '.' {
		i++
		if i == len(t) || !isDigit(t[i]) {
			return nil, r.fail("number without a digit behind its point")
		}
		i = digits(t, i)
	}
	if i < len(t) && t[i]|0x20 == 'e' {
		i++
		if i < len(t) && (t[i] == '+' || t[i] == '-') {
			i++
		}
		if i == len(t) || !isDigit(t[i]) {
			return nil, r.fail("number without a digit in its exponent")
		}
		i = digits(t, i)
	}
	text = t[r.pos:i]
	r.pos = i
	return text, true
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

func digits(t []byte, i int) int {
	for i < len(t) && isDigit(t[i]) {
		i++
	}
	return i
}

// string reads a text in double quotes. What it returns holds until the next call.
func (r *reader) string() (s []byte, ok bool) {
	r.pos++
	start := r.pos
	escaped := false
	for r.pos < len(r.text) {
		switch c := r.text[r.pos]; {
		case c == '"':
			s = r.text[start:r.pos]
			if escaped {
				r.scratch = append(r.scratch, s...)
				s = r.scratch
			}
			r.pos++
			return s, true
		case c < 0x20:
			return nil, r.fail("control character in a text")
		case c == '\\':
			if !escaped {
				escaped = true
				r.scratch = r.scratch[:0]
			}
			r.scratch = append(r.scratch, r.text[start:r.pos]...)
			if !r.escape() {
				return nil, false
			}
			start = r.pos
		default:
			r.pos++
		}
	}
	return nil, r.fail("text without a closing quote")
}

// escape reads one escape sequence into scratch.
func (r *reader) escape() bool {
	if r.pos+1 >= len(r.text) {
		return r.fail("text without a closing quote")
	}
	c := r.text[r.pos+1]
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
			return r.fail("\\u without four hexadecimal digits")
		}
		if u >= 0xd800 && u <= 0xdfff {
			low, ok := r.hex4At(r.pos + 6)
			if u > 0xdbff || !ok || low < 0xdc00 || low > 0xdfff {
				return r.fail("half of a surrogate pair")
			}
			u = 0x10000 + (u-0xd800)<<10 + (low - 0xdc00)
			r.pos += 6
		}
		r.scratch = utf8.AppendRune(r.scratch, u)
		r.pos += 6
		return true
	default:
		return r.fail("unknown escape in a text")
	}
	r.scratch = append(r.scratch, c)
	r.pos += 2
	return true
}

func (r *reader) hex4() (rune, bool) { return r.hex4At(r.pos) }

// hex4At reads a \uXXXX at pos.
func (r *reader) hex4At(pos int) (u rune, ok bool) {
	if pos+6 > len(r.text) || r.text[pos] != '\\' || r.text[pos+1] != 'u' {
		return 0, false
	}
	for _, c := range r.text[pos+2 : pos+6] {
		switch {
		case isDigit(c):
			u = u<<4 | rune(c-'0')
		case c|0x20 >= 'a' && c|0x20 <= 'f':
			u = u<<4 | rune(c|0x20-'a'+10)
		default:
			return 0, false
		}
	}
	return u, true
}

// place names the position of a fault for a person.
func (r *reader) place() string {
	line, start := 1, 0
	for i, c := range r.text[:r.at] {
		if c == '\n' {
			line, start = line+1, i+1
		}
	}
	var b []byte
	b = append(b, "line "...)
	b = appendJSONNumber(b, float64(line))
	b = append(b, ", column "...)
	b = appendJSONNumber(b, float64(1+utf8.RuneCount(r.text[start:r.at])))
	b = append(b, " (byte "...)
	b = appendJSONNumber(b, float64(r.at))
	return string(append(b, ')'))
}
