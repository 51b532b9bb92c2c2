package core

import (
	"math"
	"strconv"

	"spareamps/core/jsontext"
	"spareamps/core/limit"
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
	r := jsontext.Reader{Text: request}
	name, args, ok := readQuantity(&r)
	if !ok {
		return ErrorJSON("json", "", "", `{"quantity":"name","args":[numbers]}`, "not a question for a quantity at "+r.Place()+": "+r.Fault)
	}
	u, ok := QuantityByName(name)
	if !ok {
		return ErrorJSON("bad_input", "quantity", string(jsontext.Shown([]byte(name), jsontext.MaxShown)), "a name of the table of quantities", "there is no such quantity")
	}
	v, ok := u.Value(args)
	if !ok {
		return ErrorJSON("bad_input", "args", "", strconv.Itoa(len(u.Args))+" numbers within the quantity's range", "these arguments give no number")
	}
	dst := append([]byte(nil), `{"value":`...)
	dst = jsontext.AppendNumber(dst, v)
	return append(dst, '}')
}

// AboutJSON describes the module: version, interface, and the tables of
// inputs, outputs, limits, unknowns and quantities, and the demo request.
func AboutJSON() []byte {
	m := jsontext.Members{Dst: make([]byte, 0, 64<<10), First: true}
	m.Open()
	m.Text("version", Version)
	m.Text("abi", strconv.Itoa(ABIMajor)+"."+strconv.Itoa(ABIMinor))
	m.Raw("inputs", "")
	m.Dst = inputs.describe(m.Dst)
	m.Raw("outputs", "")
	m.Dst = outputs.describe(m.Dst)
	m.Raw("day_outputs", "")
	m.Dst = dayOutputs.describe(m.Dst)
	m.Raw("fit_outputs", "")
	m.Dst = fitOutputs.describe(m.Dst)
	demo := Demo()
	m.Raw("demo", string(demo.JSON()))
	m.Raw("limits", "[")
	m.First = true
	for _, l := range limit.Table {
		m.Open()
		m.Text("limit", l.Name)
		m.Text("meaning", l.Meaning)
		m.Dst = append(m.Dst, '}')
	}
	m.Dst = append(m.Dst, ']')
	m.Raw("unknowns", "[")
	m.First = true
	for _, u := range Unknowns {
		m.Open()
		m.Text("unknown", u.Name)
		m.Text("meaning", u.Meaning)
		m.Text("unit", u.Unit)
		m.Number("spread", u.Spread)
		m.Number("known", u.Known)
		least, most := u.columnEnds()
		m.Number("least", least)
		m.Number("most", most)
		m.Text("input", u.Input)
		m.Text("measure", u.Measure)
		m.Text("source", u.Source)
		m.Dst = append(m.Dst, '}')
	}
	m.Dst = append(m.Dst, ']')
	m.Raw("quantities", "[")
	m.First = true
	for i := range Quantities {
		u := &Quantities[i]
		m.Open()
		m.Text("quantity", u.Name)
		m.Text("unit", u.Unit)
		m.Texts("args", u.Args)
		m.Dst = append(m.Dst, '}')
	}
	return append(m.Dst, "]}"...)
}

// readQuantity reads a question for a quantity.
func readQuantity(r *jsontext.Reader) (name string, args []float64, ok bool) {
	if len(r.Text) > jsontext.MaxBytes {
		return "", nil, r.Fail("longer than 1 MiB")
	}
	if !r.Start() {
		return "", nil, false
	}
	if r.Peek() != '{' {
		return "", nil, r.Unexpected("an object")
	}
	if !r.Open() {
		return "", nil, false
	}
	for first := true; ; first = false {
		key, more, ok := r.Key(first)
		if !more {
			return name, args, ok && r.End()
		}
		switch string(key) {
		case "quantity":
			if r.Peek() != '"' {
				return "", nil, r.Unexpected("a name in double quotes")
			}
			s, ok := r.String()
			if !ok {
				return "", nil, false
			}
			name = string(s)
		case "args":
			if args, ok = readNumbers(r); !ok {
				return "", nil, false
			}
		default:
			return "", nil, r.Fail("neither quantity nor args")
		}
	}
}

// readNumbers reads a list of numbers; null is not a number.
func readNumbers(r *jsontext.Reader) (list []float64, ok bool) {
	if r.Peek() != '[' {
		return nil, r.Unexpected("a list of numbers")
	}
	if !r.Open() {
		return nil, false
	}
	for first := true; ; first = false {
		more, ok := r.Next(first, ']')
		if !more {
			return list, ok
		}
		if r.Peek() == 'n' {
			if !r.Word("null") {
				return nil, false
			}
			list = append(list, math.NaN())
			continue
		}
		text, ok := r.Number()
		if !ok {
			return nil, false
		}
		list = append(list, jsontext.ParseNumber(text))
	}
}
