package core

import "math"

// A bridgeNode is the value, the slopes and the twist of a surface at one knot
// of its grid: all that a bicubic Hermite patch needs, so that the surface and
// its first partials are continuous.
type bridgeNode struct{ f, fs, fu, fsu float32 }

// A bridgeKnot is where a cell of the grid begins in s, and its width there.
type bridgeKnot struct{ at, width, inv float64 }

// bridgePlace finds the place of (s, r) in a grid of cols cells along u.
// The grid covers every r >= 0 because u = r/(1 + r) is below 1; above r =
// 1e100, where the current is no longer measurable anyway, r is cut so that
// its square stays finite.
type bridgePlace struct {
	row  int     // cell along s
	t    float64 // share of that cell
	knot *bridgeKnot
	r, w float64 // w = 1 − u = 1/(1 + r)
	u    float64
}

func placeBridge(s, r float64) bridgePlace {
	if s < 0 {
		s = 0
	}
	if r < 0 {
		r = 0
	} else if r > 1e100 {
		r = 1e100
	}
	row := int(bridgeCell[int(s*bridgeCellsPerUnit)])
	k := &bridgeKnots[row]
	w := 1 / (1 + r)
	return bridgePlace{row: row, t: (s - k.at) * k.inv, knot: k, r: r, w: w, u: r * w}
}

// bridgePatch evaluates the surface and its partials against s and u in the cell
// spanned by the nodes a, b (at the lower s) and c, d (at the upper).
// The Hermite basis is written with its factors t and 1−t, so that a surface
// that is zero along an edge reaches it without crossing.
func bridgePatch(a, b, c, d *bridgeNode, t, inv, width, x, dx float64) (f, fs, fu float64) {
	y := 1 - x
	h00, h01 := y*y*(1+2*x), x*x*(1+2*y)
	h10, h11 := dx*x*y*y, -dx*x*x*y
	g01 := 6 * x * y / dx
	g10, g11 := y*(1-3*x), x*(3*x-2)

	lo := h00*float64(a.f) + h01*float64(b.f) + h10*float64(a.fu) + h11*float64(b.fu)
	hi := h00*float64(c.f) + h01*float64(d.f) + h10*float64(c.fu) + h11*float64(d.fu)
	mlo := h00*float64(a.fs) + h01*float64(b.fs) + h10*float64(a.fsu) + h11*float64(b.fsu)
	mhi := h00*float64(c.fs) + h01*float64(d.fs) + h10*float64(c.fsu) + h11*float64(d.fsu)
	ulo := g01*(float64(b.f)-float64(a.f)) + g10*float64(a.fu) + g11*float64(b.fu)
	uhi := g01*(float64(d.f)-float64(c.f)) + g10*float64(c.fu) + g11*float64(d.fu)
	vlo := g01*(float64(b.fs)-float64(a.fs)) + g10*float64(a.fsu) + g11*float64(b.fsu)
	vhi := g01*(float64(d.fs)-float64(c.fs)) + g10*float64(c.fsu) + g11*float64(d.fsu)

	z := 1 - t
	s00, s01 := z*z*(1+2*t), t*t*(1+2*z)
	s10, s11 := width*t*z*z, -width*t*t*z
	f = s00*lo + s01*hi + s10*mlo + s11*mhi
	fu = s00*ulo + s01*uhi + s10*vlo + s11*vhi
	fs = 6*t*z*inv*(hi-lo) + z*(1-3*t)*mlo + t*(3*t-2)*mhi
	return f, fs, fu
}

// bridgeCurrent is BridgeCurrent with its partials against s and r. For s < 0
// and r < 0 it answers as for 0.
func bridgeCurrent(s, r float64) (y, dyds, dydr float64) {
	if s >= 1 {
		return 0, 0, 0
	}
	p := placeBridge(s, r)
	x := p.u * bridgeCols
	j := min(int(x), bridgeCols-1)
	n := p.row*(bridgeCols+1) + j
	f, fs, fu := bridgePatch(&bridgeNodes[n], &bridgeNodes[n+1],
		&bridgeNodes[n+bridgeCols+1], &bridgeNodes[n+bridgeCols+2],
		p.t, p.knot.inv, p.knot.width, x-float64(j), 1.0/bridgeCols)
	z := 1 / math.Sqrt(1+p.r*p.r)
	y = f * z
	return y, fs * z, fu*p.w*p.w*z - y*(p.r*z)*z
}

// phaseForm returns the form factor of a phase current: its root mean square
// over the mean direct current. 0.7405 (a sine, π/(3√2)) at s = 0, about 0.80
// at s = 0.9. It grows without bound as s nears 1, where both currents vanish;
// above s = formCap it keeps the value it has there.
//
// Within 1 % up to formCap. Neglects and sources: see BridgeCurrent.
// Checked: TestPhaseForm.
func phaseForm(s, r float64) float64 {
	if s > formCap {
		s = formCap
	}
	p := placeBridge(s, r)
	x := p.u * formCols
	j := min(int(x), formCols-1)
	n := p.row*(formCols+1) + j
	q, _, _ := bridgePatch(&formNodes[n], &formNodes[n+1],
		&formNodes[n+formCols+1], &formNodes[n+formCols+2],
		p.t, p.knot.inv, p.knot.width, x-float64(j), 1.0/formCols)
	return q
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
// within 3e-4 of the bridge solved exactly. Source: derived; the bridge is
// time-stepped with exact segments between commutations by the test, which
// also makes the table. Checked: TestBridgeTable, testdata/bridge_t1.csv.
func BridgeCurrent(s, r float64) float64 {
	y, _, _ := bridgeCurrent(s, r)
	return y
}
