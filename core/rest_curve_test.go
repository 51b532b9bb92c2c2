package core

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"spareamps/core/internal/near"
)

// The integral between two states of charge is that of the curve by a fine
// trapezoid sum, exact in the pieces; steps add up, within and beyond the ends.
func TestRestIntegral(t *testing.T) {
	of := func(c restCurve) *battery {
		b := new(battery)
		b.lay(c, agmOut, agmIn, 1, 1)
		return b
	}
	curves := map[string]restCurve{"agm": agmRest, "flooded": floodedRest, "lifepo4": lfpRest, "agm out": agmOut}
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.SampledFrom([]string{"agm", "flooded", "lifepo4", "agm out"}).Draw(t, "curve")
		c := curves[name]
		b := of(c)
		from, to := rapid.Float64Range(-0.2, 1.2).Draw(t, "from"), rapid.Float64Range(-0.2, 1.2).Draw(t, "to")
		mid := from + (to-from)*rapid.Float64Range(0, 1).Draw(t, "mid")
		whole := b.integral(to) - b.integral(from)
		if parts := b.integral(to) - b.integral(mid) + b.integral(mid) - b.integral(from); math.Abs(parts-whole) > 1e-12 {
			t.Errorf("%s from %v over %v to %v: %v, in one %v", name, from, mid, to, parts, whole)
		}
		// Mean voltage times charge: the trapezoid rule between knots.
		sum, at := 0.0, from
		n := float64(len(c) - 1)
		lo, hi := math.Min(from, to), math.Max(from, to)
		knots := []float64{lo}
		for i := 0.0; i <= n; i++ {
			if k := i / n; k > lo && k < hi {
				knots = append(knots, k)
			}
		}
		knots = append(knots, hi)
		for _, k := range knots[1:] {
			at = knots[0]
			sum += (k - at) * (c.at(k) + c.at(at)) / 2
			knots = knots[1:]
		}
		if to < from {
			sum = -sum
		}
		if math.Abs(sum-whole) > 1e-12 {
			t.Errorf("%s from %v to %v: %v, by its pieces %v", name, from, to, whole, sum)
		}
	})
	near.Abs(t, "empty", of(lfpRest).integral(0), 0, 0)
	near.Abs(t, "beyond full", agmRest.at(2), 12.89, 0)
	near.Abs(t, "beyond empty", agmRest.at(-1), 11.70, 0)
	// A cell's mean voltage at rest is a little above its nominal 3.2 V.
	if got := of(lfpRest).integral(1); got < 3.2 || got > 3.3 {
		t.Errorf("LiFePO4 mean voltage %v V, want 3.2 to 3.3", got)
	}
}
