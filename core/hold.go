package core

import (
	"spareamps/core/detmath"
	"spareamps/core/limit"
)

// Lengths of the hold times, in minutes.
const (
	holdMost  = 60.0
	holdFirst = 0.25 // first step; each is a fifth longer than the one before
	holdGrow  = 1.2
	holdStep  = 3.0
	holdShare = 0.75 // of the time found: other vehicles of the same ceiling heat sooner
)

// holds says for how many minutes higher settings may be held, from the
// temperatures of now, before the vehicle at the edge of the confidence passes
// a limit by heat. Settings that pass another limit at once are left out.
//
// The temperatures of now are those after minutes_since_start at setting_W,
// begun at ambient temperature.
func (st *study) holds(q *Request, a *Answer, s *scene, v *vehicle) {
	o := v.operating(st, s)
	w := newWarm(&o)
	c, _ := v.limits(st, s, &w)
	side := st.outputSide(s)
	least, most := side.least(&c), never
	for i := range a.Limits {
		switch l := &a.Limits[i]; l.Limit {
		case limit.Winding, limit.Rectifier, limit.Rotor, limit.ChargerOutput, limit.HouseBattery:
		default:
			most = detmath.Min(most, detmath.Min(l.InputA, c[l.Limit]))
		}
	}
	if detmath.Min(most, side.a) <= least*1.001 || most <= 0 || most >= never {
		return // nothing but heat may be passed for a while
	}
	other := s.otherA(v)
	leadC := o.leadC
	watts := side.capped(v.outputAt(st, most, leadC))
	step := 1.0
	if st.charger.Given {
		step = st.charger.StepW
	}

	var t temperatures
	for i := range t {
		t[i] = s.ambientC
	}
	l := &noLead
	if st.hasLead {
		l = &st.lead
	}
	warmUp := v.inputFor(q.Moment.SettingW, l, leadC)
	o.run(&t, warmUp+other, q.Moment.MinutesSinceStart, nil)

	last := a.Ceiling.OutputW
	for i := range a.Hold {
		share := float64(i+1) / float64(len(a.Hold))
		set := roundDown(a.Ceiling.OutputW+share*(watts-a.Ceiling.OutputW), step)
		if set <= last {
			continue
		}
		last = set
		row := HoldRow{OutputW: set, InputA: v.inputFor(set, l, leadC), Minutes: never}
		from := t
		stop := st.heatLimit(o.inletC)
		if m, lim := o.run(&from, row.InputA+other, holdMost, &stop); lim >= 0 {
			row.Minutes, row.Limit = holdShare*m, lim
			if m == 0 {
				break // nor any higher one
			}
		}
		a.Hold[a.Holds] = row
		a.Holds++
	}
}

// heatLimit is what the nodes are held to; plates stands for the junction.
func (st *study) heatLimit(inletC float64) temperatures {
	return temperatures{winding: st.class.windingLimitC(), iron: st.guard.coreC(inletC), plates: st.junctionC, rotor: st.class.rotorLimitC()}
}

// run advances temperatures by minutes at an output, or until one passes its
// limit: then it returns the minutes passed, by a straight line within the
// step, and which limit; else −1.
func (o *operating) run(t *temperatures, currentA, minutes float64, stop *temperatures) (float64, int) {
	names := [nodes]int{limit.Winding, limit.Case, limit.Rectifier, limit.Rotor}
	at, h, x := 0.0, holdFirst, 0.5
	over := func(t *temperatures, i int) float64 {
		y := t[i] - stop[i]
		if i == plates {
			y += o.junctionPerA() * currentA
		}
		return y
	}
	if stop != nil {
		for i := range nodes {
			if over(t, i) > 0 {
				return 0, names[i]
			}
		}
	}
	for at < minutes {
		h = min(h, minutes-at)
		before := *t
		x = o.step(t, currentA, h*60, x)
		if stop != nil {
			first, which := 2.0, -1
			for i := range nodes {
				if y := over(t, i); y > 0 {
					y0 := over(&before, i)
					if f := -y0 / (y - y0); f < first {
						first, which = f, names[i]
					}
				}
			}
			if which >= 0 {
				return at + first*h, which
			}
		}
		at += h
		h = min(h*holdGrow, holdStep)
	}
	return minutes, -1
}
