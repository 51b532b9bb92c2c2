package core

import (
	"encoding/json"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"spareamps/core/conductor"
	"spareamps/core/detmath"
	"spareamps/core/internal/near"
	"spareamps/core/jsontext"
	"spareamps/core/rig"
)

// wiringRequest is a cable of 25 mm² and 6 m with two readings.
func wiringRequest(sourceV, farV, farA float64) Request {
	q := NewRequest()
	q.Rig.Cable = rig.Cable{Given: true, AreaMM2: 25, LengthM: 6, Terminations: 6, TerminationMilliohm: 0.1, InsulationC: 105, FuseA: 80, MaxDrop: 0.1}
	for path, v := range map[string]float64{"wiring.source_V": sourceV, "wiring.far_V": farV, "wiring.far_A": farA, "rig.cable.length_m": 6} {
		if err := q.Set(path, jsontext.NumberText(v)); err != nil {
			panic(err)
		}
	}
	return q
}

// A feed of about 520 W that leaves at 14.0 V and arrives at 13.9 V puts the
// lead near 3 mΩ: common practice, no source. Near: by half a milliohm.
func TestWiringFeed(t *testing.T) {
	q := NewRequest()
	for path, v := range map[string]string{"wiring.source_V": "14.0", "wiring.far_V": "13.9", "wiring.far_W": "520"} {
		if err := q.Set(path, v); err != nil {
			t.Fatal(err)
		}
	}
	a, err := CheckWiring(&q)
	if err != nil {
		t.Fatal(err)
	}
	near.Abs(t, "mΩ of the feed's lead", 1e3*a.Lead.Ohm, 3, 0.5)
	near.Abs(t, "W lost", a.Lead.LossW, 0.1*520/13.9, 1e-9)
	if a.Lead.Verdict != leadUnknown || len(a.Validity) != 1 || a.Validity[0].Code != "cable_unknown" {
		t.Errorf("without a cable: got %v, %v", a.Lead.Verdict, a.Validity)
	}
}

// Readings made with a lead are told apart: the lead itself is sound, one with
// a contact of so many milliohms too much is that much too high.
func TestWiringVerdicts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		i := rapid.Float64Range(20, 120).Draw(t, "A")
		extra := rapid.SampledFrom([]float64{0, 0, 0.004, 0.01, -0.004}).Draw(t, "extra ohm")
		ambient := rapid.Float64Range(-20, 60).Draw(t, "ambient")
		q := wiringRequest(14, 13, i)
		l := conductor.NewLead(&q.Rig.Cable, 12)
		q.Wiring.AmbientC, q.Wiring.MeterV = ambient, 0.001
		q.Wiring.FarV = 14 - i*(l.Ohm(i, ambient)+extra)
		a, err := CheckWiring(&q)
		if err != nil {
			t.Fatal(err)
		}
		want := leadSound
		switch {
		case extra > 0:
			want = leadHigh
		case extra < 0:
			want = leadLow
		}
		c := a.Lead
		if c.Verdict != want || detmath.Abs(c.MoreOhm-extra) > 1e-12 {
			t.Fatalf("%v A, %v ohm more: got %s, %v ohm more", i, extra, leadVerdictNames[c.Verdict], c.MoreOhm)
		}
		// The same readings by the area they would fit are sound.
		if c.LikeMM2 > 0 {
			q.Rig.Cable.AreaMM2 = c.LikeMM2
			if like := conductor.NewLead(&q.Rig.Cable, 12); detmath.Abs(like.Ohm20*conductor.Copper(c.ConductorC)+like.EndsOhm-c.Ohm) > 1e-9 {
				t.Fatalf("an area of %v mm² has %v ohm, measured were %v", c.LikeMM2, like.Ohm20*conductor.Copper(c.ConductorC)+like.EndsOhm, c.Ohm)
			}
		}
	})
}

// Two digits of a meter say nothing at two amps.
func TestWiringUnclear(t *testing.T) {
	q := wiringRequest(13.80, 13.78, 1)
	a, err := CheckWiring(&q)
	if err != nil {
		t.Fatal(err)
	}
	if a.Lead.Verdict != leadUnclear {
		t.Errorf("got %s, want unclear: %v of %v ohm", leadVerdictNames[a.Lead.Verdict], a.Lead.OhmSpread, a.Lead.Ohm)
	}
}

// What does not make sense is refused with its field.
func TestWiringProblems(t *testing.T) {
	for _, c := range []struct {
		name, field, code string
		change            func(q *Request)
	}{
		{"swapped", "wiring.far_V", "conflict", func(q *Request) { q.Wiring.FarV = 15 }},
		{"no current", "wiring.far_A", "missing", func(q *Request) { q.Wiring.FarA = 0 }},
		{"both", "wiring.far_W", "conflict", func(q *Request) { q.Wiring.FarW = 100 }},
		{"none", "wiring", "missing", func(q *Request) { q.Wiring = rig.Wiring{} }},
		{"cable", "rig.cable.area_mm2", "missing", func(q *Request) { q.Rig.Cable.AreaMM2 = 0 }},
	} {
		q := wiringRequest(14, 13.5, 30)
		c.change(&q)
		_, err := CheckWiring(&q)
		e, ok := err.(*InputError)
		if !ok || len(e.Problems) != 1 || e.Problems[0].Field != c.field || e.Problems[0].Code != c.code {
			t.Errorf("%s: got %v, want %s of %s alone", c.name, err, c.code, c.field)
		}
	}
}

// An answer is JSON, for any readings.
func TestWiringJSON(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		far := rapid.Float64Range(1, 60).Draw(t, "far")
		q := wiringRequest(rapid.Float64Range(max(far, 5), 60).Draw(t, "source"), far, rapid.Float64Range(0.1, 1000).Draw(t, "A"))
		q.Rig.Cable.Given = rapid.Bool().Draw(t, "cable")
		q.Rig.Cable.FuseA = rapid.SampledFrom([]float64{0, 30, 80, 300}).Draw(t, "fuse")
		if rapid.Bool().Draw(t, "charger") {
			if err := q.Set("rig.charger.max_output_W", jsontext.NumberText(rapid.Float64Range(10, 10000).Draw(t, "W"))); err != nil {
				t.Fatal(err)
			}
			q.Rig.Charger.MaxInputA = rapid.SampledFrom([]float64{0, 60}).Draw(t, "in")
		}
		a, err := CheckWiring(&q)
		if err != nil {
			t.Fatal(err)
		}
		text := a.WiringJSON()
		if !json.Valid(text) || strings.Contains(string(text), `"drop_V":null`) {
			t.Fatalf("got %s", text)
		}
		for _, s := range a.Says {
			if strings.Contains(s.Text, "NaN") || strings.Contains(s.Text, "Inf") {
				t.Fatal(s.Text)
			}
		}
	})
}
