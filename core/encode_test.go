package core

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"spareamps/core/jsontext"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func TestEncodeWritesWhatWasStated(t *testing.T) {
	in := smallInputs()
	q := smallRequest(in)
	if got, want := string(in.encode(nil, q)), `{}`; got != want {
		t.Errorf("nothing stated: %s, want %s", got, want)
	}
	text := `{"confidence":0.5,"rig":{"alternator":{"rated_current_A":120,"class_V":"24","points":[{"speed_rpm":1,"current_A":0},{"speed_rpm":2,"current_A":1e-7}]},"cable":{"length_m":6}},"moment":{"engine_rpm":1100}}`
	if ps := in.decode([]byte(text), q); ps != nil {
		t.Fatal(ps)
	}
	if got := string(in.encode(nil, q)); got != text {
		t.Errorf("got  %s\nwant %s", got, text)
	}
	q = smallRequest(in)
	in.read([]byte(`{"rig":{"cable":{}}}`), q, "")
	if got, want := string(in.encode(nil, q)), `{"rig":{"cable":{}}}`; got != want {
		t.Errorf("an empty optional group: %s, want %s", got, want)
	}
}

func TestDemo(t *testing.T) {
	want := `{"rig":{"alternator":{"rated_current_A":120,"class_V":12},"cable":{"length_m":6}},"moment":{"engine_rpm":1100}}`
	if got := string(smallInputs().demo()); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}

func TestEncodeRoundTrip(t *testing.T) {
	in := smallInputs()
	rapid.Check(t, func(t *rapid.T) {
		q := smallRequest(in)
		rows := rapid.IntRange(0, 4).Draw(t, "rows")
		for i := range in.fields {
			f := &in.fields[i]
			if f.Need != Required && !rapid.Bool().Draw(t, "state "+f.Path) {
				continue
			}
			n, list := 1, in.listOf(f.Path)
			if list >= 0 {
				n = rows
			}
			for row := range n {
				value := ""
				if f.Kind == Choice {
					value = rapid.SampledFrom(f.Choices).Draw(t, f.Path)
				} else if f.Kind == Whole {
					value = jsontext.NumberText(float64(rapid.IntRange(int(f.Min), int(f.Max)).Draw(t, f.Path)))
				} else {
					value = jsontext.NumberText(rapid.Float64Range(f.Min, f.Max).Draw(t, f.Path))
				}
				path := f.Path
				if list >= 0 {
					path = rowPath(path, row)
				}
				if ps := in.set(q, path, value); ps != nil {
					t.Fatalf("set(%q, %q): %+v", path, value, ps)
				}
			}
		}
		text := in.encode(nil, q)
		again := smallRequest(in)
		if ps := in.decode(text, again); ps != nil {
			t.Fatalf("%s: %+v", text, ps)
		}
		if diff := cmp.Diff(q, again, cmp.AllowUnexported(Request{})); diff != "" {
			t.Fatalf("%s (-want +got):\n%s", text, diff)
		}
	})
}

func TestEncodeAnswer(t *testing.T) {
	num := func(v float64) func(*Answer, int) float64 {
		return func(*Answer, int) float64 { return v }
	}
	row := func(_ *Answer, i int) float64 {
		if i == 1 {
			return never
		}
		return float64(i)
	}
	text := func(s string) func(*Answer, int) string { return func(*Answer, int) string { return s } }
	n := 3
	out := outputTable{
		lists: []outputList{
			{"limits[]", func(*Answer) int { return n }},
			{"fit", func(*Answer) int { return n }},
			{"fit.rows[]", func(*Answer) int { return 2 }},
			{"cautions[]", func(*Answer) int { return n }},
		},
		outputs: []Output{
			{Path: "ceiling.input_A", Unit: "A", Meaning: "m", num: num(31.5)},
			{Path: "ceiling.limit", Meaning: "m", text: text("rotor")},
			{Path: "ceiling.next.limit", Meaning: "m", text: text("")},
			{Path: "ceilings", Meaning: "m", num: num(math.Inf(1))},
			{Path: "limits[].limit", Meaning: "m", text: text(`a"b`)},
			{Path: "limits[].losses_W.iron", Meaning: "m", num: row},
			{Path: "fit.cut_in_rpm", Meaning: "m", num: num(-1e21)},
			{Path: "fit.rows[].x", Meaning: "m", num: row},
			{Path: "cautions[]", Meaning: "m", text: func(_ *Answer, i int) string { return strings.Repeat("!", i+1) }},
		},
	}
	if got := out.faults(); got != nil {
		t.Fatalf("faults %q, want none", got)
	}
	want := `{"ceiling":{"input_A":31.5,"limit":"rotor","next":{"limit":null}},"ceilings":null,` +
		`"limits":[{"limit":"a\"b","losses_W":{"iron":0}},{"limit":"a\"b","losses_W":{"iron":null}},{"limit":"a\"b","losses_W":{"iron":2}}],` +
		`"fit":{"cut_in_rpm":-1e+21,"rows":[{"x":0},{"x":null}]},"cautions":["!","!!","!!!"]}`
	if got := string(out.encode(nil, new(Answer))); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	n = 0
	want = `{"ceiling":{"input_A":31.5,"limit":"rotor","next":{"limit":null}},"ceilings":null,"limits":[],"cautions":[]}`
	if got := string(out.encode(nil, new(Answer))); got != want {
		t.Errorf("without rows\ngot  %s\nwant %s", got, want)
	}
	if got, want := string((&outputTable{}).encode(nil, new(Answer))), "{}"; got != want {
		t.Errorf("no rows at all: %s, want %s", got, want)
	}
}

func TestNumbersReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64().Draw(t, "v")
		var got float64
		text := jsontext.AppendNumber(nil, v)
		if err := json.Unmarshal(text, &got); err != nil || got != v {
			t.Fatalf("%v is written %s, which reads as %v, %v", v, text, got, err)
		}
	})
	for v, want := range map[float64]string{0: "0", math.Copysign(0, -1): "0", math.NaN(): "null", math.Inf(-1): "null", 1234567: "1234567", 0.1: "0.1", 1e-7: "1e-7"} {
		if got := jsontext.NumberText(v); got != want {
			t.Errorf("%v is written %s, want %s", v, got, want)
		}
	}
}

func TestStringsReadBack(t *testing.T) {
	check := func(fatalf func(string, ...any), s string) {
		var got string
		text := jsontext.AppendString(nil, s)
		if err := json.Unmarshal(text, &got); err != nil || got != strings.ToValidUTF8(s, "\ufffd") && got != string([]rune(s)) {
			fatalf("%q is written %s, which reads as %q, %v", s, text, got, err)
		}
		if strings.ContainsAny(string(text), "<\u2028\u2029\x7f\n") {
			fatalf("%q is written %s, not safe in a script or on a line", s, text)
		}
	}
	for _, s := range []string{"", "°C mm²", "\x00\t\n\r\x1f\x7f\"\\/", "</script>", "\u2028\u2029\U0001f600", "a\xffb\xc3"} {
		check(t.Errorf, s)
	}
	rapid.Check(t, func(t *rapid.T) { check(t.Fatalf, rapid.String().Draw(t, "s")) })
}

func TestProblemsAsJSONAndError(t *testing.T) {
	ps := []Problem{{"range", "a.b", "9", "1 to 4 A", "a.b is 9, allowed is 1 to 4 A"}, {"json", "", "", "", `x "y"`}}
	want := `{"error":{"code":"bad_input","problems":[{"code":"range","field":"a.b","value":"9","allowed":"1 to 4 A","message":"a.b is 9, allowed is 1 to 4 A"},{"code":"json","field":"","value":"","allowed":"","message":"x \"y\""}]}}`
	if got := string(problemsJSON("bad_input", ps)); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	if got, want := string(problemsJSON("trap", nil)), `{"error":{"code":"trap","problems":[]}}`; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	if got, want := inputError(ps).Error(), "a.b is 9, allowed is 1 to 4 A (and 1 more)"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if err := inputError(nil); err != nil {
		t.Errorf("no problems give %v, want no error", err)
	}
}

func TestDescribe(t *testing.T) {
	in := smallInputs()
	var got struct {
		Groups []map[string]any
		Fields []map[string]any
	}
	if err := json.Unmarshal(in.describe(nil), &got); err != nil {
		t.Fatal(err)
	}
	if len(got.Groups) != len(in.groups) || len(got.Fields) != len(in.fields) {
		t.Fatalf("%d groups and %d fields, want %d and %d", len(got.Groups), len(got.Fields), len(in.groups), len(in.fields))
	}
	for i, want := range map[int]map[string]any{
		0: {"path": "rig.alternator.rated_current_A", "unit": "A", "kind": "number", "need": "required", "min": 1.0, "max": 400.0, "demo": 120.0, "meaning": "m", "where": "", "source": ""},
		4: {"path": "rig.alternator.insulation_class", "unit": "", "kind": "choice", "need": "defaulted", "choices": []any{"A", "E", "B", "F", "H"}, "default": "F", "meaning": "m", "where": "", "source": "s"},
		5: {"path": "rig.alternator.pulley_ratio", "unit": "1", "kind": "number", "need": "optional", "min": 1.0, "max": 5.0, "assumed": 2.7, "meaning": "m", "where": "", "source": "s"},
	} {
		if diff := cmp.Diff(want, got.Fields[i]); diff != "" {
			t.Errorf("field %d (-want +got):\n%s", i, diff)
		}
	}
	if diff := cmp.Diff(map[string]any{"path": "rig.alternator.points[]", "optional": true, "max_rows": 4.0, "meaning": "a curve"}, got.Groups[2]); diff != "" {
		t.Errorf("list (-want +got):\n%s", diff)
	}
	out := outputTable{outputs: []Output{{Path: "a[].b", Unit: "A", Meaning: "m"}, {Path: "c", text: func(*Answer, int) string { return "" }}}}
	want := `[{"path":"a[].b","unit":"A","kind":"number","meaning":"m"},{"path":"c","unit":"","kind":"text","meaning":""}]`
	if got := string(out.describe(nil)); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}
