package core

// Nodes of the thermal network.
const (
	winding = iota // stator winding, mean
	iron           // stator core and housings
	plates         // rectifier plates
	rotor          // field winding, mean
	nodes
)

// Temperatures of the network's nodes in °C.
type temperatures [nodes]float64

// Conductances in W/K, heat capacities in J/K and the air stream of a 150 A
// machine at 3000 rpm in air of 1.225 kg/m³.
//
// No set for a claw-pole alternator is published with its numbers; these are
// engineering estimates chosen so that settling times follow the holding times
// of Decision (EU) 2017/785 and full output cannot be held at 85 °C inlet.
// Their spreads are in the table of unknowns.
const (
	windingToIron = 7.0 // by the slots: does not depend on air
	windingToAir  = 2.5 // end turns in the stream
	ironToAir     = 4.2 // core and housings in the stream
	platesToAir   = 4.0 // rectifier plates, against the air at the inlet
	rotorToAir    = 1.5 // rotor in the stream
	ironToBay     = 0.5 // still air around the machine
	platesToBay   = 0.3
	rotorToBay    = 0.1  // by shaft and bearings
	streamW       = 40.0 // W/K the stream carries: about 0.04 kg/s

	windingCapacity = 385.0  // 1.0 kg of copper
	ironCapacity    = 2230.0 // core and housings
	platesCapacity  = 315.0
	rotorCapacity   = 1150.0

	ironToRotorShare = 0.3            // of iron loss: pole faces
	frictionInIron   = 0.2            // of friction and fan: bearings; the rest goes with the air
	junctionPerA     = 0.8 * 0.95 / 3 // K/A of output: 0.8 K/W junction to case, 0.95 V, a third of the time each
	junctionLimitC   = 150.0          // design value; published maximum 175 °C
	outputReserve    = 0.1            // share of the hot output kept in hand
)

// links are conductances of winding, core, plates and rotor in W/K.
type links struct{ w, s, d, r float64 }

// cooling is the network's links at one speed, air and state of the vents.
type cooling struct {
	inletC                  float64
	ws                      float64 // winding to iron
	toStream                links   // to the stream
	sBay, dBay, rBay        float64 // to the bay's air
	stream                  float64
	beta, gw, gs, gr        float64 // stream's mean temperature: beta·behind rectifier + gw·winding + gs·iron + gr·rotor
	dPerA                   float64 // K of the plates per A of output
	friction, ironW, fieldW float64 // W: mechanical, iron at full field, field at full field and reference temperature
}

// newCooling returns the links of a machine.
//
//	h = (flow·n/3000·ρ/1.225)^0.75     film                 (1)
//	ṁc = 40·flow·n/3000·ρ/1.225        stream               (2)
//
// The stream passes the rectifier first and meets the windings warmed by it;
// there it is taken at the mean of its way in and out. flow is what dust in
// the vents and the fan's make leave of it. Below 300 rpm the flow is held.
func newCooling(z size, speedRpm, inletC, density, flow float64, f *factors) cooling {
	n := speedRpm
	if n < 300 {
		n = 300
	}
	u := flow * n / 3000 * density / seaLevelDensity
	h := sqrt(u)
	h *= sqrt(h) // (1)
	k := z.heat
	c := cooling{
		inletC: inletC,
		ws:     k * windingToIron * f.contact,
		toStream: links{
			w: k * h * windingToAir * f.film,
			s: k * h * ironToAir * f.film,
			d: k * h * platesToAir * f.platesFilm,
			r: k * h * rotorToAir * f.rotorFilm,
		},
		sBay:   k * ironToBay,
		dBay:   k * platesToBay,
		rBay:   k * rotorToBay,
		stream: k * streamW * u, // (2)
	}
	g := 1 / (2*c.stream + c.toStream.w + c.toStream.s + c.toStream.r)
	c.beta, c.gw, c.gs, c.gr = 2*c.stream*g, c.toStream.w*g, c.toStream.s*g, c.toStream.r*g
	c.friction = z.mechanicalLoss(speedRpm)
	c.ironW = z.ironLoss(speedRpm) * f.iron
	c.fieldW = z.fieldLoss()
	return c
}

// An operating is a machine at one speed, bus voltage and cooling: all that is
// fixed while its current changes.
type operating struct {
	machine
	cooling
	speedRpm float64
	omega    float64
	busV     float64
	field    float64 // factor on the full field
	leadC    float64 // air along the lead
}

// newOperating sets a machine into air of a temperature and density.
func newOperating(m machine, speedRpm, busV, inletC, density, flow float64, f *factors) operating {
	o := operating{machine: m, speedRpm: speedRpm, busV: busV, field: f.field}
	o.omega = m.omega(max(speedRpm, 1))
	o.cooling = newCooling(m.size, speedRpm, inletC, density, flow, f)
	o.dPerA = o.dropV / (o.toStream.d + o.dBay)
	return o
}

// A closing says which quantity fixes the operating point.
type closing uint8

const (
	fixedCurrent closing = iota // output is the target, in A
	fixedField                  // field share is the target
	fullField                   // field is all that bus voltage and rotor temperature give
	windingAt                   // winding temperature is the target, in °C
	rotorAt                     // rotor temperature is the target, in °C
	inHand                      // output is the target share of the full-field output at the same temperatures
	shaftAt                     // shaft power is the target, in W
)

// A steady is a steady operating point.
type steady struct {
	t    temperatures
	x    float64 // field share
	out  output
	ok   bool // false: the iteration did not settle
	step int  // iterations
}

// start is a point from which the iteration sets out.
func (o *operating) start() steady {
	t := o.inletC
	return steady{t: temperatures{t + 60, t + 50, t + 30, t + 60}, x: 0.7}
}

// full returns the full field share at a rotor temperature and its slope.
func (o *operating) full(rotorC float64) (x, dT float64) {
	x, dT = o.machine.fullField(o.busV, rotorC)
	return x * o.field, dT * o.field
}

// solve finds the steady operating point under a closing, by Newton's method
// from a point nearby.
//
// Unknown are the temperatures of winding, iron and rotor and the field share.
// The plates take heat by the current alone and are solved in place, as is the
// stream. The Jacobian is exact but for the form factor's slope.
func (o *operating) solve(c closing, target float64, from *steady) steady {
	p := *from
	o.settle(c, target, &p)
	return p
}

// settle is solve in place.
func (o *operating) settle(c closing, target float64, p *steady) {
	p.ok = false
	for p.step = 1; p.step <= 40; p.step++ {
		dt, dx := o.newton(p, c, target)
		step := dx
		if dx > 0.3 {
			dx = 0.3
		}
		if dx < -0.3*p.x {
			dx = -0.3 * p.x
		}
		worst := abs(dx) * 100
		for i, d := range dt {
			p.t[i] += limit(d, 60)
			if a := abs(d); a > worst {
				worst = a
			}
		}
		p.x += dx
		if p.x > maxField {
			p.x = maxField
		}
		if worst < 1e-3 {
			// Convergence is quadratic: the next step would be below 1e-6 K.
			p.out.a += p.out.dx*step + p.out.dT*dt[winding]
			p.t[plates] = o.inletC + o.dPerA*p.out.a
			// Colder than the air that cools it is a root of the equations, but not
			// of any machine.
			p.ok = p.t[winding] > o.inletC-1 && p.t[rotor] > o.inletC-1
			return
		}
	}
	p.out = o.machine.output(o.omega, o.busV, p.x, p.t[winding])
	p.t[plates] = o.inletC + o.dPerA*p.out.a
}

// newton returns one Newton step from p: of the temperatures and of the field
// share.
func (o *operating) newton(p *steady, c closing, target float64) (dt temperatures, dx float64) {
	tw, ts, tr, x := p.t[winding], p.t[iron], p.t[rotor], p.x
	p.out = o.machine.output(o.omega, o.busV, x, tw)
	out := p.out
	ps, dps := out.ps, out.dps

	// Heat by part and its partials.
	cuW := copper(tw)
	copperW := o.statorLoss(out.phaseA(), tw)
	perA := 0.0
	if out.a > 0 {
		perA = 2 * copperW / out.a
	}
	copperT := copperW*copperAlpha/cuW + perA*out.dT
	ironW := o.ironW * ps * ps
	ironX := 2 * o.ironW * ps * dps
	fieldW := o.fieldW * x * x * copper(tr) / copper(o.refC)
	fieldX := 2 * o.fieldW * x * copper(tr) / copper(o.refC)
	fieldT := o.fieldW * x * x * copperAlpha / copper(o.refC)

	// The stream behind the rectifier, at its mean by the windings.
	behind := o.inletC + (o.toStream.d*o.dPerA*out.a+(1-frictionInIron)*o.friction)/o.stream
	behindA := o.beta * o.toStream.d * o.dPerA / o.stream
	air := o.beta*behind + o.gw*tw + o.gs*ts + o.gr*tr

	// Residuals: heat leaving less heat made.
	fw := o.ws*(tw-ts) + o.toStream.w*(tw-air) - copperW
	fs := o.ws*(ts-tw) + o.toStream.s*(ts-air) + o.sBay*(ts-o.inletC) - (1-ironToRotorShare)*ironW - frictionInIron*o.friction
	fr := o.toStream.r*(tr-air) + o.rBay*(tr-o.inletC) - fieldW - ironToRotorShare*ironW

	// Jacobian: rows winding, iron, rotor.
	aT, aX := behindA*out.dT, behindA*out.dx
	ww := o.ws + o.toStream.w*(1-o.gw-aT) - copperT
	wi, wr := -o.ws-o.toStream.w*o.gs, -o.toStream.w*o.gr
	iw, ir := -o.ws-o.toStream.s*(o.gw+aT), -o.toStream.s*o.gr
	ii := o.ws + o.toStream.s*(1-o.gs) + o.sBay
	rw, ri := -o.toStream.r*(o.gw+aT), -o.toStream.r*o.gs
	rr := o.toStream.r*(1-o.gr) + o.rBay - fieldT
	// Two right sides: b = −F, the step at a fixed field share, and q = −∂F/∂x,
	// the step for a unit of it.
	bw, bi, br := -fw, -fs, -fr
	qw := o.toStream.w*aX + perA*out.dx
	qi := o.toStream.s*aX + (1-ironToRotorShare)*ironX
	qr := o.toStream.r*aX + fieldX + ironToRotorShare*ironX

	// Elimination, unrolled: arrays of three are slow in WebAssembly. The
	// matrix of a thermal network is diagonally dominant, so no pivot is sought.
	inv := 1 / ww
	m := iw * inv
	ii, ir = ii-m*wi, ir-m*wr
	bi, qi = bi-m*bw, qi-m*qw
	m = rw * inv
	ri, rr = ri-m*wi, rr-m*wr
	br, qr = br-m*bw, qr-m*qw
	inv2 := 1 / ii
	m = ri * inv2
	rr -= m * ir
	br, qr = (br-m*bi)/rr, (qr-m*qi)/rr
	bi, qi = (bi-ir*br)*inv2, (qi-ir*qr)*inv2
	bw, qw = (bw-wi*bi-wr*br)*inv, (qw-wi*qi-wr*qr)*inv

	// The closing, linear in the step: f + cw·dW + cr·dR + cx·dx = 0.
	var f, cw, cr, cx float64
	switch c {
	case fixedCurrent:
		f, cw, cx = out.a-target, out.dT, out.dx
	case fixedField:
		f, cx = x-target, 1
	case fullField:
		full, fullT := o.full(tr)
		f, cr, cx = x-full, -fullT, 1
	case windingAt:
		f, cw = tw-target, 1
	case rotorAt:
		f, cr = tr-target, 1
	case inHand:
		full, fullT := o.full(tr)
		most := o.machine.output(o.omega, o.busV, full, tw)
		f = out.a - target*most.a
		cw, cr, cx = out.dT-target*most.dT, -target*most.dx*fullT, out.dx
	case shaftAt:
		perW := o.busV + o.dropV
		f = perW*out.a + copperW + ironW + fieldW + o.friction - target
		cw = perW*out.dT + copperT
		cr = fieldT
		cx = perW*out.dx + perA*out.dx + ironX + fieldX
	}
	slope := cw*qw + cr*qr + cx
	if slope < 1e-12 {
		slope = 1e-12 // below cut-in: no output to hold on to, let the clamp lead
		if f < 0 {
			dx = 0.3
		} else {
			dx = -0.3
		}
	} else {
		dx = -(f + cw*bw + cr*br) / slope
	}
	dt[winding] = bw + qw*dx
	dt[iron] = bi + qi*dx
	dt[rotor] = br + qr*dx
	return dt, dx
}

// losses returns the losses by part at an operating point.
func (o *operating) losses(p *steady) Losses {
	ps, _ := curveAt(&fluxCurve, p.x)
	return Losses{
		StatorCopper: o.statorLoss(p.out.phaseA(), p.t[winding]),
		Rectifier:    o.dropV * p.out.a,
		Field:        o.fieldW * p.x * p.x * copper(p.t[rotor]) / copper(o.refC),
		Iron:         o.ironW * ps * ps,
		Mechanical:   o.friction,
	}
}
