package core

import (
	"testing"

	"pgregory.net/rapid"

	"spareamps/core/internal/near"
	"spareamps/core/rig"
)

// The best efficiency is the stated one, met at 0.4 of the rating unless the
// idle draw is too large; nothing is better, idle draws idle.
func TestInverter(t *testing.T) {
	v := rig.Inverter{Given: true, RatedW: 2000, IdleW: 10, Efficiency: 0.9}
	near.Abs(t, "idle", inverterInputW(&v, 0), 10, 0)
	near.Abs(t, "at its best", 800/inverterInputW(&v, 800), 0.9, 1e-12)
	rapid.Check(t, func(t *rapid.T) {
		v := rig.Inverter{Given: true, RatedW: rapid.Float64Range(20, 20000).Draw(t, "rated"),
			IdleW: rapid.Float64Range(0, 500).Draw(t, "idle"), Efficiency: rapid.Float64Range(0.5, 0.99).Draw(t, "best")}
		p := rapid.Float64Range(0, 1).Draw(t, "load") * v.RatedW
		in := inverterInputW(&v, p)
		if !finite(in) || in < v.IdleW || p > in*v.Efficiency*(1+1e-12) {
			t.Errorf("%+v: %v W in for %v W", v, in, p)
		}
		if more := inverterInputW(&v, p*1.1); more < in {
			t.Errorf("%+v: %v W in for %v W, %v W for more", v, in, p, more)
		}
	})
	for _, c := range []struct {
		out, surge float64
		want       [2]bool
	}{{2000, 4000, [2]bool{false, false}}, {2001, 2001, [2]bool{true, false}}, {100, 4001, [2]bool{false, true}}} {
		if a, b := inverterOverload(&v, c.out, c.surge); [2]bool{a, b} != c.want {
			t.Errorf("%v W, %v W for seconds on %+v: %v %v, want %v", c.out, c.surge, v, a, b, c.want)
		}
	}
	v.SurgeW = 2500
	if _, b := inverterOverload(&v, 0, 2600); !b {
		t.Error("a stated surge rating is not kept")
	}
}
