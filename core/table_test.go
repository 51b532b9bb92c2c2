package core

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"spareamps/core/jsontext"
	"spareamps/core/rig"
)

// faults lists what is wrong with the declarations themselves.
func (t *inputTable) faults() []string {
	var out []string
	bad := func(path, what string) { out = append(out, path+": "+what) }
	if len(t.fields) > 256 || len(t.groups) > 256 {
		bad("table", "more rows than a given set holds")
	}
	seen := map[string]bool{}
	place := func(path string) {
		bare := strings.TrimSuffix(path, "[]")
		if seen[bare] {
			bad(path, "declared twice")
		}
		seen[bare] = true
		if strings.Count(path, "[]") > 1 {
			bad(path, "a list within a list")
		}
		if parent, _ := splitPath(path); parent != "" && t.group(parent) < 0 {
			bad(path, "its group is not declared")
		}
		if len(path) > 80 {
			bad(path, "longer than 80 bytes")
		}
	}
	for i := range t.groups {
		g := &t.groups[i]
		place(g.Path)
		if g.Meaning == "" {
			bad(g.Path, "no meaning")
		}
		if g.isList() != (g.resize != nil) || g.isList() != (g.rows != nil) || g.isList() != (g.MaxRows > 0) {
			bad(g.Path, "MaxRows, resize and rows belong to a list, and only there")
		}
		if g.Optional && !g.isList() && g.given == nil {
			bad(g.Path, "optional without given")
		}
	}
	for i := range t.fields {
		f := &t.fields[i]
		place(f.Path)
		if strings.HasSuffix(f.Path, "[]") {
			bad(f.Path, "a field is no list")
		}
		if f.Meaning == "" {
			bad(f.Path, "no meaning")
		}
		if f.Need == Defaulted && f.Source == "" {
			bad(f.Path, "a default without a source")
		}
		demo := ""
		if f.Kind == Choice {
			if f.text == nil || f.num != nil || len(f.Choices) == 0 {
				bad(f.Path, "a choice has text and choices, no num")
				continue
			}
			for j, a := range f.Choices {
				for _, b := range f.Choices[:j] {
					if foldEqual(a, []byte(b)) {
						bad(f.Path, "choices differ in case only: "+a)
					}
				}
				if a == "" {
					bad(f.Path, "empty choice")
				}
			}
			if _, ok := f.choice([]byte(f.DefaultText)); f.Need == Defaulted && !ok {
				bad(f.Path, "the default is no choice")
			}
			if f.Demo != "" {
				if err := json.Unmarshal([]byte(f.Demo), &demo); err != nil {
					demo = f.Demo
				}
				if _, ok := f.choice([]byte(demo)); !ok {
					bad(f.Path, "the demo is no choice")
				}
			}
			continue
		}
		if f.Kind == Text {
			if f.text == nil || f.num != nil || f.Min != 0 || f.Max < 1 || f.Max > jsontext.MaxShown || f.Need == Defaulted {
				bad(f.Path, "a text has text and a length, no num and no default")
			}
			continue
		}
		if f.num == nil || f.text != nil || len(f.Choices) > 0 || f.DefaultText != "" {
			bad(f.Path, "a number has num, neither text nor choices")
			continue
		}
		if !(f.Min < f.Max) || math.IsInf(f.Min, 0) || math.IsInf(f.Max, 0) {
			bad(f.Path, "no finite range")
		}
		if code := f.take(f.Default); code != "" && (f.Need == Defaulted || f.Need == Optional && f.Default != 0) {
			bad(f.Path, "the default is out of "+code)
		}
		if f.Demo != "" {
			_, _, code := f.parse([]byte(strings.Trim(f.Demo, `"`)))
			if code != "" || !json.Valid([]byte(f.Demo)) {
				bad(f.Path, "the demo is not taken")
			}
		}
	}
	if len(out) == 0 {
		q := new(Request)
		t.defaults(q)
		for _, p := range t.decode(t.demo(), q) {
			bad("demo", p.Message)
		}
	}
	return out
}

// faults lists what is wrong with the declarations themselves.
func (t *outputTable) faults() []string {
	var out []string
	bad := func(path, what string) { out = append(out, path+": "+what) }
	kind := map[string]string{} // of each key on the way: its rows' place and form
	var open []string
	closed := map[string]bool{}
	for i := range t.outputs {
		o := &t.outputs[i]
		if count(o.num != nil)+count(o.text != nil)+count(o.code != nil) != 1 {
			bad(o.Path, "one of num, text and code")
		}
		if (o.code != nil) != (len(o.Codes) > 0) {
			bad(o.Path, "code and Codes go together")
		}
		for j, name := range o.Codes {
			if name == "" || slices.Contains(o.Codes[:j], name) {
				bad(o.Path, "an empty code, or one twice")
			}
		}
		if o.Meaning == "" {
			bad(o.Path, "no meaning")
		}
		if strings.Count(o.Path, "[]") > 1 {
			bad(o.Path, "a list within a list")
		}
		var now []string
		at := ""
		for j, name := range strings.Split(o.Path, ".") {
			if j > 0 {
				at += "."
			}
			at += name
			now = append(now, at)
			form := "object"
			if strings.HasSuffix(name, "[]") {
				form = "list"
			}
			if at == o.Path {
				form += " leaf"
			}
			bare := strings.TrimSuffix(at, "[]")
			if k, ok := kind[bare]; ok && (k != form || at == o.Path) {
				bad(o.Path, "declared twice, or in two forms")
			}
			kind[bare] = form
		}
		for j, p := range open {
			if j >= len(now) || now[j] != p {
				closed[p] = true
			}
		}
		for _, p := range now {
			if closed[p] {
				bad(o.Path, "stands apart from the other rows of "+p)
			}
		}
		open = now
	}
	for i := range t.lists {
		path := t.lists[i].path
		used := false
		for j := range t.outputs {
			used = used || within(t.outputs[j].Path, path)
		}
		if !used {
			bad(path, "no such list or object")
		}
		if strings.HasSuffix(path, "[]") != (kind[strings.TrimSuffix(path, "[]")] == "list" || kind[strings.TrimSuffix(path, "[]")] == "list leaf") {
			bad(path, "a list in one place, an object in the other")
		}
	}
	for bare, k := range kind {
		if strings.HasPrefix(k, "list") && !hasList(t, bare+"[]") {
			bad(bare+"[]", "no rows")
		}
	}
	return out
}

func hasList(t *outputTable, path string) bool {
	for i := range t.lists {
		if t.lists[i].path == path {
			return true
		}
	}
	return false
}

// smallInputs is a table with one row of every kind.
func smallInputs() *inputTable {
	return &inputTable{
		groups: []Group{
			{Path: "rig", Meaning: "what stays"},
			{Path: "rig.alternator", Meaning: "the machine"},
			{Path: "rig.alternator.points[]", Optional: true, MaxRows: 4, Meaning: "a curve",
				resize: func(q *Request, n int) {
					p := make([]rig.Point, n)
					copy(p, q.Rig.Alternator.Points)
					q.Rig.Alternator.Points = p
				},
				rows: func(q *Request) int { return len(q.Rig.Alternator.Points) }},
			{Path: "rig.cable", Optional: true, Meaning: "the lead",
				given: func(q *Request) *bool { return &q.Rig.Cable.Given }},
			{Path: "moment", Meaning: "what changes"},
		},
		fields: []Field{
			{Path: "rig.alternator.rated_current_A", Unit: "A", Need: Required, Min: 1, Max: 400, Demo: "120", Meaning: "m", num: func(q *Request, _ int) *float64 { return &q.Rig.Alternator.RatedCurrentA }},
			{Path: "rig.alternator.pole_pairs", Kind: Whole, Min: 2, Max: 12, Default: 6, Source: "s", Meaning: "m", num: func(q *Request, _ int) *float64 { return &q.Rig.Alternator.PolePairs }},
			{Path: "rig.alternator.fouling", Unit: "1", Min: 0, Max: 0.9, Default: 0.1, Source: "s", Meaning: "m", num: func(q *Request, _ int) *float64 { return &q.Rig.Alternator.Fouling }},
			{Path: "rig.alternator.class_V", Kind: Choice, Choices: []string{"12", "24"}, DefaultText: "12", Source: "s", Demo: "12", Meaning: "m", text: func(q *Request, _ int) *string { return &q.Rig.Alternator.ClassV }},
			{Path: "rig.alternator.insulation_class", Kind: Choice, Choices: []string{"A", "E", "B", "F", "H"}, DefaultText: "F", Source: "s", Meaning: "m", text: func(q *Request, _ int) *string { return &q.Rig.Alternator.InsulationClass }},
			{Path: "rig.alternator.pulley_ratio", Unit: "1", Need: Optional, Min: 1, Max: 5, Default: 2.7, Source: "s", Meaning: "m", num: func(q *Request, _ int) *float64 { return &q.Rig.Alternator.PulleyRatio }},
			{Path: "rig.alternator.points[].speed_rpm", Unit: "rpm", Need: Required, Min: 0, Max: 30000, Meaning: "m", num: func(q *Request, i int) *float64 { return &q.Rig.Alternator.Points[i].SpeedRpm }},
			{Path: "rig.alternator.points[].current_A", Unit: "A", Need: Required, Min: 0, Max: 400, Meaning: "m", num: func(q *Request, i int) *float64 { return &q.Rig.Alternator.Points[i].CurrentA }},
			{Path: "rig.cable.length_m", Unit: "m", Need: Required, Min: 0.1, Max: 30, Demo: "6", Meaning: "m", num: func(q *Request, _ int) *float64 { return &q.Rig.Cable.LengthM }},
			{Path: "rig.cable.awg", Kind: Choice, Need: Optional, Choices: []string{"4", "2", "0", "2/0"}, Meaning: "m", text: func(q *Request, _ int) *string { return &q.Rig.Cable.AWG }},
			{Path: "moment.engine_rpm", Unit: "rpm", Need: Required, Min: 400, Max: 8000, Demo: "1100", Meaning: "m", num: func(q *Request, _ int) *float64 { return &q.Moment.EngineRpm }},
			{Path: "moment.ambient_C", Unit: "°C", Min: -60, Max: 70, Default: 25, Source: "s", Meaning: "m", num: func(q *Request, _ int) *float64 { return &q.Moment.AmbientC }},
			{Path: "confidence", Unit: "1", Min: 0.5, Max: 0.99, Default: 0.95, Source: "s", Meaning: "m", num: func(q *Request, _ int) *float64 { return &q.Confidence }},
		},
	}
}

func smallRequest(t *inputTable) *Request {
	q := new(Request)
	t.defaults(q)
	return q
}

func TestSmallTableIsSound(t *testing.T) {
	if got := smallInputs().faults(); got != nil {
		t.Errorf("faults %q, want none", got)
	}
}

func TestFaultsAreFound(t *testing.T) {
	in := smallInputs()
	in.groups[3].given = nil
	in.groups = in.groups[1:]
	in.fields[0].Demo = "900"
	in.fields[2].Default = 2
	in.fields[3].DefaultText = "48"
	in.fields[4].Path = "rig.alternator.class_V"
	want := []string{
		"rig.alternator: its group is not declared",
		"rig.cable: its group is not declared",
		"rig.cable: optional without given",
		"rig.alternator.rated_current_A: the demo is not taken",
		"rig.alternator.fouling: the default is out of range",
		"rig.alternator.class_V: the default is no choice",
		"rig.alternator.class_V: declared twice",
	}
	if diff := cmp.Diff(want, in.faults()); diff != "" {
		t.Errorf("inputs (-want +got):\n%s", diff)
	}
	num := func(*Answer, int) float64 { return 0 }
	out := outputTable{outputs: []Output{
		{Path: "a.x", Meaning: "m", num: num},
		{Path: "b", Meaning: "m", num: num},
		{Path: "a.y", Meaning: "m", num: num},
		{Path: "b.z", Meaning: "m", num: num},
		{Path: "c[].d[].e", Meaning: "m"},
	}}
	wantOut := []string{
		"a.y: stands apart from the other rows of a",
		"b.z: declared twice, or in two forms",
		"b.z: stands apart from the other rows of b",
		"c[].d[].e: one of num, text and code",
		"c[].d[].e: a list within a list",
	}
	if diff := cmp.Diff(wantOut, out.faults()[:5]); diff != "" {
		t.Errorf("outputs (-want +got):\n%s", diff)
	}
}
