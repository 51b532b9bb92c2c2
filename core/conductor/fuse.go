package conductor

import "spareamps/core/detmath"

const (
	fuseShare     = 0.75  // of its rating a fuse carries without end: US-standard types
	fusePerK      = 0.002 // less per K above fuseReference; from memory, low confidence
	fuseReference = 23.0  // °C
	FuseOverCable = 1.5   // largest rating over the conductor's ampacity, 46 CFR 183.380(d)
)

// FuseContinuous returns the current in A that a fuse of a rating in A may
// carry without end in an ambient in °C.
//
//	I = 0.75·I_rated·(1 − 0.002·(T − 23))     (1)
//
// For −40 to 120 °C; colder than 23 °C counts as 23 °C. IEC types carry more; the fuse maker's own curve wins.
// Sources: at the constants. Checked: testdata/checks.csv, fuse_continuous_A.
func FuseContinuous(ratedA, ambientC float64) float64 {
	return fuseShare * ratedA * detmath.Max(0, detmath.Min(1, 1-fusePerK*(ambientC-fuseReference))) // (1)
}

// FuseProtects says whether a fuse opens before the conductor is harmed.
func FuseProtects(fuseA, ampacityA float64) bool { return fuseA <= FuseOverCable*ampacityA }
