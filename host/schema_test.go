package main

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"spareamps/core"
)

// compiled is our schema, or the part of it at an anchor, under a standard
// validator; the validator also checks it against the schema of schemas.
func compiled(t *testing.T, anchor string) *jsonschema.Schema {
	t.Helper()
	text, err := json.Marshal(requestSchema())
	if err != nil {
		t.Fatal(err)
	}
	document, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("request.json", document); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("request.json" + anchor)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func accepted(t *testing.T, s *jsonschema.Schema, text string) bool {
	t.Helper()
	v, err := jsonschema.UnmarshalJSON(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	return s.Validate(v) == nil
}

// For every input alone: at both bounds schema and core accept; just beyond,
// and for a value of a wrong kind, both refuse.
func TestSchemaBounds(t *testing.T) {
	s := compiled(t, "")
	for _, f := range core.Fields() {
		good, bad := []string{}, []string{`[]`, `{}`, `true`, `"x"`}
		if f.Kind == core.Choice {
			for _, c := range f.Choices {
				good = append(good, `"`+c+`"`)
			}
			if f.Choices[0] == "12" {
				good = append(good, "12", "24", "24.0")
			}
			bad = append(bad, `"nothing"`, "-7", "7.5")
		} else {
			good = append(good, number(f.Min), number(f.Max), number((f.Min+f.Max)/2))
			if f.Kind == core.Whole {
				good[2] = number(math.Floor((f.Min + f.Max) / 2))
				bad = append(bad, number(f.Min+0.5))
			}
			step := math.Max(1e-9*math.Abs(f.Max), 1e-12)
			bad = append(bad, number(f.Min-step), number(f.Max+step), `"`+number(f.Max)+`"`)
		}
		for _, value := range good {
			text := requestWith(f.Path, value)
			if _, err := core.Decode([]byte(text)); err != nil && conflictsOnly(err, f.Path) {
				continue // a bound of one input may not go with the others
			} else if err != nil {
				t.Errorf("core refuses %s = %s: %v", f.Path, value, err)
			}
			if !accepted(t, s, text) {
				t.Errorf("schema refuses %s = %s: %s", f.Path, value, text)
			}
		}
		for _, value := range bad {
			text := requestWith(f.Path, value)
			if _, err := core.Decode([]byte(text)); err == nil {
				t.Errorf("core accepts %s = %s", f.Path, value)
			}
			if accepted(t, s, text) {
				t.Errorf("schema accepts %s = %s", f.Path, value)
			}
		}
	}
}

// conflictsOnly says whether an error is about what does not go together.
func conflictsOnly(err error, path string) bool {
	for _, p := range problemsOf(err) {
		if p.Code != "conflict" {
			return false
		}
	}
	return true
}

// requestWith is a good request with one input in it.
func requestWith(path, value string) string {
	base := map[string]any{}
	put := func(path string, value any) {
		at := base
		names := strings.Split(path, ".")
		for _, name := range names[:len(names)-1] {
			if list, ok := strings.CutSuffix(name, "[]"); ok {
				if at[list] == nil {
					at[list] = []any{map[string]any{"speed_rpm": json.RawMessage("2000"), "current_A": json.RawMessage("50")}}
				}
				at = at[list].([]any)[0].(map[string]any)
				continue
			}
			if at[name] == nil {
				at[name] = map[string]any{}
			}
			at = at[name].(map[string]any)
		}
		at[names[len(names)-1]] = value
	}
	put("rig.alternator.rated_current_A", 600)
	put("moment.engine_rpm", 1000)
	put("moment.ambient_C", 20)
	group := parent(path)
	for _, f := range core.Fields() {
		if parent(f.Path) == group && f.Need == core.Required {
			v := any(f.Max)
			if f.Kind == core.Choice {
				v = f.Choices[0]
			}
			put(f.Path, v)
		}
	}
	if group == "rig.cable" && path != "rig.cable.area_mm2" && path != "rig.cable.awg" {
		put("rig.cable.area_mm2", 25)
	}
	put(path, json.RawMessage(value))
	text, err := json.Marshal(base)
	if err != nil {
		panic(err)
	}
	return string(text)
}

// What goes together, and what is needed.
func TestSchemaTogether(t *testing.T) {
	s, rig := compiled(t, ""), compiled(t, "#/$defs/rig")
	demo := core.Demo()
	if text := string(demo.JSON()); !accepted(t, s, text) || !accepted(t, rig, string(member([]byte(text), "rig"))) {
		t.Error("the demo is refused")
	}
	const moment = `"moment":{"engine_rpm":1000,"ambient_C":20}`
	for text, want := range map[string]bool{
		`{}`:                        false,
		`{` + moment + `}`:          false,
		`{"rig":{},` + moment + `}`: false,
		`{"rig":{"alternator":{}},` + moment + `}`:                                                                                    false,
		`{"rig":{"alternator":{"rated_current_A":90}}}`:                                                                               false,
		`{"rig":{"alternator":{"rated_current_A":90}},"moment":{"engine_rpm":1000}}`:                                                  false,
		`{"rig":{"alternator":{"rated_current_A":90}},` + moment + `}`:                                                                true,
		`{"rig":{"alternator":{"points":[]}},` + moment + `}`:                                                                         false,
		`{"rig":{"alternator":{"points":[{"speed_rpm":2000,"current_A":50}]}},` + moment + `}`:                                        true,
		`{"rig":{"alternator":{"points":[{"speed_rpm":2000}]}},` + moment + `}`:                                                       false,
		`{"rig":{"alternator":{"points_speed":"engine","points":[{"speed_rpm":2000,"current_A":50}]}},` + moment + `}`:                false,
		`{"rig":{"alternator":{"points_speed":"engine","pulley_ratio":2,"points":[{"speed_rpm":900,"current_A":5}]}},` + moment + `}`: true,
		`{"rig":{"alternator":{"rated_current_A":90},"cable":{"length_m":3}},` + moment + `}`:                                         false,
		`{"rig":{"alternator":{"rated_current_A":90},"cable":{"length_m":3,"awg":4}},` + moment + `}`:                                 true,
		`{"rig":{"alternator":{"rated_current_A":90},"cable":{"length_m":3,"awg":"2/0"}},` + moment + `}`:                             true,
		`{"rig":{"alternator":{"rated_current_A":90},"cable":{"length_m":3,"awg":"4","area_mm2":25}},` + moment + `}`:                 false,
		`{"rig":{"alternator":{"rated_current_A":90},"colour":"red"},` + moment + `}`:                                                 false,
	} {
		if got := accepted(t, s, text); got != want {
			t.Errorf("schema says %v to %s", got, text)
		}
		if _, err := core.Decode([]byte(text)); (err == nil) != want {
			t.Errorf("core says %v to %s", err, text)
		}
	}
}

// A schema is for people too: units, ranges, examples.
func TestSchemaTells(t *testing.T) {
	text, err := json.Marshal(requestSchema())
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`"Unit: rpm.`, `"minimum":-40`, `"default":0.95`, `"examples":["lifepo4"]`, `"title":"engine (rpm)"`} {
		if !strings.Contains(string(text), strings.TrimPrefix(want, `"Unit`)) {
			t.Errorf("no %s in the schema", want)
		}
	}
}
