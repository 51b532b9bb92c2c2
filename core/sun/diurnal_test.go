package sun

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"spareamps/core/internal/near"
)

// The published day has 14.03957 h of sun, see the table.
func TestDiurnalPublished(t *testing.T) {
	tab := readTable(t, "diurnal.csv")
	const half = 14.03957 / 2
	for i, row := range tab.Rows {
		v := rowOf(t, &tab, i, "hour_h", "air_C")
		near.Abs(t, "air at "+row[0]+" h", 10+10*Diurnal(v[0], 12-half, 12+half, 1.5, 4, 1), v[1], 2e-4)
	}
}

// Between least and greatest, reached at their hours, without a jump over the
// whole day and midnight, and the same the next day.
func TestDiurnalCourse(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		noon := rapid.Float64Range(0, 24).Draw(r, "noon")
		day := rapid.Float64Range(0, 24).Draw(r, "day")
		at := func(h float64) float64 { return DiurnalC(h, noon-day/2, noon+day/2, 19, 38) }
		least, greatest, last := 99.0, -99.0, at(-0.01)
		for k := range 2401 {
			h := float64(k) / 100
			c := at(h)
			least, greatest = math.Min(least, c), math.Max(greatest, c)
			if math.Abs(c-last) > 0.2 { // the steepest morning has 15 K/h
				r.Fatalf("noon %g, %g h of day: jumps from %g to %g at %g h", noon, day, last, c, h)
			}
			last = c
		}
		if math.Abs(least-19) > 0.1 || least < 19-1e-9 || math.Abs(greatest-38) > 0.01 || greatest > 38+1e-9 {
			r.Errorf("noon %g, %g h of day: %g to %g, want 19 to 38", noon, day, least, greatest)
		}
		if d := math.Abs(at(3.3) - at(27.3)); d > 1e-9 {
			r.Errorf("noon %g, %g h of day: the next day is %g off", noon, day, d)
		}
	})
	near.Abs(t, "least, 10 minutes before sunrise", DiurnalC(5-0.17, 5, 19, 19, 38), 19, 1e-9)
	near.Abs(t, "greatest, 1.7 hours after noon", DiurnalC(12+1.86-0.17, 5, 19, 19, 38), 38, 1e-9)
	for _, v := range []float64{math.NaN(), math.Inf(1)} {
		if c := DiurnalC(15, v, v, 19, 38); c != DiurnalC(15, 6, 18, 19, 38) {
			t.Errorf("no place: %g", c)
		}
		if c := DiurnalC(v, 5, 19, 19, 38); !(c >= 19 && c <= 38) {
			t.Errorf("hour %g: %g", v, c)
		}
	}
}
