package core

import (
	"slices"
	"spareamps/core/detmath"
)

// noted keeps a run as it was at each hand-over.
type noted struct {
	step int
	run  dayRun
}

// handovers lists what a person has to do at the charger. A setting of nothing
// is off.
func (p *planner) handovers(a *Plan, x *daySetting) {
	if p.q.Day.Control == "automatic" {
		return
	}
	set := func(i int) (to direction, watts float64) {
		s := &p.steps[i]
		if s.to != charge {
			return s.to, 0
		}
		if watts = x.at(s); watts <= 0 {
			return off, 0
		}
		return charge, watts
	}
	for i := range p.steps {
		s := &p.steps[i]
		to, watts := set(i)
		before, wattsBefore := off, 0.0
		if i > 0 {
			if before, wattsBefore = set(i - 1); to == before && watts == wattsBefore {
				continue
			}
		}
		why := "engine off"
		switch {
		case to == charge && !s.engine && p.q.Day.Control == "schedule":
			why = "by the schedule"
		case to == charge && before == charge:
			why = "another ceiling"
		case to == charge && s.engine:
			why = "engine on"
		case to == charge:
			why = "it stops with the engine"
		case to == feed:
			why = "engine off, loads on the vehicle's side"
		case s.engine && p.frozen(s):
			why = "the battery is frozen"
		case s.engine && s.to == charge:
			why = "nothing may be charged"
		case s.engine:
			why = "by the schedule"
		}
		a.Handovers = append(a.Handovers, Handover{At: p.begin(i), To: to, SettingW: watts, Why: why})
	}
}

// simulateNoting is simulate that keeps the run as it was at each hand-over.
func (p *planner) simulateNoting(x *daySetting, tr *trace, handovers []Handover) dayRun {
	r := p.newRun()
	tr.flows = flows{}
	p.noted = p.noted[:0]
	for i := range p.steps {
		if n := len(p.noted); n < len(handovers) && p.begin(i) == handovers[n].At {
			p.noted = append(p.noted, noted{i, r})
		}
		p.advance(&r, i, x, tr)
	}
	tr.flows.houseStored = p.house.storedWh(r.houseSoc) - p.house.storedWh(p.q.Day.HouseSoc)
	tr.flows.starterStore = p.starter.storedWh(r.starterSoc) - p.starter.storedWh(p.q.Day.StarterSoc)
	return r
}

// followedMinutes is for how long a forgotten hand-over is followed.
const followedMinutes = 36 * 60

// forget follows each hand-over as if it were forgotten until the next, and
// notes what would come earlier than without forgetting.
func (p *planner) forget(a *Plan, x *daySetting) {
	for k := range a.Handovers {
		h := &a.Handovers[k]
		h.Missed = Missed{NoStartAt: never, ReserveAt: never, EmptyAt: never, TooMuchAt: never, SocThen: -1}
		i := p.noted[k].step
		if i == 0 {
			continue // how the day begins
		}
		until := len(p.steps)
		if k+1 < len(p.noted) {
			until = p.noted[k+1].step
		}
		end := min(len(p.steps), i+int(followedMinutes/p.stepMin))
		kept := p.noted[k].run
		kept.reserve, kept.empty, kept.noStart = -1, -1, -1
		due := -1
		for _, d := range p.dues {
			if d >= i && d < end {
				due = d
				break
			}
		}
		was := p.steps[i-1]
		watts := x.at(&was)
		for j := i; j < end; j++ {
			s := &p.steps[j]
			to, part := s.to, s.stretch
			if j < until {
				s.to, s.stretch = was.to, was.stretch
			}
			p.advance(&kept, j, x, nil)
			s.to, s.stretch = to, part
			if j == due {
				h.Missed.SocThen = kept.houseSoc
			}
		}
		h.Missed.NoStartAt = p.sooner(kept.noStart, i, func(j int) bool { return p.record.starterSoc[j] < p.steps[j].leastSoc })
		h.Missed.ReserveAt = p.sooner(kept.reserve, i, func(j int) bool { return p.record.houseSoc[j] < p.q.Rig.HouseBattery.Reserve-rounding })
		h.Missed.EmptyAt = p.sooner(kept.empty, i, func(j int) bool { return p.record.short[j] })
		if was.to == charge && watts > h.SettingW && slices.ContainsFunc(p.steps[i:until], func(s dayStep) bool { return s.engine }) {
			at, lim := p.tooMuch(x, i, until, watts)
			h.Missed.TooMuchAt, h.Missed.Limit = at, p.st.guard.shownAs(lim)
		}
	}
}

// sooner is the time of a mark that a run from a step on has, where in the
// plan itself it does not come until then.
func (p *planner) sooner(mark, from int, usual func(step int) bool) float64 {
	for i := from; i <= mark; i++ {
		if usual(i) {
			return never
		}
	}
	return p.at(mark)
}

// tooMuch says when a setting that is kept on passes a limit, and which.
func (p *planner) tooMuch(x *daySetting, from, until int, watts float64) (at float64, lim int) {
	at = never
	for i := from; i < until && at >= never; i++ {
		s := &p.steps[i]
		if !s.engine {
			continue
		}
		if w, l := p.ceilingW(i); s.short && watts > w || !s.short && watts > p.used[s.bin].onceW {
			at, lim, until = p.begin(i), l, i
		}
	}
	for _, h := range p.newHeats() {
		for i := range until {
			w := watts
			if i < from {
				w = x.at(&p.steps[i])
			}
			if l := p.heatThrough(&h, i, i+1, w); l >= 0 && i >= from {
				at, lim, until = p.end(i), l, i
				break
			}
		}
	}
	return at, lim
}

// rescue says what bringing the starter battery back would take after the first
// night, were the vehicle's side left on it and the charger left on charge.
func (p *planner) rescue(a *Plan, x *daySetting) {
	night := p.nightly[0]
	r := p.newRun()
	if night.from > 0 {
		r.starterSoc, r.houseSoc = p.record.starterSoc[night.from-1], p.record.houseSoc[night.from-1]
	}
	part := int32(-1)
	if night.from > 0 {
		part = p.steps[night.from-1].stretch
	}
	for i := night.from; i < night.to; i++ {
		s := &p.steps[i]
		to, was := s.to, s.stretch
		s.to, s.stretch = charge, part
		p.advance(&r, i, x, nil)
		s.to, s.stretch = to, was
	}
	celsius := p.steps[night.to-1].ambientC
	out := &a.Rescue
	out.StarterSoc, out.LeastSoc, out.Enough = r.starterSoc, p.leastSoc(celsius), true
	if r.starterSoc >= out.LeastSoc {
		return
	}
	ch := &p.q.Rig.Charger
	to := detmath.Min(out.LeastSoc, 1)
	wh := (p.starter.storedWh(to) - p.starter.storedWh(r.starterSoc)) / (p.starter.coulombic(to) * rescueShare)
	out.NeedWh = wh / ch.FeedEta
	out.NeedSoc = out.NeedWh / p.house.storedWh(1)
	out.Enough = out.LeastSoc <= 1 && ch.FeedW > 0 && out.NeedSoc <= p.q.Rig.HouseBattery.Reserve && out.NeedWh <= p.house.storedWh(r.houseSoc)
}

// rescueShare is what of the energy put into a flat starter battery its
// resistance leaves; engineering estimate: 14.2 V in for 12.5 V kept.
const rescueShare = 0.88
