package core

import (
	"math"

	"spareamps/core/conductor"
	"spareamps/core/detmath"
)

const (
	labelCopperC   = 110   // °C of all copper when the label's currents are measured: warm from the test; engineering estimate
	labelRX        = 0.054 // R/X at 6000 rpm and labelCopperC: fits of published curves give 0.05 to 0.11 warm
	labelCutInRpm  = 1050  // 13.5 V cut-in where the label gives no idle current: published 920 to 1340
	twoDiodesV     = 1.9   // V, two rectifier diodes in series near rated current: 0.9 to 1.0 V each
	fieldCap       = 1.6   // largest field share a cold rotor draws; engineering estimate
	rotationalUnit = 2 * math.Pi / 60
)

// A machine is the star equivalent of a claw-pole alternator at full field,
// with all copper at refC and testV at the brushes.
type machine struct {
	poles float64 // pole pairs
	flux  float64 // Wb, peak phase flux linkage
	l     float64 // H, synchronous inductance
	r     float64 // ohm at refC, as it shapes the output
	heatR float64 // ohm at refC, as it makes heat
	dropV float64 // two diodes in series
	refC  float64 // °C
	testV float64 // V at the field winding for a field share of 1
	size  size
	kind  kinds
}

// A size scales what a label does not tell: it is the rated current of the
// machine of equal power at 13.5 V, over that of the machine the scaled figure
// belongs to.
type size struct {
	iron     float64 // A/180
	field    float64 // (A/180)^0.5
	friction float64 // (A/180)^0.7
	heat     float64 // A/150
	rotor    float64 // cooling of the rotor: as what heats it
	diodes   float64 // label's A/150: rated currents of a diode
}

func newSize(ratedA, testV float64) size {
	a := ratedA * testV / 13.5
	return size{a / measuredA, detmath.Sqrt(a / measuredA), detmath.Pow(a/measuredA, 0.7), a / 150, rotorFieldShare*detmath.Sqrt(a/150) + (1-rotorFieldShare)*a/150, ratedA / 150}
}

// omega returns the electrical angular speed in rad/s.
func (m *machine) omega(speedRpm float64) float64 { return speedRpm * rotationalUnit * m.poles }

// cutInRpm returns the speed at which output begins at bus voltage v and full
// field: the peak of the line voltage reaches v and two diodes.
//
//	√3·ψ·ω = V + 2·Vd     (1)
func (m *machine) cutInRpm(v float64) float64 {
	return (v + m.dropV) / (math.Sqrt(3) * m.flux * m.poles * rotationalUnit)
}

// limitA returns the output at infinite speed without resistance.
//
//	I∞ = (3/π)·ψ/L     (2)
func (m *machine) limitA() float64 { return 3 / math.Pi * m.flux / m.l }

// rx returns R/X at 6000 rpm and refC.
func (m *machine) rx() float64 { return m.r / (m.omega(6000) * m.l) }

// newMachine makes a machine from the three numbers that shape an output
// curve: cut-in speed at testV, limit current (2), and R/X at 6000 rpm.
func newMachine(poles, testV, dropV, cutInRpm, limitA, rx float64) (m machine) {
	m.set(poles, testV, dropV, cutInRpm, limitA, rx)
	return m
}

// set is newMachine in place; the size stays as it is.
func (m *machine) set(poles, testV, dropV, cutInRpm, limitA, rx float64) {
	m.poles, m.dropV, m.refC, m.testV = poles, dropV, labelCopperC, testV
	m.flux = (testV + dropV) / (math.Sqrt(3) * m.omega(cutInRpm)) // (1)
	m.l = 3 / math.Pi * m.flux / limitA                           // (2)
	m.r = rx * m.omega(6000) * m.l
	m.heatR = m.r
}

// curveCurrent returns the full-field output at the reference state by the
// three shape numbers alone.
func curveCurrent(cutInRpm, limitA, rx, speedRpm float64) float64 {
	if speedRpm <= cutInRpm {
		return 0
	}
	y, _, _ := bridgeCurrent(cutInRpm/speedRpm, rx*6000/speedRpm)
	return math.Pi / 3 * limitA * y
}

// limitForLabel returns the limit current that gives ratedA at ratedRpm.
func limitForLabel(cutInRpm, rx, ratedA, ratedRpm float64) float64 {
	return ratedA / curveCurrent(cutInRpm, 1, rx, ratedRpm)
}

// cutInForLabel returns the cut-in speed at which the output at idleRpm is
// idleA while that at ratedRpm is ratedA. The ratio falls steadily as the
// cut-in rises, so bisection finds it; ok is false where no cut-in between 200
// rpm and idleRpm gives that ratio.
func cutInForLabel(rx, idleA, idleRpm, ratedA, ratedRpm float64) (cutInRpm float64, ok bool) {
	want := idleA / ratedA
	ratio := func(nc float64) float64 {
		return curveCurrent(nc, 1, rx, idleRpm) / curveCurrent(nc, 1, rx, ratedRpm)
	}
	lo, hi := 200.0, idleRpm
	if ratio(lo) < want {
		return lo, false
	}
	for range 50 {
		mid := (lo + hi) / 2
		if ratio(mid) > want {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2, true
}

// An output is the current of a machine and its partials.
type output struct {
	a    float64 // A at B+
	dx   float64 // per field share
	dT   float64 // per K of the stator winding
	ps   float64 // flux as a share of that at full field
	dps  float64 // its slope
	form float64 // form factor of the phase current
}

// A gauge is a machine at one speed and bus voltage, as its bridge sees it: what
// stays while field and heat change.
type gauge struct {
	perFlux float64 // s times the flux share
	perHeat float64 // r times the inductance share, over the copper's factor
	shortA  float64 // Vs/X times the inductance share, over the flux share
}

// gauge returns the machine at speed omega (electrical rad/s) and bus voltage v.
func (m *machine) gauge(omega, v float64) gauge {
	return gauge{
		perFlux: (v + m.dropV) / (math.Sqrt(3) * m.flux * omega),
		perHeat: m.r / (omega * m.l * conductor.Copper(m.refC)),
		shortA:  m.flux / m.l,
	}
}

// output returns the current at speed omega (electrical rad/s), bus voltage v,
// field share x and stator winding temperature.
//
//	I = y(s, R/X)·Vs/X,  s = (V + 2·Vd)/(√3·Vs),  Vs = ψ(x)·ω,  X = ω·L(x)     (3)
//
// Valid where the bus holds its voltage. Neglects the saliency of the rotor,
// harmonics of the EMF and the rise of diode drop with current. With measured
// EMF and inductance right to about 15 %; with two points of the output curve
// fitted, to about 2 %. Source: the bridge's exact solution, see BridgeCurrent.
// Checked: testdata/checks.csv, bridge_A and curve_fit_A.
func (m *machine) output(omega, v, x, windingC float64) output {
	var p output
	g := m.gauge(omega, v)
	g.output(x, windingC, &p)
	return p
}

// copperFactor is copper without a branch.
func copperFactor(tC float64) float64 {
	return detmath.MaxStraight(1+conductor.CopperAlpha*(tC-20), 0.5)
}

// output is machine.output in place, for field shares from 0 to maxField.
//
// Most of an answer's time goes here. The curves, the bridge and its form factor
// are written out once more, without calls and with hardly a branch, since in
// WebAssembly these cost more than the arithmetic: together a sixth of the whole.
// Checked: TestOutputIsItsParts.
func (g *gauge) output(x, windingC float64, p *output) {
	// saturation
	u := x * ((1 - detmath.RoundOff) / saturationStep) // below 16 at maxField
	whole := u - 0.5 + detmath.WholeUnit
	t := u - (whole - detmath.WholeUnit)
	c := &saturationCells[math.Float64bits(whole)&15]
	ps := c.f0 + t*(c.f1+t*(c.f2+t*c.f3))
	dps := (c.f1 + t*(2*c.f2+t*(3*c.f3))) * (1 / saturationStep)
	li := c.l0 + t*(c.l1+t*(c.l2+t*c.l3))
	dli := (c.l1 + t*(2*c.l2+t*(3*c.l3))) * (1 / saturationStep)
	p.ps, p.dps = ps, dps
	if ps <= 1e-9 {
		p.a, p.dx, p.dT, p.form = 0, 0, 0, 0
		return
	}
	inv := 1 / (ps * li)
	ips, ili := inv*li, inv*ps
	s := g.perFlux * ips
	rc := g.perHeat * ili
	r := rc * copperFactor(windingC)
	if s >= 1 {
		p.a, p.dx, p.dT, p.form = 0, 0, 0, 0
		return
	}

	// bridgeCurrent
	whole = s*bridgeCellsPerUnit - 0.5 + detmath.WholeUnit
	row := int(bridgeCell[math.Float64bits(whole)&(1<<9-1)])
	knot := &bridgeKnots[row]
	w := 1 / (1 + r) // 1 − u
	v := r * w
	xc := v * (bridgeCols * (1 - detmath.RoundOff))
	whole = xc - 0.5 + detmath.WholeUnit
	n := (*[bridgeCols + 3]bridgeNode)(bridgeNodes[row*(bridgeCols+1)+int(math.Float64bits(whole)&31):])
	const du, invu = 1.0 / bridgeCols, bridgeCols
	xc -= whole - detmath.WholeUnit
	xo := 1 - xc
	xx, oo := xc*xc, xo*xo
	h00, h01 := oo*(1+2*xc), xx*(1+2*xo)
	h10, h11 := du*xc*oo, -du*xx*xo
	g01 := 6 * xc * xo * invu
	g10, g11 := xo*(1-3*xc), xc*(3*xc-2)

	a0, a1, m0, m1 := float64(n[0].f), float64(n[1].f), float64(n[0].fu), float64(n[1].fu)
	lo := h00*a0 + h01*a1 + (h10*m0 + h11*m1)
	ulo := g01*(a1-a0) + (g10*m0 + g11*m1)
	a0, a1, m0, m1 = float64(n[bridgeCols+1].f), float64(n[bridgeCols+2].f), float64(n[bridgeCols+1].fu), float64(n[bridgeCols+2].fu)
	hi := h00*a0 + h01*a1 + (h10*m0 + h11*m1)
	uhi := g01*(a1-a0) + (g10*m0 + g11*m1)
	a0, a1, m0, m1 = float64(n[0].fs), float64(n[1].fs), float64(n[0].fsu), float64(n[1].fsu)
	mlo := h00*a0 + h01*a1 + (h10*m0 + h11*m1)
	vlo := g01*(a1-a0) + (g10*m0 + g11*m1)
	a0, a1, m0, m1 = float64(n[bridgeCols+1].fs), float64(n[bridgeCols+2].fs), float64(n[bridgeCols+1].fsu), float64(n[bridgeCols+2].fsu)
	mhi := h00*a0 + h01*a1 + (h10*m0 + h11*m1)
	vhi := g01*(a1-a0) + (g10*m0 + g11*m1)

	y := (s - knot.at) * knot.inv
	yo := 1 - y
	yy, zz := y*y, yo*yo
	s00, s01 := zz*(1+2*y), yy*(1+2*yo)
	s10, s11 := knot.width*y*zz, -knot.width*yy*yo
	f := s00*lo + s01*hi + (s10*mlo + s11*mhi)
	fu := s00*ulo + s01*uhi + (s10*vlo + s11*vhi)
	fs := 6*y*yo*knot.inv*(hi-lo) + (yo*(1-3*y)*mlo + y*(3*y-2)*mhi)

	z := 1 / math.Sqrt(1+r*r)
	cur := f * z
	ys := fs * z
	yr := z * (fu*(w*w) - cur*(r*z))

	k := g.shortA * ps * ili // Vs/X
	p.a = k * cur
	p.dx = k * ((dps*ips)*(cur-ys*s) - (dli*ili)*(cur+yr*r))
	p.dT = k * yr * rc * conductor.CopperAlpha
	// phaseForm
	s = detmath.MinStraight(s, formCap)
	s4 := s * s
	s4 *= s4
	s12 := s4 * s4 * s4
	p.form = 0.74048049 + s4*(-0.02185+0.24028*s4-0.16179*s12+v*(0.45899-0.95601*s4+0.97217*s12))
}

// fullField returns the field share at bus voltage v and rotor temperature,
// and its slope against that temperature. The regulator's switch is fully on,
// so the hot winding's resistance sets it.
//
//	x = (V/V_test)·cu(t_ref)/cu(t_rotor), at most fieldCap     (4)
//
// Neglects brush drop (some 2 % of the voltage).
func (m *machine) fullField(v, rotorC float64) (x, dT float64) {
	cu := conductor.Copper(rotorC)
	x = v / m.testV * conductor.Copper(m.refC) / cu // (4)
	if x >= fieldCap {
		return fieldCap, 0
	}
	return x, -x * conductor.CopperAlpha / cu
}

// phaseA is the root mean square of a phase current.
func (o *output) phaseA() float64 { return o.form * o.a }
