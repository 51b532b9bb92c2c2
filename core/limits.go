package core

import (
	"spareamps/core/conductor"
	"spareamps/core/detmath"
	"spareamps/core/limit"
)

// ceilings are the currents into the charger at which a vehicle passes each
// limit; negative where it is passed with the charger off.
type ceilings [limit.All]float64

// A seed is where an iteration sets out from.
type seed struct{ windingC, rotorC, x float64 }

// warm holds the steady points of the likeliest vehicle, from which those of
// its neighbours are sought.
type warm struct {
	output, winding, rotor, belt, core seed
	at                                 steady // the one in hand
}

// A desk is room to work out one vehicle's limits in. Clearing such structs is
// dear in WebAssembly, so they are used again.
type desk struct {
	o operating
	w warm
	c ceilings
}

func newWarm(o *operating) (w warm) {
	w.reset(o)
	return w
}

// reset forgets all points.
func (w *warm) reset(o *operating) {
	p := seed{o.inletC + startWindingK, o.inletC + startRotorK, startField}
	w.winding, w.rotor, w.belt, w.core = p, p, p, p
	// All the output that may be asked for is hotter: 3.6 steps instead of 4.1 over
	// varied rigs.
	w.output = seed{o.inletC + 100, o.inletC + 100, 0.8}
}

// seek is solve with a bracketing search to fall back on.
func (o *operating) seek(c closing, target float64, from *steady) steady {
	p := o.solve(c, target, from)
	if !p.ok {
		p = o.bracket(c, target, from)
	}
	return p
}

// bracket halves the range of the field share until the closing is met. A
// share at which no steady point is found is one at which the rotor runs away:
// too high.
func (o *operating) bracket(c closing, target float64, from *steady) steady {
	lo, hi := 0.0, maxField
	p := o.solve(fixedField, 1e-4, from)
	for range 50 {
		mid := (lo + hi) / 2
		at := o.solve(fixedField, mid, &p)
		if !at.ok || o.excess(c, target, &at) > 0 {
			hi = mid
			continue
		}
		lo, p = mid, at
	}
	return p
}

// excess says how far an operating point is above a closing's target.
func (o *operating) excess(c closing, target float64, p *steady) float64 {
	switch c {
	case windingAt:
		return p.t[winding] - target
	case rotorAt:
		return p.t[rotor] - target
	case coreAt:
		return p.t[iron] - target
	case inHand:
		full, _ := o.full(p.t[rotor])
		return p.out.a - target*o.at(full, p.t[winding]).a
	case shaftAt:
		l := o.losses(p)
		return o.busV*p.out.a + l.Total() - target
	case fullField:
		full, _ := o.full(p.t[rotor])
		return p.x - full
	case fixedField:
		return p.x - target
	default:
		return p.out.a - target
	}
}

// below returns the output at which a closing is met, from one point and into
// another; p is the steady point.
func (o *operating) below(c closing, target float64, from, to *seed, p *steady) float64 {
	p.t[winding], p.t[rotor], p.x = from.windingC, from.rotorC, from.x
	if o.settle(c, target, p); !p.ok {
		p.t[winding], p.t[rotor], p.x = from.windingC, from.rotorC, from.x
		*p = o.bracket(c, target, p)
	}
	to.windingC, to.rotorC, to.x = p.t[winding], p.t[rotor], p.x
	return p.out.a
}

// rectifierA returns the output at which the diodes reach a temperature.
//
//	Tj = T_in + I·2·Vd/G_plates + 0.8·Vd·I/3     (1)
func (o *operating) rectifierA(junctionC float64) float64 {
	return detmath.Max(junctionC-o.inletC, 0) / (o.dPerA + o.junctionPerA()) // (1)
}

// alternatorLimits fills in the machine's own limits. Winding, rotor and belt
// that stand the output's ceiling cannot be the first to be passed: never.
func (o *operating) alternatorLimits(c *ceilings, st *study, from, to *warm) {
	c[limit.Output], c[limit.Winding], c[limit.Rotor], c[limit.Belt], c[limit.Case] = never, never, never, never, never
	c[limit.Rectifier] = o.rectifierA(st.junctionC)
	windingC, rotorC := st.class.windingLimitC(), st.class.rotorLimitC()

	if o.belowCutIn() {
		c[limit.Output] = 0 // however cold
		return
	}
	p := &to.at
	c[limit.Output] = detmath.Min(o.below(inHand, 1-outputReserve, &from.output, &to.output, p), (1-outputReserve)*st.guard.mostA)
	hotW, hotR, hotS := p.t[winding], p.t[rotor], p.t[iron]
	if st.beltW > 0 && o.excess(shaftAt, st.beltW, p) > 0 {
		c[limit.Belt] = o.below(shaftAt, st.beltW, &from.belt, &to.belt, p)
	}
	if windingC <= o.inletC {
		c[limit.Winding] = 0
	} else if hotW > windingC {
		c[limit.Winding] = o.below(windingAt, windingC, &from.winding, &to.winding, p)
	}
	if rotorC <= o.inletC {
		c[limit.Rotor] = 0
	} else if hotR > rotorC {
		c[limit.Rotor] = o.below(rotorAt, rotorC, &from.rotor, &to.rotor, p)
	}
	if coreC := st.guard.coreC(o.inletC); coreC <= o.inletC {
		c[limit.Case] = 0
	} else if hotS > coreC {
		c[limit.Case] = o.below(coreAt, coreC, &from.core, &to.core, p)
	}
}

// belowCutIn tells whether there is no output, however cold the machine.
func (o *operating) belowCutIn() bool {
	flux, _ := curveAt(&fluxCurve, fieldCap)
	return o.gauge.perFlux >= flux
}

// limits returns a vehicle's own ceilings in a scene. It seeks them from the
// points in w and leaves there what it finds.
func (v *vehicle) limits(st *study, s *scene, w *warm) (c ceilings, o operating) {
	v.operate(st, s, &o)
	v.limitsAt(st, s, &o, w, w, &c)
	return c, o
}

// limitsAt is limits in place, the machine being set into the scene.
func (v *vehicle) limitsAt(st *study, s *scene, o *operating, from, to *warm, c *ceilings) {
	o.alternatorLimits(c, st, from, to)
	other := s.otherA(v)
	for i := range c[:limit.CableHeat] {
		if c[i] < never {
			c[i] -= other
		}
	}
	if c[limit.Case] < never {
		c[limit.Case] -= other
	}
	leadC := o.leadC
	l := &noLead
	c[limit.CableHeat], c[limit.CableDrop], c[limit.Fuse] = never, never, never
	if st.hasLead {
		l = &st.lead
		c[limit.CableHeat] = l.HeatA(leadC)
		c[limit.CableDrop] = l.DropA(detmath.Min(l.MaxDropV, v.v-st.charger.MinInputV), leadC)
		if l.FuseA > 0 {
			c[limit.Fuse] = conductor.FuseContinuous(l.FuseA, o.airC)
		}
	}
	c[limit.ChargerInput], c[limit.ChargerOutput], c[limit.HouseBattery] = never, never, never
	if st.charger.Given {
		if st.charger.MaxInputA > 0 {
			c[limit.ChargerInput] = st.charger.MaxInputA
		}
		c[limit.ChargerOutput] = v.inputFor(st.charger.MaxOutputW, l, leadC)
		if v.v < st.charger.MinInputV {
			c[limit.CableDrop] = 0
		}
	}
	if st.house.Given {
		c[limit.HouseBattery] = v.inputFor(s.acceptA*houseChargeV(&st.house)+s.houseW, l, leadC)
	}
}

// noLead stands for a lead that was not described: no loss, no limit.
var noLead = conductor.Lead{A105: 1e9}

// inputFor returns the input current for an output in W.
func (v *vehicle) inputFor(w float64, l *conductor.Lead, leadC float64) float64 {
	i, ok := inputA(w, v.eta, v.v, l, leadC)
	if !ok {
		return never
	}
	return i
}

// least returns the lowest of a vehicle's ceilings; negative where it is passed
// with the charger off.
func (c *ceilings) least() float64 {
	m := c[0]
	for _, x := range c[1:] {
		m = detmath.Min(m, x)
	}
	return m
}

// outputAt returns the charger's output in W at an input current.
func (v *vehicle) outputAt(st *study, currentA, leadC float64) float64 {
	if currentA >= never {
		return never
	}
	currentA = detmath.Max(currentA, 0)
	ohm := 0.0
	if st.hasLead {
		ohm = st.lead.Ohm(currentA, leadC)
	}
	return outputW(v.eta, v.v, currentA, ohm)
}
