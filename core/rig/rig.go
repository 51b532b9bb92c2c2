package rig

// A Rig is what does not change during a day.
type Rig struct {
	Alternator     Alternator
	Engine         Engine
	Cable          Cable
	Charger        Charger
	HouseBattery   HouseBattery
	StarterBattery StarterBattery
	Inverter       Inverter
	Solar          Solar
	Observations   []Observation
	Learned        Learned
	LearnedGiven   bool
}

// Alternator is the machine by its label, by a measured curve or by its
// parameters; exactly one of RatedCurrentA, Points and Machine leads.
type Alternator struct {
	RatedCurrentA   float64
	RatedSpeedRpm   float64
	IdleCurrentA    float64 // 0: not on the label
	IdleSpeedRpm    float64
	TestV           float64 // 0: 13.5 or 27 V by class
	ClassV          string  // "12" or "24"
	PolePairs       float64
	PulleyRatio     float64 // 0: not known, the default with its spread
	RegulatorV      float64 // 0: not known, the default with its spread
	InsulationClass string
	Fouling         float64 // share of the vents' flow lost to dust, 0 to 0.9
	BeltW           float64 // shaft power the belt can carry; 0: not given
	Points          []Point
	PointsSpeed     string  // "alternator" or "engine"
	Cooling         string  // "own_fan", "separate_fan" or "water"
	Rectifier       string  // "standard", "avalanche" or "mosfet"
	Stator          string  // "classic", "hairpin" or "six_phase"
	Regulator       string  // "fixed", "variable", "self_limiting" or "external"
	LimitA          float64 // output that an external regulator is set to; 0: none
	LimitC          float64 // case temperature that it is set to; 0: none
	Machine         Machine
	MachineGiven    bool
}

// A Point is one measured point of an output curve at full field.
type Point struct{ SpeedRpm, CurrentA float64 }

// Machine is the star equivalent of an alternator at full field.
type Machine struct {
	PolePairs     float64
	FluxWb        float64 // peak phase flux linkage
	InductanceH   float64 // synchronous, per phase
	ResistanceOhm float64 // per phase
	DiodeDropV    float64 // one diode
	ReferenceC    float64 // copper temperature at which the above hold
}

// Engine is what the alternator hangs on.
type Engine struct {
	IdleRpm       float64
	DisplacementL float64 // 0: not given
	Fuel          string  // "diesel" or "petrol"
	CrankingA     float64 // mean current of the starter motor at 20 °C; 0: by displacement and fuel
	CrankingV     float64 // lowest battery voltage at which the engine still starts
	TyreDiameterM float64 // rolling; 0: not given
}

// Cable is the lead from the alternator's side to the charger.
type Cable struct {
	Given               bool
	AreaMM2             float64 // 0: by AWG
	AWG                 string
	LengthM             float64 // one way
	Terminations        float64
	TerminationMilliohm float64
	InsulationC         float64
	FuseA               float64 // 0: none given
	MaxDrop             float64 // share of nominal voltage
}

// Charger is the DC-DC charger between the two batteries.
type Charger struct {
	Given      bool
	MaxInputA  float64 // 0: not given
	MaxOutputW float64
	Efficiency float64 // 0: not known
	MinInputV  float64
	StepW      float64
	WithEngine string  // "yes": stops by itself when the engine stops
	FeedW      float64 // most it feeds from the house battery to the vehicle's side; 0: cannot
	FeedV      float64 // voltage it then holds on the vehicle's side
	FeedEta    float64 // efficiency of feeding
	IdleW      float64 // its own draw from the house battery while it feeds
}

// HouseBattery is the battery being charged.
type HouseBattery struct {
	Given      bool
	Chemistry  string
	CapacityAh float64
	NominalV   float64 // 0: by chemistry
	ChargeV    float64 // 0: by chemistry
	MaxChargeA float64 // 0: by chemistry and temperature alone
	Reserve    float64 // share of the charge that is kept back
	SelfW      float64 // what its own electronics draw
	Milliohm   float64 // resistance at 25 °C; 0: by chemistry and capacity
}

// StarterBattery is the vehicle's own.
type StarterBattery struct {
	Kind       string // "flooded", "efb", "agm", "gel"
	CapacityAh float64
	ColdA      float64 // cold-cranking rating; 0: by capacity
	ColdBy     string  // "SAE" or "EN": how that was measured
	Health     float64 // share of capacity and cranking current that age has left
}

// Inverter makes mains voltage from the house battery.
type Inverter struct {
	Given      bool
	RatedW     float64
	SurgeW     float64 // 0: twice the rating
	IdleW      float64 // draw with nothing plugged in
	Efficiency float64 // at a third to half of its rating
}

// Moment is what changes while driving.
type Moment struct {
	EngineRpm         float64
	SpeedKmh          float64
	AmbientC          float64
	AltitudeM         float64
	VehicleLoadsW     float64
	IdleLoadsW        float64
	HouseLoadsW       float64
	HouseSoc          float64
	HouseBatteryC     float64
	InletC            float64
	SettingW          float64
	MinutesSinceStart float64
}
