package core

import (
	"math"
	"strconv"
)

// Version is that of the core; a printed number that changes is a new one.
const Version = "0.2.0"

// The interface of the module: the same major accepts, a minor only adds.
const (
	ABIMajor = 1
	ABIMinor = 3
)

// CeilingJSON is Advisor.CeilingJSON in memory of its own.
func CeilingJSON(request []byte) []byte { return new(Advisor).CeilingJSON(request) }

// JSON writes an answer by the table of outputs.
func (a *Answer) JSON() []byte { return outputs.encode(make([]byte, 0, 8192), a) }

// ErrorObject writes an error as every interface gives it. Input errors have
// code "bad_input", or that of the text as a whole: "json", "too_large".
func ErrorObject(err error) []byte {
	e, ok := err.(*InputError)
	if !ok {
		return ErrorJSON("internal", "", "", "", err.Error())
	}
	code := "bad_input"
	if e.Code == "json" || e.Code == "too_large" {
		code = e.Code
	}
	return problemsJSON(code, e.Problems)
}

// ErrorJSON writes one problem as an error object.
func ErrorJSON(code, field, value, allowed, message string) []byte {
	return problemsJSON(code, []Problem{{code, field, value, allowed, message}})
}

// QuantityJSON evaluates a quantity of the table by name:
// {"quantity":"copper_ratio","args":[105]} gives {"value":1.33405}. An argument
// may be null where a quantity takes "not a number" for "not given".
func QuantityJSON(request []byte) []byte {
	r := reader{text: request}
	name, args, ok := r.quantity()
	if !ok {
		return ErrorJSON("json", "", "", `{"quantity":"name","args":[numbers]}`, "not a question for a quantity at "+r.place()+": "+r.fault)
	}
	u, ok := QuantityByName(name)
	if !ok {
		return ErrorJSON("bad_input", "quantity", string(shown([]byte(name), maxShown)), "a name of the table of quantities", "there is no such quantity")
	}
	v, ok := u.Value(args)
	if !ok {
		return ErrorJSON("bad_input", "args", "", strconv.Itoa(len(u.Args))+" numbers within the quantity's range", "these arguments give no number")
	}
	dst := append([]byte(nil), `{"value":`...)
	dst = appendJSONNumber(dst, v)
	return append(dst, '}')
}

// AboutJSON describes the module: version, interface, and the tables of
// inputs, outputs, limits, unknowns and quantities, and the demo request.
func AboutJSON() []byte {
	m := members{dst: make([]byte, 0, 64<<10), first: true}
	m.open()
	m.text("version", Version)
	m.text("abi", strconv.Itoa(ABIMajor)+"."+strconv.Itoa(ABIMinor))
	m.raw("inputs", "")
	m.dst = inputs.describe(m.dst)
	m.raw("outputs", "")
	m.dst = outputs.describe(m.dst)
	m.raw("day_outputs", "")
	m.dst = dayOutputs.describe(m.dst)
	m.raw("fit_outputs", "")
	m.dst = fitOutputs.describe(m.dst)
	demo := Demo()
	m.raw("demo", string(demo.JSON()))
	m.raw("limits", "[")
	m.first = true
	for _, l := range Limits {
		m.open()
		m.text("limit", l.Name)
		m.text("meaning", l.Meaning)
		m.dst = append(m.dst, '}')
	}
	m.dst = append(m.dst, ']')
	m.raw("unknowns", "[")
	m.first = true
	for _, u := range Unknowns {
		m.open()
		m.text("unknown", u.Name)
		m.text("meaning", u.Meaning)
		m.text("unit", u.Unit)
		m.number("spread", u.Spread)
		m.number("known", u.Known)
		least, most := u.columnEnds()
		m.number("least", least)
		m.number("most", most)
		m.text("input", u.Input)
		m.text("measure", u.Measure)
		m.text("source", u.Source)
		m.dst = append(m.dst, '}')
	}
	m.dst = append(m.dst, ']')
	m.raw("quantities", "[")
	m.first = true
	for i := range Quantities {
		u := &Quantities[i]
		m.open()
		m.text("quantity", u.Name)
		m.text("unit", u.Unit)
		m.texts("args", u.Args)
		m.dst = append(m.dst, '}')
	}
	return append(m.dst, "]}"...)
}

// quantity reads a question for a quantity.
func (r *reader) quantity() (name string, args []float64, ok bool) {
	if len(r.text) > maxJSONBytes {
		return "", nil, r.fail("longer than 1 MiB")
	}
	if !r.start() {
		return "", nil, false
	}
	if r.peek() != '{' {
		return "", nil, r.unexpected("an object")
	}
	if !r.open() {
		return "", nil, false
	}
	for first := true; ; first = false {
		key, more, ok := r.key(first)
		if !more {
			return name, args, ok && r.end()
		}
		switch string(key) {
		case "quantity":
			if r.peek() != '"' {
				return "", nil, r.unexpected("a name in double quotes")
			}
			s, ok := r.string()
			if !ok {
				return "", nil, false
			}
			name = string(s)
		case "args":
			if args, ok = r.numbers(); !ok {
				return "", nil, false
			}
		default:
			return "", nil, r.fail("neither quantity nor args")
		}
	}
}

// numbers reads a list of numbers; null is not a number.
func (r *reader) numbers() (list []float64, ok bool) {
	if r.peek() != '[' {
		return nil, r.unexpected("a list of numbers")
	}
	if !r.open() {
		return nil, false
	}
	for first := true; ; first = false {
		more, ok := r.next(first, ']')
		if !more {
			return list, ok
		}
		if r.peek() == 'n' {
			if !r.word("null") {
				return nil, false
			}
			list = append(list, math.NaN())
			continue
		}
		text, ok := r.number()
		if !ok {
			return nil, false
		}
		list = append(list, jsonNumber(text))
	}
}
