package core

import "math"

// A bridgeNode is the value, the slopes and the twist of a surface at one knot
// of its grid: all that a bicubic Hermite patch needs, so that the surface and
// its first partials are continuous.
type bridgeNode struct{ f, fs, fu, fsu float32 }

// A bridgeKnot is where a cell of the grid begins in s, and its width there.
type bridgeKnot struct{ at, width, inv float64 }

// bridgeRange holds r to what the table covers: from 0 to where its square
// stays finite.
func bridgeRange(r float64) float64 {
	if !(r > 0) {
		return 0
	}
	if r > 1e100 {
		return 1e100
	}
	return r
}

// bridgeCurrent is BridgeCurrent with its partials against s and r.
func bridgeCurrent(s, r float64) (y, dyds, dydr float64) {
	if s >= 1 {
		return 0, 0, 0
	}
	if !(s > 0) {
		s = 0
	}
	r = bridgeRange(r)
	row := int(bridgeCell[int(s*bridgeCellsPerUnit)])
	k := &bridgeKnots[row]
	w := 1 / (1 + r) // 1 − u
	x := r * w * bridgeCols
	j := min(int(x), bridgeCols-1)
	a := row*(bridgeCols+1) + j
	lower := bridgeNodes[a : a+2 : a+2]
	upper := bridgeNodes[a+bridgeCols+1 : a+bridgeCols+3 : a+bridgeCols+3]

	// The Hermite basis is written with its factors v and 1−v, so that a
	// surface that is zero along an edge reaches it without crossing.
	const du, inv = 1.0 / bridgeCols, bridgeCols
	x -= float64(j)
	xo := 1 - x
	xx, oo := x*x, xo*xo
	h00, h01 := oo*(1+2*x), xx*(1+2*xo)
	h10, h11 := du*x*oo, -du*xx*xo
	g01 := 6 * x * xo * inv
	g10, g11 := xo*(1-3*x), x*(3*x-2)

	p, q, m, n := float64(lower[0].f), float64(lower[1].f), float64(lower[0].fu), float64(lower[1].fu)
	lo := h00*p + h01*q + (h10*m + h11*n)
	ulo := g01*(q-p) + (g10*m + g11*n)
	p, q, m, n = float64(upper[0].f), float64(upper[1].f), float64(upper[0].fu), float64(upper[1].fu)
	hi := h00*p + h01*q + (h10*m + h11*n)
	uhi := g01*(q-p) + (g10*m + g11*n)
	p, q, m, n = float64(lower[0].fs), float64(lower[1].fs), float64(lower[0].fsu), float64(lower[1].fsu)
	mlo := h00*p + h01*q + (h10*m + h11*n)
	vlo := g01*(q-p) + (g10*m + g11*n)
	p, q, m, n = float64(upper[0].fs), float64(upper[1].fs), float64(upper[0].fsu), float64(upper[1].fsu)
	mhi := h00*p + h01*q + (h10*m + h11*n)
	vhi := g01*(q-p) + (g10*m + g11*n)

	t := (s - k.at) * k.inv
	to := 1 - t
	tt, zz := t*t, to*to
	s00, s01 := zz*(1+2*t), tt*(1+2*to)
	s10, s11 := k.width*t*zz, -k.width*tt*to
	f := s00*lo + s01*hi + (s10*mlo + s11*mhi)
	fu := s00*ulo + s01*uhi + (s10*vlo + s11*vhi)
	fs := 6*t*to*k.inv*(hi-lo) + (to*(1-3*t)*mlo + t*(3*t-2)*mhi)

	z := 1 / math.Sqrt(1+r*r)
	y = f * z
	return y, fs * z, z * (fu*(w*w) - y*(r*z))
}

// formCap is the s above which the form factor stays as it is there.
const formCap = 0.9

// phaseForm returns the form factor of a phase current: its root mean square
// over the mean direct current. 0.7405 (a sine, π/(3√2)) at s = 0, about 0.80
// at s = 0.9.
//
//	q = π/(3√2) + s⁴·(a + b·s⁴ + c·s¹² + u·(d + e·s⁴ + f·s¹²)),  u = r/(1 + r)
//
// Within 1 % for r <= 1.5 and s <= 0.9. Towards s = 1 the true one grows
// without bound while both currents vanish: the copper loss made of it is there
// never further off than 1 % of what a short circuit makes. Coefficients:
// least squares on the bridge solved exactly. Checked: TestPhaseForm.
func phaseForm(s, r float64) float64 {
	if s > formCap {
		s = formCap
	} else if !(s > 0) {
		s = 0
	}
	r = bridgeRange(r)
	u := r / (1 + r)
	s4 := s * s * s * s
	s12 := s4 * s4 * s4
	return 0.74048049 + s4*(-0.02185+0.24028*s4-0.16179*s12+u*(0.45899-0.95601*s4+0.97217*s12))
}

// BridgeCurrent returns the normalised direct current y of a three-phase
// diode bridge that feeds a stiff direct voltage from a sinusoidal EMF behind
// a resistance and an inductance.
//
//	Idc = y(s, R/X)·Vs/X,  s = (Vo + 2·Vd)/(√3·Vs)     (1)
//	y(0, r) = (3/π)/√(1 + r²),  y(s, r) = 0 for s >= 1     (2)
//
// Vs is the peak EMF of a phase and X = ωL its reactance in the star
// equivalent, Vo the voltage at the B+ post, Vd the drop of one diode; s and r
// are pure numbers. Valid for every s and every r >= 0.
//
// Neglects EMF harmonics, saliency, the curvature of the diodes' drop and the
// ripple of Vo. It reads a table by bicubic Hermite patches: the value and both
// partials are continuous, y falls strictly with s and with r, and it is
// within 3e-4 of the bridge solved exactly (2.3e-4 at 60,000 places). Source:
// derived; the tests solve the bridge, exactly between commutations, and make
// the table from that. Checked: TestBridgeTable, TestBridgeCurrent,
// testdata/bridge_t1.csv, testdata/rivas_output.csv.
func BridgeCurrent(s, r float64) float64 {
	y, _, _ := bridgeCurrent(s, r)
	return y
}
