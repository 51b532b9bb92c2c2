package core

// A stretch is a time between two hand-overs in which the charger is to charge.
type stretch struct {
	from, to int     // steps; to is behind the last
	allowedW float64 // the highest setting that passes no limit, in the charger's steps
	limit    int     // what keeps it from more
}

// direct settles what the charger is set to in each step.
//
// By hand a pause of the engine is worth a hand-over from a length on; during
// shorter ones the charger stays as it is. Feeding is worth it where the
// vehicle's side draws more than the charger itself would.
func (p *planner) direct() {
	d, ch := &p.q.Day, &p.q.Rig.Charger
	if d.Control == "schedule" {
		for i := range p.steps {
			p.steps[i].to = d.scheduled(p.minute(i))
		}
		return
	}
	worth := d.ShortestSwitch
	if d.Control == "automatic" {
		worth = 0
	}
	for i := 0; i < len(p.steps); {
		j, wh := i, 0.0
		for j < len(p.steps) && p.steps[j].engine == p.steps[i].engine {
			wh += p.steps[j].vehicleW
			j++
		}
		to := charge
		if !p.steps[i].engine && (float64(j-i)*p.stepMin >= worth || i == 0 || j == len(p.steps)) {
			switch {
			case ch.FeedW > 0 && wh/float64(j-i) > ch.IdleW:
				to = feed
			case ch.WithEngine != "yes":
				to = off
			}
		}
		for ; i < j; i++ {
			p.steps[i].to = to
		}
	}
}

// scheduled returns what a schedule sets the charger to at a time.
func (d *Day) scheduled(minute float64) direction {
	at := d.since(minute-1440*floor(minute/1440), false)
	last := &d.Switches[len(d.Switches)-1] // of the day before
	for i := range d.Switches {
		if d.since(d.Switches[i].At, false) <= at {
			last = &d.Switches[i]
		}
	}
	for to, name := range directionNames {
		if name == last.To {
			return direction(to)
		}
	}
	return off
}

// stretch parts the day into stretches of charging. By hand a long stop with
// the engine on is one of its own: there a lower setting is worth a hand-over.
func (p *planner) part() {
	d := &p.q.Day
	for i := 0; i < len(p.steps); {
		j := i
		for j < len(p.steps) && p.standing(j) == p.standing(i) {
			j++
		}
		short := p.standing(i) && float64(j-i)*p.stepMin < d.ShortestSwitch
		for ; i < j; i++ {
			p.steps[i].short = short
		}
	}
	p.stretches = p.stretches[:0]
	long := func(i int) bool { return d.Control == "by_hand" && p.standing(i) && !p.steps[i].short }
	for i := range p.steps {
		s := &p.steps[i]
		if s.to != charge {
			s.stretch = -1
			continue
		}
		if i == 0 || p.steps[i-1].to != charge || long(i) != long(i-1) && s.engine && p.steps[i-1].engine {
			p.stretches = append(p.stretches, stretch{from: i, limit: limChargerOutput})
		}
		k := len(p.stretches) - 1
		s.stretch = int32(k)
		p.stretches[k].to = i + 1
	}
}

// standing says whether the engine runs and the vehicle does not.
func (p *planner) standing(i int) bool { return p.steps[i].engine && p.steps[i].kmh < 1 }

// allow finds the highest setting of each stretch: the lowest ceiling of its
// steps, or less where careful vehicles would pass a limit of heat on the way,
// coming from the stretches before at their highest settings.
func (p *planner) allow() {
	step := p.q.Rig.Charger.StepW
	for k := range p.stretches {
		x := &p.stretches[k]
		x.allowedW, x.limit = roundDown(p.q.Rig.Charger.MaxOutputW, step), limChargerOutput
		for i := x.from; i < x.to; i++ {
			if s := &p.steps[i]; s.engine {
				if w, lim := p.ceilingW(s); w < x.allowedW {
					x.allowedW, x.limit = w, lim
				}
			}
		}
	}
	p.chooseCareful()
	p.makeAllowed()
	// What the starter battery takes, as seen with the charger at its highest.
	p.starterTrace()
	heats := make([]dayHeat, len(p.careful))
	for n := range heats {
		heats[n] = newDayHeat(&p.careful[n], p.steps[0].ambientC)
	}
	saved := make([]dayHeat, len(heats))
	for i := 0; i < len(p.steps); {
		k := p.steps[i].stretch
		if k < 0 {
			p.heatThrough(heats, i, i+1, 0)
			i++
			continue
		}
		x := &p.stretches[k]
		copy(saved, heats)
		if lim := p.heatThrough(heats, x.from, x.to, x.allowedW); lim >= 0 {
			// Halve the whole steps of the charger between none and too many.
			lo, hi := 0.0, floor(x.allowedW/step+0.5)
			x.limit = lim
			for hi-lo > 1 {
				mid := floor((lo + hi) / 2)
				copy(heats, saved)
				if p.heatThrough(heats, x.from, x.to, mid*step) < 0 {
					lo = mid
				} else {
					hi = mid
				}
			}
			x.allowedW = lo * step
			copy(heats, saved)
			p.heatThrough(heats, x.from, x.to, x.allowedW)
		}
		i = x.to
	}
	p.makeAllowed()
	p.carefulPeak = peak{}
	for n := range heats {
		if n == 0 || heats[n].hottest.windingC > p.carefulPeak.windingC {
			p.carefulPeak = heats[n].hottest
		}
	}
}

// chooseCareful makes the vehicles whose heat is followed: careful ones for the
// hardest bin on the move and the hardest one standing.
func (p *planner) chooseCareful() {
	p.careful = p.careful[:0]
	for _, standing := range [...]bool{false, true} {
		worst := -1
		for k := range p.used {
			if p.used[k].bin.kmh < 1 != standing {
				continue
			}
			if worst < 0 || p.used[k].fullW < p.used[worst].fullW {
				worst = k
			}
		}
		if worst >= 0 {
			c := &p.used[worst]
			p.careful = append(p.careful, p.carefulVehicle(&c.bin, larger(c.fullW, c.onceW)))
		}
	}
}

func (p *planner) makeAllowed() {
	p.allowed = resized(p.allowed[:0], len(p.stretches))
	for k := range p.stretches {
		p.allowed[k] = p.stretches[k].allowedW
	}
}

// heatThrough takes vehicles through steps at a setting, as if the house
// battery never got full. It stops at the first limit passed and returns it;
// −1 where there is none.
func (p *planner) heatThrough(heats []dayHeat, from, to int, watts float64) int {
	for i := from; i < to; i++ {
		s := &p.steps[i]
		for n := range heats {
			h := &heats[n]
			if !s.engine {
				h.rest(p.st, s.ambientC, p.stepMin)
				continue
			}
			over, lim := h.run(p.st, s, &p.used[s.bin], watts, p.takes[i], p.stepMin, i, nil)
			if over > 0 && watts > 0 {
				return lim
			}
		}
	}
	return -1
}

// starterTrace records what the starter battery takes in each step with the
// charger at its highest.
func (p *planner) starterTrace() {
	n := len(p.steps)
	tr := p.newTrace()
	p.simulate(&daySetting{watts: never, allowed: p.allowed}, tr)
	p.takes = resized(p.takes[:0], n)
	for i := range p.takes {
		p.takes[i] = larger(tr.starterA[i], 0)
	}
}

// newTrace makes room for a record.
func (p *planner) newTrace() *trace {
	n := len(p.steps)
	t := &p.record
	for _, c := range [...]*[]float64{&t.houseSoc, &t.starterSoc, &t.starterV, &t.chargeW, &t.alternatorA, &t.starterA} {
		if cap(*c) < n {
			*c = make([]float64, n)
		}
		*c = (*c)[:n]
	}
	return t
}
