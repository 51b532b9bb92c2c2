package core

import (
	"spareamps/core/conductor"
	"spareamps/core/detmath"
)

// A Rosenbrock method of order 2 for the heat of the network: linearly
// implicit, L-stable (a step of any length damps), order 2 whatever error the
// Jacobian has.
//
//	(I − γhJ)·k1 = f(u)
//	(I − γhJ)·k2 = f(u + h·k1) − 2·k1
//	u' = u + h·(3·k1 + k2)/2,  γ = 1 − 1/√2     (1)
//
// Source: Verwer, Spee, Blom, Hundsdorfer, "A second-order Rosenbrock method
// applied to photochemical dispersion problems", SIAM J. Sci. Comput. 20
// (1999); value of γ from memory. Checked: transient_test.go against the matrix
// exponential and for its order.
const rosGamma = 0.29289321881345254

// A flow is the heat flow of the network at an instant.
type flow struct {
	rate temperatures // K/s
	out  output
	x    float64
	xW   float64 // slope of the field share against the winding's temperature
	xR   float64 // and against the rotor's
	aW   float64 // slopes of the output, likewise
	aR   float64
	jac  [nodes][nodes]float64 // slopes of rate against the temperatures, 1/s
	mid  temperatures          // at the second of a step's two looks
}

// capacity returns the heat capacities of the nodes in J/K.
func (z size) capacity() temperatures {
	return temperatures{z.heat * windingCapacity, z.heat * ironCapacity, z.diodes * platesCapacity, z.heat * rotorCapacity}
}

// flow finds rates at temperatures t while the output is currentA, or all the
// field allows where that is less; x is a field share nearby, and within the
// share of the output by which it may be missed.
func (o *operating) flow(t *temperatures, currentA, x, within float64, g *flow) {
	tw, ts, td, tr := t[winding], t[iron], t[plates], t[rotor]
	full, fullT := o.full(tr)
	g.x = o.fieldFor(currentA, tw, full, x, within, &g.out)
	out := &g.out
	g.xW, g.xR, g.aW, g.aR = 0, 0, 0, 0
	if g.x >= full {
		g.xR, g.aW, g.aR = fullT, out.dT, out.dx*fullT
	} else if out.dx > 0 {
		g.xW = -out.dT / out.dx
	}
	const pole, bearings = ironToRotorShare, frictionInIron
	phase := out.form * out.a
	copperW := o.copperW * copperFactor(tw) * phase * phase
	ironW := o.ironW * o.held.share(out)
	fieldW := o.coldFieldW * copperFactor(tr) * g.x * g.x
	fromPlates := o.toStream.d * (td - o.inletC)
	air := o.beta*(o.inletC+(fromPlates+(1-bearings)*o.friction)/o.stream) + o.gw*tw + o.gs*ts + o.gr*tr
	slots := o.ws * (tw - ts)
	inv := 1 / o.size.heat
	g.rate[winding] = (copperW - slots - o.toStream.w*(tw-air)) * (inv / windingCapacity)
	g.rate[iron] = ((1-pole)*ironW + bearings*o.friction + slots - o.toStream.s*(ts-air) - o.sBay*(ts-o.inletC)) * (inv / ironCapacity)
	g.rate[plates] = (o.dropV*out.a - fromPlates - o.dBay*(td-o.inletC)) / (o.size.diodes * platesCapacity)
	g.rate[rotor] = (fieldW + pole*ironW - o.toStream.r*(tr-air) - o.rBay*(tr-o.inletC)) * (inv / rotorCapacity)
}

// jacobian finds the slopes of the rates of flow against the temperatures, in
// 1/s, but for those of the form factor. The plates' row is zero but for the
// plates themselves unless the field is full.
func (o *operating) jacobian(t *temperatures, g *flow) {
	out, j := &g.out, &g.jac
	const pole = ironToRotorShare
	perAA := o.copperW * out.form * out.form * out.a
	perA := 2 * perAA * copperFactor(t[winding])
	_, shareX, shareA := o.held.shares(out)
	ironByW, ironByR := o.ironW*(shareX*g.xW+shareA*g.aW), o.ironW*(shareX*g.xR+shareA*g.aR)
	fieldT := o.coldFieldW * g.x
	fieldX := 2 * fieldT * copperFactor(t[rotor])
	air := o.beta * o.toStream.d / o.stream
	w, s, r := o.toStream.w, o.toStream.s, o.toStream.r
	inv := 1 / o.size.heat
	k := inv / windingCapacity
	j[winding][winding] = k * (perAA*out.a*conductor.CopperAlpha + perA*g.aW - o.ws - w*(1-o.gw))
	j[winding][iron] = k * (o.ws + w*o.gs)
	j[winding][plates] = k * w * air
	j[winding][rotor] = k * (w*o.gr + perA*g.aR)
	k = inv / ironCapacity
	j[iron][winding] = k * ((1-pole)*ironByW + o.ws + s*o.gw)
	j[iron][iron] = k * (-o.ws - s*(1-o.gs) - o.sBay)
	j[iron][plates] = k * s * air
	j[iron][rotor] = k * (s*o.gr + (1-pole)*ironByR)
	k = 1 / (o.size.diodes * platesCapacity)
	j[plates][winding] = k * o.dropV * g.aW
	j[plates][iron] = 0
	j[plates][plates] = k * (-o.toStream.d - o.dBay)
	j[plates][rotor] = k * o.dropV * g.aR
	k = inv / rotorCapacity
	j[rotor][winding] = k * (pole*ironByW + fieldX*g.xW + r*o.gw)
	j[rotor][iron] = k * r * o.gs
	j[rotor][plates] = k * r * air
	j[rotor][rotor] = k * (fieldT*g.x*conductor.CopperAlpha + pole*ironByR + fieldX*g.xR - r*(1-o.gr) - o.rBay)
}

// fieldFor finds the field share that gives an output at a winding temperature,
// at most full, by Newton's method from a share nearby kept within a shrinking
// bracket. It ends with a straight line once the output is missed by no more
// than the share within.
func (o *operating) fieldFor(currentA, windingC, full, x, within float64, out *output) float64 {
	lo, hi := 0.0, full
	x = detmath.Min(detmath.Max(x, 0.05), full)
	within *= 1 + currentA
	for range 60 {
		o.gauge.output(x, windingC, out)
		d := out.a - currentA
		if detmath.Abs(d) <= within {
			if out.dx <= 0 {
				return x // no output asked for, and none below the cut-in
			}
			if n := x - d/out.dx; n < full {
				out.a = currentA
				out.ps += out.dps * (n - x)
				return n
			}
		}
		if d > 0 {
			hi = x
		} else {
			if x >= full {
				return full
			}
			lo = x
		}
		next := (lo + hi) / 2
		if out.dx > 0 {
			next = x - d/out.dx
			if next >= hi && hi >= full {
				next = full // it may be all there is
			} else if next <= lo || next >= hi {
				next = (lo + hi) / 2
			}
		}
		if hi-lo < 1e-13 {
			break
		}
		x = next
	}
	return x
}

// fieldWithin is the share of the output by which a step may miss it before the
// straight line: what is left is below 1e-7 of it.
const fieldWithin = 1e-4

// step advances temperatures t by h seconds while the output is currentA, or
// all there is, and returns the field share at its end for the next step.
func (o *operating) step(t *temperatures, currentA, h, x float64) float64 {
	g := &o.heat
	j := &g.jac
	o.flow(t, currentA, x, fieldWithin, g)
	o.jacobian(t, g)

	// I − γhJ, factored; the plates come first, since they hardly depend on the
	// others. The matrix is diagonally dominant, so no pivot is sought.
	c := -rosGamma * h
	dd, dw, dr := 1/(1+c*j[plates][plates]), c*j[plates][winding], c*j[plates][rotor]
	wd, sd, rd := c*j[winding][plates]*dd, c*j[iron][plates]*dd, c*j[rotor][plates]*dd
	ss, sw, sr := 1+c*j[iron][iron], c*j[iron][winding]-sd*dw, c*j[iron][rotor]-sd*dr
	ws, rs := c*j[winding][iron], c*j[rotor][iron]
	ww, wr := 1+c*j[winding][winding]-wd*dw, c*j[winding][rotor]-wd*dr
	rw, rr := c*j[rotor][winding]-rd*dw, 1+c*j[rotor][rotor]-rd*dr
	ss = 1 / ss
	ws, rs = ws*ss, rs*ss
	ww, wr = ww-ws*sw, wr-ws*sr
	rw, rr = rw-rs*sw, rr-rs*sr
	ww = 1 / ww
	rw *= ww
	rr = 1 / (rr - rw*wr)

	bd, bs, bw, br := g.rate[plates], g.rate[iron], g.rate[winding], g.rate[rotor]
	bs, bw, br = bs-sd*bd, bw-wd*bd, br-rd*bd
	bw, br = bw-ws*bs, br-rs*bs
	br = (br - rw*bw) * rr
	bw = (bw - wr*br) * ww
	bs = (bs - sw*bw - sr*br) * ss
	bd = (bd - dw*bw - dr*br) * dd

	mid := &g.mid
	mid[winding], mid[iron], mid[plates], mid[rotor] = t[winding]+h*bw, t[iron]+h*bs, t[plates]+h*bd, t[rotor]+h*br
	o.flow(mid, currentA, g.x+h*(g.xW*bw+g.xR*br), fieldWithin, g)

	cd, cs, cw, cr := g.rate[plates]-2*bd, g.rate[iron]-2*bs, g.rate[winding]-2*bw, g.rate[rotor]-2*br
	cs, cw, cr = cs-sd*cd, cw-wd*cd, cr-rd*cd
	cw, cr = cw-ws*cs, cr-rs*cs
	cr = (cr - rw*cw) * rr
	cw = (cw - wr*cr) * ww
	cs = (cs - sw*cw - sr*cr) * ss
	cd = (cd - dw*cw - dr*cr) * dd
	h *= 0.5
	t[winding] += h * (3*bw + cw) // (1)
	t[iron] += h * (3*bs + cs)
	t[plates] += h * (3*bd + cd)
	t[rotor] += h * (3*br + cr)
	return g.x
}
