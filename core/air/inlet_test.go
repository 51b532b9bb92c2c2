package air

import (
	"math"
	"testing"

	"spareamps/core/internal/near"
)

// Rise of the inlet air: moving, standing with the engine running, and soaked with
// it off. Sources: testdata/underbonnet_air.csv
// (owners' logs, 3 K).
func TestInletRise(t *testing.T) {
	soaked := MovingRise
	for m := 1.0; m <= 20; m++ {
		soaked = EngineOffRise(soaked, m, 1)
	}
	near.Abs(t, "engine off, 20 min after a stop from speed, at 32 °C", 32+soaked, 74, 3)
	near.Abs(t, "standing in dense traffic, engine running", InletRise(0), 35, 1e-12)
	near.Abs(t, "moving well, low end of the log", InletRise(80), 14, 3)
	near.Abs(t, "moving well, high end of the log", InletRise(80), 17, 3)
	near.Abs(t, "standing for long", InletRise(0), MovingRise+StandingRise, 1e-12)
}

// The rise falls with road speed, now and after any stop, and a stop never
// cools; a long one ends where standing for ever does.
func TestInletIsMonotone(t *testing.T) {
	for _, minutes := range []float64{0, 1, 5, 10, 20, 60} {
		before := math.Inf(1)
		for v := 0.0; v <= 200; v += 0.5 {
			rise := InletRise(v) + SoakRise(v, minutes)
			if rise > before+1e-12 {
				t.Fatalf("%v min after a stop from %v km/h the rise is %v K, from slower %v K", minutes, v, rise, before)
			}
			before = rise
			if SoakRise(v, minutes) < 0 {
				t.Fatalf("a stop of %v min from %v km/h cools", minutes, v)
			}
		}
	}
	for v := 0.0; v <= 200; v += 10 {
		near.Abs(t, "after a long stop", InletRise(v)+SoakRise(v, 1e4), InletRise(0), 1e-9)
		near.Abs(t, "at the stop", SoakRise(v, 0), 0, 0)
	}
}
