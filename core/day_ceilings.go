package core

// A dayBin is one kind of running: what a ceiling depends on, rounded to the
// careful side so that a day has few.
type dayBin struct {
	rpm, kmh, vehicleW, altitudeM, ambientC float64
}

// A dayCeiling is what may be charged in a bin.
type dayCeiling struct {
	bin       dayBin
	fullW     float64 // for ever, at the asked confidence; in the charger's steps
	fullLimit int
	onceW     float64 // without winding and rotor, which a short stop does not heat through
	onceLimit int
	totalA    float64 // what the likeliest machine can give in all, hot
	pressure  float64
}

// mostBins bounds the kinds of running told apart. A day of legs has a handful
// of kinds; a recorded track is made coarser until it has no more.
const mostBins = 24

// binTo rounds a step's running: engine and road speed down; load, altitude
// and air up. Level 0 keeps all but the air as they are.
func (s *dayStep) binTo(level int) dayBin {
	b := dayBin{s.rpm, s.kmh, s.vehicleW, s.altitudeM, 0}
	k := float64(int(1) << level)
	b.ambientC = 2 * k * ceil(s.ambientC/(2*k))
	if level > 0 {
		b.rpm = larger(25*k*floor(s.rpm/(25*k)), 1)
		b.kmh = 1.25 * k * floor(s.kmh/(1.25*k))
		b.vehicleW = 12.5 * k * ceil(s.vehicleW/(12.5*k))
		b.altitudeM = 125 * k * ceil(s.altitudeM/(125*k))
	}
	return b
}

func ceil(x float64) float64 { return -floor(-x) }

// sortBins gives each step with the engine on its bin, as fine as there may be
// so many, and finds the ceilings of the bins.
func (p *planner) sortBins() {
	for level := 0; ; level++ {
		p.used = p.used[:0]
		if !p.tryBins(level) && level < 8 {
			continue
		}
		break
	}
	for i := range p.used {
		p.used[i] = p.ceilingOf(p.used[i].bin)
	}
}

// tryBins sorts the steps; false where there are too many kinds.
func (p *planner) tryBins(level int) bool {
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
				if len(p.used) == mostBins && level < 8 {
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

// sceneOf makes a bin's running ready for the ceiling.
func (p *planner) sceneOf(b *dayBin) scene {
	return scene{
		engineRpm: b.rpm, ambientC: b.ambientC, pressure: Pressure(b.altitudeM), riseK: inletRise(b.kmh),
		vehicleW: b.vehicleW, starterA: StarterCurrent(p.st.starterAh, 10), acceptA: never, cellC: b.ambientC,
	}
}

// ceilingOf finds a bin's ceilings, or has them from before.
func (p *planner) ceilingOf(b dayBin) dayCeiling {
	for i := range p.known {
		if p.known[i].bin == b {
			return p.known[i]
		}
	}
	st := p.st
	s := p.sceneOf(&b)
	w := newWarmFor(st, &s)
	nominal, o := st.nominal.limits(st, &s, &w)
	k := tolerated(p.q.Confidence)
	c := &st.crowd
	c.fill(st, &s, &w)
	r := dayCeiling{bin: b, pressure: s.pressure}
	r.totalA = larger(nominal[limOutput]+s.otherA(&st.nominal), 0) / (1 - outputReserve)
	r.fullW = st.setting(c.quantile(&c.least, k), c.quantile(&c.watts, k), o.leadC).OutputW
	r.fullLimit = p.binding(k, nil)
	for i := range c.least {
		least := never
		for lim := range c.own {
			if lim != limWinding && lim != limRotor {
				least = smaller(least, c.own[lim][i])
			}
		}
		c.least[i] = least
		v := &st.sample[i]
		c.watts[i] = v.outputAt(st, least, leadAir(s.ambientC, s.inletC(v)))
	}
	r.onceW = st.setting(c.quantile(&c.least, k), c.quantile(&c.watts, k), o.leadC).OutputW
	r.onceLimit = p.binding(k, []int{limWinding, limRotor})
	p.known = append(p.known, r)
	return r
}

// binding returns the limit with the lowest ceiling of its own, some left out.
func (p *planner) binding(k int, without []int) int {
	c := &p.st.crowd
	lowest, at := 2*never, limOutput
	for lim := range c.own {
		skip := false
		for _, x := range without {
			skip = skip || x == lim
		}
		if skip {
			continue
		}
		if a := c.quantile(&c.own[lim], k); a < lowest {
			lowest, at = a, lim
		}
	}
	return at
}

// ceilingW returns the ceiling at a step with the engine on, and its limit.
func (p *planner) ceilingW(s *dayStep) (w float64, lim int) {
	c := &p.used[s.bin]
	if s.short {
		return c.onceW, c.onceLimit
	}
	return c.fullW, c.fullLimit
}
