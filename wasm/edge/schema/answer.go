package schema

import (
	"encoding/json"
	"strings"

	"spareamps/core"
)

// Answers makes the schemas of the answers, by what is asked: "ceiling", "day",
// "fit".
func Answers() (Object, error) {
	var tables struct {
		Outputs    []output `json:"outputs"`
		DayOutputs []output `json:"day_outputs"`
		FitOutputs []output `json:"fit_outputs"`
	}
	if err := json.Unmarshal(core.AboutJSON(), &tables); err != nil {
		return nil, err
	}
	return Object{{"ceiling", answer("", tables.Outputs)}, {"day", answer("", tables.DayOutputs)}, {"fit", answer("", tables.FitOutputs)}}, nil
}

type output struct{ Path, Unit, Kind, Meaning string }

// answer makes the schema of the object at prefix from the rows within it.
// Nothing is required: an object without anything to say is left out.
func answer(prefix string, rows []output) Object {
	var properties Object
	for len(rows) > 0 {
		rest := strings.TrimPrefix(rows[0].Path, prefix)
		name, _, nested := strings.Cut(rest, ".")
		n := 1
		for n < len(rows) && strings.HasPrefix(rows[n].Path, prefix+name+".") {
			n++
		}
		var s Object
		if nested {
			s = answer(prefix+name+".", rows[:n])
		} else {
			s = value(&rows[0])
		}
		name, list := strings.CutSuffix(name, "[]")
		if list {
			s = Object{{"type", "array"}, {"items", s}}
		}
		properties = append(properties, Member{name, s})
		rows = rows[n:]
	}
	return Object{{"type", "object"}, {"properties", properties}, {"additionalProperties", false}}
}

// value makes the schema of one result; null is a limit that never binds, or a
// text there is none of.
func value(o *output) Object {
	kind := "number"
	if o.Kind == "text" {
		kind = "string"
	}
	description := o.Meaning
	if o.Unit != "" && o.Unit != "1" {
		description += "; unit: " + o.Unit
	}
	return Object{{"description", description}, {"type", []string{kind, "null"}}}
}
