package core

import (
	"math"
	"testing"
)

// near says where got is further from want than tol, with what it is about.
func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.8g, want %.8g within %.3g (off by %.3g)", what, got, want, tol, got-want)
	}
}

// nearShare is near with the tolerance as a share of want.
func nearShare(t *testing.T, what string, got, want, share float64) {
	t.Helper()
	near(t, what, got, want, share*math.Abs(want))
}
