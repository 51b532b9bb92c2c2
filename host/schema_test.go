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
func compiled(t *testing.T, command, anchor string) *jsonschema.Schema {
	t.Helper()
	text, err := json.Marshal(requestSchema(command))
	if err != nil {
		t.Fatal(err)
	}
	document, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	c.AssertFormat()
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

// coreTakes is what the core says to a request to a command.
func coreTakes(command, text string) error {
	q := core.NewRequest()
	problems := problemsOf(q.Lay([]byte(text), ""))
	if len(problems) != 1 || problems[0].Field != "" {
		problems = q.CheckAfter(problems, requestsOf[command].sections...)
	}
	if len(problems) == 0 {
		return nil
	}
	return &core.InputError{Code: problems[0].Code, Problems: problems}
}

// commandOf is a command that reads an input.
func commandOf(path string) string {
	switch section, _, _ := strings.Cut(path, "."); section {
	case "day", "wiring":
		return section
	}
	return "ceiling"
}

// For every input alone: at both bounds schema and core accept; just beyond,
// and for a value of a wrong kind, both refuse.
func TestSchemaBounds(t *testing.T) {
	schemas := map[string]*jsonschema.Schema{}
	for command := range requestsOf {
		schemas[command] = compiled(t, command, "")
	}
	quoted := func(f *core.Field, v float64) string { return `"` + valueText(f, v) + `"` }
	for _, f := range core.Fields() {
		command := commandOf(f.Path)
		s := schemas[command]
		good, bad := []string{}, []string{`[]`, `{}`, `true`}
		switch f.Kind {
		case core.Choice:
			for _, c := range f.Choices {
				good = append(good, `"`+c+`"`)
			}
			if f.Choices[0] == "12" {
				good = append(good, "12", "24", "24.0")
			}
			bad = append(bad, `"x"`, `"nothing"`, "-7", "7.5")
		case core.Clock:
			good = append(good, quoted(&f, f.Min), `"23:59"`, `"6:30"`, `"12:00"`)
			if f.Max >= 1440 {
				good = append(good, `"24:00"`)
			} else {
				bad = append(bad, `"24:00"`)
			}
			bad = append(bad, "390", `"24:01"`, `"12:60"`, `"-1:00"`, `"noon"`, `"12"`, `"12:5"`, `""`)
		case core.Date:
			good = append(good, quoted(&f, f.Min), quoted(&f, f.Max), `"2024-02-29"`)
			bad = append(bad, quoted(&f, f.Min-1), quoted(&f, f.Max+1), `"2026-02-29"`, `"26-07-24"`, `"2026-7-24"`, "20260724", `"today"`)
		case core.Text:
			good = append(good, `"x"`, `"`+strings.Repeat("y", int(f.Max))+`"`, `"a fridge, 55 W"`, `"Kühlbox"`)
			bad = append(bad, `""`, `" "`, `"`+strings.Repeat("y", int(f.Max)+1)+`"`, `"\u0007"`, `"a\u202eb"`, `"a\u2028b"`, "7")
		default:
			good = append(good, number(f.Min), number(f.Max), number((f.Min+f.Max)/2))
			if f.Kind == core.Whole {
				good[2] = number(math.Floor((f.Min + f.Max) / 2))
				bad = append(bad, number(f.Min+0.5))
			}
			step := math.Max(1e-9*math.Abs(f.Max), 1e-12)
			bad = append(bad, `"x"`, number(f.Min-step), number(f.Max+step), `"`+number(f.Max)+`"`)
		}
		for _, value := range good {
			text := requestWith(f.Path, value)
			if err := coreTakes(command, text); err != nil && conflictsOnly(err, f.Path) {
				continue // a bound of one input may not go with the others
			} else if err != nil {
				t.Errorf("core refuses %s = %s: %v\n%s", f.Path, value, err, text)
			}
			if !accepted(t, s, text) {
				t.Errorf("schema refuses %s = %s: %s", f.Path, value, text)
			}
		}
		for _, value := range bad {
			text := requestWith(f.Path, value)
			if coreTakes(command, text) == nil {
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
		if p.Code != "conflict" && !(path == "day.control" && p.Field == "day.switches") && !(path == "rig.alternator.regulator" && p.Field == "rig.alternator.limit_A") {
			return false
		}
	}
	return true
}

// requestWith is a good request with one input in it.
func requestWith(path, value string) string {
	base := map[string]any{}
	object := func(at map[string]any, name string) map[string]any {
		if at[name] == nil {
			at[name] = map[string]any{}
		}
		return at[name].(map[string]any)
	}
	put := func(path string, value any) {
		at := base
		names := strings.Split(path, ".")
		for i, name := range names[:len(names)-1] {
			if list, ok := strings.CutSuffix(name, "[]"); ok {
				if at[list] == nil {
					var row map[string]any
					if err := json.Unmarshal([]byte(goodRows[strings.Join(names[:i+1], ".")]), &row); err != nil {
						panic(err)
					}
					at[list] = []any{row}
				}
				at = at[list].([]any)[0].(map[string]any)
				continue
			}
			at = object(at, name)
		}
		at[names[len(names)-1]] = value
	}
	put("rig.alternator.rated_current_A", 600)
	switch commandOf(path) {
	case "ceiling":
		put("moment.engine_rpm", 1000)
		put("moment.ambient_C", 20)
	case "day":
		put("rig.engine.tyre_diameter_m", 0.7)
		put("rig.inverter.rated_W", 1000)
		put("rig.charger.max_output_W", 500)
		put("rig.charger.feed_W", 100)
		put("rig.house_battery.chemistry", "agm")
		put("rig.house_battery.capacity_Ah", 100)
		put("day.min_C", 10)
		put("day.max_C", 30)
		if strings.Contains(path, "switches") {
			put("day.control", "schedule")
		}
	case "wiring":
		if path != "wiring.far_A" && path != "wiring.far_W" {
			put("wiring.far_A", 30)
		}
	}
	group := parent(path)
	for _, f := range core.Fields() {
		if parent(f.Path) == group && f.Need == core.Required && !strings.HasSuffix(group, "[]") {
			v := any(f.Max)
			if f.Kind == core.Choice {
				v = f.Choices[0]
			}
			put(f.Path, v)
		}
	}
	if commandOf(path) == "day" {
		put("day.house_soc", 0.5)
	}
	if commandOf(path) == "wiring" {
		put("wiring.source_V", 60)
		put("wiring.far_V", 1)
	}
	if group == "rig.cable" && path != "rig.cable.area_mm2" && path != "rig.cable.awg" {
		put("rig.cable.area_mm2", 25)
	}
	switch path {
	case "day.loads[].to", "day.loads[].minutes":
		put("day.loads[].from", "13:00")
	case "day.loads[].from":
		put("day.loads[].minutes", 10)
	case "day.legs[].stop_min":
		put("day.legs[].stop_every_min", 10)
	case "day.legs[].stop_every_min":
		put("day.legs[].stop_min", 10)
	case "day.legs[].day":
		put("day.days", 30)
	}
	put(path, json.RawMessage(value))
	text, err := json.Marshal(base)
	if err != nil {
		panic(err)
	}
	return string(text)
}

// goodRows are a row of each list.
var goodRows = map[string]string{
	"rig.alternator.points[]": `{"speed_rpm":2000,"current_A":50}`,
	"rig.observations[]":      `{"minutes":30,"engine_rpm":1400,"ambient_C":30,"core_C":90}`,
	"rig.learned.means[]":     `{"unknown":"air_film","mean":0.5}`,
	"rig.learned.spread[]":    `{"unknown":"air_film","by":"air_film","value":0.5}`,
	"day.air[]":               `{"at":"12:00","ambient_C":20}`,
	"day.legs[]":              `{"from":"08:00","to":"09:00","kind":"drive","speed_kmh":20}`,
	"day.loads[]":             `{"name":"lamp","watts":5}`,
	"day.switches[]":          `{"at":"08:00","to":"charge"}`,
	"day.track[]":             `{"minute":600,"speed_kmh":0}`,
}

// What goes together, and what is needed.
func TestSchemaTogether(t *testing.T) {
	s, rig := compiled(t, "ceiling", ""), compiled(t, "ceiling", "#/$defs/rig")
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

// The same of a day and of a lead.
func TestSchemaTogetherOfOthers(t *testing.T) {
	demo := core.Demo()
	whole := string(demo.JSON())
	const rig = `"rig":{"alternator":{"rated_current_A":90},"charger":{"max_output_W":500},"house_battery":{"chemistry":"agm","capacity_Ah":100}}`
	const air = `"min_C":10,"max_C":30,"house_soc":0.5`
	day := func(more string) string { return `{` + rig + `,"day":{` + air + more + `}}` }
	for _, c := range []struct {
		command, text string
		want          bool
	}{
		{"ceiling", whole, true}, {"day", whole, true}, {"wiring", whole, true},
		{"day", `{}`, false},
		{"day", `{` + rig + `}`, false},
		{"day", `{"rig":{"alternator":{"rated_current_A":90},"charger":{"max_output_W":500}},"day":{` + air + `}}`, false},
		{"day", `{` + rig + `,"day":{"house_soc":0.5}}`, false},
		{"day", `{` + rig + `,"day":{"house_soc":0.5,"air":[{"at":"06:00","ambient_C":10}]}}`, true},
		{"day", day(``), true},
		{"day", day(`,"legs":[{"from":"08:00","to":"09:00","kind":"drive"}]`), false},
		{"day", day(`,"legs":[{"from":"08:00","to":"09:00","kind":"drive","speed_kmh":20}]`), true},
		{"day", day(`,"legs":[{"from":"08:00","to":"09:00","kind":"drive","speed_kmh":20,"engine":"off"}]`), false},
		{"day", day(`,"legs":[{"from":"08:00","to":"09:00","kind":"drive","speed_kmh":20,"stop_min":5}]`), false},
		{"day", day(`,"legs":[{"from":"08:00","to":"09:00","kind":"drive","speed_kmh":20,"stop_min":5,"stop_every_min":9}]`), true},
		{"day", day(`,"legs":[{"from":"08:00","to":"09:00","kind":"stop","speed_kmh":20}]`), false},
		{"day", day(`,"legs":[{"from":"08:00","to":"09:00","kind":"camp","engine":"on"}]`), false},
		{"day", day(`,"legs":[{"from":"08:00","to":"09:00","kind":"stop","engine":"on"}]`), true},
		{"day", day(`,"legs":[{"from":"08:00","to":"09:00","kind":"stop"}],"track":[{"minute":600,"speed_kmh":3}]`), false},
		{"day", day(`,"track":[{"minute":600,"speed_kmh":3}]`), true},
		{"day", day(`,"loads":[{"name":"lamp","watts":5,"to":"09:00"}]`), false},
		{"day", day(`,"loads":[{"name":"lamp","watts":5,"from":"09:00"}]`), false},
		{"day", day(`,"loads":[{"name":"lamp","watts":5,"from":"09:00","minutes":5,"to":"10:00"}]`), false},
		{"day", day(`,"loads":[{"name":"lamp","watts":5,"from":"09:00","to":"10:00"}]`), true},
		{"day", day(`,"control":"schedule"`), false},
		{"day", day(`,"control":"schedule","switches":[{"at":"08:00","to":"charge"}]`), true},
		{"day", day(`,"switches":[{"at":"08:00","to":"charge"}]`), false},
		{"wiring", `{"wiring":{"source_V":14,"far_V":13.9,"far_W":520}}`, true},
		{"wiring", `{"wiring":{"source_V":14,"far_V":13.9}}`, false},
		{"wiring", `{"wiring":{"source_V":14,"far_V":13.9,"far_W":520,"far_A":37}}`, false},
		{"wiring", `{"wiring":{"source_V":14,"far_W":520}}`, false},
	} {
		if got := accepted(t, compiled(t, c.command, ""), c.text); got != c.want {
			t.Errorf("schema of %s says %v to %s", c.command, got, c.text)
		}
		if err := coreTakes(c.command, c.text); (err == nil) != c.want {
			t.Errorf("core says %v to %s for %s", err, c.text, c.command)
		}
	}
}

// A schema is for people too: units, ranges, examples.
func TestSchemaTells(t *testing.T) {
	text, err := json.Marshal(requestSchema("ceiling"))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`"Unit: rpm.`, `"minimum":-40`, `"default":0.95`, `"examples":["lifepo4"]`, `"title":"engine (rpm)"`} {
		if !strings.Contains(string(text), strings.TrimPrefix(want, `"Unit`)) {
			t.Errorf("no %s in the schema", want)
		}
	}
}
