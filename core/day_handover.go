package core

// noted keeps a run as it was at each hand-over.
type noted struct {
	step int
	run  dayRun
}

// handovers lists what a person has to do at the charger.
func (p *planner) handovers(a *Plan, x *daySetting) {
	if p.q.Day.Control == "automatic" {
		return
	}
	set := func(i int) float64 { return x.at(&p.steps[i]) }
	for i := range p.steps {
		s := &p.steps[i]
		if i > 0 {
			o := &p.steps[i-1]
			if s.to == o.to && (s.to != charge || s.stretch == o.stretch || set(i) == set(i-1)) {
				continue
			}
		}
		h := Handover{At: p.begin(i), To: s.to, SettingW: set(i)}
		switch {
		case s.to == charge && s.engine:
			h.Why = "engine on"
			if i > 0 && p.steps[i-1].to == charge {
				h.Why = "another ceiling"
			}
		case s.to == charge:
			h.Why = "it stops with the engine"
		case s.to == feed:
			h.Why = "engine off, loads on the vehicle's side"
		case s.engine:
			h.Why = "nothing may be charged"
		default:
			h.Why = "engine off"
		}
		a.Handovers = append(a.Handovers, h)
	}
}

// simulateNoting is simulate that keeps the run as it was at each hand-over.
func (p *planner) simulateNoting(x *daySetting, tr *trace, a *Plan) dayRun {
	r := dayRun{houseSoc: p.q.Day.HouseSoc, starterSoc: p.q.Day.StarterSoc, fullStep: -1, lowStep: -1, reserve: -1, empty: -1, noStart: -1, lowSoc: 2}
	p.noted = p.noted[:0]
	next := 0
	for i := range p.steps {
		if next < len(a.Handovers) && p.begin(i) == a.Handovers[next].At {
			p.noted = append(p.noted, noted{i, r})
			next++
		}
		p.advance(&r, i, x, tr)
	}
	r.flows.houseStored = p.house.storedWh(r.houseSoc) - p.house.storedWh(p.q.Day.HouseSoc)
	r.flows.starterStore = p.starter.storedWh(r.starterSoc) - p.starter.storedWh(p.q.Day.StarterSoc)
	return r
}

// followedMinutes is for how long a forgotten hand-over is followed.
const followedMinutes = 36 * 60

// forget follows each hand-over as if it were forgotten until the next, and
// notes what would come earlier than without forgetting.
func (p *planner) forget(a *Plan, x *daySetting) {
	for k := range a.Handovers {
		h := &a.Handovers[k]
		h.Missed = Missed{never, never, never, -1}
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
		usual := kept
		due := -1
		for day := 0; float64(day) < p.q.Day.Days; day++ {
			if w := p.wanted(day); w >= i && w < end {
				due = w
				break
			}
		}
		was := p.steps[i-1]
		for j := i; j < end; j++ {
			p.advance(&usual, j, x, nil)
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
		if usual.noStart < 0 {
			h.Missed.NoStartAt = p.at(kept.noStart)
		}
		if usual.reserve < 0 {
			h.Missed.ReserveAt = p.at(kept.reserve)
		}
		if usual.empty < 0 {
			h.Missed.EmptyAt = p.at(kept.empty)
		}
	}
}

// rescue says what bringing the starter battery back would take after one night
// in which the vehicle's side was left on it.
func (p *planner) rescue(a *Plan, x *daySetting) {
	last := -1
	perDay := int(1440/p.stepMin + 0.5)
	end := min(perDay, len(p.steps))
	for i := range end {
		if p.steps[i].engine {
			last = i
		}
	}
	soc := p.q.Day.StarterSoc
	if last >= 0 {
		soc = p.record.starterSoc[last]
	}
	hours := p.stepMin / 60
	for i := last + 1; i < end; i++ {
		s := &p.steps[i]
		_, can := p.starter.most(soc, s.ambientC, 0, hours)
		_, soc, _, _ = p.starter.exchange(-smaller(s.vehicleW, can), soc, s.ambientC, hours)
	}
	r := &a.Rescue
	celsius := p.steps[end-1].ambientC
	r.StarterSoc, r.LeastSoc = soc, p.leastSoc(celsius)
	r.Enough = true
	if soc >= r.LeastSoc {
		return
	}
	to := smaller(r.LeastSoc, 1)
	ch := &p.q.Rig.Charger
	wh := (p.starter.storedWh(to) - p.starter.storedWh(soc)) / (p.starter.coulombic(to) * rescueShare)
	r.NeedWh = wh / ch.FeedEta
	r.NeedSoc = r.NeedWh / p.house.storedWh(1)
	r.Enough = r.LeastSoc <= 1 && ch.FeedW > 0 && r.NeedSoc <= p.q.Rig.HouseBattery.Reserve
}

// rescueShare is what of the energy put into a flat starter battery its
// resistance leaves; engineering estimate: 14.2 V in for 12.5 V kept.
const rescueShare = 0.88
