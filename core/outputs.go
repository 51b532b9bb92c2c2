package core

// The table of outputs: every value of an Answer, once, in the order written.
var outputs = outputTable{lists: answerLists[:], outputs: answerOutputs[:]}

var answerLists = [...]outputList{
	{"limits[]", func(a *Answer) int { return limitCount }},
	{"hold[]", func(a *Answer) int { return a.Holds }},
	{"unknowns[]", func(a *Answer) int { return unknowns }},
	{"validity[]", func(a *Answer) int { return len(a.Validity) }},
	{"says[]", func(a *Answer) int { return len(a.Says) }},
	{"cautions[]", func(a *Answer) int { return len(a.Cautions) }},
	{"wiring", func(a *Answer) int { return count(a.HasCable) }},
	{"fit", func(a *Answer) int { return count(a.fitted) }},
}

func count(b bool) int {
	if b {
		return 1
	}
	return 0
}

// value makes an output of a number that is always there.
func value(path, unit, meaning string, get func(a *Answer) float64) Output {
	return Output{Path: path, Unit: unit, Meaning: meaning, num: func(a *Answer, _ int) (float64, bool) { return get(a), true }}
}

// bounded makes an output that is null where its value is never.
func bounded(path, unit, meaning string, get func(a *Answer, i int) float64) Output {
	return Output{Path: path, Unit: unit, Meaning: meaning, num: func(a *Answer, i int) (float64, bool) {
		v := get(a, i)
		return v, v < never
	}}
}

// words makes an output of a text.
func words(path, meaning string, get func(a *Answer, i int) string) Output {
	return Output{Path: path, Meaning: meaning, text: get}
}

var answerOutputs = [...]Output{
	value("advice.output_W", "W", "setting to choose: the lower of now and if you stop", func(a *Answer) float64 { return a.Advice.OutputW }),
	value("advice.output_A", "A", "the same at the house battery's charging voltage", func(a *Answer) float64 { return a.Advice.OutputA }),
	value("advice.draw_A", "A", "what that setting draws at the charger's input, likeliest", func(a *Answer) float64 { return a.Advice.DrawA }),
	value("advice.input_A", "A", "current into the charger not to be passed", func(a *Answer) float64 { return a.Advice.InputA }),
	words("advice.because", "now or after_idle: which is the lower", func(a *Answer, _ int) string {
		if a.AdviceIdle {
			return "after_idle"
		}
		return "now"
	}),

	value("ceiling.input_A", "A", "largest safe current into the charger, rounded down to 0.1 A", func(a *Answer) float64 { return a.Ceiling.InputA }),
	value("ceiling.output_A", "A", "output_W at the house battery's charging voltage", func(a *Answer) float64 { return a.Ceiling.OutputA }),
	value("ceiling.output_W", "W", "largest safe setting, rounded down to the charger's step", func(a *Answer) float64 { return a.Ceiling.OutputW }),
	value("ceiling.draw_A", "A", "what the setting draws at the charger's input, likeliest", func(a *Answer) float64 { return a.Ceiling.DrawA }),
	words("ceiling.limit", "the limit that sets it", func(a *Answer, _ int) string { return Limits[a.Ceiling.Limit].Name }),
	value("ceiling.confidence", "1", "share of plausible vehicles for which it is safe", func(a *Answer) float64 { return a.Confidence }),

	value("nominal.input_A", "A", "ceiling of the likeliest vehicle", func(a *Answer) float64 { return a.Nominal.InputA }),
	value("nominal.output_A", "A", "output_W at the house battery's charging voltage", func(a *Answer) float64 { return a.Nominal.OutputA }),
	value("nominal.output_W", "W", "setting for the likeliest vehicle", func(a *Answer) float64 { return a.Nominal.OutputW }),
	words("nominal.limit", "the limit that sets it", func(a *Answer, _ int) string { return Limits[a.Nominal.Limit].Name }),

	words("limits[].limit", "limit", func(a *Answer, i int) string { return Limits[a.Limits[i].Limit].Name }),
	bounded("limits[].input_A", "A", "its own ceiling at the asked confidence; null: never binds", func(a *Answer, i int) float64 { return a.Limits[i].InputA }),
	bounded("limits[].nominal_A", "A", "its own ceiling in the likeliest vehicle; null: never binds", func(a *Answer, i int) float64 { return a.Limits[i].NominalA }),
	words("limits[].meaning", "what is limited", func(a *Answer, i int) string { return Limits[a.Limits[i].Limit].Meaning }),

	value("temperatures_C.stator_winding", "°C", "mean of the winding at the ceiling, likeliest vehicle", func(a *Answer) float64 { return a.State.WindingC }),
	value("temperatures_C.stator_core", "°C", "core and housings", func(a *Answer) float64 { return a.State.CoreC }),
	value("temperatures_C.rectifier_junction", "°C", "diode junction", func(a *Answer) float64 { return a.State.JunctionC }),
	value("temperatures_C.rotor", "°C", "mean of the field winding", func(a *Answer) float64 { return a.State.RotorC }),
	value("temperatures_C.inlet_air", "°C", "air at the alternator's inlet", func(a *Answer) float64 { return a.State.InletC }),
	value("careful_C.stator_winding", "°C", "the same for the vehicle at the edge of the confidence", func(a *Answer) float64 { return a.Careful.WindingC }),
	value("careful_C.stator_core", "°C", "core and housings", func(a *Answer) float64 { return a.Careful.CoreC }),
	value("careful_C.rectifier_junction", "°C", "diode junction", func(a *Answer) float64 { return a.Careful.JunctionC }),
	value("careful_C.rotor", "°C", "mean of the field winding", func(a *Answer) float64 { return a.Careful.RotorC }),
	value("careful_C.inlet_air", "°C", "air at the alternator's inlet", func(a *Answer) float64 { return a.Careful.InletC }),
	value("design_C.stator_winding", "°C", "design value of the insulation class, mean of the winding", func(a *Answer) float64 { return a.Design.WindingC }),
	value("design_C.rectifier_junction", "°C", "design value of the diodes", func(a *Answer) float64 { return a.Design.JunctionC }),
	value("design_C.rotor", "°C", "design value of the field winding", func(a *Answer) float64 { return a.Design.RotorC }),

	value("alternator.current_A", "A", "output at the ceiling, vehicle loads included, likeliest", func(a *Answer) float64 { return a.AlternatorA }),
	value("alternator.available_A", "A", "output at full field and the same temperatures", func(a *Answer) float64 { return a.AvailableA }),
	value("alternator.other_A", "A", "what vehicle and starter battery take of it", func(a *Answer) float64 { return a.OtherA }),
	value("alternator.speed_rpm", "rpm", "alternator speed", func(a *Answer) float64 { return a.SpeedRpm }),
	value("alternator.bus_V", "V", "voltage at the alternator", func(a *Answer) float64 { return a.BusV }),
	value("alternator.shaft_W", "W", "power taken from the belt", func(a *Answer) float64 { return a.ShaftW }),
	value("alternator.efficiency", "1", "electrical output over shaft power", func(a *Answer) float64 { return a.Efficiency }),
	value("alternator.losses_W.stator_copper", "W", "stator winding", func(a *Answer) float64 { return a.Losses.StatorCopper }),
	value("alternator.losses_W.rectifier", "W", "diodes", func(a *Answer) float64 { return a.Losses.Rectifier }),
	value("alternator.losses_W.field", "W", "field winding", func(a *Answer) float64 { return a.Losses.Field }),
	value("alternator.losses_W.iron", "W", "core", func(a *Answer) float64 { return a.Losses.Iron }),
	value("alternator.losses_W.mechanical", "W", "friction and fan", func(a *Answer) float64 { return a.Losses.Mechanical }),

	value("insulation.ageing", "1", "ageing of the winding's insulation at the ceiling over that at the design value, likeliest", func(a *Answer) float64 { return a.State.Ageing }),
	value("insulation.careful_ageing", "1", "the same for the vehicle at the edge of the confidence", func(a *Answer) float64 { return a.Careful.Ageing }),

	bounded("hold[].output_W", "W", "a higher setting", func(a *Answer, i int) float64 { return a.Hold[i].OutputW }),
	bounded("hold[].input_A", "A", "what it draws in the vehicle at the edge of the confidence", func(a *Answer, i int) float64 { return a.Hold[i].InputA }),
	bounded("hold[].minutes", "min", "for how long it may be held from now; null: for the hour looked at", func(a *Answer, i int) float64 { return a.Hold[i].Minutes }),
	words("hold[].limit", "the limit reached then; null: none", func(a *Answer, i int) string {
		if a.Hold[i].Minutes >= never {
			return ""
		}
		return Limits[a.Hold[i].Limit].Name
	}),

	value("after_idle.input_A", "A", "ceiling ten minutes after stopping with the engine idling", func(a *Answer) float64 { return a.AfterIdle.InputA }),
	value("after_idle.output_A", "A", "output_W at the house battery's charging voltage", func(a *Answer) float64 { return a.AfterIdle.OutputA }),
	value("after_idle.output_W", "W", "setting for that", func(a *Answer) float64 { return a.AfterIdle.OutputW }),
	words("after_idle.limit", "the limit that sets it", func(a *Answer, _ int) string { return Limits[a.AfterIdle.Limit].Name }),
	value("after_idle.inlet_air_C", "°C", "air at the alternator's inlet then, likeliest", func(a *Answer) float64 { return a.IdleInletC }),
	value("after_idle.minutes", "min", "how long it has idled", func(a *Answer) float64 { return idleMinutes }),

	words("costliest_unknown.unknown", "what not knowing costs most", func(a *Answer, _ int) string { return Unknowns[a.Unknowns[0].Unknown].Name }),
	value("costliest_unknown.cost_A", "A", "how much higher the ceiling would be if it were known to be as likeliest", func(a *Answer) float64 { return a.Unknowns[0].CostA }),
	words("costliest_unknown.measure", "what to observe", func(a *Answer, _ int) string { return Unknowns[a.Unknowns[0].Unknown].Measure }),
	words("unknowns[].unknown", "name in the table of unknowns", func(a *Answer, i int) string { return Unknowns[a.Unknowns[i].Unknown].Name }),
	bounded("unknowns[].cost_A", "A", "what not knowing it costs", func(a *Answer, i int) float64 { return a.Unknowns[i].CostA }),
	words("unknowns[].measure", "what to observe", func(a *Answer, i int) string { return Unknowns[a.Unknowns[i].Unknown].Measure }),

	value("wiring.lead_ohm", "Ω", "lead out and back at the ceiling", func(a *Answer) float64 { return a.LeadOhm }),
	value("wiring.drop_V", "V", "voltage lost in it", func(a *Answer) float64 { return a.LeadDropV }),
	value("wiring.charger_V", "V", "voltage at the charger", func(a *Answer) float64 { return a.ChargerV }),
	value("wiring.conductor_C", "°C", "conductor temperature", func(a *Answer) float64 { return a.ConductorC }),
	value("wiring.ampacity_A", "A", "continuous current of the cable in this heat", func(a *Answer) float64 { return a.AmpacityA }),
	{Path: "wiring.fuse_continuous_A", Unit: "A", Meaning: "continuous current of the fuse in this heat; null: none given", num: func(a *Answer, _ int) (float64, bool) {
		return a.FuseContinuousA, a.FuseContinuousA > 0
	}},

	value("fit.cut_in_rpm", "rpm", "fitted speed at which output begins", func(a *Answer) float64 { return a.fit.CutInRpm }),
	value("fit.limit_current_A", "A", "fitted output at infinite speed without resistance", func(a *Answer) float64 { return a.fit.LimitA }),
	value("fit.r_over_x_6000", "1", "fitted R/X at 6000 rpm", func(a *Answer) float64 { return a.fit.RX }),
	value("fit.max_residual_A", "A", "largest miss of a point", func(a *Answer) float64 { return a.fit.MaxResidualA }),

	words("validity[].code", "stable code", func(a *Answer, i int) string { return a.Validity[i].Code }),
	words("validity[].field", "input it is about", func(a *Answer, i int) string { return a.Validity[i].Field }),
	words("validity[].message", "for a person", func(a *Answer, i int) string { return a.Validity[i].Message }),
	words("says[].code", "stable code", func(a *Answer, i int) string { return a.Says[i].Code }),
	words("says[].text", "for a person", func(a *Answer, i int) string { return a.Says[i].Text }),
	words("cautions[]", "for a person", func(a *Answer, i int) string { return a.Cautions[i] }),
}
