package detmath

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Against the standard library, and the quadrants exactly.
func TestSincos(t *testing.T) {
	for k, want := range [][2]float64{{0, 1}, {1, 0}, {0, -1}, {-1, 0}, {0, 1}} {
		for _, turns := range []float64{0, -360, 3600, 360e9} {
			if s, c := Sincos(turns + 90*float64(k)); s != want[0] || c != want[1] {
				t.Errorf("sincos(%g) = %g, %g, want %v", turns+90*float64(k), s, c, want)
			}
		}
	}
	rapid.Check(t, func(r *rapid.T) {
		x := rapid.Float64Range(-720, 720).Draw(r, "x")
		s, c := Sincos(x)
		ws, wc := math.Sincos(x * math.Pi / 180)
		if math.Abs(s-ws) > 3e-14 || math.Abs(c-wc) > 3e-14 {
			r.Errorf("sincos(%g) = %.17g, %.17g, want %.17g, %.17g", x, s, c, ws, wc)
		}
	})
}

func TestAtan2(t *testing.T) {
	for _, a := range []float64{-180, -135, -90, -45, 0, 45, 90, 135, 180} {
		s, c := Sincos(a)
		if got := Atan2(s, c); math.Abs(got-a) > 1e-9 && math.Abs(got+a) > 1e-9 {
			t.Errorf("atan2 of the point at %g° = %g°", a, got)
		}
	}
	if got := Atan2(0, 0); got != 0 {
		t.Errorf("atan2(0, 0) = %g, want 0", got)
	}
	rapid.Check(t, func(r *rapid.T) {
		y, x := rapid.Float64Range(-1, 1).Draw(r, "y"), rapid.Float64Range(-1, 1).Draw(r, "x")
		y += 0 // no negative zero
		if got, want := Atan2(y, x), math.Atan2(y, x)*180/math.Pi; math.Abs(got-want) > 1e-9 {
			r.Errorf("atan2(%g, %g) = %.15g°, want %.15g°", y, x, got, want)
		}
	})
}
