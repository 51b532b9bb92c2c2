package core

import (
	"spareamps/core/detmath"
	"spareamps/core/jsontext"
)

// remarks fills in sentences, validity and cautions of a fit.
func (l *Learning) remarks(q *Request, a *Answer) {
	say := func(code, text string) { a.Says = append(a.Says, Sentence{code, text}) }
	flag := func(code, field, message string) { a.Validity = append(a.Validity, Flag{code, field, message}) }
	now := &l.Moments[0]
	n := jsontext.NumberText(float64(len(l.Readings))) + " readings"
	if len(l.Readings) == 1 {
		n = "one reading"
	}
	switch l.Verdict {
	case fitGood:
		text := n + ": the ceiling at this moment goes from " + amps(now.Before.InputA) + " to " + amps(now.After.InputA) + " into the charger, the advised setting from " + watts(now.Before.SettingW) + " to " + watts(now.After.SettingW)
		if now.After.InputA < now.Before.InputA {
			text += "; lower: this vehicle runs hotter or gives less than most, and it is better known"
		}
		say("learned", text)
	case fitNothing:
		say("nothing", n+" told nothing new of the alternator: the ceiling stays as it was")
	case fitContradiction:
		say("contradiction", "the readings do not fit any plausible vehicle of this description: nothing is kept; look at the rows marked below, and at what the label says")
		if l.partsHotter() {
			say("hotter", "the parts were hotter than any plausible vehicle shows under these conditions: charge less until you know why")
		}
	default:
		say("not_converged", "no vehicle was found that fits the readings: nothing is kept")
	}
	for i := range l.Readings {
		if r := &l.Readings[i]; r.Outlier {
			t := &instrumentTable[r.Kind]
			say("outlier", "row "+jsontext.NumberText(float64(r.Row+1))+", "+t.field+": read "+fixed(r.Value, 1)+", expected "+fixed(r.Expected, 1)+", "+fixed(detmath.Abs(r.sigmas()), 1)+" deviations off: read it again")
		}
	}
	l.sayLow(q, say)
	if l.LeadOhm > 0 {
		text := "the charger's lead has " + milliohm(l.LeadOhm) + ", give or take " + fixed(1e3*l.LeadSpread, 1)
		if e := l.Parameters[pLead]; e.Prior*(e.Mean-e.Spread) > 0.2 {
			text += ": more than its size explains; check lugs and fuse holder"
		}
		say("lead", text)
	}
	if l.HouseAh > 0 {
		say("house_battery", "the house battery behaves like one of "+fixed(l.HouseAh, 0)+" Ah, give or take "+fixed(l.HouseAhOff, 0))
	}
	if l.StarterSoc > 0 {
		say("starter_battery", "at rest the starter battery was "+percent(l.StarterSoc)+" full, give or take "+fixed(100*l.StarterSocOff, 0))
	}
	if l.Sag > 0 {
		say("cranking", "turning the engine takes "+fixed(l.Sag, 2)+" times the volts that battery and engine told, give or take "+fixed(l.SagOff, 2))
	}
	for i := range l.Proposals {
		p := &l.Proposals[i]
		say("proposal", "state "+p.Input+" "+jsontext.NumberText(p.Value)+": "+p.Why)
	}
	if len(l.Next) > 0 {
		say("next", "best read next: "+suggestions[l.Next[0].Which].how)
	}
	far := 0
	for j := 1; j < unknowns; j++ {
		if j != uVehicle && detmath.Abs(l.Parameters[j].Mean) > detmath.Abs(l.Parameters[far].Mean) {
			far = j
		}
	}
	if m := detmath.Abs(l.Parameters[far].Mean); m > 2 {
		flag("unlikely", "rig.observations", "they would need "+Unknowns[far].Name+" "+fixed(m, 1)+" spreads from what is usual")
	}
	if l.Agreeing < l.Starts {
		flag("several_answers", "rig.observations", "other vehicles fit nearly as well: more readings are needed")
	}
	a.Cautions = append(a.Cautions, cautions[0], cautions[1],
		"engine off and key out before hands go near belt or fan; a fan may start by itself",
		cautions[3], cautions[4])
}

// lowWords name a reading on each kind of surface, and a better way to read it.
var lowWords = [surfaces]struct {
	what, better string
	parameter    int
}{
	surfaceBright:  {"an infrared thermometer on bright metal or an unstated surface", "; read on matt paint or tape and state surface painted, that tells more", pBright},
	surfaceDull:    {"an infrared thermometer on dull metal", "; read on matt paint or tape and state surface painted, that tells more", pDull},
	surfacePainted: {"an infrared thermometer on matt paint or tape", "", pSurface},
	surfaceContact: {"a contact probe", "", pSurface},
}

// sayLow says by how much the fit takes readings on surfaces to be too low: for the
// hottest reading of each kind, one spread either way.
func (l *Learning) sayLow(q *Request, say func(code, text string)) {
	var hottest [surfaces]*Residual
	for i := range l.Readings {
		r := &l.Readings[i]
		if r.Kind < readsCase || r.Kind > readsPlates {
			continue
		}
		if h := &hottest[surfaceOf(&q.Rig.Observations[r.Row])]; *h == nil || r.Value > (*h).Value {
			*h = r
		}
	}
	for on, r := range hottest {
		t := &lowWords[on]
		if r == nil {
			continue
		}
		o := &q.Rig.Observations[r.Row]
		low := func(spreads float64) float64 {
			var p [parameters]float64
			e := &l.Parameters[t.parameter]
			p[t.parameter] = e.Mean + spreads*e.Spread
			k := sharesOf(&p)
			return k.part(surface(on), r.Value, o.AmbientC) - r.Value
		}
		say("reads_low", t.what+" reads low: row "+jsontext.NumberText(float64(r.Row+1))+"'s "+fixed(r.Value, 0)+" °C is assumed to be "+fixed(low(-1), 0)+" to "+fixed(low(1), 0)+" K too low"+t.better)
	}
}

// partsHotter says whether the readings of parts are, on balance, hotter than the
// likeliest vehicle shows.
func (l *Learning) partsHotter() bool {
	sum := 0.0
	for i := range l.Readings {
		if r := &l.Readings[i]; r.Kind >= readsCase && r.Kind <= readsPlates {
			sum += r.sigmas()
		}
	}
	return sum > 0
}
