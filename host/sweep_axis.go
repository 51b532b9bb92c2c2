package main

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"spareamps/core"
)

// mostAxisValues bounds one axis, which is kept in memory; more points come
// from crossing axes or from samples, which are not.
const mostAxisValues = 10_000_000

// sweepField finds the input of a name: its path, the path without its
// section, or its flag; or the column of an unknown.
func sweepField(name string) (*core.Field, *core.Problem) {
	like := plainName(name)
	best, least := "", 1+len(name)/3
	for _, f := range sweepFields() {
		names := namesOf(&f)
		if !slices.Contains(names, like) {
			for _, known := range names {
				d := core.NameDistance(strings.ReplaceAll(like, "-", "_"), strings.ReplaceAll(known, "-", "_"))
				if d < least && sweepable(&f) {
					best, least = f.Path, d
				}
			}
			continue
		}
		if !sweepable(&f) {
			return nil, &core.Problem{Code: "type", Field: name, Allowed: "a number or a choice that a ceiling reads, outside lists",
				Message: f.Path + " cannot be swept: it is not one number or choice that a ceiling reads"}
		}
		return &f, nil
	}
	message := "there is no input " + brief(name)
	if best != "" {
		message += "; did you mean " + best + "?"
	}
	return nil, &core.Problem{Code: "unknown", Field: name, Message: message}
}

// brief cuts what a message quotes.
func brief(text string) string {
	if len(text) > 60 {
		return strings.ToValidUTF8(text[:57], "") + "..."
	}
	return text
}

// sweepable says whether an input can be an axis.
func sweepable(f *core.Field) bool {
	switch f.Kind {
	case core.Number, core.Whole, core.Choice:
		return isUnknown(f) || hasFlag(f.Path, core.ForCeiling) && !strings.Contains(f.Path, "[]")
	}
	return false
}

// A sweepAxis is one input and the values it takes. Those of a choice are
// places among its choices.
type sweepAxis struct {
	field  *core.Field
	values []float64
}

// axisOf reads NAME=VALUES.
func axisOf(text string) (*sweepAxis, []core.Problem) {
	name, values, ok := strings.Cut(text, "=")
	if !ok || name == "" || values == "" {
		return nil, []core.Problem{{Code: "type", Field: "--axis", Value: text, Allowed: "NAME=VALUES",
			Message: "--axis is " + text + ", allowed is NAME=VALUES such as ambient-C=20:45:5"}}
	}
	f, problem := sweepField(name)
	if problem != nil {
		return nil, []core.Problem{*problem}
	}
	a := &sweepAxis{field: f}
	if f.Kind == core.Choice && values == "all" {
		values = strings.Join(f.Choices, ",")
	}
	for _, part := range strings.Split(values, ",") {
		list, why := axisPart(f, strings.TrimSpace(part))
		if why != "" {
			return nil, []core.Problem{{Code: "range", Field: f.Path, Value: part, Allowed: f.Allowed(), Message: f.Path + " has the values " + brief(part) + ": " + why}}
		}
		if len(a.values)+len(list) > mostAxisValues {
			return nil, []core.Problem{{Code: "range", Field: f.Path, Message: fmt.Sprintf("%s has more than %d values", f.Path, mostAxisValues)}}
		}
		a.values = append(a.values, list...)
	}
	return a, nil
}

// axisPart reads a value or a range of them. why says what is wrong.
func axisPart(f *core.Field, part string) (list []float64, why string) {
	if f.Kind == core.Choice || !strings.Contains(part, ":") {
		v, ok := fieldValue(f, part)
		if !ok {
			return nil, "allowed is " + f.Allowed()
		}
		return []float64{v}, ""
	}
	const forms = "a range is from:to:step, from:to/count, from:to*factor or from:to*/count"
	from, rest, _ := strings.Cut(part, ":")
	at := strings.IndexAny(rest, ":/*")
	if at < 0 {
		return nil, forms
	}
	to, how, by := rest[:at], rest[at:at+1], rest[at+1:]
	if how == "*" && strings.HasPrefix(by, "/") {
		how, by = "*/", by[1:]
	}
	a, okA := plainFloat(from)
	b, okB := plainFloat(to)
	c, okC := plainFloat(by)
	if !okA || !okB || !okC {
		return nil, forms
	}
	if list, why = spread(a, b, how, c); why != "" {
		return nil, why
	}
	for i, v := range list {
		if f.Kind == core.Whole {
			list[i] = math.Round(v)
		}
		if _, ok := fieldValue(f, number(list[i])); !ok {
			return nil, number(list[i]) + " is outside, allowed is " + f.Allowed()
		}
	}
	if f.Kind == core.Whole {
		list = slices.Compact(list)
	}
	return list, ""
}

// spread makes the values of a range.
func spread(a, b float64, how string, c float64) (list []float64, why string) {
	geometric := strings.HasPrefix(how, "*")
	if geometric && !(a > 0 && b > 0) {
		return nil, "steps by a factor need ends above 0"
	}
	var n float64
	switch how {
	case "/", "*/":
		if n = c; n != math.Floor(n) || n < 1 || n == 1 && a != b {
			return nil, "a count is a whole number from 2"
		}
	case ":":
		if c == 0 || (b-a)/c < 0 {
			return nil, "the step does not lead from one end to the other"
		}
		n = math.Floor((b-a)/c+1e-9) + 1
	case "*":
		if c <= 0 || c == 1 || math.Log(b/a)/math.Log(c) < 0 {
			return nil, "the factor does not lead from one end to the other"
		}
		n = math.Floor(math.Log(b/a)/math.Log(c)+1e-9) + 1
	}
	if !(n <= mostAxisValues) {
		return nil, fmt.Sprintf("more than %d values", mostAxisValues)
	}
	list = make([]float64, int(n))
	for i := range list {
		k := float64(i)
		switch how {
		case ":":
			list[i] = tidy(a + k*c)
		case "*":
			list[i] = tidy(a * math.Pow(c, k))
		case "/":
			list[i] = tidy(a + (b-a)*k/max(n-1, 1))
		case "*/":
			list[i] = tidy(a * math.Pow(b/a, k/max(n-1, 1)))
		}
	}
	if last := len(list) - 1; how == "/" || how == "*/" {
		list[last] = b
	}
	return list, ""
}

// tidy takes the dust of binary arithmetic off a value: twelve digits are
// more than anybody states.
func tidy(v float64) float64 {
	w, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 12, 64), 64)
	return w
}

// fieldValue reads one value of an input, by the core's own rules.
func fieldValue(f *core.Field, text string) (float64, bool) {
	if f.Kind == core.Choice {
		for i, c := range f.Choices {
			if strings.EqualFold(c, text) {
				return float64(i), true
			}
		}
		return 0, false
	}
	v, ok := plainFloat(text)
	return v + 0, ok && v >= f.Min && v <= f.Max && (f.Kind != core.Whole || v == math.Floor(v))
}

// plainFloat reads a finite decimal number.
func plainFloat(text string) (float64, bool) {
	v, err := strconv.ParseFloat(text, 64)
	return v, err == nil && !math.IsInf(v, 0) && !math.IsNaN(v) && !strings.ContainsAny(text, "xX_")
}

// fieldText is a value of an axis as people write it.
func fieldText(f *core.Field, v float64) string {
	if f.Kind == core.Choice {
		return f.Choices[int(v)]
	}
	return number(v)
}
