package core

// A dayRun is one simulation of the batteries through a day, and what flowed.
type dayRun struct {
	houseSoc, starterSoc float64
	cut                  bool // the charger, left on, has cut out until the engine runs
	flows                flows

	failed     int // first step with the engine on for which it did not start; −1
	fullStep   int // first step at whose end the wanted charge is there; −1: never
	lowSoc     float64
	lowStep    int
	reserve    int // first step below the reserve; −1
	empty      int // first step in which a load went short; −1
	noStart    int // first step after which the engine would not start; −1
	deficitMin float64
}

// flows are energies in Wh.
type flows struct {
	alternator   float64 // at its terminals
	sun          float64 // taken
	sunSpilled   float64 // offered, not taken: the battery was full
	driving      float64 // vehicle's side, engine on
	parked       float64 // vehicle's side, engine off
	house        float64 // what the house side's loads took, inverter's losses with them
	lead         float64
	charger      float64
	feeding      float64
	charged      float64 // out of the charger into the house side
	houseLoss    float64
	starterLoss  float64
	short        float64 // asked for, but there was nothing left
	houseStored  float64 // change over the day
	starterStore float64
}

// A setting is how the charger is set: at most watts, in a stretch at most what
// that allows.
type daySetting struct {
	watts   float64
	allowed []float64 // by stretch
}

func (x *daySetting) at(s *dayStep) float64 {
	if s.stretch < 0 {
		return 0
	}
	return smaller(x.watts, x.allowed[s.stretch])
}

// A trace records a run step by step.
type trace struct {
	houseSoc, starterSoc, starterV, chargeW, alternatorA, starterA []float64
	short                                                          []bool // something had no power
}

// exchange passes p W (charging positive) at a battery's terminals for some
// hours. It returns the current, the new state of charge and the energy lost
// in Wh.
//
//	P = I·(V_m + (dV/dT)·(T − 25) + I·R)     (1)
//
// V_m is the open-circuit voltage's exact mean over the step, so that the
// stored energy depends on the state of charge alone. Within a straight piece
// of the curve it is the middle's, linear in I. kept is the share of the
// charge that stays, drawn the charge that goes per charge delivered.
func (b *battery) exchange(p, soc, celsius, hours float64) (currentA, next, lostWh, terminalV float64) {
	r := b.ohm(soc, celsius, p > 0)
	dv := b.perK * (celsius - 25)
	v, slope, down, up := b.curve.piece(soc)
	v, slope = v*b.scale, slope*b.scale/2
	k := b.coulombic(soc)
	if p < 0 {
		k = b.drawn(-p/(v+dv), celsius)
	}
	perA := k * hours / b.capacityAh
	currentA = currentAt(p, v+dv, r+slope*perA)
	vm := v + slope*currentA*perA
	if move := currentA * perA; move < down || move > up {
		for range 8 {
			vm = b.mean(soc, currentA*perA)
			before := currentA
			currentA = currentAt(p, vm+dv, r)
			if abs(currentA-before) <= 1e-9*abs(currentA) {
				break // what is left shrinks a thousandfold at each turn
			}
		}
	}
	next = soc + currentA*perA
	terminalV = vm + dv + currentA*r
	lostWh = (currentA*currentA*r + currentA*dv + currentA*vm*(1-k)) * hours
	return currentA, next, lostWh, terminalV
}

// currentAt is the current in A at which p W pass the terminals of a voltage
// behind a resistance; where the voltage cannot give them, that of most power.
//
//	P = I·(V + I·R)
func currentAt(p, openV, ohm float64) float64 {
	d := openV*openV + 4*ohm*p
	if d <= 0 {
		return -openV / (2 * ohm)
	}
	return 2 * p / (openV + sqrt(d))
}

// mean is the exact mean of the open-circuit voltage at 25 °C on the way from
// a state of charge to another.
func (b *battery) mean(soc, move float64) float64 {
	if abs(move) < 1e-9 {
		return b.scale * b.curve.at(soc)
	}
	return b.scale * (b.curve.integral(soc+move) - b.curve.integral(soc)) / move
}

// holds says, cheaply, that a power for some hours is well within what a
// battery can take or give; where it says no, takesW and givesW tell.
func (b *battery) holds(p, soc, takesA, hours float64) bool {
	if p >= 0 {
		return p < 0.9*b.leastV*smaller(takesA, (1-soc)*b.capacityAh/hours)
	}
	return -p < 0.2*b.leastV*soc*b.capacityAh/hours && -p < b.weakW
}

// takesW returns the power in W that a battery can take for some hours: up to
// the current given, and full.
func (b *battery) takesW(soc, celsius, takesA, hours float64) float64 {
	k := b.coulombic(soc)
	i := larger(smaller(takesA, (1-soc)*b.capacityAh/(k*hours)), 0)
	return b.terminalW(i, k, soc, celsius, hours)
}

// givesW returns the power in W that a battery can give for some hours, down to
// empty.
func (b *battery) givesW(soc, celsius, hours float64) float64 {
	g := b.ohm(soc, celsius, false)
	v := b.restV(soc, celsius)
	i := larger(soc, 0) * b.capacityAh / (hours * b.drawn(larger(soc, 0)*b.capacityAh/hours, celsius))
	if i > v/(4*g) {
		i = v / (4 * g) // beyond, the voltage has halved: no use
	}
	return larger(-b.terminalW(-i, b.drawn(i, celsius), soc, celsius, hours), 0)
}

// terminalW is (1) of exchange for a current.
func (b *battery) terminalW(i, k, soc, celsius, hours float64) float64 {
	return i * (b.mean(soc, i*k*hours/b.capacityAh) + b.perK*(celsius-25) + i*b.ohm(soc, celsius, i > 0))
}

// storedWh is the energy in a battery at a state of charge.
func (b *battery) storedWh(soc float64) float64 {
	return b.capacityAh * b.scale * b.curve.integral(soc)
}

func (p *planner) newRun() dayRun {
	return dayRun{houseSoc: p.q.Day.HouseSoc, starterSoc: p.q.Day.StarterSoc, failed: -1, fullStep: -1, lowStep: -1, reserve: -1, empty: -1, noStart: -1, lowSoc: 2}
}

// feedV is the voltage that the charger holds on the vehicle's side.
func (p *planner) feedV() float64 { return stated(p.q.Rig.Charger.FeedV, 13.5*p.st.nominalV/12) }

// simulate runs the batteries through the steps.
func (p *planner) simulate(x *daySetting, tr *trace) dayRun {
	r := p.newRun()
	for i := range p.steps {
		p.advance(&r, i, x, tr)
	}
	r.flows.houseStored = p.house.storedWh(r.houseSoc) - p.house.storedWh(p.q.Day.HouseSoc)
	r.flows.starterStore = p.starter.storedWh(r.starterSoc) - p.starter.storedWh(p.q.Day.StarterSoc)
	return r
}

// advance takes both batteries through a step.
//
// With the engine on the alternator carries the vehicle's side, the starter
// battery and the charger; what it cannot give the starter battery does. With
// the engine off the vehicle's side hangs on the starter battery, or on the
// charger where that feeds it.
func (p *planner) advance(r *dayRun, i int, x *daySetting, tr *trace) {
	s := &p.steps[i]
	st, q, f := p.st, p.q, &r.flows
	hours := p.stepMin / 60
	ch := &q.Rig.Charger
	takesA := s.acceptA * taper(r.houseSoc, p.taperFrom)

	// House side without the charger.
	draw := s.houseW
	f.house += draw * hours
	sun := s.sunW
	in, out := never, never
	if !p.house.holds(x.at(s)+sun, r.houseSoc, takesA, hours) {
		in = p.house.takesW(r.houseSoc, s.cellC, takesA, hours)
	}
	if !p.house.holds(-draw-ch.FeedW/ch.FeedEta-ch.IdleW, r.houseSoc, takesA, hours) {
		out = p.house.givesW(r.houseSoc, s.cellC, hours)
	}
	chargeW, fedW, inputA, leadW := 0.0, 0.0, 0.0, 0.0
	starterW := 0.0 // into the starter battery, from the vehicle's side
	busV := st.nominal.v
	leadC := leadAir(s.ambientC, s.ambientC+engineSpaceRise)

	if s.engine {
		r.cut = false
		if r.failed < 0 && (i == 0 || !p.steps[i-1].engine) && r.starterSoc < s.leastSoc {
			r.failed = i
		}
		if s.to == charge {
			chargeW = larger(smaller(x.at(s), in+draw-sun), 0)
		}
		c := &p.used[s.bin]
		ownA := s.vehicleW / busV
		takes := p.starter.chargeA(s.regulatorV, r.starterSoc, s.ambientC)
		if chargeW > 0 {
			inputA = st.nominal.inputFor(chargeW, st.leadOrNone(), leadC)
			spare := c.totalA - ownA
			if r.starterSoc < 0.1 && inputA > spare || inputA >= never {
				inputA = larger(spare, 0)
				chargeW = st.nominal.outputAt(st, inputA, leadC)
			}
			leadW = inputA * inputA * st.leadOhm(inputA, leadC)
		}
		takes = smaller(takes, c.totalA-ownA-inputA) // negative: it makes up what is missing
		if takes < 0 {
			r.deficitMin += p.stepMin
		}
		starterW = takes * busV
		f.driving += s.vehicleW * hours
	} else {
		need := s.vehicleW
		f.parked += need * hours
		switch {
		case s.to == feed && r.houseSoc > q.Rig.HouseBattery.Reserve:
			// No more than leads down to the reserve.
			spare := (r.houseSoc-q.Rig.HouseBattery.Reserve)*p.house.capacityAh*p.house.leastV/hours - ch.IdleW
			most := smaller(ch.FeedW, larger(spare, 0)*ch.FeedEta)
			fedW = smaller(most, need)
			need -= fedW
			starterW = smaller(p.starter.chargeA(p.feedV(), r.starterSoc, s.ambientC)*p.feedV(), most-fedW)
			if !p.starter.holds(starterW, r.starterSoc, never, hours) {
				starterW = smaller(starterW, p.starter.takesW(r.starterSoc, s.ambientC, never, hours))
			}
			draw += (fedW+starterW)/ch.FeedEta + ch.IdleW
			f.feeding += ((fedW+starterW)/ch.FeedEta - fedW - starterW + ch.IdleW) * hours
		case s.to == charge && !p.withEngine && !r.cut:
			chargeW = larger(smaller(x.at(s), in+draw-sun), 0)
			inputA = st.nominal.inputFor(chargeW, st.leadOrNone(), s.ambientC)
			ohm := p.starter.ohm(r.starterSoc, s.ambientC, false) + st.leadOhm(inputA, s.ambientC)
			if v := p.starter.restV(r.starterSoc, s.ambientC) - inputA*ohm; v < larger(ch.MinInputV, cutOutV*st.nominalV/12) {
				r.cut, chargeW, inputA = true, 0, 0
			}
			leadW = inputA * inputA * st.leadOhm(inputA, s.ambientC)
		}
		starterW -= need + inputA*busV
	}

	// Starter battery.
	lackW := 0.0
	if p.starter.holds(starterW, r.starterSoc, never, hours) {
		// the usual
	} else if starterW < 0 {
		can := p.starter.givesW(r.starterSoc, s.ambientC, hours)
		if can < -starterW {
			lackW = -starterW - can
			starterW = -can
			f.short += lackW * hours
			if r.empty < 0 {
				r.empty = i
			}
		}
	} else {
		starterW = smaller(starterW, p.starter.takesW(r.starterSoc, s.ambientC, never, hours))
	}
	starterA, next, lost, starterV := p.starter.exchange(starterW, r.starterSoc, s.ambientC, hours)
	r.starterSoc = next
	f.starterLoss += lost
	if s.engine {
		f.alternator += (s.vehicleW + inputA*busV + starterW - lackW) * hours
		starterV = busV
	}
	f.lead += leadW * hours
	if inputA > 0 {
		f.charger += (inputA*busV - leadW - chargeW) * hours
	}
	f.charged += chargeW * hours

	// House battery.
	net := sun + chargeW - draw
	if net > in {
		spill := smaller(net-in, sun)
		sun -= spill
		net -= spill
		f.sunSpilled += spill * hours
	}
	shortW := 0.0
	if net < -out {
		shortW = -out - net
		f.short += shortW * hours
		net = -out
		if r.empty < 0 {
			r.empty = i
		}
	}
	f.sun += sun * hours
	_, r.houseSoc, lost, _ = p.house.exchange(net, r.houseSoc, s.cellC, hours)
	f.houseLoss += lost

	p.judge(r, i)
	if tr != nil {
		tr.short[i] = lackW > 0 || shortW > 0
		tr.houseSoc[i], tr.starterSoc[i], tr.starterV[i] = r.houseSoc, r.starterSoc, starterV
		tr.chargeW[i], tr.starterA[i] = chargeW, starterA
		tr.alternatorA[i] = 0
		if s.engine {
			tr.alternatorA[i] = s.vehicleW/busV + inputA + (starterW-lackW)/busV
		}
	}
}

// cutOutV is the loaded voltage, per 12 V, at which a charger left on with the
// engine off cuts out where its lowest input voltage is not given; from memory.
const cutOutV = 11.0

// judge notes the first time of each mark.
func (p *planner) judge(r *dayRun, i int) {
	b := &p.q.Rig.HouseBattery
	if r.houseSoc < r.lowSoc {
		r.lowSoc, r.lowStep = r.houseSoc, i
	}
	if r.fullStep < 0 && r.houseSoc >= p.q.Day.WantSoc {
		r.fullStep = i
	}
	if r.reserve < 0 && r.houseSoc < b.Reserve {
		r.reserve = i
	}
	if r.noStart < 0 && r.starterSoc < p.steps[i].leastSoc {
		r.noStart = i
	}
}

// leadOhm is the lead's resistance at a current.
func (st *study) leadOhm(currentA, airC float64) float64 {
	if !st.hasLead {
		return 0
	}
	return st.lead.ohm(currentA, airC)
}
