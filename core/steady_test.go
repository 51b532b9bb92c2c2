package core

import (
	"math"
	"math/rand"
	"testing"
)

// All that closings ask for is found: at fixed field over the whole range of
// speed, air and dust, at the output's reserve, and at winding and rotor limits
// below it. The point balances.
func TestSteadyIsFound(t *testing.T) {
	n := 6000
	if testing.Short() {
		n = 600
	}
	p := seededPicker{rand.New(rand.NewSource(3))}
	tried, fallback := map[string]int{}, map[string]int{}
	worst := map[string]float64{}
	for range n {
		o := drawOperating(p)
		from := o.start()
		check := func(name string, c closing, target float64, scale float64) steady {
			tried[name]++
			at := o.solve(c, target, &from)
			if !at.ok {
				fallback[name]++
				at = o.seek(c, target, &from)
			}
			b := o.balance(at.t, at.x, nil)
			for i, w := range b.net {
				worst[name] = math.Max(worst[name], math.Abs(w)/(1+b.made))
				if !(math.Abs(w) <= 1e-4*(1+b.made)) {
					t.Errorf("%s %v at %.0f rpm, %.0f °C: node %d is %v W out of balance of %.0f W (at %.1f °C, field %.3f)", name, target, o.speedRpm, o.inletC, i, w, b.made, at.t, at.x)
				}
			}
			if e := o.excess(c, target, &at); !(math.Abs(e) <= 1e-4*scale) {
				t.Errorf("%s %v at %.0f rpm, %.0f °C: missed by %v", name, target, o.speedRpm, o.inletC, e)
			}
			return at
		}
		full := check("full field", fullField, 0, 1e9)
		if f, _ := o.full(full.t[rotor]); math.Abs(full.x-f) > 1e-6 {
			t.Errorf("full field at %.0f rpm, %.0f °C: share %v, want %v", o.speedRpm, o.inletC, full.x, f)
		}
		check("fixed field", fixedField, full.x*p.between("field", 0.05, 1), 1e9)
		if !o.gives() || full.out.a < 0.5 {
			continue
		}
		hand := check("in hand", inHand, 1-outputReserve, 1+full.out.a)
		check("fixed current", fixedCurrent, hand.out.a*p.between("current", 0.01, 1), 1+full.out.a)
		between := func(node int) (float64, bool) {
			low, high := o.solve(fixedField, 0.1, &from), hand.t[node]
			return low.t[node] + (high-low.t[node])*p.between("limit", 0.1, 0.95), low.ok && high > low.t[node]+1
		}
		if c, ok := between(winding); ok {
			check("winding", windingAt, c, 100)
		}
		if c, ok := between(rotor); ok {
			check("rotor", rotorAt, c, 100)
		}
		l := o.losses(&hand)
		check("belt", shaftAt, o.friction+(o.busV*hand.out.a+l.Total()-o.friction)*p.between("shaft", 0.5, 1), 1000)
	}
	for name, k := range tried {
		t.Logf("%-13s %5d points, %d by the bracketing search, out of balance by at most %.1e of the heat", name, k, fallback[name], worst[name])
		if fallback[name] > 1 && 500*fallback[name] > k {
			t.Errorf("%s: %d of %d points needed the bracketing search, want 1 in 500 at most", name, fallback[name], k)
		}
	}
}
