package rig

// An Observation is what was read on the vehicle at one time, under conditions that
// had lasted for some minutes. What was not read is zero, or not a number where
// zero may be read.
type Observation struct {
	At            string  // when, as the user writes it
	Begins        string  // "warm", "cold", "before"
	Minutes       float64 // for how long the conditions had lasted
	EngineRpm     float64
	SpeedKmh      float64
	AmbientC      float64
	AltitudeM     float64
	VehicleLoadsW float64 // 0: not known
	SettingW      float64 // of the charger
	EverythingOn  string  // "yes": the output is all there is
	Thermometer   string  // of case, core and plates: "infrared", "contact"; "": infrared
	Surface       string  // at which an infrared one was aimed: "bright", "dull", "painted"; "": bright

	OutputA       float64
	BusV          float64
	InletC        float64
	CaseC         float64
	CoreC         float64
	PlatesC       float64
	ChargerV      float64
	ChargerInputA float64
	StartSoc      float64
	EndSoc        float64
	RestV         float64 // of the starter battery
	CrankV        float64 // of it while the engine is turned
}

// A Mean is what was learned of an unknown: where it most likely lies, in
// spreads of the table of unknowns.
type Mean struct {
	Unknown string
	Mean    float64
}

// A Spread is one number of the lower triangle that spreads the unknowns around
// their means: z = mean + Σ value·u, u being standard normal.
type Spread struct {
	Unknown string
	By      string
	Value   float64
}

// Learned is what a fit learned of a vehicle from its readings.
type Learned struct {
	From string // what the rig was then, see Rig.fingerprint
	// Of the inlet air's rise standing, in spreads of inlet_rise: readings while
	// driving leave it 0 and 1.
	StandingMean   float64
	StandingSpread float64
	Means          []Mean
	Spread         []Spread
}
