package sun

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"spareamps/core/detmath"
	"spareamps/core/internal/near"
)

func TestClearSkyPublished(t *testing.T) {
	tab := readTable(t, "clear_sky.csv")
	for i, row := range tab.Rows {
		v := rowOf(t, &tab, i, "elevation_deg", "air_mass_number", "turbidity_number", "altitude_m", "outside_W_m2", "global_W_m2", "beam_W_m2", "diffuse_W_m2")
		s, _ := detmath.Sincos(v[0])
		g, b, d := Ineichen(s, v[1], v[2], v[3], v[4])
		near.Share(t, row[0]+" global", g, v[5], 1e-6)
		near.Share(t, row[0]+" beam", b, v[6], 1e-6)
		near.Share(t, row[0]+" diffuse", d, v[7], 1e-6)
	}
}

// The whole of ClearSky against a model with no input but the sun: Haurwitz
// 1945, as computed in pvlib/pvlib-python@05fc1d14 tests/test_clearsky.py. It is
// a clear sky of cleaner air; at 10° it has 136 W/m² and ours 96.
func TestClearSkyHaurwitz(t *testing.T) {
	near1au := dayOf(2026, 4, 4)
	for _, tc := range []struct{ h, want float64 }{{90, 1035.09}, {50, 778.77}, {30, 487.89}} {
		g, _, _ := ClearSky(tc.h, near1au, 0)
		near.Share(t, "clear sky by Haurwitz", g, tc.want, 0.10)
	}
	if g, _, _ := ClearSky(10, near1au, 0); g > 135.74 {
		t.Errorf("10° high: got %g, want no more than the 135.74 of cleaner air", g)
	}
}

// What arrives is no more than what is outside, and parts make the whole.
func TestClearSkyBounds(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		h := rapid.Float64Range(-90, 90).Draw(r, "elevation")
		d := rapid.Float64Range(-18000, 36000).Draw(r, "day")
		alt := rapid.Float64Range(-430, 6000).Draw(r, "altitude")
		n := rapid.Float64Range(0, 1).Draw(r, "cloud")
		g, b, f := ClearSky(h, d, alt)
		gc, bc, fc := Cloudy(h, d, alt, n)
		if h <= 0 {
			if g != 0 || b != 0 || f != 0 || gc != 0 || bc != 0 || fc != 0 {
				r.Errorf("sun at %g: got %g, %g, %g, want nothing", h, g, b, f)
			}
			return
		}
		v := newSunVector(d)
		outside := solarConstant / (v.au * v.au)
		s, _ := detmath.Sincos(h)
		if g < 0 || b < 0 || f < 0 || g > outside*s || b > outside {
			r.Errorf("sun at %g, day %g, %g m: global %g beam %g diffuse %g, outside %g", h, d, alt, g, b, f, outside)
		}
		if math.Abs(gc-bc*s-fc) > 1e-9*(1+g) || gc < 0 || bc < 0 || fc < 0 {
			r.Errorf("sun at %g, cloud %g: global %g is not beam %g and diffuse %g", h, n, gc, bc, fc)
		}
		if gc > g || bc > b || gc < 0.2499999*g {
			r.Errorf("cloud %g: global %g of %g, beam %g of %g", n, gc, g, bc, b)
		}
		more, beam, _ := Cloudy(h, d, alt, detmath.Min(n+0.05, 1))
		if more > gc || beam > bc {
			r.Errorf("cloud %g has %g and %g, a little more %g and %g", n, gc, bc, more, beam)
		}
	})
	for _, n := range []float64{math.NaN(), -1} {
		if g, _, _ := Cloudy(40, 0, 0, n); !(g > 0) {
			t.Errorf("cloud %g: global %g", n, g)
		}
	}
	if g, b, d := Cloudy(40, 0, 0, 1); b != 0 || g != d {
		t.Errorf("overcast: beam %g, global %g, diffuse %g", b, g, d)
	}
	if g, _, _ := ClearSky(math.NaN(), 0, 0); g != 0 {
		t.Errorf("elevation not a number: global %g, want 0", g)
	}
}
