package core

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"spareamps/core/conductor"
	"spareamps/core/internal/near"
	"spareamps/core/rig"
)

// The current a charger draws gives its output back, is the lower of the two
// that would, and is refused where the lead cannot bring the power.
func TestChargerDraw(t *testing.T) {
	refused := 0
	rapid.Check(t, func(t *rapid.T) {
		l := conductor.NewLead(&rig.Cable{AreaMM2: rapid.Float64Range(1, 100).Draw(t, "area"), LengthM: rapid.Float64Range(0.1, 60).Draw(t, "length"),
			Terminations: 6, TerminationMilliohm: rapid.Float64Range(0, 2).Draw(t, "contact")}, 12)
		w := rapid.Float64Range(0, 10000).Draw(t, "watts")
		eta := rapid.Float64Range(0.5, 0.99).Draw(t, "efficiency")
		v := rapid.Float64Range(11, 30).Draw(t, "volts")
		ambientC := rapid.Float64Range(-40, 120).Draw(t, "ambient")
		a, ok := inputA(w, eta, v, &l, ambientC)
		// The most power that comes through, by a plain scan.
		most := 0.0
		for i := 0.0; i < 3000; i += 1 {
			most = math.Max(most, outputW(eta, v, i, l.Ohm(i, ambientC)))
		}
		if !ok {
			refused++
			if w < 0.99*most {
				t.Errorf("%v W refused though %v W come through", w, most)
			}
			return
		}
		if w > most*(1+1e-3) && most > 10 {
			t.Errorf("%v W at %v A though at most %v W come through", w, a, most)
		}
		if got := outputW(eta, v, a, l.Ohm(a, ambientC)); math.Abs(got-w) > 1e-8*(1+w) {
			t.Errorf("%v A give %v W, want %v", a, got, w)
		}
		if a > 0 {
			below := a * 0.999
			if got := outputW(eta, v, below, l.Ohm(below, ambientC)); got > w {
				t.Errorf("%v A is not the lower root: %v A give %v W, want below %v", a, below, got, w)
			}
		}
	})
	a, ok := inputA(432, 0.9, 13.5, &noLead, 20) // 30 A at 14.4 V
	if !ok {
		t.Error("no current without a lead")
	}
	near.Abs(t, "without a lead: output over efficiency and voltage", a, 432/0.9/13.5, 1e-9)
	a, ok = inputA(-5, 0.9, 13.5, &noLead, 20)
	if !ok || a != 0 {
		t.Errorf("nothing asked: %v A, %v", a, ok)
	}
}

func TestRoundDown(t *testing.T) {
	for _, c := range []struct{ w, step, want float64 }{
		{0, 20, 0}, {-3, 20, 0}, {19.99, 20, 0}, {20, 20, 20}, {639.9999999999, 20, 640}, {639.99, 20, 620},
		{0.3, 0.1, 0.3}, {1234.56, 0.1, 1234.5}, {77, 0, 77}, {9999.9, 5000, 5000},
	} {
		near.Abs(t, "rounded down", roundDown(c.w, c.step), c.want, 1e-9)
	}
	rapid.Check(t, func(t *rapid.T) {
		w := rapid.Float64Range(0, 20000).Draw(t, "watts")
		step := rapid.Float64Range(0.1, 5000).Draw(t, "step")
		got := roundDown(w, step)
		if got > w+2e-9*step || got < w-step*(1+1e-9) || math.Abs(got/step-math.Round(got/step)) > 1e-9*(1+w/step) {
			t.Errorf("%v in steps of %v: %v", w, step, got)
		}
	})
}
