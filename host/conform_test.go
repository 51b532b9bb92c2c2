package main

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"runtime"
	"slices"
	"strings"
	"testing"

	"spareamps/core"
	"spareamps/host/runner"
	"spareamps/testdata"
	"spareamps/wasm/edge/service"
)

var updateConformance = flag.Bool("update-conformance", false, "rewrite testdata/conformance.jsonl")

// human are members of an answer that are for people, or that later versions
// may well add to: no vector demands them.
var human = []string{"message", "text", "meaning", "measure", "source", "says", "cautions", "validity", "unknowns", "remedies", "why", "how"}

func withoutHuman(v any) any {
	switch v := v.(type) {
	case map[string]any:
		for name, x := range v {
			if slices.Contains(human, name) {
				delete(v, name)
				continue
			}
			v[name] = withoutHuman(x)
		}
	case []any:
		for i := range v {
			v[i] = withoutHuman(v[i])
		}
	}
	return v
}

// conformanceVectors makes the vectors anew, from the core.
func conformanceVectors(t *testing.T) (text []byte) {
	ctx, native := context.Background(), new(runner.Native)
	add := func(v testdata.Vector) {
		got, err := askEngine(ctx, native, &v)
		if err != nil {
			t.Fatal(v.Name, err)
		}
		var answer any
		if err := json.Unmarshal(got, &answer); err != nil {
			t.Fatal(v.Name, err)
		}
		bits := func(x float64) string { return fmt.Sprintf("%016x", math.Float64bits(x)) }
		a, _ := readAnswer(got)
		some := map[string]string{}
		for _, path := range []string{"ceiling.input_A", "nominal.input_A", "advice.draw_A", "temperatures_C.stator_winding", "setting.draw_A", "goal.soc_then", "search.misfit", "house_battery.capacity_Ah", "value"} {
			if x, ok := a.num(path); ok {
				some[path] = bits(x)
			}
		}
		if v.Call == "block" && got[0] == '[' {
			columns := [][]string{}
			for _, column := range answer.([]any) {
				list := []string{}
				for _, x := range column.([]any) {
					list = append(list, bits(x.(float64)))
				}
				columns = append(columns, list)
			}
			v.Bits, _ = json.Marshal(columns)
		} else if len(some) > 0 {
			v.Bits, _ = json.Marshal(some)
		}
		if v.Answer, err = json.Marshal(withoutHuman(answer)); err != nil {
			t.Fatal(err)
		}
		line, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		text = append(append(text, line...), '\n')
	}
	demo := func(changes ...string) json.RawMessage {
		q := core.Demo()
		for _, change := range changes {
			path, value, _ := strings.Cut(change, "=")
			if err := q.Set(path, value); err != nil {
				t.Fatal(change, err)
			}
		}
		object := q.JSON()
		return json.RawMessage(fmt.Sprintf(`{"confidence":%g,"rig":%s,"moment":%s}`, q.Confidence, member(object, "rig"), member(object, "moment")))
	}
	const label = `{"rig":{"alternator":{"rated_current_A":90}},"moment":{"engine_rpm":1500,"ambient_C":20}}`
	add(testdata.Vector{Name: "label-only", Since: "1.0", Call: "ceiling", Request: json.RawMessage(label)})
	for _, c := range []struct{ name, changes string }{
		{"demo", ""},
		{"cool", "moment.ambient_C=15"},
		{"hottest", "moment.ambient_C=60"},
		{"frost", "moment.ambient_C=-15"},
		{"frost-warm-battery", "moment.ambient_C=-15 moment.house_battery_C=12"},
		{"engine-off", "moment.engine_rpm=0"},
		{"idle-standing", "moment.engine_rpm=850 moment.speed_kmh=0"},
		{"crawl", "moment.engine_rpm=1100 moment.speed_kmh=8"},
		{"road", "moment.engine_rpm=2400 moment.speed_kmh=90 moment.ambient_C=28"},
		{"fast", "moment.engine_rpm=6000 moment.speed_kmh=130"},
		{"high", "moment.altitude_m=3000"},
		{"clean-vents", "rig.alternator.fouling=0"},
		{"half-blocked", "rig.alternator.fouling=0.5"},
		{"measured-inlet", "moment.inlet_C=52"},
		{"measured-bus", "rig.alternator.regulator_V=14.1"},
		{"class-f", "rig.alternator.insulation_class=F"},
		{"small-fuse", "rig.cable.fuse_A=40"},
		{"thin-long-cable", "rig.cable.area_mm2=10 rig.cable.length_m=9"},
		{"nearly-full", "moment.house_soc=0.97"},
		{"house-loads", "moment.house_loads_W=200"},
		{"heavy-vehicle", "moment.vehicle_loads_W=1400"},
		{"warmed-up", "moment.setting_W=300 moment.minutes_since_start=12"},
		{"half-sure", "confidence=0.5"},
		{"very-sure", "confidence=0.99"},
	} {
		add(testdata.Vector{Name: c.name, Since: "1.0", Call: "ceiling", Request: demo(strings.Fields(c.changes)...)})
	}
	for _, c := range []struct{ name, request string }{
		{"wrong-nothing-given", `{}`},
		{"wrong-range", `{"rig":{"alternator":{"rated_current_A":5}},"moment":{"engine_rpm":-1,"ambient_C":99}}`},
		{"wrong-type", `{"rig":{"alternator":{"rated_current_A":"much"}},"moment":{"engine_rpm":1500,"ambient_C":20}}`},
		{"wrong-choice", `{"rig":{"alternator":{"rated_current_A":90,"insulation_class":"Z"}},"moment":{"engine_rpm":1500,"ambient_C":20}}`},
		{"wrong-name", `{"rig":{"alternator":{"rated_curent_A":90}},"moment":{"engine_rpm":1500,"ambient_C":20}}`},
		{"wrong-null", `{"rig":null,"moment":{"engine_rpm":1500,"ambient_C":20}}`},
	} {
		add(testdata.Vector{Name: c.name, Since: "1.0", Call: "ceiling", Request: json.RawMessage(c.request)})
	}
	for _, c := range []struct{ name, text string }{{"no-text", ""}, {"no-object", "[]"}, {"cut-short", `{"rig":`}, {"twice", `{"rig":{},"rig":{}}`}, {"no-number", `{"moment":{"engine_rpm":01}}`}} {
		add(testdata.Vector{Name: c.name, Since: "1.0", Call: "ceiling", Text: &c.text})
	}
	for _, c := range []struct{ name, request string }{
		{"quantity", `{"quantity":"copper_ratio","args":[105]}`},
		{"quantity-bridge", `{"quantity":"bridge_y","args":[1.5,0.2]}`},
		{"quantity-unknown", `{"quantity":"nothing","args":[]}`},
		{"quantity-too-few", `{"quantity":"copper_ratio","args":[]}`},
	} {
		add(testdata.Vector{Name: c.name, Since: "1.0", Call: "quantity", Request: json.RawMessage(c.request)})
	}
	add(testdata.Vector{Name: "block-moments", Since: "1.0", Call: "block", Request: demo(),
		Inputs:  []string{"moment.engine_rpm", "moment.ambient_C"},
		Outputs: []string{"ceiling.input_A", "ceiling.output_W", "nominal.input_A", "advice.output_W", "temperatures_C.rotor"},
		Columns: [][]float64{{0, 850, 1400, 2200, 4000}, {30, 38, 36, 20, -10}}})
	add(testdata.Vector{Name: "block-rigs", Since: "1.0", Call: "block", Request: demo(),
		Inputs: []string{"rig.alternator.rated_current_A", "rig.cable.length_m"}, Outputs: []string{"ceiling.input_A", "costliest_unknown.cost_A"},
		Columns: [][]float64{{70, 120, 180}, {2, 6, 12}}})
	add(testdata.Vector{Name: "block-bad-rows", Since: "1.0", Call: "block", Request: demo(),
		Inputs: []string{"moment.engine_rpm", "moment.ambient_C"}, Outputs: []string{"nominal.output_W"},
		Columns: [][]float64{{1400, 99999, 1400, 1400}, {36, 36, 61, -40}}})
	add(testdata.Vector{Name: "block-one-row", Since: "1.0", Call: "block", Request: demo(), Outputs: []string{"after_idle.output_W"}})
	add(testdata.Vector{Name: "block-no-such-column", Since: "1.0", Call: "block", Request: demo(),
		Inputs: []string{"moment.warmth_C"}, Outputs: []string{"ceiling.colour"}, Columns: [][]float64{{1}}})
	whole := core.Demo()
	day := func(changes ...string) json.RawMessage {
		q := core.Demo()
		for _, change := range changes {
			path, value, _ := strings.Cut(change, "=")
			if err := q.Set(path, value); err != nil {
				t.Fatal(change, err)
			}
		}
		return q.JSON()
	}
	add(testdata.Vector{Name: "day-demo", Since: "1.1", Call: "day", Request: whole.JSON()})
	add(testdata.Vector{Name: "day-nearly-empty", Since: "1.1", Call: "day", Request: day("day.house_soc=0.15")})
	add(testdata.Vector{Name: "day-hot", Since: "1.1", Call: "day", Request: day("day.max_C=45", "day.min_C=28")})
	add(testdata.Vector{Name: "day-none", Since: "1.1", Call: "day", Request: demo()})
	add(testdata.Vector{Name: "block-names", Since: "1.2", Call: "block", Request: demo(),
		Inputs:  []string{"moment.engine_rpm", "moment.ambient_C"},
		Outputs: []string{"ceiling.limit", "nominal.limit", "after_idle.limit", "advice.because", "costliest_unknown.unknown"},
		Columns: [][]float64{{0, 850, 1400, 2200, 4000, 99999}, {30, 38, 36, 20, -10, 20}}})
	add(testdata.Vector{Name: "block-unknowns", Since: "1.3", Call: "block", Request: demo(),
		Inputs:  []string{"unknown.air_film", "unknown.bus_voltage", "moment.ambient_C"},
		Outputs: []string{"nominal.input_A", "ceiling.input_A", "ceiling.limit"},
		Columns: [][]float64{{1, 0.7, 1.3, 1, 99}, {14, 13.6, 14.4, 14, 14}, {30, 38, 36, 20, 20}}})
	part := func(q core.Request) json.RawMessage {
		object := q.JSON()
		return json.RawMessage(fmt.Sprintf(`{"confidence":%g,"rig":%s,"moment":%s}`, q.Confidence, member(object, "rig"), member(object, "moment")))
	}
	add(testdata.Vector{Name: "fit-demo", Since: "1.2", Call: "fit", Request: part(core.DemoFit())})
	for _, c := range []struct{ name, rows string }{
		{"fit-nothing-learned", `{"minutes":60,"engine_rpm":1400,"speed_kmh":15,"ambient_C":31,"setting_W":300,"start_soc":0.5,"end_soc":0.6}`},
		{"fit-contradiction", `{"minutes":30,"engine_rpm":1400,"speed_kmh":15,"ambient_C":31,"setting_W":300,"core_C":60,"case_C":57},
			{"minutes":30,"engine_rpm":1400,"speed_kmh":15,"ambient_C":31,"setting_W":300,"core_C":140,"plates_C":130}`},
		{"fit-wrong", `{"begins":"before","minutes":-1,"engine_rpm":1400,"ambient_C":99,"core_C":"hot","end_soc":0.7},{"warmth_C":3}`},
	} {
		q := core.Demo()
		request := part(q)
		at := bytes.Index(request, []byte(`"rig":{`)) + len(`"rig":{`)
		add(testdata.Vector{Name: c.name, Since: "1.2", Call: "fit", Request: slices.Concat(request[:at], []byte(`"observations":[`+c.rows+`],`), request[at:])})
	}
	add(testdata.Vector{Name: "fit-no-reading", Since: "1.2", Call: "fit", Request: demo()})
	return text
}

// The vectors are what the core answers; a changed number is a changed result.
func TestConformanceVectors(t *testing.T) {
	text := conformanceVectors(t)
	if *updateConformance {
		if err := os.WriteFile("../testdata/conformance.jsonl", text, 0o644); err != nil {
			t.Fatal(err)
		}
		recordVersion(t, text)
		return
	}
	if runtime.GOARCH != "amd64" {
		t.Skip("this processor fuses multiply and add: the last digits differ")
	}
	if !bytes.Equal(text, testdata.ConformanceText()) {
		t.Error("testdata/conformance.jsonl is not what the core answers; if that is meant, `go test ./host -run TestConformanceVectors -update-conformance` and say it in the changes")
	}
	all, err := testdata.Vectors("")
	if err != nil {
		t.Fatal(err)
	}
	old, err := testdata.Vectors("1.0")
	if err != nil {
		t.Fatal(err)
	}
	if len(all) < 40 || len(old) < 36 || len(old) == len(all) {
		t.Errorf("got %d vectors, %d of them of 1.0", len(all), len(old))
	}
}

// A service answers as the module does.
func TestConformEdge(t *testing.T) {
	server := httptest.NewServer(service.New(service.Options{}))
	defer server.Close()
	got := runArgs(t, "conform", "--edge", server.URL)
	if got.code != exitOK || !strings.Contains(got.out, "not offered there") || strings.Contains(got.out, "differs") {
		t.Errorf("got %+v", got)
	}
	server.Close()

	// One from before there were fits has no such path.
	older := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/v1/fit" {
			r.URL.Path = "/v1/none"
		}
		service.New(service.Options{}).ServeHTTP(w, r)
	}))
	defer older.Close()
	without := runArgs(t, "conform", "--edge", older.URL, "--json")
	if n := strings.Count(without.out, `"verdict": "not offered"`); without.code != exitOK || n < 4+4 || strings.Contains(without.out, "differs") {
		t.Errorf("got %d not offered, %+v", n, without)
	}

	if got := runArgs(t, "conform", "--edge", server.URL); got.code != exitFailed || !strings.Contains(got.err, "hint: `spareamps serve --api`") {
		t.Errorf("got %+v", got)
	}
}

// A wrong answer is found: a digit, a member, a row too few.
func TestConformFindsDifferences(t *testing.T) {
	vectors, err := testdata.Vectors("")
	if err != nil {
		t.Fatal(err)
	}
	n := new(runner.Native)
	for i := range vectors {
		v := &vectors[i]
		good, err := askEngine(context.Background(), n, v)
		if err != nil {
			t.Fatal(err)
		}
		if why := v.Check(good, fusedTolerance); why != "" {
			t.Errorf("%s: %s", v.Name, why)
		}
		more := append([]byte(nil), good...)
		if good[0] == '{' { // as a later minor version may answer
			more = append([]byte(`{"news":[1,{}],`), good[1:]...)
		}
		if why := v.Check(more, fusedTolerance); why != "" {
			t.Errorf("%s with a member more: %s", v.Name, why)
		}
		for at := range good {
			// Every hundredth place: a digit that is another one.
			if at%100 != 50 || good[at] < '0' || good[at] > '8' {
				continue
			}
			bad := append([]byte(nil), good...)
			bad[at]++
			var a, b any
			if json.Unmarshal(bad, &a) != nil || json.Unmarshal(good, &b) != nil {
				continue
			}
			x, _ := json.Marshal(withoutHuman(a))
			y, _ := json.Marshal(withoutHuman(b))
			if !bytes.Equal(x, y) && v.Check(bad, 0) == "" {
				t.Errorf("%s: a digit at %d changed, and nobody noticed", v.Name, at)
			}
		}
		for _, bad := range []string{"", "{}", "[]", "null", `{"error":{}}`} {
			if v.Check([]byte(bad), 1) == "" {
				t.Errorf("%s: took %q", v.Name, bad)
			}
		}
	}
}
