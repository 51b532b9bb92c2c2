package core

import (
	"spareamps/core/calendar"
	"spareamps/core/detmath"
)

// remarks fills in the validity, sentences and cautions of a day.
func (p *planner) remarks(a *Answer) {
	q, n := p.q, a.Plan
	say := func(code, text string) { a.Says = append(a.Says, Sentence{code, text}) }

	if n.FailedAt < never {
		say("failed_start", "the engine will not start at "+p.clock(n.FailedAt+p.stepMin)+": bring the starter battery back first; what follows counts on that")
	}
	p.saySetting(n, say)
	switch due := p.clock(n.WantBy); {
	case n.Reached && n.SettingW <= 0:
		say("full", percent(n.SocThen)+" at "+due+" without charging")
	case n.Reached && n.FullAt < never && n.Why == "gentlest":
		say("full", percent(n.WantSoc)+" at "+p.clock(n.FullAt)+"; nothing less does by "+due)
	case n.Reached && n.FullAt < never:
		say("full", percent(n.WantSoc)+" at "+p.clock(n.FullAt))
	case n.SocThen >= n.WantSoc-wantSlack:
		say("full", percent(n.SocThen)+" at "+due)
	default:
		say("missing", percent(n.SocThen)+" at "+due+", "+fixed(n.MissWh, 0)+" Wh short of "+percent(n.WantSoc))
	}
	low, worst := 2.0, 0
	for i := range n.Nights {
		if n.Nights[i].LowSoc < low {
			low, worst = n.Nights[i].LowSoc, i
		}
	}
	night := &n.Nights[worst]
	text := "lowest " + percent(night.LowSoc) + " at " + p.clock(night.LowAt)
	if night.ReserveAt < never {
		text += "; passes the reserve of " + percent(q.Rig.HouseBattery.Reserve) + " at " + p.clock(night.ReserveAt)
	}
	say("night", text)
	if n.EmptyAt < never {
		say("empty", "from "+p.clock(n.EmptyAt)+" something has no power: "+fixed(n.ShortWh, 0)+" Wh are missing")
	}
	if n.NoStartAt < never && n.FailedAt >= never {
		say("no_start_before", "from "+p.clock(n.NoStartAt)+" on the engine would not start again")
	}
	bad := -1
	for i := range n.Nights {
		if bad < 0 && !n.Nights[i].Starts {
			bad = i
		}
	}
	if bad >= 0 {
		m := &n.Nights[bad]
		say("no_start", "the engine would not start at "+p.clock(m.Morning)+": "+fixed(m.CrankingV, 1)+" V while cranking, "+fixed(m.NeedV, 1)+" V needed")
	} else {
		m := &n.Nights[len(n.Nights)-1]
		say("start", "the engine starts at "+p.clock(m.Morning)+": "+fixed(m.CrankingV, 1)+" V while cranking, "+fixed(m.NeedV, 1)+" V needed")
	}
	p.sayRescue(n, say)
	if text := p.st.guard.ownWords(); text != "" {
		say("self_limiting", text)
	}
	p.dayFlags(a)

	a.Cautions = append(a.Cautions, cautions[:]...)
	if q.Rig.HouseBattery.Chemistry == "lifepo4" {
		a.Cautions = append(a.Cautions, cautionFrost)
	}
	a.Cautions = append(a.Cautions, cautionGas)
	if p.st.guard.protects() {
		a.Cautions = append(a.Cautions, cautionDrains)
	}
}

// saySetting says what to set, with the changes of the day where there are few.
func (p *planner) saySetting(n *Plan, say func(code, text string)) {
	switch {
	case n.SettingW <= 0:
		say("setting", "leave the charger off: "+p.whyNone(n))
		return
	case n.AskedW > n.SettingW:
		say("setting", "tried: "+watts(n.AskedW)+", of which "+watts(n.SettingW)+" is allowed")
		return
	case n.Why == "given":
		say("setting", "tried: "+watts(n.SettingW)+", "+amps(n.SettingA)+" out")
		return
	}
	text, last, changes, least := "", -1.0, 0, n.SettingW
	for i := range n.Stretches {
		s := &n.Stretches[i]
		least = detmath.Min(least, s.SettingW)
		if s.SettingW == last {
			continue
		}
		last = s.SettingW
		switch changes++; {
		case changes == 1:
			text = "set the charger to " + watts(s.SettingW)
		case changes <= 3:
			text += ", " + watts(s.SettingW) + " from " + p.clock(s.From)
		}
	}
	switch {
	case changes == 1:
		text += ": " + amps(n.SettingA) + " out, about " + amps(n.DrawA) + " in"
	case changes > 3:
		text += ", then as the hand-overs say, down to " + watts(least)
	}
	say("setting", text)
}

// sayRescue says what a night would cost in which the starter battery is left
// with the loads, and with a charger that goes on drawing.
func (p *planner) sayRescue(n *Plan, say func(code, text string)) {
	r, q := &n.Rescue, p.q
	if r.NeedWh <= 0 {
		return
	}
	text := "with its loads left on it tonight the starter battery "
	switch {
	case r.LeastSoc > 1:
		say("rescue", text+"would not start the engine, nor would a full one in this cold")
		return
	default:
		text += "needs " + fixed(r.NeedWh, 0) + " Wh to start again, " + percent(r.NeedSoc) + " of the house battery: "
	}
	switch {
	case q.Rig.Charger.FeedW == 0:
		text += "this charger cannot feed it back"
	case r.Enough:
		text += "the reserve holds that"
	default:
		text += "the reserve does not hold that"
	}
	say("rescue", text)
}

// dayFlags says where a day's plan stands on thin ground.
func (p *planner) dayFlags(a *Answer) {
	q, n := p.q, a.Plan
	flag := func(code, field, message string) { a.Validity = append(a.Validity, Flag{code, field, message}) }
	if !p.placed && q.Rig.Solar.Given {
		flag("sun_unknown", "day.date", "no date and place: the sun is not counted")
	}
	if n.SunFrost {
		flag("sun_frost", "day.house_battery_C", "the sun shines on a frozen battery: its solar charger must stop by itself below 0 °C")
	}
	if p.inverterPeakW > 0 {
		v := &q.Rig.Inverter
		over, surge := inverterOverload(v, p.inverterPeakW, p.inverterSurgeW)
		if over {
			flag("inverter_overload", "rig.inverter.rated_W", "its loads ask for "+fixed(p.inverterPeakW, 0)+" W at once: more than it gives")
		} else if surge {
			flag("inverter_surge", "rig.inverter.surge_W", "a start asks for "+fixed(p.inverterSurgeW, 0)+" W: more than it stands")
		}
	}
	if n.PauseWh >= 1 {
		flag("charger_left_on", "rig.charger.stops_with_engine", "left on with the engine off the charger takes "+fixed(n.PauseWh, 0)+" Wh out of the starter battery: switch it off, or fit one that stops with the engine")
	} else if q.Rig.Charger.WithEngine != "yes" && len(n.Handovers) > 10*int(q.Day.Days) {
		flag("many_handovers", "rig.charger.stops_with_engine", "a charger that stops with the engine would spare most of the hand-overs")
	}
	p.st.familyFlags(a)
	coldest, cell := never, never
	for i := range p.steps {
		coldest, cell = detmath.Min(coldest, p.steps[i].ambientC), detmath.Min(cell, p.steps[i].cellC)
	}
	if cell < -20 {
		flag("battery_cold", "day.house_battery_C", "colder than most makers let a battery be used; its loss of capacity is not counted for LiFePO4")
	}
	if q.Rig.HouseBattery.Chemistry != "lifepo4" && cell < -10 && n.LowSoc < 0.4 || coldest < -10 && p.lowStarter < 0.4 {
		flag("battery_freezes", "day.min_C", "a discharged lead-acid battery freezes: keep it above 40 % in such cold") // from memory
	}
	a.askMaximum(&q.Rig.HouseBattery)
	if q.Day.AltitudeM > 4000 {
		flag("altitude_high", "day.altitude_m", "thinner air than the figures were tried in")
	}
	if n.CutOff.FeedV > 0 && n.CutOff.FeedV > n.CutOff.FloatHighV {
		flag("feed_high", "rig.charger.feed_V", fixed(n.CutOff.FeedV, 1)+" V at the posts is too much for the starter battery to stay on: at most "+fixed(n.CutOff.FloatHighV, 1)+" V in this warmth")
	}
	if n.AskedW > n.AllowedW {
		flag("setting_high", "day.setting_W", "more than this day allows: counted as "+watts(n.AllowedW))
	}
	if !q.Rig.Cable.Given {
		flag("cable_unknown", "rig.cable", "no cable described: its heat, drop and fuse are not checked")
	} else if q.Rig.Cable.FuseA == 0 {
		flag("fuse_missing", "rig.cable.fuse_A", "no fuse given: a lead without one can burn; fit one within 178 mm of the battery's post")
	}
}

// clock is a time of the plan in words, with its day where there are several.
func (p *planner) clock(minutes float64) string {
	text := calendar.ClockText(minutes)
	if p.q.Day.Days > 1 {
		text += " on day " + fixed(detmath.Floor((minutes-p.q.Day.Start)/1440-1e-9)+1, 0)
	}
	return text
}

// whyNone says why nothing is charged.
func (p *planner) whyNone(n *Plan) string {
	switch {
	case len(p.stretches) == 0:
		return "the engine does not run, or the charger is never set to charge"
	case n.Reached:
		return "the battery is there without it"
	case n.AllowedW <= 0:
		return limitWords(p.st.guard.shownAs(p.stretches[0].limit)) + " allows nothing"
	}
	return "nothing it may do would help"
}
