package core

import (
	"bytes"
	"encoding/json"
	"math"
	"reflect"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"spareamps/core/jsontext"
	"spareamps/core/rig"
)

// smallest is a request that lacks nothing, %s standing for more.
func smallest(alternator, rest string) string {
	return `{"rig":{"alternator":{"rated_current_A":120` + alternator + `}},"moment":{"engine_rpm":1100}` + rest + `}`
}

func TestDecodeReadsEveryKind(t *testing.T) {
	in := smallInputs()
	q := smallRequest(in)
	ps := in.decode([]byte(` {
		"rig": {
			"alternator": {"rated_current_A": 1.2e2, "pole_pairs": 8, "class_V": 24.0, "insulation_class": "\u0068",
				"fouling": null, "points": [{"speed_rpm": 1500, "current_A": -0}, {"current_A": 110, "speed_rpm": 6000}]},
			"cable": {"length_m": 6, "awg": "2/0"}
		},
		"moment": {"engine_rpm": 1100, "ambient_C": -12.5}
	}`), q)
	if ps != nil {
		t.Fatalf("problems %+v, want none", ps)
	}
	want := smallRequest(in)
	want.Rig.Alternator = rig.Alternator{RatedCurrentA: 120, PolePairs: 8, ClassV: "24", InsulationClass: "H", Fouling: 0.1,
		Points: []rig.Point{{SpeedRpm: 1500, CurrentA: 0}, {SpeedRpm: 6000, CurrentA: 110}}}
	want.Rig.Cable = rig.Cable{Given: true, LengthM: 6, AWG: "2/0"}
	want.Moment.EngineRpm, want.Moment.AmbientC = 1100, -12.5
	for _, i := range []int{0, 1, 3, 4, 6, 7, 8, 9, 10, 11} {
		want.given.add(i)
	}
	if diff := cmp.Diff(want, q, cmp.AllowUnexported(Request{})); diff != "" {
		t.Errorf("request (-want +got):\n%s", diff)
	}
	if math.Signbit(q.Rig.Alternator.Points[0].CurrentA) {
		t.Error("-0 was stored with its sign")
	}
}

func TestDecodeReportsEachProblem(t *testing.T) {
	a := "rig.alternator."
	for _, c := range []struct{ name, text, want string }{ // want: code field | value | allowed | message
		{"unknown, a typing mistake", smallest(`,"foulnig":0.2`, ""),
			"unknown " + a + "foulnig | | " + a + "fouling | " + a + "foulnig is not known; did you mean " + a + "fouling?"},
		{"unknown, of another group", smallest(`,"ambient_C":30`, ""),
			"unknown " + a + "ambient_C | | moment.ambient_C | " + a + "ambient_C is not known; did you mean moment.ambient_C?"},
		{"unknown, another unit", smallest(``, `,"moment2":{"x":[{}]}`),
			"unknown moment2 | | moment | moment2 is not known; did you mean moment?"},
		{"unknown, like nothing", smallest(`,"zzzzzzzz":0`, ""),
			"unknown " + a + "zzzzzzzz | | | " + a + "zzzzzzzz is not known"},
		{"a dotted key is no path", smallest(``, `,"rig.cable":{}`),
			"unknown rig.cable | | | rig.cable is not known"},
		{"duplicate field", smallest(`,"fouling":0.1,"fouling":0.2`, ""),
			"duplicate " + a + "fouling | | | " + a + "fouling is given twice"},
		{"duplicate behind null", smallest(`,"fouling":null,"fouling":0.2`, ""),
			"duplicate " + a + "fouling | | | " + a + "fouling is given twice"},
		{"duplicate group", smallest(``, `,"moment":{}`),
			"duplicate moment | | | moment is given twice"},
		{"text for a number", smallest(`,"fouling":"0.2"`, ""),
			"type " + a + "fouling | 0.2 | 0 to 0.9 | " + a + "fouling is text, not a number: write 0.2 without quotes"},
		{"words for a number", smallest(`,"fouling":"much\u001b[2J"`, ""),
			"type " + a + "fouling | much\ufffd[2J | 0 to 0.9 | " + a + "fouling is text, allowed is 0 to 0.9"},
		{"a truth for a number", smallest(`,"fouling":true`, ""),
			"type " + a + "fouling | true or false | a number | " + a + "fouling is true or false, allowed is a number"},
		{"an object for a number", smallest(`,"fouling":{"a":[1]}`, ""),
			"type " + a + "fouling | an object | a number | " + a + "fouling is an object, allowed is a number"},
		{"a list for an object", `{"rig":[1],"moment":{"engine_rpm":1100}}`,
			"type rig | a list | an object | rig is a list, allowed is an object"},
		{"an object for a list", smallest(`,"points":{}`, ""),
			"type " + a + "points | an object | a list of objects | " + a + "points is an object, allowed is a list of objects"},
		{"a number for a row", smallest(`,"points":[7]`, ""),
			"type " + a + "points[0] | a number | an object | " + a + "points[0] is a number, allowed is an object"},
		{"below the range", smallest(``, `,"confidence":0.4`),
			"range confidence | 0.4 | 0.5 to 0.99 | confidence is 0.4, allowed is 0.5 to 0.99"},
		{"too large for a float", smallest(``, `,"confidence":1e999`),
			"range confidence | 1e999 | 0.5 to 0.99 | confidence is 1e999, allowed is 0.5 to 0.99"},
		{"a unit in the range", strings.Replace(smallest(``, ``), "120", "-1e400", 1),
			"range " + a + "rated_current_A | -1e400 | 1 to 400 A | " + a + "rated_current_A is -1e400, allowed is 1 to 400 A"},
		{"a fraction for a whole", smallest(`,"pole_pairs":6.5`, ""),
			"type " + a + "pole_pairs | 6.5 | a whole number, 2 to 12 | " + a + "pole_pairs is 6.5, allowed is a whole number, 2 to 12"},
		{"no such choice", smallest(`,"insulation_class":"ff"`, ""),
			"choice " + a + "insulation_class | ff | one of A, E, B, F, H | " + a + "insulation_class is ff, allowed is one of A, E, B, F, H"},
		{"no such choice as a number", smallest(`,"class_V":36`, ""),
			"choice " + a + "class_V | 36 | one of 12, 24 | " + a + "class_V is 36, allowed is one of 12, 24"},
		{"missing", `{"rig":{"alternator":{"rated_current_A":120}}}`,
			"missing moment.engine_rpm | | 400 to 8000 rpm | moment.engine_rpm is missing: 400 to 8000 rpm"},
		{"null for what is required", strings.Replace(smallest(``, ``), "1100", "null", 1),
			"missing moment.engine_rpm | | 400 to 8000 rpm | moment.engine_rpm is missing: 400 to 8000 rpm"},
		{"missing in an optional group that is given", strings.Replace(smallest(``, ``), `"rig":{`, `"rig":{"cable":{},`, 1),
			"missing rig.cable.length_m | | 0.1 to 30 m | rig.cable.length_m is missing: 0.1 to 30 m"},
		{"missing in a row", smallest(`,"points":[{"speed_rpm":1,"current_A":1},{"current_A":5}]`, ""),
			"missing " + a + "points[1].speed_rpm | | 0 to 30000 rpm | " + a + "points[1].speed_rpm is missing: 0 to 30000 rpm"},
		{"wrong in a row", smallest(`,"points":[{"speed_rpm":1,"current_A":1},{"current_A":5,"speed_rpm":-1}]`, ""),
			"range " + a + "points[1].speed_rpm | -1 | 0 to 30000 rpm | " + a + "points[1].speed_rpm is -1, allowed is 0 to 30000 rpm"},
		{"too many rows", smallest(`,"points":[{},{},{},{},{}]`, ""),
			"range " + a + "points | 5 rows | at most 4 rows | " + a + "points has 5 rows, allowed are at most 4 rows"},
		{"no object", ` [1]`,
			"type | a list | an object | a request is an object in { }, not a list"},
		{"null", `null`,
			"type | null | an object | a request is an object in { }, not null"},
	} {
		in := smallInputs()
		var got []string
		for _, p := range in.decode([]byte(c.text), smallRequest(in)) {
			got = append(got, strings.Join(strings.Fields(p.Code+" "+p.Field+" | "+p.Value+" | "+p.Allowed+" | "+p.Message), " "))
		}
		if diff := cmp.Diff([]string{c.want}, got); diff != "" {
			t.Errorf("%s: %s (-want +got):\n%s", c.name, c.text, diff)
		}
	}
}

func TestDecodeReportsAllAtOnce(t *testing.T) {
	in := smallInputs()
	var codes []string
	for _, p := range in.decode([]byte(`{"rig":{"alternator":{"fouling":7,"speed":1,"pole_pairs":"6"}},"confidence":0.1,"x":1}`), smallRequest(in)) {
		codes = append(codes, p.Code+" "+p.Field)
	}
	want := []string{"range rig.alternator.fouling", "unknown rig.alternator.speed", "type rig.alternator.pole_pairs",
		"range confidence", "unknown x", "missing rig.alternator.rated_current_A", "missing moment.engine_rpm"}
	if diff := cmp.Diff(want, codes); diff != "" {
		t.Errorf("problems (-want +got):\n%s", diff)
	}
	many := "{" + strings.Repeat(`"nonsense":1,`, 500) + `"x":1}`
	if n := len(in.decode([]byte(many), smallRequest(in))); n != jsontext.MaxProblems {
		t.Errorf("%d problems of 501 reported, want %d", n, jsontext.MaxProblems)
	}
}

func TestDecodeRefusesWhatIsNotJSON(t *testing.T) {
	at := func(s string) string { return "not valid json at " + s }
	for _, c := range []struct{ text, want string }{
		{``, at("line 1, column 1 (byte 0): the text ends where a value is due")},
		{`{`, at("line 1, column 2 (byte 1): the text ends where a key in double quotes is due")},
		{"{\n \"°\": tru}", at("line 2, column 7 (byte 9): tru is no json value")},
		{`{"a":NaN}`, at("line 1, column 6 (byte 5): NaN is no json value")},
		{`{"a":Infinity}`, at("line 1, column 6 (byte 5): Infinity is no json value")},
		{`{"a":-Infinity}`, at("line 1, column 6 (byte 5): minus sign without a number")},
		{`{"a":01}`, at("line 1, column 6 (byte 5): number with a leading zero")},
		{`{"a":1.}`, at("line 1, column 6 (byte 5): number without a digit behind its point")},
		{`{"a":.5}`, at("line 1, column 6 (byte 5): a value is due, not .")},
		{`{"a":+5}`, at("line 1, column 6 (byte 5): a value is due, not +")},
		{`{"a":1e}`, at("line 1, column 6 (byte 5): number without a digit in its exponent")},
		{`{"a":0x1}`, at("line 1, column 7 (byte 6): a comma or } is due, not x")},
		{`{"a":1,}`, at("line 1, column 8 (byte 7): comma without a value behind it")},
		{`{"a":[1,]}`, at("line 1, column 9 (byte 8): comma without a value behind it")},
		{`{"a":[1 2]}`, at("line 1, column 9 (byte 8): a comma or ] is due, not 2")},
		{`{a:1}`, at("line 1, column 2 (byte 1): a key in double quotes is due, not a")},
		{`{"a" 1}`, at("line 1, column 6 (byte 5): a colon behind the key is due, not 1")},
		{`{"a":1} x`, at("line 1, column 9 (byte 8): more text behind the end")},
		{"{}\x00", at("line 1, column 3 (byte 2): more text behind the end")},
		{`{/**/}`, at("line 1, column 2 (byte 1): a key in double quotes is due, not /")},
		{"{\"a\nb\":1}", at("line 1, column 4 (byte 3): control character in a text")},
		{`{"a`, at("line 1, column 4 (byte 3): text without a closing quote")},
		{`{"a\`, at("line 1, column 4 (byte 3): text without a closing quote")},
		{`{"\x":1}`, at("line 1, column 3 (byte 2): unknown escape in a text")},
		{`{"\u12":1}`, at("line 1, column 3 (byte 2): \\u without four hexadecimal digits")},
		{`{"\ud800":1}`, at("line 1, column 3 (byte 2): half of a surrogate pair")},
		{`{"\udc00\ud800":1}`, at("line 1, column 3 (byte 2): half of a surrogate pair")},
		{`{"\ud800\u0041":1}`, at("line 1, column 3 (byte 2): half of a surrogate pair")},
		{"{\"\xff\":1}", at("line 1, column 3 (byte 2): not utf-8 text")},
		{"{\"\xed\xa0\x80\":1}", at("line 1, column 3 (byte 2): not utf-8 text")},
		{"\ufeff{}", at("line 1, column 1 (byte 0): the text starts with a byte order mark; save it as utf-8 without one")},
		{strings.Repeat("[", 1<<20), at("line 1, column 9 (byte 8): nested deeper than 8 levels")},
		{`{"a":` + strings.Repeat(`{"a":`, 100000), at("line 1, column 41 (byte 40): nested deeper than 8 levels")},
		{`{"rig":{"alternator":{"points":[{},{]}}}`, at("line 1, column 37 (byte 36): a key in double quotes is due, not ]")},
		// What is wrong before the fault does not matter.
		{`{"x":1,"y":2,"rig":7,`, at("line 1, column 22 (byte 21): the text ends where a key in double quotes is due")},
	} {
		in := smallInputs()
		want := []Problem{{Code: "json", Message: c.want}}
		if diff := cmp.Diff(want, in.decode([]byte(c.text), smallRequest(in))); diff != "" {
			t.Errorf("%.60q (-want +got):\n%s", c.text, diff)
		}
	}
	in := smallInputs()
	if ps := in.decode(bytes.Repeat([]byte(" "), 1<<20+1), new(Request)); len(ps) != 1 || ps[0].Code != "too_large" {
		t.Errorf("more than 1 MiB: %+v, want one problem too_large", ps)
	}
}

func TestReadLaysTextsOverOneAnother(t *testing.T) {
	in := smallInputs()
	q := smallRequest(in)
	if ps := in.read([]byte(`{"alternator":{"rated_current_A":90,"points":[{"speed_rpm":1,"current_A":2},{"speed_rpm":3,"current_A":4}]},"cable":{"length_m":3}}`), q, "rig"); ps != nil {
		t.Fatalf("rig: %+v", ps)
	}
	if ps := in.read([]byte(`{"rig":{"alternator":{"rated_current_A":null,"fouling":0.3,"points":[{"speed_rpm":5}]}}}`), q, ""); ps != nil {
		t.Fatalf("request: %+v", ps)
	}
	var got []string
	for _, p := range in.checkMissing(q) {
		got = append(got, p.Field)
	}
	if diff := cmp.Diff([]string{"rig.alternator.points[0].current_A", "moment.engine_rpm"}, got); diff != "" {
		t.Errorf("missing (-want +got):\n%s", diff)
	}
	if got := len(in.checkMissing(q, "rig.alternator")); got != 1 {
		t.Errorf("%d fields missing within rig.alternator, want 1", got)
	}
	if got := in.checkMissing(q, "rig.cable", "confidence"); got != nil {
		t.Errorf("missing within rig.cable and confidence: %+v, want none", got)
	}
	if a := q.Rig.Alternator; a.RatedCurrentA != 90 || a.Fouling != 0.3 || !q.Rig.Cable.Given {
		t.Errorf("got %+v, want 90 A, fouling 0.3 and a cable", q.Rig)
	}
	if ps := in.read([]byte(`{"alternater":{}}`), q, "rig"); len(ps) != 1 || ps[0].Field != "rig.alternater" || ps[0].Allowed != "rig.alternator" {
		t.Errorf("got %+v, want rig.alternator suggested for rig.alternater", ps)
	}
}

// A required list without a row is missing.
func TestRequiredList(t *testing.T) {
	in := smallInputs()
	in.groups[2].Optional = false
	ps := in.decode([]byte(smallest(`,"points":[]`, "")), smallRequest(in))
	if len(ps) != 1 || ps[0].Code != "missing" || ps[0].Field != "rig.alternator.points" {
		t.Errorf("got %+v, want rig.alternator.points missing", ps)
	}
}

func TestSet(t *testing.T) {
	for _, c := range []struct{ path, value, code, message string }{
		{"moment.ambient_C", " 31.5 ", "", ""},
		{"moment.ambient_C", "+.5e1", "", ""},
		{"moment.ambient_C", "NaN", "type", "moment.ambient_C is NaN, allowed is -60 to 70 °C"},
		{"moment.ambient_C", "inf", "type", "moment.ambient_C is inf, allowed is -60 to 70 °C"},
		{"moment.ambient_C", "0x10", "type", "moment.ambient_C is 0x10, allowed is -60 to 70 °C"},
		{"moment.ambient_C", "1_0", "type", "moment.ambient_C is 1_0, allowed is -60 to 70 °C"},
		{"moment.ambient_C", "", "type", "moment.ambient_C is empty, allowed is -60 to 70 °C"},
		{"moment.ambient_C", "1e999", "range", "moment.ambient_C is 1e999, allowed is -60 to 70 °C"},
		{"moment.ambient_F", "90", "unknown", "moment.ambient_F is not known; did you mean moment.ambient_C?"},
		{"moment.engine-rpm", "900", "unknown", "moment.engine-rpm is not known; did you mean moment.engine_rpm?"},
		{"ambient_C", "9", "unknown", "ambient_C is not known; did you mean moment.ambient_C?"},
		{"moment.ambient", "9", "unknown", "moment.ambient is not known; did you mean moment.ambient_C?"},
		{"rig.cabel.length_m", "9", "unknown", "rig.cabel.length_m is not known; did you mean rig.cable.length_m?"},
		{"rig.cable", "9", "type", "rig.cable is an object: name one of its fields"},
		{"rig.alternator.points", "9", "type", "rig.alternator.points is a list of objects: name one of its fields"},
		{"", "9", "unknown", " is not known"},
		{"rig.alternator.pole_pairs", "7.5", "type", "rig.alternator.pole_pairs is 7.5, allowed is a whole number, 2 to 12"},
		{"rig.alternator.insulation_class", "h", "", ""},
		{"rig.cable.awg", "00", "choice", "rig.cable.awg is 00, allowed is one of 4, 2, 0, 2/0"},
		{"rig.alternator.points[3].speed_rpm", "9", "", ""},
		{"rig.alternator.points[4].speed_rpm", "9", "range", "rig.alternator.points[4].speed_rpm is out of its list, allowed is row 0 to 3"},
		{"rig.alternator.points[99999999999999999999].speed_rpm", "9", "unknown", ""},
		{"rig.alternator.points[-1].speed_rpm", "9", "unknown", ""},
		{"rig.alternator.points[].speed_rpm", "9", "unknown", ""},
		{"rig.alternator.points[0", "9", "unknown", ""},
	} {
		in := smallInputs()
		ps := in.set(smallRequest(in), c.path, c.value)
		if c.code == "" && ps == nil {
			continue
		}
		if len(ps) != 1 || ps[0].Code != c.code || c.message != "" && ps[0].Message != c.message {
			t.Errorf("set(%q, %q): %+v, want %q %q", c.path, c.value, ps, c.code, c.message)
		}
	}
}

func TestSetMarksWhatIsGiven(t *testing.T) {
	in := smallInputs()
	q := smallRequest(in)
	for _, s := range [][2]string{{"rig.cable.length_m", "4"}, {"rig.alternator.points[1].speed_rpm", "3000"}} {
		if ps := in.set(q, s[0], s[1]); ps != nil {
			t.Fatal(ps)
		}
	}
	i, _ := in.index("rig.cable.length_m")
	j, _ := in.index("rig.alternator.points[].speed_rpm")
	k, _ := in.index("moment.ambient_C")
	if !q.Rig.Cable.Given || !q.given.has(i) || !q.given.has(j) || q.given.has(k) {
		t.Errorf("cable given %v, fields %v; want the cable, fields %d and %d", q.Rig.Cable.Given, q.given, i, j)
	}
	var missing []string
	for _, p := range in.checkMissing(q, "rig.alternator.points") {
		missing = append(missing, p.Field)
	}
	if diff := cmp.Diff([]string{"rig.alternator.points[0].speed_rpm", "rig.alternator.points[0].current_A", "rig.alternator.points[1].current_A"}, missing); diff != "" {
		t.Errorf("missing (-want +got):\n%s", diff)
	}
}

func TestSetNum(t *testing.T) {
	in := smallInputs()
	q := smallRequest(in)
	in.set(q, "rig.alternator.points[0].speed_rpm", "5")
	length, _ := in.index("rig.cable.length_m")
	row, _ := in.index("rig.alternator.points[].speed_rpm")
	class, _ := in.index("rig.alternator.class_V")
	poles, _ := in.index("rig.alternator.pole_pairs")
	for _, c := range []struct {
		i  int
		v  float64
		ok bool
	}{{length, math.NaN(), false}, {length, math.Inf(1), false}, {length, 31, false}, {length, 30, true},
		{row, 6, false}, {class, 12, false}, {poles, 6.5, false}, {poles, 6, true}} {
		if ok := in.setNum(q, c.i, c.v); ok != c.ok {
			t.Errorf("setNum(%s, %v) %v, want %v", in.fields[c.i].Path, c.v, ok, c.ok)
		}
	}
	if got := q.Rig.Alternator.Points[0].SpeedRpm; got != 5 {
		t.Errorf("a refused row was set to %v", got)
	}
	if q.Rig.Cable.LengthM != 30 || !q.Rig.Cable.Given {
		t.Errorf("got %+v, want a cable of 30 m", q.Rig.Cable)
	}
	if n := testing.AllocsPerRun(100, func() { in.setNum(q, length, 5); in.setNum(q, length, 500) }); n != 0 {
		t.Errorf("setNum allocates %v times, want 0", n)
	}
}

// What is accepted as JSON is what encoding/json accepts, but for depth and
// for bytes and surrogates that it replaces.
func TestSyntaxAgreesWithStandardLibrary(t *testing.T) {
	pieces := []string{"{", "}", "[", "]", ",", ":", `"a"`, `"b\n"`, "1", "-0.5e3", "0", "null", "true", " ", "\n", "nul", "-", `"`, "\\", "1.", "é"}
	rapid.Check(t, func(t *rapid.T) {
		text := strings.Join(rapid.SliceOfN(rapid.SampledFrom(pieces), 0, 12).Draw(t, "pieces"), "")
		r := jsontext.Reader{Text: []byte(text)}
		got := r.Start() && r.Skip() && r.End()
		if want := json.Valid([]byte(text)); got != want && !strings.Contains(r.Fault, "deeper") {
			t.Fatalf("%q: accepted %v, want %v (%s)", text, got, want, r.Fault)
		}
	})
}

// Seeds: testdata/fuzz/FuzzDecode.
func FuzzDecode(f *testing.F) {
	in := smallInputs()
	f.Fuzz(func(t *testing.T, text []byte) {
		q := smallRequest(in)
		ps := in.decode(text, q)
		broken := len(ps) == 1 && (ps[0].Code == "json" || ps[0].Code == "too_large")
		if utf8.Valid(text) && json.Valid(text) == broken && !strings.Contains(ps[0].Message, "deeper") && !strings.Contains(ps[0].Message, "surrogate") && ps[0].Code != "too_large" {
			t.Fatalf("%q: problems %+v, json.Valid %v", text, ps, json.Valid(text))
		}
		for _, p := range ps {
			if p.Code == "" || p.Message == "" || !utf8.ValidString(p.Message) || strings.ContainsAny(p.Message, "\n\r\x1b") || len(p.Value) > jsontext.MaxShown {
				t.Fatalf("%q: bad problem %+v", text, p)
			}
		}
		if !json.Valid(problemsJSON("bad_input", ps)) {
			t.Fatalf("%q: problems are not valid json", text)
		}
		if ps != nil {
			return
		}
		again := smallRequest(in)
		encoded := in.encode(nil, q)
		if ps := in.decode(encoded, again); ps != nil || !reflect.DeepEqual(q, again) {
			t.Fatalf("%q encodes as %s, which reads as %+v %+v, want %+v", text, encoded, again, ps, q)
		}
	})
}

func BenchmarkDecode(b *testing.B) {
	in := smallInputs()
	row := `{"speed_rpm":1500.25,"current_A":35.5},`
	text := []byte(`{ "rig": { "alternator": { "rated_current_A": 120, "pole_pairs": 6, "fouling": 0.1, "class_V": "12", "insulation_class": "F", "pulley_ratio": 2.6, "points": [` +
		strings.Repeat(row, 29) + row[:len(row)-1] + `] }, "cable": { "length_m": 6, "awg": "4" } }, "moment": { "engine_rpm": 1100, "ambient_C": 38 }, "confidence": 0.95 }`)
	in.groups[2].MaxRows = 40
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		q := smallRequest(in)
		if ps := in.decode(text, q); ps != nil {
			b.Fatal(ps)
		}
	}
}

func BenchmarkSetNum(b *testing.B) {
	in := smallInputs()
	q := smallRequest(in)
	i, _ := in.index("moment.ambient_C")
	for b.Loop() {
		in.setNum(q, i, 20)
	}
}
