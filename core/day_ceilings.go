package core

import (
	"spareamps/core/air"
	"spareamps/core/detmath"
	"spareamps/core/limit"
)

// A dayBin is one kind of running: what a ceiling depends on, rounded so that
// a day has few. Load, altitude and air are rounded up; of engine and road
// speed it spans a range, since more of the one may help or harm.
type dayBin struct {
	rpm, rpmTo, kmh, vehicleW, altitudeM, ambientC float64
}

// A dayCeiling is what may be charged in a bin, at the asked confidence and in
// the charger's steps.
type dayCeiling struct {
	bin       dayBin
	fullW     float64 // for ever
	fullLimit int
	onceW     float64 // without winding and rotor, which a short time does not heat through
	onceLimit int
	machineW  float64 // of that, what the alternator alone sets
	totalA    float64 // what the likeliest machine can give in all, hot
	pressure  float64
	heat      [heatRanks]int32 // members of the sample that are followed in time; −1: none
	heatA     float64          // the least of what heat allows those
}

// mostBins bounds the kinds of running told apart. A day of legs has a handful
// of kinds; a recorded track is made coarser until it has no more.
const mostBins = 40

// coarsest is the last level of rounding: 400 rpm, 20 km/h, 200 W, 500 m, 4 K.
const coarsest = 4

// binTo rounds a step's running. Level 0 keeps all but the air as they are.
func (s *dayStep) binTo(level int) dayBin {
	b := dayBin{s.rpm, s.rpm, s.kmh, s.vehicleW, s.altitudeM, 0}
	k := float64(int(1) << level)
	air := detmath.Min(2*k, 4)
	b.ambientC = air * ceil(s.ambientC/air)
	if level > 0 {
		b.rpm = detmath.Max(25*k*detmath.Floor(s.rpm/(25*k)), 1)
		b.rpmTo = b.rpm + 25*k
		b.kmh = 1.25 * k * detmath.Floor(s.kmh/(1.25*k))
		b.vehicleW = 12.5 * k * ceil(s.vehicleW/(12.5*k))
		thin := detmath.Min(125*k, 500)
		b.altitudeM = thin * ceil(s.altitudeM/thin)
	}
	return b
}

func ceil(x float64) float64 { return -detmath.Floor(-x) }

// sortBins gives each step with the engine on its bin, as fine as there may be
// so many, and finds the ceilings of the bins.
func (p *planner) sortBins() {
	for level := 0; !p.tryBins(level); level++ {
	}
	for i := range p.used {
		p.used[i] = p.ceilingOf(p.used[i].bin)
	}
}

// tryBins sorts the steps; false where there are too many kinds.
func (p *planner) tryBins(level int) bool {
	p.used = p.used[:0]
	last := int32(-1)
	for i := range p.steps {
		s := &p.steps[i]
		if !s.engine {
			continue
		}
		b := s.binTo(level)
		if last < 0 || p.used[last].bin != b {
			last = -1
			for k := range p.used {
				if p.used[k].bin == b {
					last = int32(k)
					break
				}
			}
			if last < 0 {
				if len(p.used) == mostBins && level < coarsest {
					return false
				}
				last = int32(len(p.used))
				p.used = append(p.used, dayCeiling{bin: b})
			}
		}
		s.bin = last
	}
	return true
}

// restingStarterMin is the time since a start at which the ceiling of a bin
// takes the starter battery's own current; what it takes beyond that is taken
// off minute by minute.
const restingStarterMin = 10

// sceneOf makes a bin's running ready for the ceiling.
func (p *planner) sceneOf(b *dayBin, rpm float64) scene {
	return scene{
		engineRpm: rpm, ambientC: b.ambientC, pressure: air.Pressure(b.altitudeM), riseK: air.InletRise(b.kmh),
		vehicleW: b.vehicleW, starterA: StarterCurrent(p.st.starterAh, restingStarterMin), acceptA: never, cellC: b.ambientC,
	}
}

// ceilingOf finds a bin's ceilings, or has them from before. A range of engine
// speeds has the lower of its ends' ceilings.
func (p *planner) ceilingOf(b dayBin) dayCeiling {
	for i := range p.known {
		if p.known[i].bin == b {
			return p.known[i]
		}
	}
	r := p.ceilingAt(&b, b.rpm)
	if b.rpmTo > b.rpm {
		fast := p.ceilingAt(&b, b.rpmTo)
		if fast.fullW < r.fullW {
			r.fullW, r.fullLimit = fast.fullW, fast.fullLimit
		}
		if fast.heatA < r.heatA {
			r.heat, r.heatA = fast.heat, fast.heatA
		}
		if fast.onceW < r.onceW {
			r.onceW, r.onceLimit = fast.onceW, fast.onceLimit
		}
		r.machineW = detmath.Min(r.machineW, fast.machineW)
	}
	p.known = append(p.known, r)
	return r
}

func (p *planner) ceilingAt(b *dayBin, rpm float64) dayCeiling {
	st := p.st
	s := p.sceneOf(b, rpm)
	w := newWarmFor(st, &s)
	nominal, o := st.nominal.limits(st, &s, &w)
	k := tolerated(p.q.Confidence)
	c := &st.crowd
	c.fill(st, &s, &w)
	r := dayCeiling{bin: *b, pressure: s.pressure}
	r.totalA = detmath.Max(nominal[limit.Output]+s.otherA(&st.nominal), 0) / (1 - outputReserve)
	r.fullW = st.setting(detmath.Min(c.quantile(&c.least, k), c.side.a), c.quantile(&c.watts, k), &c.side, o.leadC).OutputW
	r.fullLimit = p.binding(k, func(lim int) bool { return true })
	p.rank(&r, k/2)
	r.onceW = p.among(&s, k, o.leadC, func(lim int) bool { return !bySlowHeat(lim) })
	r.onceLimit = p.binding(k, func(lim int) bool { return !bySlowHeat(lim) })
	r.machineW = p.among(&s, k, o.leadC, func(lim int) bool { return lim == limit.Output || lim == limit.Rectifier || lim == limit.Belt })
	return r
}

// among is the setting that the crowd allows by some of the limits.
func (p *planner) among(s *scene, k int, leadC float64, counts func(lim int) bool) float64 {
	st := p.st
	c := &st.crowd
	c.first(counts)
	side := noSide
	if counts(limit.ChargerOutput) {
		side = c.side
	}
	for i, least := range c.least {
		v := &st.sample[i]
		c.watts[i] = side.capped(v.outputAt(st, least, air.AlongLead(s.ambientC, s.inletC(v))))
	}
	return st.setting(detmath.Min(c.quantile(&c.least, k), side.a), c.quantile(&c.watts, k), &side, leadC).OutputW
}

// first makes least the lowest of some of each vehicle's own limits.
func (c *population) first(counts func(lim int) bool) {
	for i := range c.least {
		least := never
		for lim := range c.own {
			if counts(lim) {
				least = detmath.Min(least, c.own[lim][i])
			}
		}
		c.least[i] = least
	}
}

// binding returns the limit with the lowest ceiling of its own among some.
func (p *planner) binding(k int, counts func(lim int) bool) int {
	c := &p.st.crowd
	lowest, at := 2*never, limit.Output
	for lim := range c.own {
		if counts(lim) {
			if a := c.quantile(&c.own[lim], k); a < lowest {
				lowest, at = a, lim
			}
		}
	}
	return at
}

// heatRanks is the number of limits by heat, and one for the first of them.
const heatRanks = 4

// rank notes the vehicles of the sample that stand at a rank by each limit of
// heat, and by whichever of them comes first: they are followed in time.
func (p *planner) rank(r *dayCeiling, k int) {
	c := &p.st.crowd
	c.first(byHeat)
	r.heatA = never
	for n, of := range [heatRanks]*[sampleSize]float64{&c.own[limit.Winding], &c.own[limit.Rotor], &c.own[limit.Rectifier], &c.least} {
		r.heat[n] = -1
		a := c.quantile(of, k)
		if a >= never {
			continue
		}
		r.heatA = detmath.Min(r.heatA, a)
		for i := range of {
			if of[i] == a {
				r.heat[n] = int32(i)
				break
			}
		}
	}
}

// ceilingW returns the ceiling at a step with the engine on, and its limit.
//
// The heat of windings and rotor in times too short for them is left to
// heatThrough. What the starter battery takes beyond its usual is taken off
// what the alternator sets.
func (p *planner) ceilingW(i int) (w float64, lim int) {
	s := &p.steps[i]
	c := &p.used[s.bin]
	w, lim = c.fullW, c.fullLimit
	if s.short {
		w, lim = c.onceW, c.onceLimit
	}
	if more := p.takes[i] - StarterCurrent(p.st.starterAh, restingStarterMin); more > 0 {
		if left := c.machineW - more*p.st.nominal.v*p.st.efficiency; left < w {
			w, lim = roundDown(left, p.q.Rig.Charger.StepW), limit.Output
		}
	}
	if a := p.acceptW(s); a < w {
		w, lim = roundDown(a, p.q.Rig.Charger.StepW), limit.HouseBattery
	}
	return w, lim
}

// acceptW returns what the charger may put into the house battery at its
// temperature, the sun's part taken off; loads that may not draw are not
// counted on. Near full the battery itself takes less.
func (p *planner) acceptW(s *dayStep) float64 {
	return detmath.Max(s.accepts.bulkA*p.house.restV(0.5, s.cellC)-s.sunW, 0)
}

// frozen says that the house battery takes no charge at its temperature.
func (p *planner) frozen(s *dayStep) bool {
	return s.accepts.bulkA <= 0
}
