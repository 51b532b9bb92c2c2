package main

import (
	"math"
	"testing"
)

// Even samples reach no further than so many of them do: the least of n stands
// for 1/n of all, so it lies half of that from the end.
func TestEvenSamplesReach(t *testing.T) {
	for _, n := range []int64{1, 2, 3, 10, 1000} {
		s := newSampler(make([]*sweepSpread, 14), n, false, 0)
		most := normal(1 - 0.5/float64(n))
		for i := range n {
			for j := range 14 {
				if z := normal(s.even(i, j)); math.Abs(z) > most+1e-9 {
					t.Errorf("sample %d of %d, spread %d: %.2f deviations, want at most %.2f", i, n, j, z, most)
				}
			}
		}
	}
}
