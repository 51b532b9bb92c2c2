package core

import (
	"spareamps/core/air"
	"spareamps/core/conductor"
	"spareamps/core/detmath"
	"spareamps/core/limit"
)

// A dayHeat is the alternator of one vehicle on its way through a day.
type dayHeat struct {
	v       *vehicle
	o       *operating // its machine, for whoever follows it
	t       temperatures
	x       float64
	a, dx   float64 // output at the last step's end, and its slope against x
	riseK   float64 // of the inlet air above ambient, before the vehicle's own factor
	restMin float64 // since the engine stopped
	hottest peak
}

// A peak is the highest temperatures met, and when.
type peak struct {
	windingC, coreC, junctionC, rotorC float64
	at                                 int // step of the hottest winding
}

// newDayHeat is a vehicle that has long stood. Its machine is kept in o, which
// may have served another.
func newDayHeat(v *vehicle, o *operating, ambientC float64) dayHeat {
	o.speedRpm = -1
	h := dayHeat{v: v, o: o, x: 0.5, restMin: longStood}
	for i := range h.t {
		h.t[i] = ambientC
	}
	h.hottest = peak{ambientC, ambientC, ambientC, ambientC, 0}
	return h
}

// run takes the alternator through a step with the engine on, with an output
// of the charger in W and what the starter battery takes in A. It returns by
// how much the machine passes a limit that heat sets: the worst, negative where
// none is passed. Where lost is given, losses in Wh are added to it.
func (h *dayHeat) run(st *study, s *dayStep, c *dayCeiling, watts, starterA, minutes float64, at int, lost *Losses) (worst float64, lim int) {
	h.riseK = air.EngineOnRise(h.riseK, s.riseK, minutes)
	h.restMin = 0
	v, o := h.v, h.o
	v.follow(st, s.rpm, s.ambientC, s.ambientC+v.riseK(h.riseK), c.pressure, o)
	current := detmath.Max(v.otherA(s.vehicleW, starterA)+detmath.Min(v.inputFor(watts, st.leadOrNone(), o.leadC), 1e4), 0)
	if h.dx > 0 {
		h.x += (current - h.a) / h.dx
	}
	h.x = o.step(&h.t, current, minutes*60, h.x)
	h.a, h.dx = o.heat.out.a, o.heat.out.dx
	if lost != nil {
		p := steady{t: h.t, x: h.x, out: o.machine.output(o.omega, o.busV, h.x, h.t[winding])}
		l, hours := o.losses(&p), minutes/60
		lost.StatorCopper += l.StatorCopper * hours
		lost.Rectifier += l.Rectifier * hours
		lost.Field += l.Field * hours
		lost.Iron += l.Iron * hours
		lost.Mechanical += l.Mechanical * hours
	}
	junction := h.t[plates] + o.junctionPerA()*current
	k := &h.hottest
	if h.t[winding] > k.windingC {
		k.windingC, k.at = h.t[winding], at
	}
	k.coreC = detmath.Max(k.coreC, h.t[iron])
	k.junctionC = detmath.Max(k.junctionC, junction)
	k.rotorC = detmath.Max(k.rotorC, h.t[rotor])
	worst, lim = h.t[winding]-st.class.windingLimitC(), limit.Winding
	if d := h.t[rotor] - st.class.rotorLimitC(); d > worst {
		worst, lim = d, limit.Rotor
	}
	if d := junction - st.junctionC; d > worst {
		worst, lim = d, limit.Rectifier
	}
	if d := h.t[iron] - st.guard.coreC(o.inletC); d > worst {
		worst, lim = d, limit.Case
	}
	return worst, lim
}

// leadOrNone is the lead, or one without loss where none was described.
func (st *study) leadOrNone() *conductor.Lead {
	if st.hasLead {
		return &st.lead
	}
	return &noLead
}

// rest takes the alternator through a step with the engine off.
func (h *dayHeat) rest(ambientC, minutes float64) {
	h.restMin += minutes
	h.riseK = air.EngineOffRise(h.riseK, h.restMin, minutes)
	h.t.stand(ambientC+h.v.riseK(h.riseK), minutes)
}
