package core

import (
	"cmp"

	"spareamps/core/detmath"
	"spareamps/core/rig"
)

// bestAt is the share of the rating at which an inverter is at its best; from
// memory: a third to half.
const bestAt = 0.4

// inverterInputW returns what an inverter draws from its battery, in W, while it gives
// outW.
//
//	P_in = P + p0 + a·P + b·P²                            (1)
//	b = p0/P_b², a = 1/η − 1 − 2·p0/P_b                   (2)
//
// with the idle draw p0 and the best efficiency η at P_b, 0.4 of the rating.
// Where the idle draw is so large that a would be negative, a is 0 and P_b
// moves up to where η is met; it is never passed. Checked: TestInverter,
// testdata/checks.csv.
func inverterInputW(v *rig.Inverter, outW float64) float64 {
	loss := 1/v.Efficiency - 1
	best := detmath.Max(bestAt*v.RatedW, 2*v.IdleW/loss)
	b := v.IdleW / (best * best)
	a := loss - 2*v.IdleW/best // (2)
	return v.IdleW + outW*(1+a+b*outW)
}

// inverterOverload says whether a draw passes the continuous rating, and whether what
// it takes for a few seconds at its start passes the surge rating.
func inverterOverload(v *rig.Inverter, outW, surgeW float64) (continuous, surge bool) {
	return outW > v.RatedW, surgeW > cmp.Or(v.SurgeW, 2*v.RatedW)
}
