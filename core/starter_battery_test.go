package core

import (
	"testing"

	"spareamps/core/internal/near"
)

// A start takes charge that is put back within minutes; the rest is float.
// Engineering estimate, no source: what is checked is what the comment says.
func TestStarterCurrent(t *testing.T) {
	near.Abs(t, "right after the start", StarterCurrent(70, 0), 70*0.31, 1e-9)
	near.Abs(t, "after hours", StarterCurrent(70, 600), 0.7, 1e-9)
	sum, before := 0.0, StarterCurrent(70, 0)
	const h = 0.01
	for m := h / 2; m < 120; m += h {
		a := StarterCurrent(70, m)
		if a > before {
			t.Fatalf("rises at %v min", m)
		}
		before = a
		sum += (a - StarterCurrent(70, 1e6)) * h / 60
	}
	near.Abs(t, "put back, Ah of 70", sum, 70*0.025, 1e-3)
	near.Abs(t, "in proportion to capacity", StarterCurrent(140, 7), 2*StarterCurrent(70, 7), 1e-12)
}
