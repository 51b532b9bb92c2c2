package core

import (
	"spareamps/core/air"
	"spareamps/core/detmath"
	"spareamps/core/limit"
)

// idleMinutes is how long the vehicle is thought to stand with its engine
// idling for the ceiling "if you stop".
const idleMinutes = 10

// idleSteps are the steps in minutes by which the stop is followed. Finer
// ones move the ceiling by less than 0.1 A (idle_test.go).
var idleSteps = [...]float64{0.5, 1, 2, 3, 3.5}

// How closely the ceiling through a stop is looked for. A setting is given in
// tenths of an ampere and in watts, rounded down.
const (
	stopWithinA = 1e-3
	stopWithinW = 1e-2
)

// idle fills in what is left if the vehicle now stops and idles, with the
// setting left as it was, and the advice, which is the lower.
//
// The inlet air is taken from the first minute as it is after the last. A
// current that a vehicle's winding and rotor stand for ever is below the one
// they stand for ten minutes, and no current is above what the other limits
// allow: only in between is a vehicle followed through the stop.
func (st *study) idle(q *Request, a *Answer, now *scene, k int) {
	s := st.scene(q, idleMinutes)
	var o operating
	var w warm
	var c ceilings
	st.nominal.operate(st, &s, &o)
	w.reset(&o)
	st.nominal.limitsAt(st, &s, &o, &w, &w, &c)
	a.IdleInletC = o.airC
	p := &st.crowd
	p.fill(st, &s, &w)
	t := &st.stop
	side := &p.side
	t.begin(st, now, &s)
	ceiling := t.quantile(k, false)
	lim := t.limitAt(ceiling)
	watts := side.capped(t.quantile(k, true))
	a.AfterIdle = st.setting(detmath.Min(ceiling, side.a), watts, side, o.leadC)
	if ceiling >= side.a && a.AfterIdle.OutputW >= st.inSteps(side.w) {
		lim = limit.ChargerOutput
		if side.batteryA < side.chargerA {
			lim = limit.HouseBattery
		}
	}
	a.AfterIdle.Limit = lim
	a.Advice, a.AdviceIdle = a.Ceiling, false
	if a.AfterIdle.OutputW < a.Ceiling.OutputW {
		a.Advice, a.AdviceIdle = a.AfterIdle, true
	}
	a.Advice.InputA = detmath.Min(a.Ceiling.InputA, a.AfterIdle.InputA)
}

// A stop is what is known of the sample's ceilings through a stop.
type stop struct {
	st        *study
	now, idle scene
	vehicles  [sampleSize]stopped
	levels    [sampleSize]float64 // room for kth
	near      seed                // the vehicle followed last, before its stop
	at        steady              // the one followed now, likewise
	o         operating
	steepest  float64 // K per A, of those met
	mean      float64 // K per A, of the last one met
}

// A stopped is one vehicle's ceiling through a stop: from lo to hi, in A. Where
// it was followed at lo or at hi, cool and hot say by how many K the nearer of
// winding and rotor passed its limit, cool being negative and hot positive.
type stopped struct {
	lo, hi    float64
	cool, hot float64
	leadC     float64
	lim       int // what hi stands for
}

// beyondSide is by how much a vehicle's upper bound lies beyond what charger and
// house battery allow.
const beyondSide = 1.002

// begin sets bounds from the limits that the crowd meets standing with the
// engine idling for ever.
func (t *stop) begin(st *study, now, idle *scene) {
	t.st, t.now, t.idle = st, *now, *idle
	t.steepest, t.mean = 0, 0
	st.nominal.operate(st, now, &t.o)
	t.near = seed{t.o.inletC + startWindingK, t.o.inletC + startRotorK, startField}
	p := &st.crowd
	for i := range t.vehicles {
		var c ceilings
		for n := range c {
			c[n] = p.own[n][i]
		}
		c[limit.Winding], c[limit.Rotor], c[limit.Case] = never, never, never
		// A little beyond what the output side allows, so that a level there is
		// found to be passed.
		c[limit.ChargerOutput] *= beyondSide
		c[limit.HouseBattery] *= beyondSide
		most := c.lowest()
		v := &t.vehicles[i]
		*v = stopped{lo: p.least[i], hi: c[most], lim: most}
		v.leadC = air.AlongLead(idle.ambientC, idle.inletC(&st.sample[i]))
		if v.hi <= v.lo {
			v.hi = v.lo
		}
	}
}

// level is a vehicle's current, or the watts that its charger gives out at it.
func (t *stop) level(i int, currentA float64, inWatts bool) float64 {
	if inWatts {
		return t.st.sample[i].outputAt(t.st, currentA, t.vehicles[i].leadC)
	}
	return currentA
}

// current is a vehicle's current at a level.
func (t *stop) current(i int, level float64, inWatts bool) float64 {
	if !inWatts {
		return level
	}
	l := &noLead
	if t.st.hasLead {
		l = &t.st.lead
	}
	return t.st.sample[i].inputFor(level, l, t.vehicles[i].leadC)
}

// quantile returns the k-th smallest ceiling, from 0, in A or W.
//
// It lies between the k-th smallest of the lower bounds and that of the upper
// ones. A level in between is tried by counting the vehicles that do not stand
// it, of which most need not be followed: their bounds, or the slope of one try
// nearby, decide.
func (t *stop) quantile(k int, inWatts bool) float64 {
	for i := range t.vehicles {
		t.levels[i] = t.level(i, t.vehicles[i].lo, inWatts)
	}
	lo := kth(t.levels[:], k)
	if side := &t.st.crowd.side; inWatts && side.capped(lo) == side.w || !inWatts && lo >= side.a {
		return lo // no more is asked for
	}
	for i := range t.vehicles {
		t.levels[i] = t.level(i, t.vehicles[i].hi, inWatts)
	}
	hi := kth(t.levels[:], k)
	within := stopWithinA
	if inWatts {
		within = stopWithinW
	}
	for n := 0; hi-lo > within && n < 60; n++ {
		try := (lo + hi) / 2
		if n < 20 {
			t.probe(lo, hi, inWatts)
			for i := range t.vehicles {
				t.levels[i] = t.level(i, t.guess(i), inWatts)
			}
			// By a hair beside the guess, so that a good one closes in from both
			// sides.
			try = kth(t.levels[:], k)
			if try < lo+within/2 {
				try = lo + 0.75*within
			} else if try > hi-within/2 {
				try = hi - 0.75*within
			}
		}
		if t.fallen(try, k, inWatts) {
			hi = try
		} else {
			lo = try
		}
	}
	return lo
}

// fallen tells whether more than k vehicles do not stand a level.
func (t *stop) fallen(level float64, k int, inWatts bool) bool {
	n := 0
	for i := range t.vehicles {
		if !t.stands(i, t.current(i, level, inWatts)) {
			if n++; n > k {
				return true
			}
		}
	}
	return false
}

// steeper is how many times the steepest slope met the slope of a vehicle is
// thought to be at most. Checked: TestStopQuantile.
const steeper = 3

// stands tells whether a vehicle stands a current through the stop, following it
// only where what is known does not decide.
func (t *stop) stands(i int, currentA float64) bool {
	v := &t.vehicles[i]
	switch most := steeper * t.steepest; {
	case currentA <= v.lo:
		return true
	case currentA > v.hi:
		return false
	case most == 0:
	case v.cool < 0 && v.cool+most*(currentA-v.lo) < 0:
		return true
	case v.hot > 0 && v.hot-most*(v.hi-currentA) > 0:
		return false
	}
	return t.follow(i, currentA)
}

// follow follows a vehicle through the stop at a current.
func (t *stop) follow(i int, currentA float64) bool {
	v := &t.vehicles[i]
	over, lim := t.over(i, currentA)
	if over > 0 {
		v.hi, v.hot, v.lim = currentA, over, lim
	} else {
		v.lo, v.cool = currentA, detmath.Min(over, -1e-12)
	}
	if v.cool < 0 && v.hot > 0 && v.hi > v.lo {
		t.mean = (v.hot - v.cool) / (v.hi - v.lo)
		t.steepest = detmath.Max(t.steepest, t.mean)
	}
	return over <= 0
}

// probe finds a first slope, from a vehicle whose ceiling lies between levels.
func (t *stop) probe(lo, hi float64, inWatts bool) {
	for i := 0; i < sampleSize && t.mean == 0; i++ {
		v := &t.vehicles[i]
		if v.hi-v.lo <= stopWithinA || t.level(i, v.lo, inWatts) >= hi || t.level(i, v.hi, inWatts) <= lo {
			continue
		}
		if t.follow(i, v.hi) || t.follow(i, (v.lo+v.hi)/2) {
			continue
		}
		t.follow(i, v.lo+(v.hi-v.lo)/8)
	}
}

// guess returns where a vehicle's ceiling is thought to be.
func (t *stop) guess(i int) float64 {
	v := &t.vehicles[i]
	x := (v.lo + v.hi) / 2
	switch {
	case v.cool < 0 && v.hot > 0:
		x = v.lo - v.cool*(v.hi-v.lo)/(v.hot-v.cool)
	case t.mean == 0:
	case v.cool < 0:
		x = v.lo - v.cool/t.mean
	case v.hot > 0:
		x = v.hi - v.hot/t.mean
	}
	return detmath.Min(detmath.Max(x, v.lo), v.hi)
}

// limitAt returns the limit of the vehicle whose ceiling is found to be at a
// current.
func (t *stop) limitAt(currentA float64) int {
	nearest, at := never, 0
	for i := range t.vehicles {
		if d := detmath.Abs(t.guess(i) - currentA); d < nearest {
			nearest, at = d, i
		}
	}
	return t.vehicles[at].lim
}

// leastDrivingA is the least output before the stop: of none at all the field
// share is not determined.
const leastDrivingA = 0.1

// over returns by how much winding or rotor pass their limit, at the worst, when
// a vehicle comes from a long drive at a current and then idles at it; negative
// where they stay below.
func (t *stop) over(i int, currentA float64) (worst float64, lim int) {
	v, o, p := &t.st.sample[i], &t.o, &t.at
	v.operate(t.st, &t.now, o)
	driving := detmath.Max(currentA+t.now.otherA(v), leastDrivingA)
	p.t[winding], p.t[rotor], p.x = t.near.windingC, t.near.rotorC, t.near.x
	o.settle(fixedCurrent, driving, p)
	if full, _ := o.full(p.t[rotor]); !p.ok || p.x > full {
		p.t[winding], p.t[rotor], p.x = t.near.windingC, t.near.rotorC, t.near.x
		*p = o.seek(fullField, 0, p)
	}
	if p.ok {
		t.near = seed{p.t[winding], p.t[rotor], p.x}
	}
	windingC, rotorC := t.st.class.windingLimitC(), t.st.class.rotorLimitC()
	worst, lim = p.t[winding]-windingC, limit.Winding
	if d := p.t[rotor] - rotorC; d > worst {
		worst, lim = d, limit.Rotor
	}
	if d := p.t[iron] - t.st.guard.coreC(o.inletC); d > worst {
		worst, lim = d, limit.Case
	}
	v.operate(t.st, &t.idle, o)
	coreC := t.st.guard.coreC(o.inletC)
	idling := detmath.Max(currentA+t.idle.otherA(v), 0)
	at, x := &p.t, p.x
	for _, minutes := range idleSteps {
		x = o.step(at, idling, minutes*60, x)
		if d := at[winding] - windingC; d > worst {
			worst, lim = d, limit.Winding
		}
		if d := at[rotor] - rotorC; d > worst {
			worst, lim = d, limit.Rotor
		}
		if d := at[iron] - coreC; d > worst {
			worst, lim = d, limit.Case
		}
	}
	return worst, lim
}
