package core

import (
	"strings"
	"unicode/utf8"
)

// maxProblems bounds a report; whoever has fifty problems does not read a fifty-first.
const maxProblems = 50

// maxShown bounds what a problem repeats of the input, in bytes.
const maxShown = 60

// InputError is the error of a request that cannot be answered as it stands.
type InputError struct {
	Code     string // of the first problem
	Problems []Problem
}

func (e *InputError) Error() string {
	if len(e.Problems) == 0 {
		return e.Code
	}
	s := e.Problems[0].Message
	if n := len(e.Problems) - 1; n > 0 {
		s += " (and " + numberText(float64(n)) + " more)"
	}
	return s
}

// inputError wraps problems; without any it gives nil.
func inputError(ps []Problem) error {
	if len(ps) == 0 {
		return nil
	}
	return &InputError{Code: ps[0].Code, Problems: ps}
}

// problemsJSON is the error object every interface answers with.
func problemsJSON(code string, ps []Problem) []byte {
	m := members{first: true}
	m.dst = append(m.dst, `{"error":`...)
	m.open()
	m.text("code", code)
	m.raw("problems", "[")
	m.first = true
	for _, p := range ps {
		m.open()
		m.text("code", p.Code)
		m.text("field", p.Field)
		m.text("value", p.Value)
		m.text("allowed", p.Allowed)
		m.text("message", p.Message)
		m.dst = append(m.dst, '}')
	}
	return append(m.dst, "]}}"...)
}

// shown makes foreign text fit to repeat: one line, at most max characters and
// maxShown bytes, nothing that moves a terminal's cursor or turns its writing.
func shown(text []byte, max int) []byte {
	var b []byte
	for n := 0; len(text) > 0; n++ {
		c, size := utf8.DecodeRune(text)
		if c < 0x20 || c >= 0x7f && c < 0xa0 || c == 0x2028 || c == 0x2029 ||
			c >= 0x200b && c <= 0x200f || c >= 0x202a && c <= 0x202e || c >= 0x2066 && c <= 0x2069 || c == 0xfeff {
			c = utf8.RuneError
		}
		if n == max || len(b)+utf8.RuneLen(c) > maxShown {
			break
		}
		b = utf8.AppendRune(b, c)
		text = text[size:]
	}
	return b
}

// allowed says what a field takes: "1 to 400 A", "one of A, E, B".
func (f *Field) allowed() string {
	switch f.Kind {
	case Choice:
		return "one of " + strings.Join(f.Choices, ", ")
	case Text:
		return "a text of 1 to " + numberText(f.Max) + " bytes"
	case Clock, Date:
		return timeForms[f.Kind] + ", " + string(f.appendTime(nil, f.Min)) + " to " + string(f.appendTime(nil, f.Max))
	}
	s := numberText(f.Min) + " to " + numberText(f.Max)
	if f.Unit != "" && f.Unit != "1" {
		s += " " + f.Unit
	}
	if f.Kind == Whole {
		s = "a whole number, " + s
	}
	return s
}

// problem reports a value that f does not take.
func (f *Field) problem(code, path, value string) Problem {
	p := Problem{Code: code, Field: path, Value: value, Allowed: f.allowed()}
	switch {
	case code == "missing":
		p.Message = path + " is missing: " + p.Allowed
	case value == "":
		p.Message = path + " is empty, allowed is " + p.Allowed
	default:
		p.Message = path + " is " + value + ", allowed is " + p.Allowed
		if path == "rig.alternator.class_V" && value == "48" {
			p.Message += ": 48 V machines are not covered"
		}
	}
	return p
}

// plain makes a problem that no field's range explains. Inlined in its eighty
// places it would make the module a hundredth larger.
//
//go:noinline
func plain(code, path, value, allowed, message string) Problem {
	return Problem{Code: code, Field: path, Value: value, Allowed: allowed, Message: message}
}
