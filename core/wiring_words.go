package core

import (
	"spareamps/core/conductor"
	"spareamps/core/detmath"
	"spareamps/core/jsontext"
	"spareamps/core/rig"
)

// remarks fills in sentences, validity and cautions of a check of a lead.
func (c *LeadCheck) remarks(q *Request, a *Answer) {
	say := func(code, text string) { a.Says = append(a.Says, Sentence{code, text}) }
	flag := func(code, field, message string) { a.Validity = append(a.Validity, Flag{code, field, message}) }
	cable := &q.Rig.Cable

	say("measured", "the lead has "+milliohm(c.Ohm)+" out and back, give or take "+fixed(1e3*c.OhmSpread, 1)+": "+
		fixed(c.DropV, 2)+" V lost at "+fixed(c.CurrentA, 1)+" A, "+fixed(c.LossW, 0)+" W of heat")
	if c.HasCable {
		size := cable.AWG + " AWG"
		if cable.AreaMM2 > 0 {
			size = jsontext.NumberText(cable.AreaMM2) + " mm²"
		}
		should := size + ", " + jsontext.NumberText(cable.LengthM) + " m one way, has at most " + milliohm(c.ShouldOhm) + " with its contacts"
		switch c.Verdict {
		case leadSound:
			say("verdict", "sound: "+should)
		case leadHigh:
			say("verdict", "too much: "+should)
			say("cause", c.highWords(cable))
		case leadLow:
			say("verdict", "less than it can be: "+should)
			say("cause", c.lowWords())
		default:
			say("verdict", "cannot be told: "+should+"; draw more current, or read more digits")
		}
	}
	if c.FullA > 0 {
		text := "at the charger's full input, " + fixed(c.FullA, 0) + " A, the lead loses " + fixed(c.FullDropV, 2) + " V, " +
			fixed(100*c.FullShare, 1) + " %; " + fixed(c.FullV, 1) + " V arrive"
		if c.HasCable {
			text += ", conductor at " + fixed(c.FullC, 0) + " °C"
		}
		say("full", text)
	}
	if c.HasCable {
		text := "the cable carries " + amps(c.AmpacityA) + " without end in this heat"
		if c.FuseA > 0 {
			text += ", the " + jsontext.NumberText(c.FuseA) + " A fuse " + amps(c.FuseContinueA) + "; it "
			if c.FuseProtects {
				text += "protects the cable"
			} else {
				text += "does not protect the cable: at most " + amps(detmath.Floor(c.FuseMostA))
			}
		}
		say("fuse", text)
	}

	switch {
	case !c.HasCable:
		flag("cable_unknown", "rig.cable", "no cable described: nothing to compare with, heat and fuse not checked")
	case c.FuseA == 0:
		flag("fuse_missing", "rig.cable.fuse_A", "no fuse given: a lead without one can burn; fit one within 178 mm of the battery's post")
	case !c.FuseProtects:
		flag("fuse_too_large", "rig.cable.fuse_A", "this fuse does not protect the cable: at most "+amps(detmath.Floor(c.FuseMostA))+" in this heat")
	}
	if c.HasCable && c.FullA > 0 && !c.Carries {
		what := "the cable"
		if c.FuseA > 0 && c.FuseContinueA < c.AmpacityA {
			what = "the fuse"
		}
		flag("full_not_carried", "rig.charger.max_output_W", what+" does not carry the charger's full input without end: set the charger lower")
	}
	if c.HasCable && c.CurrentA > c.AmpacityA {
		flag("cable_overloaded", "rig.cable", "the current read is more than the cable carries without end")
	}
	if c.FullA > 0 && c.HasCable && c.FullShare > cable.MaxDrop {
		flag("drop_large", "rig.cable.max_drop", "at full input more is lost than the "+percent(cable.MaxDrop)+" allowed")
	}
	if c.FullA > 0 && c.FullV < q.Rig.Charger.MinInputV {
		flag("charger_starved", "rig.charger.min_input_V", "at full input fewer volts arrive than the "+jsontext.NumberText(q.Rig.Charger.MinInputV)+" V the charger needs")
	}
	a.Cautions = append(a.Cautions, cautions[2],
		"a probe that slips shorts the battery: fuse the meter's lead, take rings off",
		"a hot lug or a smell of hot plastic: charger off, engine off, look")
}

// highWords says what a resistance that is too high may be.
func (c *LeadCheck) highWords(cable *rig.Cable) string {
	text := milliohm(c.MoreOhm) + " too much: a bad crimp, lug or fuse contact, which would make " + fixed(c.SpotW, 1) + " W in one spot (feel for it after a few minutes)"
	text += "; or " + fixed(c.MoreM, 1) + " m more cable than stated"
	if c.LikeMM2 > 0 && c.LikeMM2 < conductor.CableArea(cable) {
		text += "; or " + fixed(c.LikeMM2, 0) + " mm² of copper"
	}
	return text
}

func (c *LeadCheck) lowWords() string {
	text := milliohm(-c.MoreOhm) + " less: the way back goes by the body, the current is less than stated, or the cable is "
	if c.LikeMM2 > 0 {
		text += "thicker, like " + fixed(c.LikeMM2, 0) + " mm², or "
	}
	return text + "shorter, by " + fixed(-c.MoreM, 1) + " m"
}

func milliohm(ohm float64) string { return fixed(1e3*ohm, 1) + " mΩ" }
