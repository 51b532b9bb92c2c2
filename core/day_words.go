package core

// remarks fills in the validity, sentences and cautions of a day.
func (p *planner) remarks(a *Answer) {
	q, n := p.q, a.Plan
	say := func(code, text string) { a.Says = append(a.Says, Sentence{code, text}) }
	flag := func(code, field, message string) { a.Validity = append(a.Validity, Flag{code, field, message}) }

	switch {
	case n.SettingW <= 0:
		say("setting", "leave the charger off: "+p.whyNone(n))
	case n.Why == "given":
		say("setting", "tried: "+watts(n.SettingW)+", "+amps(n.SettingA)+" out")
	default:
		text := "set the charger to " + watts(n.SettingW)
		first, lower := -1.0, 0
		for i := range n.Stretches {
			switch w := n.Stretches[i].SettingW; {
			case first < 0:
				first = w
				if w < n.SettingW {
					text = "set the charger to " + watts(w)
				}
			case w != first && lower == 0:
				lower = i
			}
		}
		if lower > 0 {
			text += ", " + watts(n.Stretches[lower].SettingW) + " from " + clockText(n.Stretches[lower].From) + p.dayWords(n.Stretches[lower].From)
		} else {
			text += ": " + amps(n.SettingA) + " out, about " + amps(n.DrawA) + " in"
		}
		say("setting", text)
	}
	switch {
	case n.Reached && n.FullAt < never:
		say("full", percent(n.WantSoc)+" at "+clockText(n.FullAt)+p.dayWords(n.FullAt)+"; nothing less does by "+clockText(n.WantBy))
	case n.Reached:
		say("full", "near enough "+percent(n.WantSoc)+" by "+clockText(n.WantBy))
	default:
		say("missing", percent(n.SocThen)+" at "+clockText(n.WantBy)+p.dayWords(n.WantBy)+", "+fixed(n.MissWh, 0)+" Wh short of "+percent(n.WantSoc))
	}
	low, worst := 2.0, 0
	for i := range n.Nights {
		if n.Nights[i].LowSoc < low {
			low, worst = n.Nights[i].LowSoc, i
		}
	}
	night := &n.Nights[worst]
	text := "lowest " + percent(night.LowSoc) + " at " + clockText(night.LowAt) + p.dayWords(night.LowAt)
	if night.ReserveAt < never {
		text += "; passes the reserve of " + percent(q.Rig.HouseBattery.Reserve) + " at " + clockText(night.ReserveAt)
	}
	say("night", text)
	if n.NoStartAt < never && (n.Nights[0].Starts || n.NoStartAt < n.Nights[0].Morning-1) {
		say("no_start_before", "from "+clockText(n.NoStartAt)+p.dayWords(n.NoStartAt)+" on the engine would not start again")
	}
	for i := range n.Nights {
		m := &n.Nights[i]
		if !m.Starts {
			say("no_start", "the engine would not start at "+clockText(m.Morning)+p.dayWords(m.Morning-1)+": "+fixed(m.CrankingV, 1)+" V while cranking, "+fixed(m.NeedV, 1)+" V needed")
			break
		}
	}
	if m := &n.Nights[len(n.Nights)-1]; m.Starts {
		say("start", "the engine starts at "+clockText(m.Morning)+": "+fixed(m.CrankingV, 1)+" V while cranking, "+fixed(m.NeedV, 1)+" V needed")
	}
	if r := &n.Rescue; r.NeedWh > 0 {
		text := "forget the hand-over tonight and the starter battery needs " + fixed(r.NeedWh, 0) + " Wh to start again, " + percent(r.NeedSoc) + " of the house battery: "
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

	if !p.placed && q.Rig.Solar.Given {
		flag("sun_unknown", "day.date", "no date and place: the sun is not counted")
	}
	if p.inverterPeakW > 0 {
		v := &q.Rig.Inverter
		over, surge := v.overload(p.inverterPeakW, p.inverterSurgeW)
		if over {
			flag("inverter_overload", "rig.inverter.rated_W", "its loads ask for "+fixed(p.inverterPeakW, 0)+" W at once: more than it gives")
		} else if surge {
			flag("inverter_surge", "rig.inverter.surge_W", "a start asks for "+fixed(p.inverterSurgeW, 0)+" W: more than it stands")
		}
	}
	if n.PauseWh >= 1 {
		flag("charger_left_on", "rig.charger.stops_with_engine", "left on in short pauses the charger takes "+fixed(n.PauseWh, 0)+" Wh out of the starter battery: switch it off at each, or fit one that stops with the engine")
	}
	if q.Day.AltitudeM > 4000 {
		flag("altitude_high", "day.altitude_m", "thinner air than the figures were tried in")
	}
	if n.CutOff.FeedV > 0 && n.CutOff.FeedV > n.CutOff.FloatHighV {
		flag("feed_high", "rig.charger.feed_V", fixed(n.CutOff.FeedV, 1)+" V at the posts is too much for the starter battery to stay on: at most "+fixed(n.CutOff.FloatHighV, 1)+" V in this warmth")
	}
	if n.Why == "given" && n.SettingW > n.AllowedW {
		flag("setting_high", "day.setting_W", "more than any stretch of this day allows: counted as "+watts(n.AllowedW)+" or less")
	}
	if !q.Rig.Cable.Given {
		flag("cable_unknown", "rig.cable", "no cable described: its heat, drop and fuse are not checked")
	} else if q.Rig.Cable.FuseA == 0 {
		flag("fuse_missing", "rig.cable.fuse_A", "no fuse given: a lead without one can burn; fit one within 178 mm of the battery's post")
	}

	a.Cautions = append(a.Cautions, cautions[:]...)
	if q.Rig.HouseBattery.Chemistry == "lifepo4" {
		a.Cautions = append(a.Cautions, cautionFrost)
	}
	a.Cautions = append(a.Cautions, cautionGas)
}

// dayWords names the day of a time where there are several.
func (p *planner) dayWords(minutes float64) string {
	if p.q.Day.Days == 1 {
		return ""
	}
	return " on day " + fixed(floor((minutes-p.q.Day.Start)/1440-1e-9)+1, 0)
}

// whyNone says why nothing is charged.
func (p *planner) whyNone(n *Plan) string {
	switch {
	case len(p.stretches) == 0:
		return "the engine does not run, or the charger is never set to charge"
	case n.Reached:
		return "the battery is there without it"
	case n.AllowedW <= 0:
		return limitWords(p.stretches[0].limit) + " allows nothing"
	}
	return "nothing it may do would help"
}
