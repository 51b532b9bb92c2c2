package core

// idleMinutes is how long the vehicle is thought to stand with its engine
// idling for the ceiling "if you stop".
const idleMinutes = 10

// idleSteps are the steps in minutes by which the stop is followed. Finer
// ones move the ceiling by less than 0.1 A (idle_test.go).
var idleSteps = [...]float64{0.5, 1, 2, 3, 3.5}

// idle fills in what is left if the vehicle now stops and idles, with the
// setting left as it was, and the advice, which is the lower.
//
// The inlet air is taken from the first minute as it is after the last. A
// current that a vehicle's winding and rotor stand for ever is below the one
// they stand for ten minutes, so only the vehicles whose lasting ceiling is
// low enough to matter are followed through the stop.
func (st *study) idle(q *Request, a *Answer, now *scene, k int) {
	s := st.scene(q, idleMinutes)
	w := newWarmFor(st, &s)
	_, o := st.nominal.limits(st, &s, &w)
	a.IdleInletC = o.inletC
	p := &st.crowd
	p.fill(st, &s, &w)
	var followed [sampleSize]bool
	follow := func(values *[sampleSize]float64) float64 {
		for {
			edge, done := p.quantile(values, k), true
			for i := range values {
				if values[i] <= edge && !followed[i] {
					followed[i], done = true, false
					v := &st.sample[i]
					var o operating
					p.least[i], _, o = v.idleCeiling(st, now, &s, &w)
					p.watts[i] = v.outputAt(st, p.least[i], o.leadC)
				}
			}
			if done {
				return edge
			}
		}
	}
	watts := follow(&p.watts)
	ceiling := follow(&p.least)
	a.AfterIdle = st.setting(ceiling, watts, o.leadC)
	_, a.AfterIdle.Limit, _ = st.sample[p.member(ceiling)].idleCeiling(st, now, &s, &w)
	a.Advice, a.AdviceIdle = a.Ceiling, false
	if a.AfterIdle.OutputW < a.Ceiling.OutputW {
		a.Advice, a.AdviceIdle = a.AfterIdle, true
	}
	a.Advice.InputA = smaller(a.Ceiling.InputA, a.AfterIdle.InputA)
}

// idleCeiling returns a vehicle's ceiling through a stop, and what limits it.
func (v *vehicle) idleCeiling(st *study, now, idle *scene, from *warm) (currentA float64, lim int, o operating) {
	w := *from
	c, o := v.limits(st, idle, &w)
	lim = c.lowest()
	lasting := c.least()
	c[limWinding], c[limRotor] = never, never
	most := c.least()
	if most <= lasting {
		return lasting, lim, o
	}
	moving := v.operating(st, now)
	start := moving.start()
	over := func(i float64) float64 {
		worst, at := v.throughIdle(st, &moving, &o, &start, i+now.otherA(v), i+idle.otherA(v))
		if worst > 0 {
			lim = at
		}
		return worst
	}
	hi, fhi := most, over(most)
	if fhi <= 0 {
		return most, c.lowest(), o
	}
	lo, flo := lasting, over(lasting)
	if flo >= 0 {
		return lasting, lim, o // too hot before the stop
	}
	// Illinois: false position, halving the end that stays.
	for range 20 {
		mid := hi - fhi*(hi-lo)/(fhi-flo)
		f := over(mid)
		if f > 0 {
			hi, fhi = mid, f
			flo /= 2
		} else {
			lo, flo = mid, f
			fhi /= 2
		}
		if hi-lo < 1e-4 || f > -1e-4 && f <= 0 {
			break
		}
	}
	return lo, lim, o
}

// throughIdle returns by how much winding or rotor pass their limit, at the
// worst, when the machine comes from a long drive at one output and idles at
// another; negative where they stay below.
func (v *vehicle) throughIdle(st *study, moving, idling *operating, start *steady, movingA, idlingA float64) (worst float64, lim int) {
	p := moving.solve(fixedCurrent, movingA, start)
	if full, _ := moving.full(p.t[rotor]); !p.ok || p.x > full {
		p = moving.seek(fullField, 0, start)
	}
	*start = p
	windingC, rotorC := st.class.windingLimitC(), st.class.rotorLimitC()
	worst, lim = p.t[winding]-windingC, limWinding
	if d := p.t[rotor] - rotorC; d > worst {
		worst, lim = d, limRotor
	}
	t, x := p.t, p.x
	for _, minutes := range idleSteps {
		x = idling.step(&t, idlingA, minutes*60, x)
		if d := t[winding] - windingC; d > worst {
			worst, lim = d, limWinding
		}
		if d := t[rotor] - rotorC; d > worst {
			worst, lim = d, limRotor
		}
	}
	return worst, lim
}
