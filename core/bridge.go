package core

import "math"

// A bridgeNode is the value, the slopes and the twist of a surface at one knot
// of its grid: all that a bicubic Hermite patch needs, so that the surface and
// its first partials are continuous.
type bridgeNode struct{ f, fs, fu, fsu float32 }

// A bridgeKnot is where a cell of the grid begins in s, and its width there.
type bridgeKnot struct{ at, width, inv float64 }

// bridgePatch evaluates a surface and its partials against s and u in the cell
// at the nodes a, b (at the lower s) and c, d (at the upper), at the shares t
// along s and x along u of the cell. The Hermite basis is written with its factors t and
// 1−t, so that a surface that is zero along an edge reaches it without
// crossing.
func bridgePatch(a, b, c, d *bridgeNode, k *bridgeKnot, t, x float64) (f, fs, fu float64) {
	const du, inv = 1.0 / bridgeCols, bridgeCols
	y := 1 - x
	xx, yy := x*x, y*y
	h00, h01 := yy*(1+2*x), xx*(1+2*y)
	h10, h11 := du*x*yy, -du*xx*y
	g01 := 6 * x * y * inv
	g10, g11 := y*(1-3*x), x*(3*x-2)

	p, q, m, n := float64(a.f), float64(b.f), float64(a.fu), float64(b.fu)
	lo := h00*p + h01*q + (h10*m + h11*n)
	ulo := g01*(q-p) + (g10*m + g11*n)
	p, q, m, n = float64(c.f), float64(d.f), float64(c.fu), float64(d.fu)
	hi := h00*p + h01*q + (h10*m + h11*n)
	uhi := g01*(q-p) + (g10*m + g11*n)
	p, q, m, n = float64(a.fs), float64(b.fs), float64(a.fsu), float64(b.fsu)
	mlo := h00*p + h01*q + (h10*m + h11*n)
	vlo := g01*(q-p) + (g10*m + g11*n)
	p, q, m, n = float64(c.fs), float64(d.fs), float64(c.fsu), float64(d.fsu)
	mhi := h00*p + h01*q + (h10*m + h11*n)
	vhi := g01*(q-p) + (g10*m + g11*n)

	z := 1 - t
	tt, zz := t*t, z*z
	s00, s01 := zz*(1+2*t), tt*(1+2*z)
	s10, s11 := k.width*t*zz, -k.width*tt*z
	f = s00*lo + s01*hi + (s10*mlo + s11*mhi)
	fu = s00*ulo + s01*uhi + (s10*vlo + s11*vhi)
	fs = 6*t*z*k.inv*(hi-lo) + (z*(1-3*t)*mlo + t*(3*t-2)*mhi)
	return f, fs, fu
}

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
	i := row*(bridgeCols+1) + j
	f, fs, fu := bridgePatch(&bridgeNodes[i], &bridgeNodes[i+1],
		&bridgeNodes[i+bridgeCols+1], &bridgeNodes[i+bridgeCols+2],
		k, (s-k.at)*k.inv, x-float64(j))
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
