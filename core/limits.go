package core

// ceilings are the currents into the charger at which a vehicle passes each
// limit; negative where it is passed with the charger off.
type ceilings [limitCount]float64

// warm holds the steady points of the likeliest vehicle, from which those of
// its neighbours are sought.
type warm struct{ output, winding, rotor, belt steady }

func newWarm(o *operating) warm {
	s := o.start()
	return warm{s, s, s, s}
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

// below returns the output at which a closing is met.
func (o *operating) below(c closing, target float64, p *steady) float64 {
	from := *p
	if o.settle(c, target, p); !p.ok {
		*p = o.bracket(c, target, &from)
	}
	return p.out.a
}

// rectifierA returns the output at which the diodes reach a temperature.
//
//	Tj = T_in + I·2·Vd/G_plates + 0.8·Vd·I/3     (1)
func (o *operating) rectifierA(junctionC float64) float64 {
	return larger(junctionC-o.inletC, 0) / (o.dPerA + o.junctionPerA()) // (1)
}

// alternatorLimits fills in the machine's own limits. Winding, rotor and belt
// that stand the output's ceiling cannot be the first to be passed: never.
func (v *vehicle) alternatorLimits(c *ceilings, st *study, o *operating, w *warm) {
	for i := range c[:limCableHeat] {
		c[i] = never
	}
	c[limRectifier] = o.rectifierA(junctionLimitC)
	windingC, rotorC := st.class.windingLimitC(), st.class.rotorLimitC()

	cold := o.at(fieldCap, o.inletC)
	if cold.a <= 0 {
		c[limOutput] = 0 // below cut-in, however cold
		return
	}
	c[limOutput] = o.below(inHand, 1-outputReserve, &w.output)
	switch {
	case windingC <= o.inletC:
		c[limWinding] = 0
	case w.output.t[winding] > windingC:
		c[limWinding] = o.below(windingAt, windingC, &w.winding)
	}
	switch {
	case rotorC <= o.inletC:
		c[limRotor] = 0
	case w.output.t[rotor] > rotorC:
		c[limRotor] = o.below(rotorAt, rotorC, &w.rotor)
	}
	if st.beltW > 0 && o.excess(shaftAt, st.beltW, &w.output) > 0 {
		c[limBelt] = o.below(shaftAt, st.beltW, &w.belt)
	}
}

// limits returns a vehicle's own ceilings in a scene.
func (v *vehicle) limits(st *study, s *scene, w *warm) (c ceilings, o operating) {
	o = v.operating(st, s)
	v.alternatorLimits(&c, st, &o, w)
	other := s.otherA(v)
	for i := range c[:limCableHeat] {
		if c[i] < never {
			c[i] -= other
		}
	}
	leadC := o.leadC
	l := &noLead
	c[limCableHeat], c[limCableDrop], c[limFuse] = never, never, never
	if st.hasLead {
		l = &st.lead
		c[limCableHeat] = l.heatA(leadC)
		c[limCableDrop] = l.dropA(smaller(l.maxDropV, v.v-st.charger.MinInputV), leadC)
		if l.fuseA > 0 {
			c[limFuse] = FuseContinuous(l.fuseA, o.inletC)
		}
	}
	c[limChargerInput], c[limChargerOutput], c[limHouseBattery] = never, never, never
	if st.charger.Given {
		if st.charger.MaxInputA > 0 {
			c[limChargerInput] = st.charger.MaxInputA
		}
		c[limChargerOutput] = v.inputFor(st.charger.MaxOutputW, l, leadC)
		if v.v < st.charger.MinInputV {
			c[limCableDrop] = 0
		}
	}
	if st.house.Given {
		c[limHouseBattery] = v.inputFor(s.acceptA*st.house.chargeV()+s.houseW, l, leadC)
	}
	return c, o
}

// noLead stands for a lead that was not described: no loss, no limit.
var noLead = lead{a105: 1e9}

// inputFor returns the input current for an output in W.
func (v *vehicle) inputFor(w float64, l *lead, leadC float64) float64 {
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
		m = smaller(m, x)
	}
	return m
}

// outputAt returns the charger's output in W at an input current.
func (v *vehicle) outputAt(st *study, currentA, leadC float64) float64 {
	if currentA >= never {
		return never
	}
	currentA = larger(currentA, 0)
	ohm := 0.0
	if st.hasLead {
		ohm = st.lead.ohm(currentA, leadC)
	}
	return outputW(v.eta, v.v, currentA, ohm)
}
