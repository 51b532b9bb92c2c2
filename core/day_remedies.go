package core

import (
	"slices"

	"spareamps/core/conductor"
	"spareamps/core/detmath"
	"spareamps/core/jsontext"
	"spareamps/core/limit"
)

// A change is what a remedy alters of a day.
type change struct {
	driveMin float64 // longer at the end of the last drive
	stopRpm  float64 // engine speed at stops, where it idles or is off for a short while
	without  []bool  // loads left out
}

// longestMore is the most a drive is thought to be prolonged, in minutes.
const longestMore = 240

// remedy lists what would help a day that misses its charge, each computed by
// planning the day anew: at its highest settings, or at the one to be tried.
func (p *planner) remedy(a *Plan) {
	watts := never
	if a.Why == "given" {
		watts = a.SettingW
	}
	now := p.q.Day.WantSoc - p.shortfall(&daySetting{watts, p.allowed}) - wantSlack
	twin := &planner{st: p.st, stepMin: p.stepMin, known: p.known}
	// try plans the day with a change and says what charge that leads to.
	try := func(q *Request, c change) (socThen float64, reached bool) {
		twin.change = c
		twin.lay(q)
		short := twin.shortfall(&daySetting{watts, twin.allowed})
		return q.Day.WantSoc - short - wantSlack, short <= 0
	}
	note := func(code, text string, soc float64, reached bool) {
		gain := p.house.storedWh(soc) - p.house.storedWh(now)
		if reached || gain >= 0.005*p.house.storedWh(1) {
			a.Remedies = append(a.Remedies, Remedy{code, text, soc, gain, reached})
		}
	}

	if a.Why == "given" {
		if w, ok := p.gentlest(); ok {
			note("setting", "set "+fixed(w, 0)+" W", p.q.Day.WantSoc-p.shortfall(&daySetting{w, p.allowed})-wantSlack, true)
		}
	}

	// Drive longer: the fewest five minutes that suffice, or an hour as a measure.
	driven := slices.ContainsFunc(p.steps, func(s dayStep) bool { return s.engine && s.kmh >= 1 })
	if driven && p.q.Day.WantBy == unset {
		lo, hi := 0.0, longestMore/5.0
		soc, ok := try(p.q, change{driveMin: hi * 5})
		for ok && hi-lo > 1 {
			mid := detmath.Floor((lo + hi) / 2)
			if s, enough := try(p.q, change{driveMin: mid * 5}); enough {
				hi, soc = mid, s
			} else {
				lo = mid
			}
		}
		if !ok {
			hi = 12
			soc, ok = try(p.q, change{driveMin: 60})
		}
		note("drive_longer", "drive "+fixed(hi*5, 0)+" minutes more at the end of the last drive", soc, ok)
	}

	// Engine speed at stops.
	best, bestRpm, enough := now, 0.0, false
	for _, rpm := range [...]float64{1000, 1200, 1500, 1800} {
		if rpm <= p.q.Rig.Engine.IdleRpm || enough {
			continue
		}
		if soc, ok := try(p.q, change{stopRpm: rpm}); soc > best+0.002 {
			best, bestRpm, enough = soc, rpm, ok
		}
	}
	if bestRpm > 0 {
		note("stop_rpm", "keep the engine at "+fixed(bestRpm, 0)+" rpm at short stops, where that is allowed", best, enough)
	}

	p.shed(try, note)

	if solar := &p.q.Rig.Solar; p.placed && solar.Given && solar.Soiling > 0.02 {
		q := *p.q
		q.Rig.Solar.Soiling = 0.02
		soc, ok := try(&q, change{})
		note("wipe_panel", "wipe the panel", soc, ok)
	}

	lead := slices.ContainsFunc(p.stretches, func(s stretch) bool { return s.limit == limit.CableDrop || s.limit == limit.CableHeat })
	if lead {
		p.thicker(watts, note)
	}
}

// shed tries the three loads that take most of those that may be left out, each
// alone, and all together where none suffices.
func (p *planner) shed(try func(*Request, change) (float64, bool), note func(string, string, float64, bool)) {
	d := &p.q.Day
	var may []int
	all := make([]bool, len(d.Loads))
	for i := range d.Loads {
		if d.Loads[i].Keep != "yes" && p.loads[i].wh > 0 {
			may = append(may, i)
			all[i] = true
		}
	}
	slices.SortStableFunc(may, func(a, b int) int {
		switch wa, wb := p.loads[a].wh, p.loads[b].wh; {
		case wa > wb:
			return -1
		case wa < wb:
			return 1
		}
		return 0
	})
	any := false
	for k := 0; k < len(may) && k < 3; k++ {
		without := make([]bool, len(d.Loads))
		without[may[k]] = true
		soc, ok := try(p.q, change{without: without})
		note("shed_load", "do without "+d.Loads[may[k]].Name, soc, ok)
		any = any || ok
	}
	if len(may) > 1 && !any {
		soc, ok := try(p.q, change{without: all})
		note("shed_all", "do without all loads that may be shed", soc, ok)
	}
}

// thicker tries larger sizes of cable, up to the first that suffices or six.
func (p *planner) thicker(watts float64, note func(string, string, float64, bool)) {
	area, tried := conductor.CableArea(&p.q.Rig.Cable), 0
	for _, mm2 := range [...]float64{2.5, 4, 6, 10, 16, 25, 35, 50, 70, 95, 120} {
		if mm2 <= area*1.1 || tried == 6 {
			continue
		}
		tried++
		q := *p.q
		q.Rig.Cable.AreaMM2, q.Rig.Cable.AWG = mm2, ""
		st := new(study)
		st.prepareFor(&q, true)
		st.draws()
		twin := &planner{st: st, stepMin: p.stepMin}
		twin.lay(&q)
		short := twin.shortfall(&daySetting{watts, twin.allowed})
		if short <= 0 || tried == 6 {
			note("bigger_lead", "a lead of "+jsontext.NumberText(mm2)+" mm², with a fuse to suit", q.Day.WantSoc-short-wantSlack, short <= 0)
			return
		}
	}
}

// alter applies a change to the legs as laid: longer drives and faster stops.
func (p *planner) alter() {
	c := &p.change
	d := &p.q.Day
	if c.stopRpm > 0 {
		for i := 0; i < len(p.steps); {
			j := i
			for j < len(p.steps) && p.steps[j].kmh < 1 && p.steps[j].engine == p.steps[i].engine {
				j++
			}
			if j == i {
				i++
				continue
			}
			short := i > 0 && j < len(p.steps) && float64(j-i)*p.stepMin < d.ShortestSwitch
			for k := i; k < j; k++ {
				if s := &p.steps[k]; s.engine || short {
					if !s.engine {
						s.ownW = p.idlingW
					}
					s.engine, s.rpm = true, detmath.Max(s.rpm, c.stopRpm)
				}
			}
			i = j
		}
	}
	if c.driveMin > 0 {
		perDay := int(1440/p.stepMin + 0.5)
		more := int(c.driveMin/p.stepMin + 0.5)
		for first := 0; first < len(p.steps); first += perDay {
			end := min(first+perDay, len(p.steps))
			for i := end - 1; i >= first; i-- {
				if s := p.steps[i]; s.engine && s.kmh >= 1 {
					for k := i + 1; k < min(i+1+more, end); k++ {
						n := &p.steps[k]
						n.engine, n.rpm, n.kmh, n.ownW, n.altitudeM = true, s.rpm, s.kmh, s.ownW, s.altitudeM
					}
					break
				}
			}
		}
	}
}
