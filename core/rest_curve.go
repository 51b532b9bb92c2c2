package core

import "math"

// A restCurve is a quantity over the state of charge, straight between evenly
// spaced points from empty to full and level beyond: an open-circuit voltage,
// or a resistance.
type restCurve struct {
	v   []float64
	sum []float64 // integral up to each point, in steps

	pieces, last float64 // how many; index of the last
}

func newRestCurve(v ...float64) *restCurve {
	c := &restCurve{v, make([]float64, len(v)), float64(len(v) - 1), float64(len(v) - 2)}
	for i := 1; i < len(v); i++ {
		c.sum[i] = c.sum[i-1] + (v[i-1]+v[i])/2
	}
	return c
}

// place returns the piece that a state of charge is in and how far, in steps,
// it is beyond the piece's start.
func (c *restCurve) place(soc float64) (piece int, beyond float64) {
	x := soc * c.pieces
	whole := smaller(larger(x-0.5, 0), c.last) + wholeUnit
	return int(math.Float64bits(whole) & (mostPieces - 1)), x - (whole - wholeUnit)
}

// mostPieces is above the number of pieces of any curve; a power of two.
const mostPieces = 32

// at returns the value at a state of charge (0 to 1).
func (c *restCurve) at(soc float64) float64 {
	i, u := c.place(soc)
	return c.v[i] + (c.v[i+1]-c.v[i])*smaller(larger(u, 0), 1)
}

// piece returns the value at a state of charge, the slope there, and how far
// down and up the piece goes on.
func (c *restCurve) piece(soc float64) (v, slope, down, up float64) {
	i, u := c.place(soc)
	n := c.pieces
	slope = (c.v[i+1] - c.v[i]) * n
	if u < 0 || u > 1 { // level beyond
		return c.v[i] + (c.v[i+1]-c.v[i])*smaller(larger(u, 0), 1), 0, 0, 0
	}
	return c.v[i] + slope*u/n, slope, -u / n, (1 - u) / n
}

// integral returns the integral of the curve from empty to a state of charge,
// exactly that of the straight pieces, so that what goes into a battery comes
// out again.
//
//	∫ = h·(S_i + u·v_i + u²·(v_i+1 − v_i)/2)     (1)
//
// Beyond empty and full the curve is level. Checked: TestRestCurveIntegral.
func (c *restCurve) integral(soc float64) float64 {
	i, u := c.place(soc)
	w := smaller(larger(u, 0), 1)
	v := c.v[i] + (c.v[i+1]-c.v[i])*w
	return (c.sum[i] + w*(c.v[i]+v)/2 + (u-w)*v) / c.pieces // (1)
}
