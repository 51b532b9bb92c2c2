package core

// wiringGroups is the object of two voltage readings along a lead.
var wiringGroups = [...]Group{
	{Path: "wiring", Optional: true, Meaning: "voltages read at both ends of a lead under load, to check it",
		given: func(q *Request) *bool { return &q.Wiring.Given }},
}

// wiringFields are the inputs of a check of a lead.
var wiringFields = [...]Field{
	{Path: "wiring.source_V", Unit: "V", Need: Required, Min: 5, Max: 60, Demo: "13.8",
		Meaning: "voltage where the lead begins, plus to minus, while current flows", Where: "voltmeter at the starter battery's posts",
		num: func(q *Request, _ int) *float64 { return &q.Wiring.SourceV }},
	{Path: "wiring.far_V", Unit: "V", Need: Required, Min: 1, Max: 60, Demo: "13.35",
		Meaning: "voltage where it ends, plus to minus, at the same moment", Where: "the same voltmeter at the charger's input terminals",
		num: func(q *Request, _ int) *float64 { return &q.Wiring.FarV }},
	{Path: "wiring.far_A", Unit: "A", Need: Optional, Min: 0.1, Max: 1000,
		Meaning: "current in the lead; this or far_W is needed", Where: "clamp meter round one conductor",
		num: func(q *Request, _ int) *float64 { return &q.Wiring.FarA }},
	{Path: "wiring.far_W", Unit: "W", Need: Optional, Min: 1, Max: 20000, Demo: "440",
		Meaning: "power at the far end, instead of far_A", Where: "charger's display: its input, or its output over 0.9",
		num: func(q *Request, _ int) *float64 { return &q.Wiring.FarW }},
	{Path: "wiring.ambient_C", Unit: "°C", Min: -40, Max: 100, Default: 40, Demo: "45",
		Meaning: "air along the lead", Where: "thermometer", Source: "engineering estimate: partly below the bonnet",
		num: func(q *Request, _ int) *float64 { return &q.Wiring.AmbientC }},
	{Path: "wiring.meter_V", Unit: "V", Min: 0.0001, Max: 1, Default: 0.01,
		Meaning: "the voltmeter's last digit", Where: "its display: 0.01 where it shows 13.85", Source: "common practice, no source",
		num: func(q *Request, _ int) *float64 { return &q.Wiring.MeterV }},
}
