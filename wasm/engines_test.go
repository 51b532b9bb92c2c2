package main

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
	"github.com/tetratelabs/wazero/imports/wasi_snapshot_preview1"

	"spareamps/core"
)

// testRequest is a request the core answers.
const testRequest = `{"rig":{"alternator":{"rated_current_A":120}},"moment":{"engine_rpm":1400,"ambient_C":36}}`

// logConditions are what a log of the tests does not tell.
const logConditions = `{"ambient_C":36}`

// native answers as the module does, without one.
func native(export, text string) []byte {
	switch export {
	case "quantity":
		return core.QuantityJSON([]byte(text))
	case "about":
		return core.AboutJSON()
	case "day":
		return core.DayJSON([]byte(text))
	case "fit":
		return core.FitJSON([]byte(text))
	case "log":
		return core.LogTextJSON([]byte(text), []byte(logConditions))
	}
	return core.CeilingJSON([]byte(text))
}

// embedded is the module in wazero, by the steps of ABI.md.
type embedded struct {
	t      testing.TB
	module api.Module
}

func embed(t testing.TB, config wazero.RuntimeConfig) embedded {
	t.Helper()
	ctx := context.Background()
	runtime := wazero.NewRuntimeWithConfig(ctx, config)
	t.Cleanup(func() { _ = runtime.Close(ctx) })
	wasi_snapshot_preview1.MustInstantiate(ctx, runtime)
	module, err := runtime.InstantiateWithConfig(ctx, moduleBytes(t), wazero.NewModuleConfig().WithStartFunctions("_initialize"))
	if err != nil {
		t.Fatal(err)
	}
	return embedded{t, module}
}

func (e embedded) call(export string, parameters ...uint64) uint64 {
	e.t.Helper()
	results, err := e.module.ExportedFunction(export).Call(context.Background(), parameters...)
	if err != nil {
		e.t.Fatalf("%s: %v", export, err)
	}
	if len(results) == 0 {
		return 0
	}
	return results[0]
}

func (e embedded) answer(export, text string) []byte {
	e.t.Helper()
	var packed uint64
	if export == "about" {
		packed = e.call("about")
	} else {
		ptr := e.call("alloc", uint64(len(text)))
		e.module.Memory().WriteString(uint32(ptr), text)
		defer e.call("free", ptr)
		if export == "log" {
			at := e.call("alloc", uint64(len(logConditions)))
			e.module.Memory().WriteString(uint32(at), logConditions)
			packed = e.call(export, ptr, uint64(len(text)), at, uint64(len(logConditions)))
			defer e.call("free", at)
		} else {
			packed = e.call(export, ptr, uint64(len(text)))
		}
	}
	view, ok := e.module.Memory().Read(uint32(packed>>32), uint32(packed))
	if !ok {
		e.t.Fatalf("%s answers outside the memory: %#x", export, packed)
	}
	return bytes.Clone(view)
}

// question is one call: export and text.
type question [2]string

// questions draws n requests around the demo rig over the ranges of the table
// of inputs, and adds some that are wrong.
func questions(t testing.TB, n int) []question {
	t.Helper()
	var about struct {
		Inputs struct {
			Fields []struct {
				Path, Kind string
				Min, Max   any // texts of a clock or a date
				Choices    []string
				Demo       json.RawMessage
			}
		}
	}
	if err := json.Unmarshal(core.AboutJSON(), &about); err != nil {
		t.Fatal(err)
	}
	if len(about.Inputs.Fields) < 20 {
		t.Fatalf("got %d input fields, want more than 20", len(about.Inputs.Fields))
	}
	demo := core.Demo()
	fitted := core.DemoFit()
	random := rand.New(rand.NewPCG(1, 2))
	list := []question{
		{"about", ""}, {"ceiling", testRequest}, {"ceiling", `{}`}, {"ceiling", `{`}, {"ceiling", ` [ ] `}, {"ceiling", `{"rigg":{}}`}, {"day", string(demo.JSON())}, {"fit", string(fitted.JSON())}, {"fit", string(demo.JSON())}, {"fit", `{`},
		{"log", "time_s;engine_rpm;output_A;bus_V\n0;1400;60,5;13,8\nx\n90;1400;61;13,81\n"}, {"log", "\xff\x00 no log"},
		{"quantity", `{}`}, {"quantity", `{"quantity":"none","args":[1]}`}, {"ceiling", `{"moment":{"ambient_C":1e9,"engine_rpm":"fast"}}`},
	}
	var lists struct {
		Day map[string]json.RawMessage
	}
	if err := json.Unmarshal(demo.JSON(), &lists); err != nil {
		t.Fatal(err)
	}
	for k := range n + n/20 {
		request, change, export := map[string]any{}, 3, "ceiling"
		if k >= n { // most of a day's inputs do not go together by chance
			change, export = 20, "day"
		}
		for _, f := range about.Inputs.Fields {
			if strings.Contains(f.Path, "[]") || f.Demo == nil {
				continue
			}
			var value any = f.Demo
			if random.IntN(change) == 0 {
				switch f.Kind {
				case "number":
					// Squared towards the lower end: ranges are wide, and most of
					// what is asked lies low in them.
					u := random.Float64()
					value = f.Min.(float64) + (f.Max.(float64)-f.Min.(float64))*u*u
				case "whole":
					value = math.Round(f.Min.(float64) + (f.Max.(float64)-f.Min.(float64))*random.Float64())
				case "choice":
					value = f.Choices[random.IntN(len(f.Choices))]
				}
			}
			at := request
			names := strings.Split(f.Path, ".")
			for _, name := range names[:len(names)-1] {
				if at[name] == nil {
					at[name] = map[string]any{}
				}
				at = at[name].(map[string]any)
			}
			at[names[len(names)-1]] = value
		}
		if export == "day" {
			for _, name := range []string{"legs", "loads"} {
				request["day"].(map[string]any)[name] = lists.Day[name]
			}
			request["day"].(map[string]any)["series_min"] = random.IntN(60)
		}
		text, err := json.Marshal(request)
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, question{export, string(text)})
	}
	return list
}

// The same bytes from Go, wazero's two engines and Node.
func TestEnginesAgree(t *testing.T) {
	n := 1000
	if testing.Short() {
		n = 60
	}
	asked := questions(t, n)
	want := make([][]byte, len(asked))
	answered, days := 0, 0
	for k, q := range asked {
		want[k] = native(q[0], q[1])
		if q[0] == "ceiling" && !bytes.HasPrefix(want[k], []byte(`{"error"`)) {
			answered++
		}
		if q[0] == "day" && !bytes.HasPrefix(want[k], []byte(`{"error"`)) {
			days++
		}
	}
	t.Logf("%d of %d requests and %d of %d days are answered, the others refused", answered, n, days, 1+n/20)
	if answered < n/3 || days <= n/60 {
		t.Errorf("got %d answers to %d requests: the draw is too wild to show anything", answered, n)
	}
	same := func(t *testing.T, k int, got []byte) {
		t.Helper()
		if !bytes.Equal(got, want[k]) {
			at := 0
			for at < min(len(got), len(want[k])) && got[at] == want[k][at] {
				at++
			}
			from := max(0, at-60)
			t.Fatalf("%s %s:\n got …%.160s\nwant …%.160s", asked[k][0], asked[k][1], got[from:], want[k][from:])
		}
	}
	t.Run("wazero compiler", func(t *testing.T) {
		e := embed(t, wazero.NewRuntimeConfig())
		for k, q := range asked {
			same(t, k, e.answer(q[0], q[1]))
		}
	})
	t.Run("wazero interpreter", func(t *testing.T) {
		e := embed(t, wazero.NewRuntimeConfigInterpreter())
		for k, q := range asked[:20] { // some fifty times slower
			same(t, k, e.answer(q[0], q[1]))
		}
	})
	t.Run("node", func(t *testing.T) {
		file := filepath.Join(t.TempDir(), "requests.json")
		text, _ := json.Marshal(asked)
		if err := os.WriteFile(file, text, 0o600); err != nil {
			t.Fatal(err)
		}
		lines := strings.Split(strings.TrimSuffix(run(t, "testdata", nil, node(t), "answers.mjs", moduleFile(t), file), "\n"), "\n")
		if len(lines) != len(asked) {
			t.Fatalf("got %d answers, want %d", len(lines), len(asked))
		}
		for k, line := range lines {
			if asked[k][0] != "about" { // parsed and printed again by the binding
				same(t, k, []byte(line))
			}
		}
	})
}
