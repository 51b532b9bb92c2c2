package bundle

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"testing"

	"spareamps/core"
	"spareamps/core/rig"
	"spareamps/wasm/edge/service"
)

// costliest is a fit of so many rows that no vehicle could show: an engine that
// turns too slowly to run, through half hours that go on from one another, now
// and then with everything on, so that each step is searched for and no search
// settles. The worst kind of some five hundred that were drawn, by processor
// time for a step.
func costliest(n int) []byte {
	r := rand.New(rand.NewPCG(9, 3))
	q := core.Demo()
	for i := range 8 {
		airC := -40 + 100*r.Float64()
		part := func() float64 { return airC + (300-airC)*r.Float64() } // none is colder than the air
		o := rig.Observation{Begins: "before", Minutes: 30, EngineRpm: 450, EverythingOn: "no", InletC: math.NaN(),
			AmbientC: airC, AltitudeM: 6000 * r.Float64(), SpeedKmh: 200 * r.Float64(),
			CaseC: part(), CoreC: part(), PlatesC: part(),
			BusV: 8 + 24*r.Float64(), OutputA: 0.1 + 900*r.Float64(), SettingW: 10000 * r.Float64()}
		if i%2 == 1 {
			o.EverythingOn = "yes"
		}
		q.Observe(o)
	}
	for i := range n - 8 {
		q.Observe(q.Rig.Observations[i])
	}
	q.Rig.Observations[0].Begins = "cold"
	return q.JSON()
}

// What fits cost the worker, and that the costliest found within the bound ends
// long before the platform would end it.
func TestFitCost(t *testing.T) {
	if testing.Short() {
		t.Skip("computes for half a minute; leave -short out")
	}
	const platform = 30 // s, cpu_ms of wrangler.jsonc
	w := start(t, built(t), "0")
	for _, c := range []struct {
		name   string
		body   []byte
		rounds int
	}{
		{"the demo's four rows", observed(), 10},
		{"a day's log, 1440 rows of a minute", rows(1440, "before", 1, 1400), 3},
		{"nineteen days with the engine off", rows(service.MaxSteps/(3+1440/5)-1, "before", 1440, 0), 1},
		{"the costliest found within the bound", costliest(service.MaxSteps/9 - 1), 1},
	} {
		var q struct {
			Rig struct{ Observations []json.RawMessage }
		}
		if err := json.Unmarshal(c.body, &q); err != nil {
			t.Fatal(err)
		}
		best := math.Inf(1)
		iterations := 0.0
		for range c.rounds {
			before := w.cpu(t)
			r, text, err := ask("POST", w.url+"/v1/fit", "application/json", c.body)
			var answer struct {
				Search struct{ Iterations float64 }
			}
			if err != nil || r.StatusCode != 200 || json.Unmarshal(text, &answer) != nil {
				t.Fatalf("%s: got %v %.300s", c.name, err, text)
			}
			best, iterations = min(best, w.cpu(t)-before), answer.Search.Iterations
		}
		t.Logf("%s: %.2f s of processor time, %d rows, %v iterations", c.name, best, len(q.Rig.Observations), iterations)
		if best > platform {
			t.Errorf("%s took %.1f s of processor time, want at most %d", c.name, best, platform)
		}
	}
	t.Logf("worker holds %d MiB", w.memory())
}
