package core

import (
	"spareamps/core/air"
	"spareamps/core/detmath"
	"spareamps/core/limit"
)

// A Follower carries the temperatures of all plausible vehicles along a drive
// as it happens, and says what may be charged in the minutes to come. It
// serves one goroutine; make one with NewFollower.
type Follower struct {
	st    study
	q     Request
	k     int // vehicles of the sample that may fall below
	heats [sampleSize]dayHeat
	begun bool

	machines [sampleSize]operating

	ahead dayHeat             // one vehicle on its way through the minutes to come
	lim   [sampleSize]int     // what stands for hi
	lo    [sampleSize]float64 // W, stood
	hi    [sampleSize]float64 // W, not stood
	worst [nodes][sampleSize]float64
}

// A Reading is what a logger tells of a moment.
type Reading struct {
	EngineRpm float64
	SpeedKmh  float64
	AmbientC  float64
	ChargerA  float64 // into the charger
}

// An Allowance is what may be charged from a moment on.
type Allowance struct {
	OutputW float64 // rounded down to the charger's step
	InputA  float64 // what that draws, likeliest
	Limit   int     // that sets it
	IfStop  bool    // it is lower if the vehicle now stops than if all stays as it is

	// Means of the parts, in °C, that as many vehicles stay below as the
	// confidence asks.
	WindingC, JunctionC, RotorC float64
}

// NewFollower follows a rig. Of the request's moment altitude, loads, charge,
// what was charged before and confidence hold; engine, road and air are read.
// A measured inlet temperature does not hold, since it changes.
//
// Its error is an *InputError.
func NewFollower(q *Request) (*Follower, error) {
	if err := q.Check(ForCeiling...); err != nil {
		return nil, err
	}
	f := &Follower{q: *q, k: tolerated(q.Confidence)}
	f.q.Moment.InletC = 0
	f.q.given[fieldInletC>>6] &^= 1 << (fieldInletC & 63)
	f.st.prepare(&f.q)
	f.st.draws()
	return f, nil
}

// Advance carries the temperatures on through conditions that held for so
// long. The first call begins: with the engine running for as long as the
// request says.
func (f *Follower) Advance(r *Reading, minutes float64) {
	if !f.begun {
		f.begun = true
		for i := range f.heats {
			f.heats[i] = newDayHeat(&f.st.sample[i], &f.machines[i], r.AmbientC)
			f.heats[i].riseK = air.InletRise(r.SpeedKmh)
		}
		m := &f.q.Moment
		before, since := *r, m.MinutesSinceStart
		before.ChargerA = f.st.nominal.inputFor(m.SettingW, f.st.leadOrNone(), r.AmbientC)
		m.MinutesSinceStart = 0
		f.Advance(&before, since)
	}
	s := f.step(r)
	c := dayCeiling{pressure: air.Pressure(f.q.Moment.AltitudeM)}
	for left := minutes; left > 0; {
		dt := detmath.Min(left, 1)
		left -= dt
		starterA := StarterCurrent(f.st.starterAh, f.q.Moment.MinutesSinceStart)
		for i := range f.heats {
			h := &f.heats[i]
			if r.EngineRpm <= 0 {
				h.rest(r.AmbientC, dt)
				continue
			}
			watts := h.v.outputAt(&f.st, r.ChargerA, air.AlongLead(r.AmbientC, r.AmbientC+h.v.riseK(h.riseK)))
			h.run(&f.st, &s, &c, watts, starterA, dt, 0, nil)
		}
		if r.EngineRpm > 0 {
			f.q.Moment.MinutesSinceStart += dt
		} else {
			f.q.Moment.MinutesSinceStart = 0
		}
	}
}

// step is a reading as the day's heat takes it.
func (f *Follower) step(r *Reading) dayStep {
	s := dayStep{rpm: r.EngineRpm, kmh: r.SpeedKmh, riseK: air.InletRise(r.SpeedKmh), ambientC: r.AmbientC, vehicleW: f.q.Moment.VehicleLoadsW}
	if !f.q.statesField(fieldVehicleLoadsW) {
		s.vehicleW = f.st.usualLoadsW()
	}
	return s
}

// Allowed says what may be charged for the next ten minutes from the
// temperatures carried so far: the lower of all staying as it is, and the
// vehicle stopping now and idling.
func (f *Follower) Allowed(r *Reading) (a Allowance) {
	f.temperatures(&a, r)
	if r.EngineRpm <= 0 {
		a.Limit = limit.Output
		return a
	}
	a.OutputW, a.Limit = f.allowed(r)
	stop := *r
	stop.SpeedKmh, stop.EngineRpm = 0, f.st.idleRpm
	if stop != *r {
		if w, lim := f.allowed(&stop); w < a.OutputW {
			a.OutputW, a.Limit, a.IfStop = w, lim, true
		}
	}
	a.Limit = f.st.guard.shownAs(a.Limit)
	step := 1.0
	if f.st.charger.Given {
		step = f.st.charger.StepW
	}
	a.OutputW = roundDown(a.OutputW, step)
	a.InputA = f.st.nominal.inputFor(a.OutputW, f.st.leadOrNone(), air.AlongLead(r.AmbientC, r.AmbientC+f.heats[0].riseK))
	return a
}

// temperatures fills in those of now.
func (f *Follower) temperatures(a *Allowance, r *Reading) {
	s := f.step(r)
	for i := range f.heats {
		h := &f.heats[i]
		f.worst[winding][i], f.worst[rotor][i], f.worst[plates][i] = h.t[winding], h.t[rotor], h.t[plates]
		if r.EngineRpm > 0 {
			f.worst[plates][i] += h.v.machine.junctionPerA() * (r.ChargerA + h.v.otherA(s.vehicleW, 0))
		}
	}
	k := sampleSize - 1 - f.k
	a.WindingC, a.JunctionC, a.RotorC = kth(f.worst[winding][:], k), kth(f.worst[plates][:], k), kth(f.worst[rotor][:], k)
}

// allowed returns the watts, and their limit, that all but those tolerated of
// the vehicles stand for the minutes to come.
func (f *Follower) allowed(r *Reading) (watts float64, lim int) {
	st := &f.st
	m := &f.q.Moment
	m.EngineRpm, m.SpeedKmh, m.AmbientC = r.EngineRpm, r.SpeedKmh, r.AmbientC
	sc := st.scene(&f.q, 0)
	sc.riseK = f.heats[0].riseK
	w := newWarmFor(st, &sc)
	p := &st.crowd
	p.fill(st, &sc, &w)
	most := 0.0
	for i := range f.heats {
		var c ceilings
		for n := range c {
			c[n] = p.own[n][i]
		}
		c[limit.Winding], c[limit.Rectifier], c[limit.Rotor], c[limit.Case] = never, never, never, never
		f.lim[i] = c.lowest()
		leadC := air.AlongLead(sc.ambientC, sc.inletC(&st.sample[i]))
		f.lo[i], f.hi[i] = -1, detmath.Max(detmath.Min(p.side.capped(st.sample[i].outputAt(st, c[f.lim[i]], leadC)), 1e5), 0)
		most = detmath.Max(most, f.hi[i])
	}
	s, c := f.step(r), dayCeiling{pressure: sc.pressure}
	lo, hi := 0.0, most+1
	if f.fallen(0, &s, &c, sc.starterA) {
		return 0, f.limitAt(0)
	}
	for n := 0; hi-lo > 0.5 && n < 24; n++ {
		if mid := (lo + hi) / 2; f.fallen(mid, &s, &c, sc.starterA) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return lo, f.limitAt(hi)
}

// limitAt returns the limit of the vehicle that falls next to a level.
func (f *Follower) limitAt(watts float64) int {
	nearest, at := never, 0
	for i, hi := range f.hi {
		if d := detmath.Abs(hi - watts); d < nearest {
			nearest, at = d, i
		}
	}
	return f.lim[at]
}

// fallen tells whether more vehicles than tolerated do not stand a level.
func (f *Follower) fallen(watts float64, s *dayStep, c *dayCeiling, starterA float64) bool {
	n := 0
	for i := range f.heats {
		switch {
		case watts <= f.lo[i]:
			continue
		case watts <= f.hi[i]:
			over, lim := f.lookAhead(i, watts, s, c, starterA)
			if over <= 0 {
				f.lo[i] = watts
				continue
			}
			f.hi[i], f.lim[i] = watts, lim
		}
		if n++; n > f.k {
			return true
		}
	}
	return false
}

// lookAhead follows a vehicle through the minutes to come, as many as the stop
// has for which a ceiling gives its advice, and returns by how many K it passes
// a limit of heat, at the worst.
func (f *Follower) lookAhead(i int, watts float64, s *dayStep, c *dayCeiling, starterA float64) (worst float64, lim int) {
	h := &f.ahead
	*h = f.heats[i]
	worst = -never
	for _, minutes := range idleSteps {
		if over, l := h.run(&f.st, s, c, watts, starterA, minutes, 0, nil); over > worst {
			worst, lim = over, l
		}
	}
	return worst, lim
}
