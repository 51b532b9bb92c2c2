package core

import (
	"strconv"
	"strings"

	"spareamps/core/conductor"
	"spareamps/core/detmath"
	"spareamps/core/limit"
	"spareamps/core/rig"
)

// All that an answer says in words, for a person. Programs read the codes.

var cautions = [...]string{
	"an estimate, not a guarantee: the makers' ratings and local codes win",
	"set the charger before driving, never at the wheel",
	"wiring is done or checked by somebody licensed; a fuse sits within 178 mm of each battery's post",
	"alternator, cables and charger get hot: let them cool before touching",
	"smell of varnish, a slipping belt or a hot lug: charger off, engine off, look",
}

const (
	cautionFrost = "a LiFePO4 battery is never charged below 0 °C at its cells"
	cautionGas   = "a charging lead-acid battery gives off explosive gas: air it, no sparks"
)

// remark fills in validity, sentences and cautions.
func (st *study) remark(q *Request, a *Answer, s *scene, o *operating) {
	st.flags(q, a, o)
	say := func(code, text string) { a.Says = append(a.Says, Sentence{code, text}) }

	adv := &a.Advice
	switch {
	case adv.OutputW > 0:
		say("setting", "set the charger to "+watts(adv.OutputW)+" or less: "+amps(adv.OutputA)+" out, about "+amps(adv.DrawA)+" in")
	case a.AdviceIdle && a.Ceiling.OutputW > 0:
		say("setting", "charger off where the engine will idle; while moving at most "+watts(a.Ceiling.OutputW))
	default:
		say("setting", "leave the charger off")
	}
	moving := watts(a.Ceiling.OutputW)
	switch {
	case a.Ceiling.OutputW <= 0:
		say("zero", st.whyZero(q, a, s))
	case a.AdviceIdle:
		say("limit", limitWords(a.AfterIdle.Limit)+" sets it, idling ten minutes; moving: "+moving)
	default:
		say("limit", limitWords(a.Ceiling.Limit)+" sets it ("+amps(a.Ceiling.InputA)+" in); idling ten minutes is covered")
	}
	if a.Ceiling.OutputW > 0 || a.Nominal.OutputW > 0 {
		say("confidence", "safe for "+percent(a.Confidence)+" of such alternators; moving, a typical one could take "+watts(a.Nominal.OutputW))
	}
	if st.posterior.on {
		say("learned", "what was read on this vehicle is counted")
	}
	if u := &a.Unknowns[0]; u.CostA >= 0.5 {
		meaning, measure := Unknowns[u.Unknown].Meaning, Unknowns[u.Unknown].Measure
		if u.Unknown == uInletRise && st.coolantC > 0 {
			meaning, measure = "how hot the coolant is", "read the coolant temperature while driving as now, and state it as inlet_C"
		}
		say("unknown", "not knowing "+meaning+" costs "+amps(u.CostA)+": "+measure)
	}
	if a.Holds > 0 && a.Ceiling.OutputW > 0 {
		h := &a.Hold[0]
		since := " if the charger was off until now"
		if q.Moment.SettingW > 0 {
			since = " from now"
		}
		if h.Minutes >= 1 && h.Minutes < never {
			say("hold", watts(h.OutputW)+" may be held for "+fixed(detmath.Floor(h.Minutes), 0)+" minutes"+since+", then back to "+watts(a.Ceiling.OutputW))
		} else if h.Minutes >= never {
			say("hold", watts(h.OutputW)+" may be held for an hour"+since+", then back to "+watts(a.Ceiling.OutputW))
		}
	}
	if a.Careful.Ageing > 0.5 && a.Careful.Ageing < 100 && a.Ceiling.OutputW > 0 {
		say("ageing", "at the ceiling the winding of a hot-running one ages at "+fixed(a.Careful.Ageing, 1)+" times its design rate, of the likeliest one at "+fixed(a.State.Ageing, 2))
	}

	if text := st.guard.ownWords(); text != "" {
		say("self_limiting", text)
	}

	a.Cautions = append(a.Cautions, cautions[:]...)
	if st.guard.protects() {
		a.Cautions = append(a.Cautions, cautionDrains)
	}
	if st.house.Given {
		if st.house.Chemistry == "lifepo4" {
			a.Cautions = append(a.Cautions, cautionFrost)
		} else {
			a.Cautions = append(a.Cautions, cautionGas)
		}
	}
}

// whyZero explains a ceiling of nothing.
func (st *study) whyZero(q *Request, a *Answer, s *scene) string {
	if a.Ceiling.InputA > 0 {
		return "the ceiling is less than one step of the charger's setting"
	}
	standing := ""
	if q.Moment.EngineRpm <= st.idleRpm*1.1 {
		standing = " at idle"
	}
	switch a.Ceiling.Limit {
	case limit.HouseBattery:
		switch {
		case st.house.Chemistry == "lifepo4" && s.cellC < 0:
			return "a LiFePO4 battery takes no charge below 0 °C"
		case s.cellC > 45:
			return "the house battery takes no charge when so hot"
		default:
			return "the house battery takes no charge now"
		}
	case limit.Output:
		switch {
		case q.Moment.EngineRpm == 0:
			return "the engine is not running"
		case a.AvailableA <= 0:
			return "the alternator turns too slowly to give any output"
		}
		gives := "everything this machine gives"
		if st.guard.mostA < never {
			gives = "everything the external regulator allows"
		}
		if s.vehicleW == 0 {
			return "the starter battery takes " + gives + standing
		}
		heat := ""
		if s.ambientC > 25 {
			heat = " in this heat"
		}
		return "vehicle loads already take " + gives + standing + heat
	case limit.CableDrop:
		return "the charger's lowest input voltage is above what reaches it"
	case limit.CableHeat:
		return "the air by the cable is hotter than its insulation stands"
	}
	if s.vehicleW == 0 {
		return "even with the charger off, " + limitWords(a.Ceiling.Limit) + " is at its limit" + standing
	}
	return "vehicle loads alone bring " + limitWords(a.Ceiling.Limit) + " to its limit" + standing
}

// flags says where the answer stands on thin ground.
func (st *study) flags(q *Request, a *Answer, o *operating) {
	flag := func(code, field, message string) { a.Validity = append(a.Validity, Flag{code, field, message}) }
	alt := "rig.alternator"
	if q.Rig.LearnedGiven && !st.posterior.on {
		flag("learned_stale", "rig.learned", "the alternator's description changed since its readings were learned from: they are not counted; fit again")
	}
	if o.speedRpm > 10000 {
		flag("speed_high", "moment.engine_rpm", "the alternator turns at "+fixed(o.speedRpm, 0)+" rpm: losses are extrapolated above 8000, and 18000 is the usual most")
	}
	if o.airC > 100 || q.Moment.AmbientC > 50 {
		flag("air_hot", "moment.ambient_C", "hotter air than the published figures cover")
	}
	if s := q.Moment.InletC; q.states("moment.inlet_C") && s < q.Moment.AmbientC-3 && st.coolantC == 0 {
		flag("inlet_cold", "moment.inlet_C", "air at the inlet is colder than outside: measure both again")
	}
	if hot := detmath.Max(detmath.Max(a.State.WindingC, a.Careful.WindingC), detmath.Max(a.State.RotorC, a.Careful.RotorC)); hot > 250 || a.Careful.JunctionC > 250 {
		flag("too_hot", "moment.vehicle_loads_W", "hotter than the model is good for: nothing survives this for long")
	}
	if st.shape.limitA > 2*st.shape.ratedA {
		flag("label_odd", alt, "a machine of this label would give far more than its rated current at speed: check the label's speeds")
	} else if st.shape.idleOff {
		flag("label_odd", alt+".idle_current_A", "no usual machine gives that idle current with that rated current: check the label's speeds")
	} else if st.shape.cutInRpm < 600 || st.shape.cutInRpm > 1800 {
		flag("cut_in_unusual", alt, "output begins at "+fixed(st.shape.cutInRpm, 0)+" rpm; published machines begin at 920 to 1340")
	}
	if st.shape.fitted && st.shape.fit.MaxResidualA > 0.05*st.shape.ratedA {
		flag("fit_poor", alt+".points", "the points miss the model's curve by up to "+amps(st.shape.fit.MaxResidualA))
	}
	if st.shape.fitted && len(q.Rig.Alternator.Points) < 3 {
		flag("fit_short", alt+".points", "fewer than three points: the rest of the curve is the usual one")
	} else if st.shape.fitted && (st.shape.rx < 0.02 || st.shape.rx > 0.15) {
		flag("fit_unusual", alt+".points", "the points put R/X at 6000 rpm at "+fixed(st.shape.rx, 3)+"; published curves give 0.05 to 0.11")
	}
	st.familyFlags(a)
	if q.Moment.AltitudeM > 4000 {
		flag("altitude_high", "moment.altitude_m", "thinner air than the figures were tried in")
	}
	if !q.Rig.Cable.Given {
		flag("cable_unknown", "rig.cable", "no cable described: its heat, drop and fuse are not checked")
	} else {
		if q.Rig.Cable.FuseA == 0 {
			flag("fuse_missing", "rig.cable.fuse_A", "no fuse given: a lead without one can burn; fit one within 178 mm of the battery's post")
		} else if most := st.lead.HeatA(o.leadC); most > 0 && !conductor.FuseProtects(q.Rig.Cable.FuseA, most) {
			flag("fuse_too_large", "rig.cable.fuse_A", "this fuse does not protect the cable: at most "+amps(detmath.Floor(conductor.FuseOverCable*most))+" in this heat")
		}
		if q.Rig.Charger.Given && a.Ceiling.Limit == limit.Fuse {
			flag("fuse_binds", "rig.cable.fuse_A", "the fuse sets the ceiling: it may age or open in use")
		}
	}
	if !q.Rig.Charger.Given {
		flag("charger_unknown", "rig.charger", "no charger described: its ratings are not checked, and its efficiency is assumed")
	}
	a.askMaximum(&q.Rig.HouseBattery)
	if !q.Rig.HouseBattery.Given {
		flag("house_battery_unknown", "rig.house_battery", "no house battery described: what it accepts is not checked")
	}
	if !q.statesField(fieldVehicleLoadsW) {
		flag("vehicle_loads_unknown", "moment.vehicle_loads_W", "the vehicle's own draw is assumed: "+watts(st.usualLoadsW())+
			", 30 % of the power on the alternator's label; read it with a clamp meter, charger off, and state it")
	}
}

// askMaximum asks the user to check a maker's maximum that is implausibly high.
func (a *Answer) askMaximum(b *rig.HouseBattery) {
	counted, odd := makersChargeA(b)
	if !b.Given || !odd {
		return
	}
	a.Validity = append(a.Validity, Flag{"max_charge_odd", "rig.house_battery.max_charge_A",
		"is " + amps(b.MaxChargeA) + " the largest charge current? Such a battery usually takes " + amps(usualChargeA(b)) +
			": read its data sheet again; the answer uses " + amps(counted) + ", twice the usual"})
}

// limitWords names a limit in a sentence.
func limitWords(i int) string {
	switch i {
	case limit.Output:
		return "the alternator's output"
	case limit.Winding:
		return "the stator winding's heat"
	case limit.Rectifier:
		return "the rectifier's heat"
	case limit.Rotor:
		return "the rotor's heat"
	case limit.Belt:
		return "the belt"
	case limit.CableHeat:
		return "the cable's heat"
	case limit.CableDrop:
		return "the voltage lost in the lead"
	case limit.Fuse:
		return "the fuse"
	case limit.ChargerInput:
		return "the charger's input rating"
	case limit.ChargerOutput:
		return "the charger's output rating"
	}
	return "the house battery"
}

// fixed writes so many decimals, a zero without a sign.
func fixed(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return s
}

// watts and amps round down: what they say is a limit.
func watts(v float64) string { return fixed(detmath.Floor(v+1e-9), 0) + " W" }

func amps(v float64) string {
	if v >= 10 {
		return fixed(detmath.Floor(v+1e-9), 0) + " A"
	}
	return fixed(detmath.Floor(v*10+1e-9)/10, 1) + " A"
}

func percent(v float64) string { return fixed(100*v, 0) + " %" }
