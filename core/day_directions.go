package core

import (
	"slices"

	"spareamps/core/detmath"
	"spareamps/core/limit"
	"spareamps/core/rig"
)

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
			p.steps[i].to = scheduledDirection(d, p.minute(i))
		}
		return
	}
	worth := d.ShortestSwitch
	switch {
	case d.Control == "automatic":
		worth = 0
	case ch.WithEngine != "yes":
		worth = detmath.Min(worth, leftOnMin) // it would run the starter battery down
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
			case ch.FeedW > 0 && wh/float64(j-i) > ch.IdleW && float64(j-i)*p.stepMin >= detmath.Min(d.ShortestSwitch, 60):
				to = feed
			case ch.WithEngine != "yes":
				to = off
			}
		}
		for ; i < j; i++ {
			p.steps[i].to = to
			if to == charge && d.Control == "by_hand" && p.steps[i].engine && p.frozen(&p.steps[i]) {
				p.steps[i].to = off
			}
		}
	}
}

// leftOnMin is the longest pause in which a charger that does not stop with
// the engine is left on, in minutes; engineering estimate.
const leftOnMin = 5

// scheduledDirection returns what a schedule sets the charger to at a time.
func scheduledDirection(d *rig.Day, minute float64) direction {
	at := sinceClock(d, minute-1440*detmath.Floor(minute/1440), false)
	last := &d.Switches[len(d.Switches)-1] // of the day before
	for i := range d.Switches {
		if sinceClock(d, d.Switches[i].At, false) <= at {
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

// part parts the day into stretches of charging. By hand a long stop with the
// engine on is one of its own, and so is a time in which the battery's
// temperature lets it take another current: there a hand-over is worth while.
func (p *planner) part() {
	d := &p.q.Day
	p.findShort()
	p.stretches = p.stretches[:0]
	own := func(i int) (long bool, accepts float64) {
		if d.Control != "by_hand" {
			return false, 0
		}
		s := &p.steps[i]
		return p.standing(i) && !s.short, detmath.Min(s.accepts.bulkA*p.house.restV(0.5, s.cellC), p.q.Rig.Charger.MaxOutputW)
	}
	last := -1 // step with the engine on before, in this stretch
	for i := range p.steps {
		s := &p.steps[i]
		if s.to != charge {
			s.stretch, last = -1, -1
			continue
		}
		fresh := i == 0 || p.steps[i-1].to != charge
		if s.engine {
			if last >= 0 {
				long, accepts := own(i)
				longBefore, before := own(last)
				fresh = fresh || long != longBefore || detmath.Abs(accepts-before) > 0.02*p.q.Rig.Charger.MaxOutputW
			}
			last = i
		}
		if fresh {
			p.stretches = append(p.stretches, stretch{from: i, limit: limit.ChargerOutput})
		}
		k := len(p.stretches) - 1
		s.stretch = int32(k)
		p.stretches[k].to = i + 1
	}
}

// findShort marks the steps that are too short for windings and rotor to heat
// through: a stop with the engine on, and along a track any running, unless it
// goes on for as long as a hand-over is worth.
func (p *planner) findShort() {
	track := len(p.q.Day.Track) > 0
	same := func(i, j int) bool {
		if track {
			return p.steps[i].engine == p.steps[j].engine && p.steps[i].bin == p.steps[j].bin
		}
		return p.standing(i) == p.standing(j)
	}
	for i := 0; i < len(p.steps); {
		j := i
		for j < len(p.steps) && same(i, j) {
			j++
		}
		short := (track && p.steps[i].engine || p.standing(i)) && float64(j-i)*p.stepMin < p.q.Day.ShortestSwitch
		for ; i < j; i++ {
			p.steps[i].short = short
		}
	}
}

// standing says whether the engine runs and the vehicle does not.
func (p *planner) standing(i int) bool { return p.steps[i].engine && p.steps[i].kmh < 1 }

// allow finds the highest setting of each stretch: the lowest ceiling of its
// steps, or less where a vehicle followed in time would pass a limit of heat on
// the way, coming from the stretches before at their highest settings. Where
// nobody changes the setting, all stretches have the lowest.
func (p *planner) allow() {
	most := roundDown(p.q.Rig.Charger.MaxOutputW, p.q.Rig.Charger.StepW)
	for k := range p.stretches {
		p.stretches[k].allowedW, p.stretches[k].limit = most, limit.ChargerOutput
	}
	p.makeAllowed()
	p.starterTrace()
	for k := range p.stretches {
		x := &p.stretches[k]
		for i := x.from; i < x.to; i++ {
			if p.steps[i].engine {
				if w, lim := p.ceilingW(i); w < x.allowedW {
					x.allowedW, x.limit = w, lim
				}
			}
		}
	}
	p.level()
	p.chooseFollowed()
	heats := p.newHeats()
	after := make([]dayHeat, len(heats))
	for i := 0; i < len(p.steps); {
		if k := p.steps[i].stretch; k >= 0 {
			x := &p.stretches[k]
			p.endure(x, heats, after)
			i = x.to
			continue
		}
		j := i
		for j < len(p.steps) && p.steps[j].stretch < 0 {
			j++
		}
		for n := range heats {
			p.heatThrough(&heats[n], i, j, 0)
		}
		i = j
	}
	p.level()
	p.makeAllowed()
	p.carefulPeak = peak{}
	for n := range heats {
		if n == 0 || heats[n].hottest.windingC > p.carefulPeak.windingC {
			p.carefulPeak = heats[n].hottest
		}
	}
}

// newHeats are the vehicles that are followed, at the begin of the day.
func (p *planner) newHeats() []dayHeat {
	heats := make([]dayHeat, len(p.followed))
	p.machines = resized(p.machines[:0], len(heats))
	for n := range heats {
		heats[n] = newDayHeat(&p.st.sample[p.followed[n]], &p.machines[n], p.steps[0].ambientC)
	}
	return heats
}

// level gives stretches the lowest setting of any among them: all, where the
// charger is not set by hand; by hand those that only short pauses part.
func (p *planner) level() {
	hand := p.q.Day.Control == "by_hand"
	for from := 0; from < len(p.stretches); {
		least, to := -1, from
		for ; to < len(p.stretches); to++ {
			x := &p.stretches[to]
			if hand && to > from {
				gap := float64(x.from-p.stretches[to-1].to) * p.stepMin
				if gap == 0 || gap >= p.q.Day.ShortestSwitch {
					break
				}
			}
			if p.runs(x) && (least < 0 || x.allowedW < p.stretches[least].allowedW) {
				least = to
			}
		}
		if least >= 0 {
			w, lim := p.stretches[least].allowedW, p.stretches[least].limit
			for k := from; k < to; k++ {
				p.stretches[k].allowedW, p.stretches[k].limit = w, lim
			}
		}
		from = to
	}
}

// runs says whether the engine runs at any time in a stretch.
func (p *planner) runs(x *stretch) bool {
	for i := x.from; i < x.to; i++ {
		if p.steps[i].engine {
			return true
		}
	}
	return false
}

// chooseFollowed chooses the vehicles of the sample that are followed in time:
// for the hardest running on the move and the hardest standing, and any that is
// nearly as hard, by each limit of heat and by the first of them, the one at
// half the share that the confidence leaves out. Two ways to fail are then
// within that share together.
func (p *planner) chooseFollowed() {
	const nearly = 1.25
	p.followed = p.followed[:0]
	for _, standing := range [...]bool{false, true} {
		hardest := never
		for k := range p.used {
			if p.used[k].bin.kmh < 1 == standing {
				hardest = detmath.Min(hardest, p.used[k].heatA)
			}
		}
		for k := range p.used {
			if p.used[k].bin.kmh < 1 != standing || p.used[k].heatA > nearly*hardest {
				continue
			}
			for _, m := range p.used[k].heat {
				if m >= 0 && !slices.Contains(p.followed, int(m)) {
					p.followed = append(p.followed, int(m))
				}
			}
		}
	}
}

func (p *planner) makeAllowed() {
	p.allowed = resized(p.allowed[:0], len(p.stretches))
	for k := range p.stretches {
		p.allowed[k] = p.stretches[k].allowedW
	}
}

// endure takes vehicles through a stretch at the highest setting that all of
// them stand, in the charger's steps, and notes it with what keeps it there.
//
// Where one does not stand a setting, halving finds what it does, and all begin
// again at that. It then is the first in line: the next stretch is hardest on
// the same one more often than not.
func (p *planner) endure(x *stretch, heats, after []dayHeat) {
	step := p.q.Rig.Charger.StepW
	for n := 0; n < len(heats); n++ {
		after[n] = heats[n]
		lim := p.heatThrough(&after[n], x.from, x.to, x.allowedW)
		if lim < 0 {
			continue
		}
		lo, hi := 0.0, detmath.Floor(x.allowedW/step+0.5)
		for hi-lo > 1 {
			mid := detmath.Floor((lo + hi) / 2)
			after[n] = heats[n]
			if l := p.heatThrough(&after[n], x.from, x.to, mid*step); l < 0 {
				lo = mid
			} else {
				hi, lim = mid, l
			}
		}
		x.allowedW, x.limit = lo*step, lim
		heats[0], heats[n] = heats[n], heats[0]
		n = -1
	}
	copy(heats, after)
}

// heatThrough takes a vehicle through steps at a setting, as if the house
// battery never got full. It stops at the first limit passed and returns it;
// −1 where there is none.
func (p *planner) heatThrough(h *dayHeat, from, to int, watts float64) int {
	for i := from; i < to; i++ {
		s := &p.steps[i]
		if !s.engine {
			h.rest(s.ambientC, p.stepMin)
			continue
		}
		over, lim := h.run(p.st, s, &p.used[s.bin], watts, p.takes[i], p.stepMin, i, nil)
		if over > 0 && watts > 0 {
			return lim
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
		p.takes[i] = detmath.Max(tr.starterA[i], 0)
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
	t.short = resized(t.short[:0], n)
	return t
}
