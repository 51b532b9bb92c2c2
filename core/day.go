package core

import "spareamps/core/detmath"

// dayStepMinutes is the step of a day. Halving it moves the evening's charge by
// less than 0.3 % of the battery (day_test.go).
const dayStepMinutes = 1.0

// A planner answers one question about a day after another in the same memory.
type planner struct {
	st      *study
	q       *Request
	stepMin float64
	change  change

	steps    []dayStep
	loads    []loadSum
	inverter []inverterStep
	used     []dayCeiling // of this day's bins
	known    []dayCeiling // found before for this rig
	house    battery
	starter  battery

	stretches   []stretch
	allowed     []float64 // by stretch
	followed    []int     // members of the sample
	machines    []operating
	carefulPeak peak
	takes       []float64 // A into the starter battery, by step
	record      trace
	noted       []noted
	windingC    []float64    // likeliest, by step
	least       [131]float64 // charge below which the engine does not start, from −50 °C; 0: not yet found

	nightly    []pause // by day
	lowStarter float64 // lowest charge of the starter battery
	dues       []int   // steps at whose end the wanted charge is due

	hours      float64 // of a step
	lifepo4    bool    // the house battery
	mostFeedW  float64 // that feeding takes out of the house battery
	withEngine bool    // the charger stops with the engine

	drivingW, idlingW             float64
	offsetH, sunriseH, sunsetH    float64
	placed                        bool
	inverterLossWh, inverterPeakW float64
	inverterSurgeW                float64
}

// lay makes everything of a day that does not depend on the charger's setting.
func (p *planner) lay(q *Request) {
	p.q = q
	p.house, p.starter = houseCell(&q.Rig).bounded(), starterCell(&q.Rig).bounded()
	p.hours = p.stepMin / 60
	p.mostFeedW = q.Rig.Charger.FeedW/q.Rig.Charger.FeedEta + q.Rig.Charger.IdleW
	p.lifepo4, p.withEngine = q.Rig.HouseBattery.Chemistry == "lifepo4", q.Rig.Charger.WithEngine == "yes"
	clear(p.least[:])
	p.drivingLoads()
	p.makeSteps()
	p.sortBins()
	p.rests()
	p.direct()
	p.part()
	p.allow()
	p.windingC = resized(p.windingC[:0], len(p.steps))
}

// leastSoc returns the charge below which the engine does not start, at whole
// degrees below the temperature asked for; above 1 where not even full.
func (p *planner) leastSoc(celsius float64) float64 {
	k := int(detmath.ClampAbs(detmath.Floor(celsius), 80)) + 50
	k = max(k, 0)
	if p.least[k] == 0 {
		soc, ok := leastStartSoc(&p.q.Rig, &p.starter, float64(k-50))
		if !ok {
			soc = 2
		}
		p.least[k] = detmath.Max(soc, 1e-9)
	}
	return p.least[k]
}

// A pause is a time with the engine off.
type pause struct{ from, to int } // steps; to is behind the last

// rests finds the longest pause that begins in each day, which is taken for its
// night, and when the wanted charge is due: as asked, or at the begin of each
// night after a drive. A plan without a drive has it due at its end.
func (p *planner) rests() {
	d := &p.q.Day
	p.nightly, p.dues = p.nightly[:0], p.dues[:0]
	perDay := int(1440/p.stepMin + 0.5)
	for first := 0; first < len(p.steps); first += perDay {
		end := min(first+perDay, len(p.steps))
		longest, driven := pause{end - 1, end}, false
		for i := first; i < end; i++ {
			driven = driven || p.steps[i].engine
			if p.steps[i].engine || i > first && !p.steps[i-1].engine {
				continue
			}
			j := i
			for j < len(p.steps) && !p.steps[j].engine {
				j++
			}
			// The morning before the first start belongs to the night before.
			if j-i > longest.to-longest.from && (i > first || j >= end) {
				longest = pause{i, j}
			}
		}
		p.nightly = append(p.nightly, longest)
		switch {
		case d.WantBy != unset:
			p.dues = append(p.dues, min(first+int(sinceClock(d, d.WantBy, true)/p.stepMin+0.5), end)-1)
		case driven:
			p.dues = append(p.dues, max(longest.from, first+1)-1)
		}
	}
	if len(p.dues) == 0 {
		p.dues = append(p.dues, len(p.steps)-1)
	}
}

// wantSlack is what of the wanted charge may be missing: a pause at the wanted
// time is no failure.
const wantSlack = 0.005

// shortfall is by how much a run misses the wanted charge, at the worst over
// the days; 0 or below where it does not.
func (p *planner) shortfall(x *daySetting) float64 {
	r := p.newRun()
	worst, next := -1.0, 0
	for i := range p.steps {
		p.advance(&r, i, x, nil)
		if i == p.dues[next] {
			worst = detmath.Max(worst, p.q.Day.WantSoc-r.houseSoc)
			if next++; next == len(p.dues) {
				break
			}
		}
	}
	return worst - wantSlack
}

// gentlest returns the least setting that reaches the wanted charge by the
// wanted time; where none does, the least of those that come as near as any.
func (p *planner) gentlest() (watts float64, reached bool) {
	step := p.q.Rig.Charger.StepW
	most := 0.0
	for _, w := range p.allowed {
		most = detmath.Max(most, w)
	}
	short := func(k float64) float64 { return p.shortfall(&daySetting{k * step, p.allowed}) }
	lo, hi := -1.0, detmath.Floor(most/step+0.5)
	best := short(hi)
	reached = best <= 0
	enough := detmath.Max(best+1e-4, 0)
	for hi-lo > 1 {
		mid := detmath.Floor((lo + hi) / 2)
		if short(mid) <= enough {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi * step, reached
}
