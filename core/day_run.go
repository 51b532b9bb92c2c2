package core

import (
	"cmp"

	"spareamps/core/air"
	"spareamps/core/detmath"
)

// A dayRun is one simulation of the batteries through a day.
type dayRun struct {
	houseSoc, starterSoc float64
	cut                  bool // the charger, left on, has cut out until the engine runs

	failed   int // first step with the engine on for which it did not start; −1
	fullStep int // first step at whose end the wanted charge is there; −1: never
	lowSoc   float64
	lowStep  int
	reserve  int // first step below the reserve; −1
	empty    int // first step in which a load went short; −1
	noStart  int // first step after which the engine would not start; −1
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
	return detmath.Min(x.watts, x.allowed[s.stretch])
}

// A trace records a run step by step, and what flowed in all of it.
type trace struct {
	flows flows

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
	x, u := b.at(soc)
	w := detmath.Clamp(u, 0, 1)
	r := x.out + x.outRise*w
	if p > 0 {
		r = x.in + x.inRise*w
	}
	r *= b.warm.factor(celsius)
	dv := b.perK * (celsius - 25)
	v := x.restV + x.restRise*w
	k := b.coulombic(soc)
	if p < 0 {
		k = b.drawn(-p/(v+dv), celsius)
	}
	perA := k * hours / b.capacityAh
	perPiece := x.restRise * (pieces / 2)
	currentA = currentAt(p, v+dv, r+perPiece*perA)
	vm := v + perPiece*perA*currentA
	if end := u + pieces*perA*currentA; end < 0 || end > 1 || u < 0 || u > 1 {
		for range 8 {
			vm = b.mean(soc, currentA*perA)
			before := currentA
			currentA = currentAt(p, vm+dv, r)
			if detmath.Abs(currentA-before) <= 1e-9*detmath.Abs(currentA) {
				break
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
	return 2 * p / (openV + detmath.Sqrt(d))
}

// mean is the exact mean of the open-circuit voltage at 25 °C on the way from
// a state of charge to another.
func (b *battery) mean(soc, move float64) float64 {
	if detmath.Abs(move) < 1e-9 {
		return b.restV(soc, 25)
	}
	return (b.integral(soc+move) - b.integral(soc)) / move
}

// holds says, cheaply, that a power for some hours is well within what a
// battery can take or give; where it says no, takesW and givesW tell.
func (b *battery) holds(p, soc, takesA, hours float64) bool {
	if p >= 0 {
		return p < 0.9*b.leastV*detmath.Min(takesA, (1-soc)*b.capacityAh/hours)
	}
	return -p < 0.2*b.leastV*soc*b.capacityAh/hours && -p < b.weakW
}

// takesW returns the power in W that a battery can take for some hours: up to
// the current given, and full.
func (b *battery) takesW(soc, celsius, takesA, hours float64) float64 {
	k := b.coulombic(soc)
	i := detmath.Max(detmath.Min(takesA, (1-soc)*b.capacityAh/(k*hours)), 0)
	return b.terminalW(i, k, soc, celsius, hours)
}

// givesW returns the power in W that a battery can give for some hours, down to
// empty.
func (b *battery) givesW(soc, celsius, hours float64) float64 {
	g := b.ohm(soc, celsius, false)
	v := b.restV(soc, celsius)
	i := detmath.Max(soc, 0) * b.capacityAh / (hours * b.drawn(detmath.Max(soc, 0)*b.capacityAh/hours, celsius))
	if i > v/(4*g) {
		i = v / (4 * g) // beyond, the voltage has halved: no use
	}
	return detmath.Max(-b.terminalW(-i, b.drawn(i, celsius), soc, celsius, hours), 0)
}

// terminalW is (1) of exchange for a current.
func (b *battery) terminalW(i, k, soc, celsius, hours float64) float64 {
	return i * (b.mean(soc, i*k*hours/b.capacityAh) + b.perK*(celsius-25) + i*b.ohm(soc, celsius, i > 0))
}

// storedWh is the energy in a battery at a state of charge.
func (b *battery) storedWh(soc float64) float64 {
	return b.capacityAh * b.integral(soc)
}

func (p *planner) newRun() dayRun {
	return dayRun{houseSoc: p.q.Day.HouseSoc, starterSoc: p.q.Day.StarterSoc, failed: -1, fullStep: -1, lowStep: -1, reserve: -1, empty: -1, noStart: -1, lowSoc: 2}
}

// feedV is the voltage that the charger holds on the vehicle's side.
func (p *planner) feedV() float64 { return cmp.Or(p.q.Rig.Charger.FeedV, 13.5*p.st.nominalV/12) }

// simulate runs the batteries through the steps.
func (p *planner) simulate(x *daySetting, tr *trace) dayRun { return p.simulateNoting(x, tr, nil) }

// advance takes both batteries through a step.
//
// With the engine on the alternator carries the vehicle's side, the starter
// battery and the charger; what it cannot give the starter battery does. With
// the engine off the vehicle's side hangs on the starter battery, or on the
// charger where that feeds it.
func (p *planner) advance(r *dayRun, i int, x *daySetting, tr *trace) {
	s := &p.steps[i]
	st, hours := p.st, p.hours
	houseSoc, starterSoc := r.houseSoc, r.starterSoc

	// House side without the charger.
	draw, sun, setW := s.houseW, s.sunW, x.at(s)
	takesA := s.accepts.at(p.lifepo4, (setW+sun-draw)/p.house.absorbV, houseSoc)
	in, out := never, never
	if !p.house.holds(setW+sun, houseSoc, takesA, hours) {
		in = p.house.takesW(houseSoc, s.cellC, takesA, hours)
	}
	if !p.house.holds(-draw-p.mostFeedW, houseSoc, takesA, hours) {
		out = p.house.givesW(houseSoc, s.cellC, hours)
	}
	chargeW, fedW, fedLossW, inputA, leadW := 0.0, 0.0, 0.0, 0.0, 0.0
	starterW := 0.0 // into the starter battery, from the vehicle's side
	busV := st.nominal.v

	if s.engine {
		r.cut = false
		if r.failed < 0 && (i == 0 || !p.steps[i-1].engine) && starterSoc < s.leastSoc {
			r.failed = i
		}
		if s.to == charge {
			chargeW = detmath.Max(detmath.Min(setW, in+draw-sun), 0)
		}
		spare := p.used[s.bin].totalA - s.vehicleW/busV
		if chargeW > 0 {
			leadC := s.ambientC + air.EngineSpaceRise
			inputA = st.nominal.inputFor(chargeW, st.leadOrNone(), leadC)
			if starterSoc < 0.1 && inputA > spare || inputA >= never {
				inputA = detmath.Max(spare, 0)
				chargeW = st.nominal.outputAt(st, inputA, leadC)
			}
			leadW = inputA * inputA * st.leadOhm(inputA, leadC)
		}
		// Negative where it makes up what is missing.
		starterW = detmath.Min(p.starter.chargeA(s.regulatorV, starterSoc, s.ambientC), spare-inputA) * busV
	} else {
		ch, reserve := &p.q.Rig.Charger, p.q.Rig.HouseBattery.Reserve
		need := s.vehicleW
		switch {
		case s.to == feed && houseSoc > reserve+rounding:
			// No more than leads down to the reserve.
			spare := (houseSoc-reserve)*p.house.capacityAh*p.house.leastV/hours - ch.IdleW
			most := detmath.Min(ch.FeedW, detmath.Max(spare, 0)*ch.FeedEta)
			fedW = detmath.Min(most, need)
			need -= fedW
			starterW = detmath.Min(p.starter.chargeA(p.feedV(), starterSoc, s.ambientC)*p.feedV(), most-fedW)
			if !p.starter.holds(starterW, starterSoc, never, hours) {
				starterW = detmath.Min(starterW, p.starter.takesW(starterSoc, s.ambientC, never, hours))
			}
			fedW += starterW
			fedLossW = fedW/ch.FeedEta - fedW + ch.IdleW
			draw += fedW + fedLossW
		case s.to == charge && !p.withEngine && !r.cut:
			chargeW = detmath.Max(detmath.Min(setW, in+draw-sun), 0)
			inputA = st.nominal.inputFor(chargeW, st.leadOrNone(), s.ambientC)
			ohm := p.starter.ohm(starterSoc, s.ambientC, false) + st.leadOhm(inputA, s.ambientC)
			if v := p.starter.restV(starterSoc, s.ambientC) - inputA*ohm; v < detmath.Max(ch.MinInputV, cutOutV*st.nominalV/12) {
				r.cut, chargeW, inputA = true, 0, 0
			}
			leadW = inputA * inputA * st.leadOhm(inputA, s.ambientC)
		}
		starterW -= need + inputA*busV
	}

	// Starter battery.
	lackW := 0.0
	if p.starter.holds(starterW, starterSoc, never, hours) {
		// the usual
	} else if starterW < 0 {
		can := p.starter.givesW(starterSoc, s.ambientC, hours)
		lackW = detmath.Max(-starterW-can, 0)
		starterW = detmath.Max(starterW, -can)
	} else {
		starterW = detmath.Min(starterW, p.starter.takesW(starterSoc, s.ambientC, never, hours))
	}
	starterA, next, starterLost, starterV := p.starter.exchange(starterW, starterSoc, s.ambientC, hours)
	r.starterSoc = next

	// House battery.
	net, spill, shortW := sun+chargeW-draw, 0.0, 0.0
	if net > in {
		spill = detmath.Min(net-in, sun)
		net -= spill
	}
	if net < -out {
		shortW = -out - net
		net = -out
	}
	if lackW+shortW > 0 && r.empty < 0 {
		r.empty = i
	}
	var houseLost float64
	_, r.houseSoc, houseLost, _ = p.house.exchange(net, houseSoc, s.cellC, hours)

	p.judge(r, i)
	if tr == nil {
		return
	}
	tr.short[i] = lackW > 0 || shortW > 0
	tr.houseSoc[i], tr.starterSoc[i], tr.starterV[i] = r.houseSoc, r.starterSoc, starterV
	tr.chargeW[i], tr.starterA[i] = chargeW, starterA
	tr.alternatorA[i] = 0
	f := &tr.flows
	if s.engine {
		tr.starterV[i] = busV
		tr.alternatorA[i] = s.vehicleW/busV + inputA + (starterW-lackW)/busV
		f.driving += s.vehicleW * hours
		f.alternator += (s.vehicleW + inputA*busV + starterW - lackW) * hours
	} else {
		f.parked += s.vehicleW * hours
	}
	f.house += s.houseW * hours
	f.feeding += fedLossW * hours
	f.lead += leadW * hours
	if inputA > 0 {
		f.charger += (inputA*busV - leadW - chargeW) * hours
	}
	f.charged += chargeW * hours
	f.short += (lackW + shortW) * hours
	f.sun += (sun - spill) * hours
	f.sunSpilled += spill * hours
	f.starterLoss += starterLost
	f.houseLoss += houseLost
}

// cutOutV is the loaded voltage, per 12 V, at which a charger left on with the
// engine off cuts out where its lowest input voltage is not given; from memory.
const cutOutV = 11.0

// rounding is what a state of charge may be off by for no reason.
const rounding = 1e-9

// judge notes the first time of each mark.
func (p *planner) judge(r *dayRun, i int) {
	b := &p.q.Rig.HouseBattery
	if r.houseSoc < r.lowSoc-rounding {
		r.lowSoc, r.lowStep = r.houseSoc, i
	}
	if r.fullStep < 0 && r.houseSoc >= p.q.Day.WantSoc-rounding {
		r.fullStep = i
	}
	if r.reserve < 0 && r.houseSoc < b.Reserve-rounding {
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
	return st.lead.Ohm(currentA, airC)
}
