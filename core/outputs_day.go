package core

import (
	"spareamps/core/calendar"
	"spareamps/core/detmath"
	"spareamps/core/limit"
)

// The table of outputs of a day.
var dayOutputs = newOutputTable(dayLists[:], dayAnswerOutputs[:])

func seriesRows(a *Answer) int { return a.Plan.Series.rows }

var dayLists = [...]outputList{
	{"stretches[]", func(a *Answer) int { return len(a.Plan.Stretches) }},
	{"handovers[]", func(a *Answer) int { return len(a.Plan.Handovers) }},
	{"nights[]", func(a *Answer) int { return len(a.Plan.Nights) }},
	{"remedies[]", func(a *Answer) int { return len(a.Plan.Remedies) }},
	{"ledger[]", func(a *Answer) int { return len(a.Plan.Ledger) }},
	{"series", func(a *Answer) int { return count(a.Plan.Series.rows > 0) }},
	{"series.at[]", seriesRows},
	{"series.at_min[]", seriesRows},
	{"series.house_soc[]", seriesRows},
	{"series.starter_soc[]", seriesRows},
	{"series.starter_V[]", seriesRows},
	{"series.charge_W[]", seriesRows},
	{"series.allowed_W[]", seriesRows},
	{"series.ceiling_W[]", seriesRows},
	{"series.alternator_A[]", seriesRows},
	{"series.stator_winding_C[]", seriesRows},
	{"series.ambient_C[]", seriesRows},
	{"series.sun_W[]", seriesRows},
	{"series.house_W[]", seriesRows},
	{"series.vehicle_W[]", seriesRows},
	{"series.speed_kmh[]", seriesRows},
	{"series.engine_rpm[]", seriesRows},
}

// atText is a time of the plan as a clock shows it; "" where it does not come.
func atText(minutes float64) string {
	if minutes >= never {
		return ""
	}
	return calendar.ClockText(minutes)
}

// planDay is the day of the plan in which a time lies, from 1.
func planDay(a *Answer, minutes float64) float64 {
	if minutes >= never {
		return never
	}
	return detmath.Floor((minutes-a.Plan.Start)/1440-1e-9) + 1
}

func column(c int) func(a *Answer, i int) float64 {
	return func(a *Answer, i int) float64 { return a.Plan.Series.cols[c][i] }
}

func ifTrue(b bool, yes, no string) string {
	if b {
		return yes
	}
	return no
}

var dayAnswerOutputs = [...]Output{
	{Path: "setting.output_W", Unit: "W", Meaning: "setting for the charger, all day", num: func(a *Answer, _ int) float64 { return a.Plan.SettingW }},
	{Path: "setting.output_A", Unit: "A", Meaning: "the same at the house battery's charging voltage", num: func(a *Answer, _ int) float64 { return a.Plan.SettingA }},
	{Path: "setting.asked_W", Unit: "W", Meaning: "setting to be tried; null: none was given", num: func(a *Answer, _ int) float64 {
		if a.Plan.AskedW > 0 {
			return a.Plan.AskedW
		}
		return never
	}},
	{Path: "setting.draw_A", Unit: "A", Meaning: "what it draws at the charger's input, likeliest", num: func(a *Answer, _ int) float64 { return a.Plan.DrawA }},
	{Path: "setting.why", Meaning: "gentlest: the least that reaches the wanted charge; most: none does, the least of those that come nearest; given: as asked, as far as it is allowed", text: func(a *Answer, _ int) string { return a.Plan.Why }},
	{Path: "setting.allowed_W", Unit: "W", Meaning: "highest setting that any stretch of the day allows", num: func(a *Answer, _ int) float64 { return a.Plan.AllowedW }},
	{Path: "setting.confidence", Unit: "1", Meaning: "share of plausible vehicles for which that is safe", num: func(a *Answer, _ int) float64 { return a.Confidence }},
	{Path: "goal.reached", Meaning: "yes or no: the wanted charge is there when it is due, on every day, and every start succeeds", text: func(a *Answer, _ int) string { return ifTrue(a.Plan.Reached, "yes", "no") }},
	{Path: "goal.want_soc", Unit: "1", Meaning: "wanted state of charge", num: func(a *Answer, _ int) float64 { return a.Plan.WantSoc }},
	{Path: "goal.due_at", Meaning: "time at which it is due, on the day that comes nearest to missing it", text: func(a *Answer, _ int) string { return atText(a.Plan.WantBy) }},
	{Path: "goal.due_day", Unit: "1", Meaning: "that day", num: func(a *Answer, _ int) float64 { return planDay(a, a.Plan.WantBy) }},
	{Path: "goal.soc_then", Unit: "1", Meaning: "state of charge then", num: func(a *Answer, _ int) float64 { return a.Plan.SocThen }},
	{Path: "goal.missing_Wh", Unit: "Wh", Meaning: "what is missing then", num: func(a *Answer, _ int) float64 { return a.Plan.MissWh }},
	{Path: "goal.full_at", Meaning: "time at which the wanted charge is first there; null: never", text: func(a *Answer, _ int) string { return atText(a.Plan.FullAt) }},
	{Path: "goal.full_day", Unit: "1", Meaning: "that day", num: func(a *Answer, _ int) float64 { return planDay(a, a.Plan.FullAt) }},
	{Path: "goal.low_soc", Unit: "1", Meaning: "lowest charge of the house battery in all", num: func(a *Answer, _ int) float64 { return a.Plan.LowSoc }},
	{Path: "goal.low_at", Meaning: "time of it", text: func(a *Answer, _ int) string { return atText(a.Plan.LowAt) }},
	{Path: "goal.empty_at", Meaning: "time from which something has no power; null: never", text: func(a *Answer, _ int) string { return atText(a.Plan.EmptyAt) }},
	{Path: "goal.short_Wh", Unit: "Wh", Meaning: "what loads asked for and there was nothing left for", num: func(a *Answer, _ int) float64 { return a.Plan.ShortWh }},
	{Path: "goal.failed_start_at", Meaning: "first start that fails; null: none does", text: func(a *Answer, _ int) string { return atText(a.Plan.FailedAt) }},
	{Path: "goal.no_start_at", Meaning: "time from which the engine would not start again, even with nothing forgotten; null: it always does", text: func(a *Answer, _ int) string { return atText(a.Plan.NoStartAt) }},

	{Path: "stretches[].day", Unit: "1", Meaning: "day", num: func(a *Answer, i int) float64 { return planDay(a, a.Plan.Stretches[i].From+1) }},
	{Path: "stretches[].from", Meaning: "begin of a time in which the charger charges", text: func(a *Answer, i int) string { return atText(a.Plan.Stretches[i].From) }},
	{Path: "stretches[].to", Meaning: "its end", text: func(a *Answer, i int) string { return atText(a.Plan.Stretches[i].To) }},
	{Path: "stretches[].allowed_W", Unit: "W", Meaning: "highest setting it allows, at the asked confidence", num: func(a *Answer, i int) float64 { return a.Plan.Stretches[i].AllowedW }},
	{Path: "stretches[].limit", Meaning: "the limit that sets that", text: func(a *Answer, i int) string { return limit.Table[a.Plan.Stretches[i].Limit].Name }},
	{Path: "stretches[].setting_W", Unit: "W", Meaning: "setting in it", num: func(a *Answer, i int) float64 { return a.Plan.Stretches[i].SettingW }},
	{Path: "stretches[].charged_Wh", Unit: "Wh", Meaning: "energy out of the charger in it", num: func(a *Answer, i int) float64 { return a.Plan.Stretches[i].ChargedWh }},

	{Path: "handovers[].day", Unit: "1", Meaning: "day", num: func(a *Answer, i int) float64 { return planDay(a, a.Plan.Handovers[i].At+1) }},
	{Path: "handovers[].at", Meaning: "time", text: func(a *Answer, i int) string { return atText(a.Plan.Handovers[i].At) }},
	{Path: "handovers[].to", Meaning: "what to set the charger to: charge, feed or off", text: func(a *Answer, i int) string { return directionNames[a.Plan.Handovers[i].To] }},
	{Path: "handovers[].setting_W", Unit: "W", Meaning: "setting, where it charges", num: func(a *Answer, i int) float64 { return a.Plan.Handovers[i].SettingW }},
	{Path: "handovers[].why", Meaning: "reason", text: func(a *Answer, i int) string { return a.Plan.Handovers[i].Why }},
	{Path: "handovers[].forgotten_no_start_at", Meaning: "forgotten: time from which the engine does not start; null: not sooner than without, within 36 h and the plan", text: func(a *Answer, i int) string { return atText(a.Plan.Handovers[i].Missed.NoStartAt) }},
	{Path: "handovers[].forgotten_reserve_at", Meaning: "forgotten: time at which the house battery passes its reserve", text: func(a *Answer, i int) string { return atText(a.Plan.Handovers[i].Missed.ReserveAt) }},
	{Path: "handovers[].forgotten_empty_at", Meaning: "forgotten: time at which something is left without power", text: func(a *Answer, i int) string { return atText(a.Plan.Handovers[i].Missed.EmptyAt) }},
	{Path: "handovers[].forgotten_too_much_at", Meaning: "forgotten: time at which the setting before passes a limit of the alternator", text: func(a *Answer, i int) string { return atText(a.Plan.Handovers[i].Missed.TooMuchAt) }},
	{Path: "handovers[].forgotten_limit", Meaning: "that limit", text: func(a *Answer, i int) string {
		m := &a.Plan.Handovers[i].Missed
		return ifTrue(m.TooMuchAt < never, limit.Table[m.Limit].Name, "")
	}},
	{Path: "handovers[].forgotten_soc_then", Unit: "1", Meaning: "forgotten: house battery when the wanted charge is due next; null: not due any more", num: func(a *Answer, i int) float64 {
		if v := a.Plan.Handovers[i].Missed.SocThen; v >= 0 {
			return v
		}
		return never
	}},

	{Path: "nights[].day", Unit: "1", Meaning: "day it follows", num: func(a *Answer, i int) float64 { return a.Plan.Nights[i].Day }},
	{Path: "nights[].from", Meaning: "begin of the day's longest pause", text: func(a *Answer, i int) string { return atText(a.Plan.Nights[i].From) }},
	{Path: "nights[].house_low_soc", Unit: "1", Meaning: "lowest charge of the house battery in it", num: func(a *Answer, i int) float64 { return a.Plan.Nights[i].LowSoc }},
	{Path: "nights[].house_low_at", Meaning: "time of it", text: func(a *Answer, i int) string { return atText(a.Plan.Nights[i].LowAt) }},
	{Path: "nights[].reserve_at", Meaning: "time at which the house battery passes its reserve; null: it does not", text: func(a *Answer, i int) string { return atText(a.Plan.Nights[i].ReserveAt) }},
	{Path: "nights[].empty_at", Meaning: "time at which a battery is empty; null: none is", text: func(a *Answer, i int) string { return atText(a.Plan.Nights[i].EmptyAt) }},
	{Path: "nights[].morning_at", Meaning: "its end: time of the start", text: func(a *Answer, i int) string { return atText(a.Plan.Nights[i].Morning) }},
	{Path: "nights[].morning_C", Unit: "°C", Meaning: "air then", num: func(a *Answer, i int) float64 { return a.Plan.Nights[i].MorningC }},
	{Path: "nights[].starts", Meaning: "yes or no: the engine starts", text: func(a *Answer, i int) string { return ifTrue(a.Plan.Nights[i].Starts, "yes", "no") }},
	{Path: "nights[].starter_soc", Unit: "1", Meaning: "charge of the starter battery then", num: func(a *Answer, i int) float64 { return a.Plan.Nights[i].StarterSoc }},
	{Path: "nights[].starter_least_soc", Unit: "1", Meaning: "charge it needs to start the engine; null: not even full", num: func(a *Answer, i int) float64 {
		if v := a.Plan.Nights[i].LeastSoc; v <= 1 {
			return v
		}
		return never
	}},
	{Path: "nights[].starter_rest_V", Unit: "V", Meaning: "its voltage at rest then", num: func(a *Answer, i int) float64 { return a.Plan.Nights[i].StarterV }},
	{Path: "nights[].cranking_V", Unit: "V", Meaning: "its voltage while cranking", num: func(a *Answer, i int) float64 { return a.Plan.Nights[i].CrankingV }},
	{Path: "nights[].needed_V", Unit: "V", Meaning: "lowest voltage at which the engine still starts", num: func(a *Answer, i int) float64 { return a.Plan.Nights[i].NeedV }},
	{Path: "nights[].house_Wh", Unit: "Wh", Meaning: "what the house side's loads take in that time", num: func(a *Answer, i int) float64 { return a.Plan.Nights[i].HouseWh }},

	{Path: "cut_off.coolest_C", Unit: "°C", Meaning: "lowest air temperature of the plan", num: func(a *Answer, _ int) float64 { return a.Plan.CutOff.CoolestC }},
	{Path: "cut_off.rest_V", Unit: "V", Meaning: "cut-off of the vehicle's side that keeps the engine startable then, battery at rest", num: func(a *Answer, _ int) float64 { return a.Plan.CutOff.RestV }},
	{Path: "cut_off.loaded_V", Unit: "V", Meaning: "the same under load_A", num: func(a *Answer, _ int) float64 { return a.Plan.CutOff.LoadedV }},
	{Path: "cut_off.load_A", Unit: "A", Meaning: "mean load on the vehicle's side with the engine off", num: func(a *Answer, _ int) float64 { return a.Plan.CutOff.LoadA }},
	{Path: "feed.posts_V", Unit: "V", Meaning: "voltage at the starter battery's posts while feeding; null: no feed", num: func(a *Answer, _ int) float64 {
		if a.Plan.CutOff.FeedV > 0 {
			return a.Plan.CutOff.FeedV
		}
		return never
	}},
	{Path: "feed.verdict", Meaning: "whether that may stay on for ever", text: func(a *Answer, _ int) string { return a.Plan.CutOff.FeedVerdict }},
	{Path: "feed.from_V", Unit: "V", Meaning: "lowest voltage that keeps the starter battery full", num: func(a *Answer, _ int) float64 { return a.Plan.CutOff.FloatLowV }},
	{Path: "feed.to_V", Unit: "V", Meaning: "highest voltage that may stay on for ever", num: func(a *Answer, _ int) float64 { return a.Plan.CutOff.FloatHighV }},
	{Path: "rescue.starter_soc", Unit: "1", Meaning: "starter battery in the morning after its loads were left on it", num: func(a *Answer, _ int) float64 { return a.Plan.Rescue.StarterSoc }},
	{Path: "rescue.need_Wh", Unit: "Wh", Meaning: "what the house battery must give to make it start again", num: func(a *Answer, _ int) float64 { return a.Plan.Rescue.NeedWh }},
	{Path: "rescue.need_soc", Unit: "1", Meaning: "the same as a share of the house battery", num: func(a *Answer, _ int) float64 { return a.Plan.Rescue.NeedSoc }},
	{Path: "rescue.reserve_holds_it", Meaning: "yes or no", text: func(a *Answer, _ int) string { return ifTrue(a.Plan.Rescue.Enough, "yes", "no") }},

	{Path: "remedies[].code", Meaning: "stable code", text: func(a *Answer, i int) string { return a.Plan.Remedies[i].Code }},
	{Path: "remedies[].text", Meaning: "for a person", text: func(a *Answer, i int) string { return a.Plan.Remedies[i].Text }},
	{Path: "remedies[].reached", Meaning: "yes or no: it alone suffices", text: func(a *Answer, i int) string { return ifTrue(a.Plan.Remedies[i].Reached, "yes", "no") }},
	{Path: "remedies[].soc_then", Unit: "1", Meaning: "charge it leads to when the wanted charge is due", num: func(a *Answer, i int) float64 { return a.Plan.Remedies[i].SocThen }},
	{Path: "remedies[].gain_Wh", Unit: "Wh", Meaning: "what it gains", num: func(a *Answer, i int) float64 { return a.Plan.Remedies[i].GainWh }},

	{Path: "hottest_C.at", Meaning: "time of the hottest winding, likeliest vehicle", text: func(a *Answer, _ int) string { return atText(a.Plan.HottestAt) }},
	{Path: "hottest_C.stator_winding", Unit: "°C", Meaning: "hottest of the plan at its setting, likeliest vehicle", num: func(a *Answer, _ int) float64 { return a.Plan.Likeliest.WindingC }},
	{Path: "hottest_C.rectifier_junction", Unit: "°C", Meaning: "diode junction", num: func(a *Answer, _ int) float64 { return a.Plan.Likeliest.JunctionC }},
	{Path: "hottest_C.rotor", Unit: "°C", Meaning: "mean of the field winding", num: func(a *Answer, _ int) float64 { return a.Plan.Likeliest.RotorC }},
	{Path: "careful_C.stator_winding", Unit: "°C", Meaning: "the same at the highest settings allowed, careful vehicle", num: func(a *Answer, _ int) float64 { return a.Plan.Careful.WindingC }},
	{Path: "careful_C.rectifier_junction", Unit: "°C", Meaning: "diode junction", num: func(a *Answer, _ int) float64 { return a.Plan.Careful.JunctionC }},
	{Path: "careful_C.rotor", Unit: "°C", Meaning: "mean of the field winding", num: func(a *Answer, _ int) float64 { return a.Plan.Careful.RotorC }},

	{Path: "ledger[].kind", Meaning: "source, use, loss or stored", text: func(a *Answer, i int) string { return a.Plan.Ledger[i].Kind }},
	{Path: "ledger[].name", Meaning: "what", text: func(a *Answer, i int) string { return a.Plan.Ledger[i].Name }},
	{Path: "ledger[].Wh", Unit: "Wh", Meaning: "energy: in positive, out negative; all add up to zero", num: func(a *Answer, i int) float64 { return a.Plan.Ledger[i].Wh }},
	{Path: "fuel_L", Unit: "L", Meaning: "fuel burnt for charging, the engine running anyway", num: func(a *Answer, _ int) float64 { return a.Plan.FuelL }},

	{Path: "series.at[]", Meaning: "end of a step of the series", text: func(a *Answer, i int) string { return atText(a.Plan.Series.at[i]) }},
	{Path: "series.at_min[]", Unit: "min", Meaning: "the same in minutes since midnight of the first day", num: func(a *Answer, i int) float64 { return a.Plan.Series.at[i] }},
	{Path: "series.house_soc[]", Unit: "1", Meaning: "house battery at its end", num: column(colHouseSoc)},
	{Path: "series.starter_soc[]", Unit: "1", Meaning: "starter battery at its end", num: column(colStarterSoc)},
	{Path: "series.starter_V[]", Unit: "V", Meaning: "mean voltage of the starter battery", num: column(colStarterV)},
	{Path: "series.charge_W[]", Unit: "W", Meaning: "mean output of the charger", num: column(colChargeW)},
	{Path: "series.allowed_W[]", Unit: "W", Meaning: "highest setting the stretch allows", num: column(colAllowedW)},
	{Path: "series.ceiling_W[]", Unit: "W", Meaning: "ceiling at the asked confidence; in short stops without what heats slowly", num: column(colCeilingW)},
	{Path: "series.alternator_A[]", Unit: "A", Meaning: "mean output of the alternator", num: column(colAlternatorA)},
	{Path: "series.stator_winding_C[]", Unit: "°C", Meaning: "mean temperature of its winding, likeliest vehicle", num: column(colWindingC)},
	{Path: "series.ambient_C[]", Unit: "°C", Meaning: "air", num: column(colAmbientC)},
	{Path: "series.sun_W[]", Unit: "W", Meaning: "what the panel offers", num: column(colSunW)},
	{Path: "series.house_W[]", Unit: "W", Meaning: "drawn on the house side", num: column(colHouseW)},
	{Path: "series.vehicle_W[]", Unit: "W", Meaning: "drawn on the vehicle's side", num: column(colVehicleW)},
	{Path: "series.speed_kmh[]", Unit: "km/h", Meaning: "road speed", num: column(colSpeedKmh)},
	{Path: "series.engine_rpm[]", Unit: "rpm", Meaning: "engine speed; 0: off", num: column(colEngineRpm)},
}
