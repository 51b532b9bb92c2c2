package core

import (
	"math"
	"spareamps/core/detmath"
)

// A restCurve is a quantity over the state of charge, straight between evenly
// spaced points from empty to full and level beyond: an open-circuit voltage,
// or a resistance.
type restCurve []float64

// at returns the value at a state of charge (0 to 1).
func (c restCurve) at(soc float64) float64 {
	n := len(c) - 1
	x := detmath.Clamp(soc, 0, 1) * float64(n)
	i := min(int(x), n-1)
	return c[i] + (c[i+1]-c[i])*(x-float64(i))
}

// pieces is the number of equal pieces of charge between whose ends a battery's
// curves are straight. The points of all curves lie on such ends.
const pieces = 20

// A piece is a battery within one of them: values at its begin at 25 °C, and
// how much they rise to its end.
type piece struct {
	restV, restRise float64
	out, outRise    float64 // Ω on discharge
	in, inRise      float64 // Ω on charge
	sum             float64 // integral of restV from empty to here, in pieces
}

// lay makes a battery's pieces of its curves: rest voltages of a block or cell,
// and resistances relative to ohm25.
func (b *battery) lay(rest, out, in restCurve, blocks, ohm25 float64) {
	sum := 0.0
	for i := range b.pieces {
		from, to := float64(i)/pieces, float64(i+1)/pieces
		p := &b.pieces[i]
		p.restV, p.out, p.in, p.sum = blocks*rest.at(from), ohm25*out.at(from), ohm25*in.at(from), sum
		p.restRise, p.outRise, p.inRise = blocks*rest.at(to)-p.restV, ohm25*out.at(to)-p.out, ohm25*in.at(to)-p.in
		sum += p.restV + p.restRise/2
	}
}

// at returns the piece that a state of charge is in and how far it is beyond
// its begin, in pieces: below 0 or above 1 where it is beyond empty or full.
func (b *battery) at(soc float64) (*piece, float64) {
	x := soc * pieces
	whole := detmath.Min(detmath.Max(x-0.5, 0), pieces-1) + detmath.WholeUnit
	return &b.pieces[math.Float64bits(whole)&(1<<5-1)], x - (whole - detmath.WholeUnit)
}

// integral returns the integral of the open-circuit voltage at 25 °C from empty
// to a state of charge, exactly that of the straight pieces, so that what goes
// into a battery comes out again.
//
//	∫ = h·(S_i + u·v_i + u²·(v_i+1 − v_i)/2)     (1)
//
// Beyond empty and full the curve is level. Checked: TestRestIntegral.
func (b *battery) integral(soc float64) float64 {
	p, u := b.at(soc)
	w := detmath.Clamp(u, 0, 1)
	v := p.restV + p.restRise*w
	return (p.sum + w*(p.restV+v)/2 + (u-w)*v) / pieces // (1)
}
