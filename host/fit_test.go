package main

import (
	"bytes"
	"context"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"spareamps/core"
)

// drawFit draws a rig of the demo's kind with readings of any value the table
// takes: sound ones are few among them.
func drawFit(t *rapid.T) core.Request {
	q := core.Demo()
	number := func(path string) float64 {
		for _, f := range core.Fields() {
			if f.Path == "rig.observations[]."+path {
				return rapid.Float64Range(f.Min, f.Max).Draw(t, path)
			}
		}
		t.Fatal("no field " + path)
		return 0
	}
	demo := core.DemoFit()
	for i := range rapid.IntRange(1, 4).Draw(t, "rows") {
		o := demo.Rig.Observations[i%len(demo.Rig.Observations)]
		o.Begins = rapid.SampledFrom([]string{"warm", "cold", "before"}).Draw(t, "begins")
		if i == 0 && o.Begins == "before" {
			o.Begins = "cold"
		}
		o.EverythingOn = rapid.SampledFrom([]string{"yes", "no"}).Draw(t, "everything_on")
		for _, f := range []struct {
			path string
			to   *float64
		}{{"minutes", &o.Minutes}, {"engine_rpm", &o.EngineRpm}, {"speed_kmh", &o.SpeedKmh}, {"ambient_C", &o.AmbientC}, {"altitude_m", &o.AltitudeM},
			{"setting_W", &o.SettingW}, {"vehicle_loads_W", &o.VehicleLoadsW}, {"output_A", &o.OutputA}, {"inlet_C", &o.InletC}, {"core_C", &o.CoreC},
			{"case_C", &o.CaseC}, {"plates_C", &o.PlatesC}, {"bus_V", &o.BusV}} {
			if rapid.IntRange(0, 3).Draw(t, f.path+" drawn") == 0 {
				*f.to = number(f.path)
			}
		}
		for _, c := range []*float64{&o.InletC, &o.CaseC, &o.CoreC, &o.PlatesC} {
			if *c < o.AmbientC {
				*c = math.NaN() // refused: colder than the air
			}
		}
		o.Thermometer = rapid.SampledFrom([]string{"", "infrared", "contact"}).Draw(t, "thermometer")
		o.Surface = rapid.SampledFrom([]string{"", "bright", "dull", "painted"}).Draw(t, "surface")
		if o.ChargerV > o.BusV || o.BusV == 0 {
			o.ChargerV = 0
		}
		if o.SettingW == 0 {
			o.ChargerInputA = 0
		}
		q.Observe(o)
	}
	return q
}

// Native and module give the same bytes for any readings.
func TestEnginesAgreeOnFits(t *testing.T) {
	p := &program{ctx: context.Background()}
	w, err := p.engine("wasm", "")
	if err != nil {
		t.Fatal(err)
	}
	defer w.close()
	answered := 0
	agree := func(t rapid.TB, request []byte) {
		want, err := native{}.fit(p.ctx, request)
		if err != nil {
			t.Fatal(err)
		}
		got, err := w.fit(p.ctx, request)
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(string(want), string(got)); d != "" {
			t.Fatalf("native (-) and module (+) differ for %s:\n%s", request, d)
		}
		if bytes.HasPrefix(want, []byte(`{"verdict"`)) {
			answered++
		} else if !bytes.Contains(want, []byte("hold conditions, but nothing")) {
			t.Fatalf("%s\n%s", want, request)
		}
	}
	demo := core.DemoFit()
	agree(t, demo.JSON())
	rapid.Check(t, func(t *rapid.T) {
		q := drawFit(t)
		agree(t, q.JSON())
	})
	if answered < 10 {
		t.Errorf("%d fits answered", answered)
	}
}

// Any fit prints within the page and draws a picture that is XML; what it says
// is finite.
func TestFitFitsThePage(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := drawFit(t)
		text, err := native{}.fit(context.Background(), q.JSON())
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(text, []byte("NaN")) || bytes.Contains(text, []byte("Inf")) {
			t.Fatalf("not a number: %s", text)
		}
		a, err := readAnswer(text)
		if err != nil || !a.has("verdict") {
			return
		}
		var out bytes.Buffer
		g := page{to: &out, width: rapid.SampledFrom([]int{pageMost, pageLeast, 71}).Draw(t, "width"), ascii: rapid.Bool().Draw(t, "ascii")}
		g.learned(a)
		for _, l := range strings.Split(out.String(), "\n") {
			if width(l) > g.width {
				t.Fatalf("%d columns in a page of %d: %s", width(l), g.width, l)
			}
		}
		d := xml.NewDecoder(bytes.NewReader(fitSVG(a)))
		for {
			if _, err := d.Token(); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				t.Fatal(err)
			}
		}
	})
}

// Ctrl-C ends a fit between two steps; its progress is told after a second.
func TestFitStops(t *testing.T) {
	demo := core.DemoFit()
	ctx, cancel := context.WithCancel(context.Background())
	last := 0
	_, err := native{func(step int) {
		if last = step; step == 3 {
			cancel()
		}
	}}.fit(ctx, demo.JSON())
	if !errors.Is(err, context.Canceled) || last != 3 {
		t.Errorf("cancelled at step 3: %v after step %d", err, last)
	}

	var told bytes.Buffer
	g := fitProgress{sweepProgress{to: &told, start: time.Now()}}
	g.step(1)
	g.vehicles(1, 10)
	if told.Len() > 0 {
		t.Errorf("told at once: %q", &told)
	}
	g.start = g.start.Add(-2 * time.Second)
	g.step(7)
	g.last = time.Time{}
	g.vehicles(2500, 5000)
	g.end()
	if got, want := told.String(), "\rfitting: step 7, 2 s\r 50.0 %  2,500 of 5,000 vehicles  2 s left\r"; !strings.HasPrefix(got, want) {
		t.Errorf("told %q, want %q", got, want)
	}
}
