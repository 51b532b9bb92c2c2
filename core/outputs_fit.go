package core

// The table of outputs of a fit.
var fitOutputs = newOutputTable(fitLists[:], fitAnswerOutputs[:])

var fitLists = [...]outputList{
	{"moments[]", func(a *Answer) int { return fitMoments }},
	{"readings[]", func(a *Answer) int { return len(a.Learning.Readings) }},
	{"parameters[]", func(a *Answer) int { return parameters }},
	{"next[]", func(a *Answer) int { return len(a.Learning.Next) }},
	{"learned.means[]", func(a *Answer) int { return len(a.Learning.Means) }},
	{"learned.spread[]", func(a *Answer) int { return len(a.Learning.Spread) }},
	{"learned", func(a *Answer) int { return count(a.Learning.Keep) }},
	{"lead", func(a *Answer) int { return count(a.Learning.LeadOhm > 0) }},
	{"house_battery", func(a *Answer) int { return count(a.Learning.HouseAh > 0) }},
	{"starter_battery", func(a *Answer) int { return count(a.Learning.StarterSoc > 0) }},
	{"cranking", func(a *Answer) int { return count(a.Learning.Sag > 0) }},
	{"proposals[]", func(a *Answer) int { return len(a.Learning.Proposals) }},
}

func parameterOf(i int) (name, meaning, unit string) {
	if i < unknowns {
		u := &Unknowns[i]
		return u.Name, u.Meaning, u.Unit
	}
	n := &Nuisances[i-unknowns]
	return n.Name, n.Meaning, n.Unit
}

var fitAnswerOutputs = [...]Output{
	{Path: "verdict", Meaning: "learned, nothing_learned, contradiction or not_converged", text: func(a *Answer, _ int) string { return fitVerdictNames[a.Learning.Verdict] }},
	{Path: "keep", Meaning: "yes or no: what was learned may be relied on", text: func(a *Answer, _ int) string { return ifTrue(a.Learning.Keep, "yes", "no") }},
	{Path: "confidence", Unit: "1", Meaning: "share of plausible vehicles for which the ceilings are safe", num: func(a *Answer, _ int) float64 { return a.Confidence }},
	{Path: "search.iterations", Unit: "1", Meaning: "steps of the search, all starts together", num: func(a *Answer, _ int) float64 { return float64(a.Learning.Iterations) }},
	{Path: "search.starts", Unit: "1", Meaning: "points from which it set out", num: func(a *Answer, _ int) float64 { return float64(a.Learning.Starts) }},
	{Path: "search.agreeing", Unit: "1", Meaning: "how many of them ended at the same place", num: func(a *Answer, _ int) float64 { return float64(a.Learning.Agreeing) }},
	{Path: "search.misfit", Unit: "1", Meaning: "sum of squared residuals in deviations and of squared parameters; about the number of readings where all is well", num: func(a *Answer, _ int) float64 { return a.Learning.Misfit }},

	{Path: "moments[].engine_rpm", Unit: "rpm", Meaning: "engine speed: of the moment asked, idling, and driving slowly and faster", num: func(a *Answer, i int) float64 { return a.Learning.Moments[i].EngineRpm }},
	{Path: "moments[].speed_kmh", Unit: "km/h", Meaning: "road speed", num: func(a *Answer, i int) float64 { return a.Learning.Moments[i].SpeedKmh }},
	{Path: "moments[].ambient_C", Unit: "°C", Meaning: "air", num: func(a *Answer, i int) float64 { return a.Learning.Moments[i].AmbientC }},
	{Path: "moments[].before_A", Unit: "A", Meaning: "ceiling into the charger before", num: func(a *Answer, i int) float64 { return a.Learning.Moments[i].Before.InputA }},
	{Path: "moments[].after_A", Unit: "A", Meaning: "and after", num: func(a *Answer, i int) float64 { return a.Learning.Moments[i].After.InputA }},
	{Path: "moments[].before_W", Unit: "W", Meaning: "advised setting before", num: func(a *Answer, i int) float64 { return a.Learning.Moments[i].Before.SettingW }},
	{Path: "moments[].after_W", Unit: "W", Meaning: "and after", num: func(a *Answer, i int) float64 { return a.Learning.Moments[i].After.SettingW }},
	{Path: "moments[].likeliest_before_A", Unit: "A", Meaning: "ceiling of the likeliest vehicle before", num: func(a *Answer, i int) float64 { return a.Learning.Moments[i].Before.LikeliestA }},
	{Path: "moments[].likeliest_after_A", Unit: "A", Meaning: "and after", num: func(a *Answer, i int) float64 { return a.Learning.Moments[i].After.LikeliestA }},

	{Path: "readings[].row", Unit: "1", Meaning: "row of rig.observations, from 0", num: func(a *Answer, i int) float64 { return float64(a.Learning.Readings[i].Row) }},
	{Path: "readings[].reading", Meaning: "what was read", text: func(a *Answer, i int) string { return instrumentTable[a.Learning.Readings[i].Kind].field }},
	{Path: "readings[].unit", Meaning: "its unit", text: func(a *Answer, i int) string { return instrumentTable[a.Learning.Readings[i].Kind].unit }},
	{Path: "readings[].value", Meaning: "as read", num: func(a *Answer, i int) float64 { return a.Learning.Readings[i].Value }},
	{Path: "readings[].expected", Meaning: "in the likeliest vehicle", num: func(a *Answer, i int) float64 { return a.Learning.Readings[i].Expected }},
	{Path: "readings[].deviation", Meaning: "standard deviation of one such reading", num: func(a *Answer, i int) float64 { return a.Learning.Readings[i].Deviation }},
	{Path: "readings[].off", Unit: "1", Meaning: "how far off, in deviations", num: func(a *Answer, i int) float64 { return a.Learning.Readings[i].sigmas() }},
	{Path: "readings[].outlier", Meaning: "yes or no: it fits no plausible vehicle together with the others", text: func(a *Answer, i int) string { return ifTrue(a.Learning.Readings[i].Outlier, "yes", "no") }},

	{Path: "parameters[].parameter", Meaning: "an unknown of the ceiling, or an instrument's error", text: func(_ *Answer, i int) string { s, _, _ := parameterOf(i); return s }},
	{Path: "parameters[].meaning", Meaning: "for a person", text: func(_ *Answer, i int) string { _, s, _ := parameterOf(i); return s }},
	{Path: "parameters[].unit", Meaning: "of its spread; 1: a share of it", text: func(_ *Answer, i int) string { _, _, s := parameterOf(i); return s }},
	{Path: "parameters[].prior", Meaning: "its spread before", num: func(a *Answer, i int) float64 { return a.Learning.Parameters[i].Prior }},
	{Path: "parameters[].mean", Unit: "1", Meaning: "where it most likely lies, in spreads", num: func(a *Answer, i int) float64 { return a.Learning.Parameters[i].Mean }},
	{Path: "parameters[].spread", Unit: "1", Meaning: "its spread now over that before", num: func(a *Answer, i int) float64 { return a.Learning.Parameters[i].Spread }},
	{Path: "parameters[].informed", Meaning: "yes or no: the readings told something of it", text: func(a *Answer, i int) string { return ifTrue(a.Learning.Parameters[i].Informed, "yes", "no") }},

	{Path: "next[].reading", Meaning: "what to read next, best first", text: func(a *Answer, i int) string { return suggestions[a.Learning.Next[i].Which].name }},
	{Path: "next[].gain_A", Unit: "A", Meaning: "expected gain of the ceiling at the moment asked", num: func(a *Answer, i int) float64 { return a.Learning.Next[i].GainA }},
	{Path: "next[].how", Meaning: "how, safely", text: func(a *Answer, i int) string { return suggestions[a.Learning.Next[i].Which].how }},

	{Path: "lead.mohm", Unit: "mΩ", Meaning: "resistance of the charger's lead, out and back", num: func(a *Answer, _ int) float64 { return 1e3 * a.Learning.LeadOhm }},
	{Path: "lead.spread_mohm", Unit: "mΩ", Meaning: "standard deviation", num: func(a *Answer, _ int) float64 { return 1e3 * a.Learning.LeadSpread }},
	{Path: "house_battery.capacity_Ah", Unit: "Ah", Meaning: "capacity as it behaves", num: func(a *Answer, _ int) float64 { return a.Learning.HouseAh }},
	{Path: "house_battery.spread_Ah", Unit: "Ah", Meaning: "standard deviation", num: func(a *Answer, _ int) float64 { return a.Learning.HouseAhOff }},
	{Path: "starter_battery.soc", Unit: "1", Meaning: "state of charge when last read at rest", num: func(a *Answer, _ int) float64 { return a.Learning.StarterSoc }},
	{Path: "starter_battery.spread_soc", Unit: "1", Meaning: "standard deviation", num: func(a *Answer, _ int) float64 { return a.Learning.StarterSocOff }},
	{Path: "cranking.sag", Unit: "1", Meaning: "fall of the volts while the engine is turned, against what the battery's rating and the engine's size tell", num: func(a *Answer, _ int) float64 { return a.Learning.Sag }},
	{Path: "cranking.spread_sag", Unit: "1", Meaning: "standard deviation", num: func(a *Answer, _ int) float64 { return a.Learning.SagOff }},
	{Path: "proposals[].input", Meaning: "an input that these readings give a value; it is not put into the rig by itself", text: func(a *Answer, i int) string { return a.Learning.Proposals[i].Input }},
	{Path: "proposals[].value", Meaning: "in the input's unit; better than assumed only as far as the confidence allows", num: func(a *Answer, i int) float64 { return a.Learning.Proposals[i].Value }},
	{Path: "proposals[].why", Meaning: "for a person", text: func(a *Answer, i int) string { return a.Learning.Proposals[i].Why }},

	{Path: "learned.from", Meaning: "mark of the alternator's description; put learned into the rig as rig.learned", text: func(a *Answer, _ int) string { return a.Learning.From }},
	{Path: "learned.standing_mean", Unit: "1", Meaning: "of the inlet air's rise standing, in spreads of inlet_rise", num: func(a *Answer, _ int) float64 { return a.Learning.StandingMean }},
	{Path: "learned.standing_spread", Unit: "1", Meaning: "its spread", num: func(a *Answer, _ int) float64 { return a.Learning.StandingSpread }},
	{Path: "learned.means[].unknown", Meaning: "name in the table of unknowns", text: func(a *Answer, i int) string { return a.Learning.Means[i].Unknown }},
	{Path: "learned.means[].mean", Unit: "1", Meaning: "where it most likely lies, in spreads", num: func(a *Answer, i int) float64 { return a.Learning.Means[i].Mean }},
	{Path: "learned.spread[].unknown", Meaning: "unknown that is spread", text: func(a *Answer, i int) string { return a.Learning.Spread[i].Unknown }},
	{Path: "learned.spread[].by", Meaning: "direction in which", text: func(a *Answer, i int) string { return a.Learning.Spread[i].By }},
	{Path: "learned.spread[].value", Unit: "1", Meaning: "how far, in spreads", num: func(a *Answer, i int) float64 { return a.Learning.Spread[i].Value }},
}

// FitJSON writes the answer of Fit by the table of outputs.
func (a *Answer) FitJSON() []byte { return fitOutputs.encode(make([]byte, 0, 8192), a) }

// FitOutputs returns a copy of the table of outputs of a fit.
func FitOutputs() []Output { return append([]Output(nil), fitOutputs.outputs...) }
