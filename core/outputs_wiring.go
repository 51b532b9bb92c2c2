package core

// The table of outputs of a check of a lead.
var wiringOutputs = newOutputTable(wiringLists[:], wiringAnswerOutputs[:])

var wiringLists = [...]outputList{
	{"cable", func(a *Answer) int { return count(a.Lead.HasCable) }},
	{"fuse", func(a *Answer) int { return count(a.Lead.FuseA > 0) }},
	{"full", func(a *Answer) int { return count(a.Lead.FullA > 0) }},
}

func noneFor0(v float64) float64 {
	if v == 0 {
		return never
	}
	return v
}

var wiringAnswerOutputs = [...]Output{
	{Path: "measured.current_A", Unit: "A", Meaning: "current in the lead", num: func(a *Answer, _ int) float64 { return a.Lead.CurrentA }},
	{Path: "measured.drop_V", Unit: "V", Meaning: "voltage lost between the two readings", num: func(a *Answer, _ int) float64 { return a.Lead.DropV }},
	{Path: "measured.loss_W", Unit: "W", Meaning: "power lost there", num: func(a *Answer, _ int) float64 { return a.Lead.LossW }},
	{Path: "measured.lead_mohm", Unit: "mΩ", Meaning: "resistance out and back, with all contacts", num: func(a *Answer, _ int) float64 { return 1e3 * a.Lead.Ohm }},
	{Path: "measured.spread_mohm", Unit: "mΩ", Meaning: "how far that may be out either way, by the meters", num: func(a *Answer, _ int) float64 { return 1e3 * a.Lead.OhmSpread }},
	{Path: "verdict", Meaning: "sound, high, low, unclear (too small a current for the meter) or no_cable (none described)", text: func(a *Answer, _ int) string { return leadVerdictNames[a.Lead.Verdict] }},

	{Path: "cable.should_mohm", Unit: "mΩ", Meaning: "what the cable described should have, at most, warm as it is", num: func(a *Answer, _ int) float64 { return 1e3 * a.Lead.ShouldOhm }},
	{Path: "cable.more_mohm", Unit: "mΩ", Meaning: "measured above that; negative: below", num: func(a *Answer, _ int) float64 { return 1e3 * a.Lead.MoreOhm }},
	{Path: "cable.spot_W", Unit: "W", Meaning: "heat of the difference, if it is one bad contact", num: func(a *Answer, _ int) float64 { return a.Lead.SpotW }},
	{Path: "cable.more_m", Unit: "m", Meaning: "the difference as length one way; negative: shorter", num: func(a *Answer, _ int) float64 { return a.Lead.MoreM }},
	{Path: "cable.like_mm2", Unit: "mm²", Meaning: "copper area that the measured would fit; null: none does", num: func(a *Answer, _ int) float64 { return noneFor0(a.Lead.LikeMM2) }},
	{Path: "cable.conductor_C", Unit: "°C", Meaning: "conductor at this current", num: func(a *Answer, _ int) float64 { return a.Lead.ConductorC }},
	{Path: "cable.ampacity_A", Unit: "A", Meaning: "what the cable carries without end in this heat", num: func(a *Answer, _ int) float64 { return a.Lead.AmpacityA }},

	{Path: "fuse.rated_A", Unit: "A", Meaning: "rating", num: func(a *Answer, _ int) float64 { return a.Lead.FuseA }},
	{Path: "fuse.protects", Meaning: "yes or no: it opens before the cable is harmed", text: func(a *Answer, _ int) string { return ifTrue(a.Lead.FuseProtects, "yes", "no") }},
	{Path: "fuse.largest_A", Unit: "A", Meaning: "largest rating that does", num: func(a *Answer, _ int) float64 { return a.Lead.FuseMostA }},
	{Path: "fuse.continuous_A", Unit: "A", Meaning: "what it carries without end in this heat", num: func(a *Answer, _ int) float64 { return a.Lead.FuseContinueA }},

	{Path: "full.current_A", Unit: "A", Meaning: "the charger's full input", num: func(a *Answer, _ int) float64 { return a.Lead.FullA }},
	{Path: "full.drop_V", Unit: "V", Meaning: "voltage the lead as measured loses then", num: func(a *Answer, _ int) float64 { return a.Lead.FullDropV }},
	{Path: "full.drop_share", Unit: "1", Meaning: "the same over the nominal voltage", num: func(a *Answer, _ int) float64 { return a.Lead.FullShare }},
	{Path: "full.charger_V", Unit: "V", Meaning: "voltage that arrives, the source at what was read", num: func(a *Answer, _ int) float64 { return a.Lead.FullV }},
	{Path: "full.conductor_C", Unit: "°C", Meaning: "conductor then; null: no cable described", num: func(a *Answer, _ int) float64 { return noneFor0(a.Lead.FullC) }},
	{Path: "full.carried", Meaning: "yes or no: cable and fuse carry that without end; null: no cable described", text: func(a *Answer, _ int) string {
		if !a.Lead.HasCable {
			return ""
		}
		return ifTrue(a.Lead.Carries, "yes", "no")
	}},
}

// WiringJSON writes the answer of CheckWiring by the table of outputs.
func (a *Answer) WiringJSON() []byte { return wiringOutputs.encode(make([]byte, 0, 2048), a) }

// WiringOutputs returns a copy of the table of outputs of a check of a lead.
func WiringOutputs() []Output { return append([]Output(nil), wiringOutputs.outputs...) }

// DayOutputs returns a copy of the table of outputs of a day's plan.
func DayOutputs() []Output { return append([]Output(nil), dayOutputs.outputs...) }
