package core

// A Request is one question: a rig, a moment, and how sure the answer is to be.
//
// Make one with NewRequest (every default in place) or Decode (from JSON).
// A zero in an optional field means "not given".
type Request struct {
	Rig        Rig
	Moment     Moment
	Confidence float64 // share of plausible machines for which the answer is safe, 0.5 to 0.99

	given given // which fields were stated, by index in the table of inputs
}

// given is a set of field indices.
type given [4]uint64

func (g *given) add(i int)      { g[i>>6] |= 1 << (i & 63) }
func (g *given) has(i int) bool { return g[i>>6]&(1<<(i&63)) != 0 }

// A Rig is what does not change during a day.
type Rig struct {
	Alternator     Alternator
	Engine         Engine
	Cable          Cable
	Charger        Charger
	HouseBattery   HouseBattery
	StarterBattery StarterBattery
}

// Alternator is the machine by its label, by a measured curve or by its
// parameters; exactly one of RatedCurrentA, Points and Machine leads.
type Alternator struct {
	RatedCurrentA    float64
	RatedSpeedRpm    float64
	IdleCurrentA     float64 // 0: not on the label
	IdleSpeedRpm     float64
	TestV            float64 // 0: 13.5 or 27 V by class
	ClassV           string  // "12" or "24"
	PolePairs        float64
	PulleyRatio      float64 // 0: not known, the default with its spread
	RegulatorV       float64 // 0: not known, the default with its spread
	InsulationClass  string
	Fouling          float64 // share of the vents' flow lost to dust, 0 to 0.9
	BeltW            float64 // shaft power the belt can carry; 0: not given
	Points           []Point
	PointsSpeed      string // "alternator" or "engine"
	Machine          Machine
	MachineGiven     bool
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
type Engine struct{ IdleRpm float64 }

// Cable is the lead from the alternator's side to the charger.
type Cable struct {
	Given        bool
	AreaMM2      float64 // 0: by AWG
	AWG          string
	LengthM      float64 // one way
	Terminations float64
	TerminationMilliohm float64
	InsulationC  float64
	FuseA        float64 // 0: none given
	MaxDrop      float64 // share of nominal voltage
}

// Charger is the DC-DC charger between the two batteries.
type Charger struct {
	Given      bool
	MaxInputA  float64 // 0: not given
	MaxOutputW float64
	Efficiency float64 // 0: not known
	MinInputV  float64
	StepW      float64
}

// HouseBattery is the battery being charged.
type HouseBattery struct {
	Given      bool
	Chemistry  string
	CapacityAh float64
	NominalV   float64
	ChargeV    float64 // 0: by chemistry
	MaxChargeA float64 // 0: by chemistry and temperature alone
}

// StarterBattery is the vehicle's own.
type StarterBattery struct{ CapacityAh float64 }

// Moment is what changes while driving.
type Moment struct {
	EngineRpm         float64
	SpeedKmh          float64
	AmbientC          float64
	AltitudeM         float64
	VehicleLoadsW     float64
	HouseLoadsW       float64
	HouseSoc          float64
	HouseBatteryC     float64
	InletC            float64
	SettingW          float64
	MinutesSinceStart float64
}
