package core

import (
	"spareamps/core/jsontext"
	"strings"
)

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
		s += " (and " + jsontext.NumberText(float64(n)) + " more)"
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
	m := jsontext.Members{First: true}
	m.Dst = append(m.Dst, `{"error":`...)
	m.Open()
	m.Text("code", code)
	m.Raw("problems", "[")
	m.First = true
	for _, p := range ps {
		m.Open()
		m.Text("code", p.Code)
		m.Text("field", p.Field)
		m.Text("value", p.Value)
		m.Text("allowed", p.Allowed)
		m.Text("message", p.Message)
		m.Dst = append(m.Dst, '}')
	}
	return append(m.Dst, "]}}"...)
}

// allowed says what a field takes: "1 to 400 A", "one of A, E, B".
func (f *Field) allowed() string {
	switch f.Kind {
	case Choice:
		return "one of " + strings.Join(f.Choices, ", ")
	case Text:
		return "a text of 1 to " + jsontext.NumberText(f.Max) + " bytes"
	case Clock, Date:
		return timeForms[f.Kind] + ", " + string(f.appendTime(nil, f.Min)) + " to " + string(f.appendTime(nil, f.Max))
	}
	s := jsontext.NumberText(f.Min) + " to " + jsontext.NumberText(f.Max)
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
