package core

import "spareamps/core/limit"

// The table of outputs: every value of an Answer, once, in the order written.
var outputs = newOutputTable(answerLists[:], answerOutputs[:])

var answerLists = [...]outputList{
	{"limits[]", func(a *Answer) int { return limit.Count }},
	{"hold[]", func(a *Answer) int { return a.Holds }},
	{"unknowns[]", func(a *Answer) int { return unknowns }},
	{"wiring", func(a *Answer) int { return count(a.HasCable) }},
	{"fit", func(a *Answer) int { return count(a.fitted) }},
}

func count(b bool) int {
	if b {
		return 1
	}
	return 0
}

var answerOutputs = [...]Output{
	{Path: "advice.output_W", Unit: "W", Meaning: "setting to choose: the lower of now and if you stop", num: func(a *Answer, _ int) float64 { return a.Advice.OutputW }},
	{Path: "advice.output_A", Unit: "A", Meaning: "the same at the house battery's charging voltage", num: func(a *Answer, _ int) float64 { return a.Advice.OutputA }},
	{Path: "advice.draw_A", Unit: "A", Meaning: "what that setting draws at the charger's input, likeliest", num: func(a *Answer, _ int) float64 { return a.Advice.DrawA }},
	{Path: "advice.input_A", Unit: "A", Meaning: "current into the charger not to be passed", num: func(a *Answer, _ int) float64 { return a.Advice.InputA }},
	{Path: "advice.because", Meaning: "now or after_idle: which is the lower", Codes: []string{"now", "after_idle"}, code: func(a *Answer, _ int) int { return count(a.AdviceIdle) }},

	{Path: "ceiling.input_A", Unit: "A", Meaning: "largest safe current into the charger, rounded down to 0.1 A", num: func(a *Answer, _ int) float64 { return a.Ceiling.InputA }},
	{Path: "ceiling.output_A", Unit: "A", Meaning: "output_W at the house battery's charging voltage", num: func(a *Answer, _ int) float64 { return a.Ceiling.OutputA }},
	{Path: "ceiling.output_W", Unit: "W", Meaning: "largest safe setting, rounded down to the charger's step", num: func(a *Answer, _ int) float64 { return a.Ceiling.OutputW }},
	{Path: "ceiling.draw_A", Unit: "A", Meaning: "what the setting draws at the charger's input, likeliest", num: func(a *Answer, _ int) float64 { return a.Ceiling.DrawA }},
	{Path: "ceiling.limit", Meaning: "the limit that sets it", Codes: limit.Names, code: func(a *Answer, _ int) int { return a.Ceiling.Limit }},
	{Path: "ceiling.confidence", Unit: "1", Meaning: "share of plausible vehicles for which it is safe", num: func(a *Answer, _ int) float64 { return a.Confidence }},

	{Path: "nominal.input_A", Unit: "A", Meaning: "ceiling of the likeliest vehicle", num: func(a *Answer, _ int) float64 { return a.Nominal.InputA }},
	{Path: "nominal.output_A", Unit: "A", Meaning: "output_W at the house battery's charging voltage", num: func(a *Answer, _ int) float64 { return a.Nominal.OutputA }},
	{Path: "nominal.output_W", Unit: "W", Meaning: "setting for the likeliest vehicle", num: func(a *Answer, _ int) float64 { return a.Nominal.OutputW }},
	{Path: "nominal.limit", Meaning: "the limit that sets it", Codes: limit.Names, code: func(a *Answer, _ int) int { return a.Nominal.Limit }},

	{Path: "limits[].limit", Meaning: "limit", Codes: limit.Names, code: func(a *Answer, i int) int { return a.Limits[i].Limit }},
	{Path: "limits[].input_A", Unit: "A", Meaning: "its own ceiling at the asked confidence; null: never binds", num: func(a *Answer, i int) float64 { return a.Limits[i].InputA }},
	{Path: "limits[].nominal_A", Unit: "A", Meaning: "its own ceiling in the likeliest vehicle; null: never binds", num: func(a *Answer, i int) float64 { return a.Limits[i].NominalA }},
	{Path: "limits[].meaning", Meaning: "what is limited", text: func(a *Answer, i int) string { return limit.Table[a.Limits[i].Limit].Meaning }},

	{Path: "temperatures_C.stator_winding", Unit: "°C", Meaning: "mean of the winding at the ceiling, likeliest vehicle", num: func(a *Answer, _ int) float64 { return a.State.WindingC }},
	{Path: "temperatures_C.stator_core", Unit: "°C", Meaning: "core and housings", num: func(a *Answer, _ int) float64 { return a.State.CoreC }},
	{Path: "temperatures_C.rectifier_junction", Unit: "°C", Meaning: "diode junction", num: func(a *Answer, _ int) float64 { return a.State.JunctionC }},
	{Path: "temperatures_C.rotor", Unit: "°C", Meaning: "mean of the field winding", num: func(a *Answer, _ int) float64 { return a.State.RotorC }},
	{Path: "temperatures_C.inlet_air", Unit: "°C", Meaning: "air at the alternator's inlet", num: func(a *Answer, _ int) float64 { return a.State.InletC }},
	{Path: "careful_C.stator_winding", Unit: "°C", Meaning: "the same for the vehicle at the edge of the confidence", num: func(a *Answer, _ int) float64 { return a.Careful.WindingC }},
	{Path: "careful_C.stator_core", Unit: "°C", Meaning: "core and housings", num: func(a *Answer, _ int) float64 { return a.Careful.CoreC }},
	{Path: "careful_C.rectifier_junction", Unit: "°C", Meaning: "diode junction", num: func(a *Answer, _ int) float64 { return a.Careful.JunctionC }},
	{Path: "careful_C.rotor", Unit: "°C", Meaning: "mean of the field winding", num: func(a *Answer, _ int) float64 { return a.Careful.RotorC }},
	{Path: "careful_C.inlet_air", Unit: "°C", Meaning: "air at the alternator's inlet", num: func(a *Answer, _ int) float64 { return a.Careful.InletC }},
	{Path: "design_C.stator_winding", Unit: "°C", Meaning: "design value of the insulation class, mean of the winding", num: func(a *Answer, _ int) float64 { return a.Design.WindingC }},
	{Path: "design_C.rectifier_junction", Unit: "°C", Meaning: "design value of the diodes", num: func(a *Answer, _ int) float64 { return a.Design.JunctionC }},
	{Path: "design_C.rotor", Unit: "°C", Meaning: "design value of the field winding", num: func(a *Answer, _ int) float64 { return a.Design.RotorC }},

	{Path: "alternator.current_A", Unit: "A", Meaning: "output at the ceiling, vehicle loads included, likeliest", num: func(a *Answer, _ int) float64 { return a.AlternatorA }},
	{Path: "alternator.available_A", Unit: "A", Meaning: "output at full field and the same temperatures", num: func(a *Answer, _ int) float64 { return a.AvailableA }},
	{Path: "alternator.other_A", Unit: "A", Meaning: "what vehicle and starter battery take of it", num: func(a *Answer, _ int) float64 { return a.OtherA }},
	{Path: "alternator.speed_rpm", Unit: "rpm", Meaning: "alternator speed", num: func(a *Answer, _ int) float64 { return a.SpeedRpm }},
	{Path: "alternator.bus_V", Unit: "V", Meaning: "voltage at the alternator", num: func(a *Answer, _ int) float64 { return a.BusV }},
	{Path: "alternator.shaft_W", Unit: "W", Meaning: "power taken from the belt", num: func(a *Answer, _ int) float64 { return a.ShaftW }},
	{Path: "alternator.efficiency", Unit: "1", Meaning: "electrical output over shaft power", num: func(a *Answer, _ int) float64 { return a.Efficiency }},
	{Path: "alternator.losses_W.stator_copper", Unit: "W", Meaning: "stator winding", num: func(a *Answer, _ int) float64 { return a.Losses.StatorCopper }},
	{Path: "alternator.losses_W.rectifier", Unit: "W", Meaning: "diodes", num: func(a *Answer, _ int) float64 { return a.Losses.Rectifier }},
	{Path: "alternator.losses_W.field", Unit: "W", Meaning: "field winding", num: func(a *Answer, _ int) float64 { return a.Losses.Field }},
	{Path: "alternator.losses_W.iron", Unit: "W", Meaning: "core", num: func(a *Answer, _ int) float64 { return a.Losses.Iron }},
	{Path: "alternator.losses_W.mechanical", Unit: "W", Meaning: "friction and fan", num: func(a *Answer, _ int) float64 { return a.Losses.Mechanical }},

	{Path: "insulation.ageing", Unit: "1", Meaning: "ageing of the winding's insulation at the ceiling over that at the design value, likeliest", num: func(a *Answer, _ int) float64 { return a.State.Ageing }},
	{Path: "insulation.careful_ageing", Unit: "1", Meaning: "the same for the vehicle at the edge of the confidence", num: func(a *Answer, _ int) float64 { return a.Careful.Ageing }},

	{Path: "hold[].output_W", Unit: "W", Meaning: "a higher setting", num: func(a *Answer, i int) float64 { return a.Hold[i].OutputW }},
	{Path: "hold[].input_A", Unit: "A", Meaning: "what it draws in the vehicle at the edge of the confidence", num: func(a *Answer, i int) float64 { return a.Hold[i].InputA }},
	{Path: "hold[].minutes", Unit: "min", Meaning: "for how long it may be held from now; null: for the hour looked at", num: func(a *Answer, i int) float64 { return a.Hold[i].Minutes }},
	{Path: "hold[].limit", Meaning: "the limit reached then; null: none", Codes: limit.Names, code: func(a *Answer, i int) int {
		if a.Hold[i].Minutes >= never {
			return -1
		}
		return a.Hold[i].Limit
	}},

	{Path: "after_idle.input_A", Unit: "A", Meaning: "ceiling ten minutes after stopping with the engine idling", num: func(a *Answer, _ int) float64 { return a.AfterIdle.InputA }},
	{Path: "after_idle.output_A", Unit: "A", Meaning: "output_W at the house battery's charging voltage", num: func(a *Answer, _ int) float64 { return a.AfterIdle.OutputA }},
	{Path: "after_idle.output_W", Unit: "W", Meaning: "setting for that", num: func(a *Answer, _ int) float64 { return a.AfterIdle.OutputW }},
	{Path: "after_idle.limit", Meaning: "the limit that sets it", Codes: limit.Names, code: func(a *Answer, _ int) int { return a.AfterIdle.Limit }},
	{Path: "after_idle.inlet_air_C", Unit: "°C", Meaning: "air at the alternator's inlet then, likeliest", num: func(a *Answer, _ int) float64 { return a.IdleInletC }},
	{Path: "after_idle.minutes", Unit: "min", Meaning: "how long it has idled", num: func(a *Answer, _ int) float64 { return idleMinutes }},

	{Path: "costliest_unknown.unknown", Meaning: "what not knowing costs most", Codes: unknownNames, code: func(a *Answer, _ int) int { return a.Unknowns[0].Unknown }},
	{Path: "costliest_unknown.cost_A", Unit: "A", Meaning: "how much higher the ceiling would be if it were known to be as likeliest", num: func(a *Answer, _ int) float64 { return a.Unknowns[0].CostA }},
	{Path: "costliest_unknown.measure", Meaning: "what to observe", text: func(a *Answer, _ int) string { return Unknowns[a.Unknowns[0].Unknown].Measure }},
	{Path: "unknowns[].unknown", Meaning: "name in the table of unknowns", Codes: unknownNames, code: func(a *Answer, i int) int { return a.Unknowns[i].Unknown }},
	{Path: "unknowns[].cost_A", Unit: "A", Meaning: "what not knowing it costs", num: func(a *Answer, i int) float64 { return a.Unknowns[i].CostA }},
	{Path: "unknowns[].measure", Meaning: "what to observe", text: func(a *Answer, i int) string { return Unknowns[a.Unknowns[i].Unknown].Measure }},

	{Path: "wiring.lead_ohm", Unit: "Ω", Meaning: "lead out and back at the ceiling", num: func(a *Answer, _ int) float64 { return a.LeadOhm }},
	{Path: "wiring.drop_V", Unit: "V", Meaning: "voltage lost in it", num: func(a *Answer, _ int) float64 { return a.LeadDropV }},
	{Path: "wiring.charger_V", Unit: "V", Meaning: "voltage at the charger", num: func(a *Answer, _ int) float64 { return a.ChargerV }},
	{Path: "wiring.conductor_C", Unit: "°C", Meaning: "conductor temperature", num: func(a *Answer, _ int) float64 { return a.ConductorC }},
	{Path: "wiring.ampacity_A", Unit: "A", Meaning: "continuous current of the cable in this heat", num: func(a *Answer, _ int) float64 { return a.AmpacityA }},
	{Path: "wiring.fuse_continuous_A", Unit: "A", Meaning: "continuous current of the fuse in this heat; null: none given", num: func(a *Answer, _ int) float64 {
		if a.FuseContinuousA == 0 {
			return never
		}
		return a.FuseContinuousA
	}},

	{Path: "fit.cut_in_rpm", Unit: "rpm", Meaning: "fitted speed at which output begins", num: func(a *Answer, _ int) float64 { return a.fit.CutInRpm }},
	{Path: "fit.limit_current_A", Unit: "A", Meaning: "fitted output at infinite speed without resistance", num: func(a *Answer, _ int) float64 { return a.fit.LimitA }},
	{Path: "fit.r_over_x_6000", Unit: "1", Meaning: "fitted R/X at 6000 rpm", num: func(a *Answer, _ int) float64 { return a.fit.RX }},
	{Path: "fit.max_residual_A", Unit: "A", Meaning: "largest miss of a point", num: func(a *Answer, _ int) float64 { return a.fit.MaxResidualA }},
}
