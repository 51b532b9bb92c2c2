// Package near compares numbers in tests, and says by how much they differ.
package near

import (
	"math"
	"testing"
)

// Abs fails where got is further from want than tol, with what it is about.
func Abs(t testing.TB, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.8g, want %.8g within %.3g (off by %.3g)", what, got, want, tol, got-want)
	}
}

// Share is Abs with the tolerance as a share of want.
func Share(t testing.TB, what string, got, want, share float64) {
	t.Helper()
	Abs(t, what, got, want, share*math.Abs(want))
}
