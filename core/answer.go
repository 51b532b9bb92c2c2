package core

// Limits of the ceiling, in the order of the table.
const (
	limOutput = iota
	limWinding
	limRectifier
	limRotor
	limBelt
	limCableHeat
	limCableDrop
	limFuse
	limChargerInput
	limChargerOutput
	limHouseBattery
	limitCount

	limCase   = limitCount     // the case temperature of an external regulator: not of the table, reported as output
	allLimits = limitCount + 1 // with it
)

// A Limit is something the ceiling keeps to.
type Limit struct {
	Name    string
	Meaning string
}

// Limits is the table of limits.
var Limits = [limitCount]Limit{
	limOutput:        {"output", "what the alternator can give at this speed when hot, a tenth kept in hand"},
	limWinding:       {"stator_winding", "the stator winding at its design temperature"},
	limRectifier:     {"rectifier", "the rectifier diodes at their design temperature"},
	limRotor:         {"rotor", "the field winding at its design temperature"},
	limBelt:          {"belt", "the shaft power the belt can carry"},
	limCableHeat:     {"cable_heat", "the cable at the temperature its insulation stands"},
	limCableDrop:     {"cable_drop", "the voltage lost in the lead, or the charger's lowest input voltage"},
	limFuse:          {"fuse", "what the fuse carries without end in this heat"},
	limChargerInput:  {"charger_input", "the charger's input rating"},
	limChargerOutput: {"charger_output", "the charger's output rating"},
	limHouseBattery:  {"house_battery", "the charge current the house battery takes"},
}

// limitNames are the names of the table of limits.
var limitNames = func() (names []string) {
	for i := range Limits {
		names = append(names, Limits[i].Name)
	}
	return names
}()

// A Setting is a charge rate at one confidence.
type Setting struct {
	InputA  float64 // largest current into the charger, rounded down to 0.1 A
	OutputW float64 // largest setting, rounded down to the charger's step
	OutputA float64 // OutputW at the house battery's charging voltage
	DrawA   float64 // current the setting OutputW draws in the likeliest vehicle
	Limit   int     // the limit that sets it
}

// A LimitRow is one limit's own ceiling.
type LimitRow struct {
	Limit    int
	InputA   float64 // at the asked confidence; never where it cannot bind
	NominalA float64 // of the likeliest vehicle
}

// A HoldRow says for how long a higher setting may be held.
type HoldRow struct {
	OutputW float64
	InputA  float64
	Minutes float64 // never where it may stay
	Limit   int     // the limit reached then
}

// An UnknownCost says what not knowing something costs.
type UnknownCost struct {
	Unknown int
	CostA   float64
}

// A Flag is a remark on the validity of an answer.
type Flag struct{ Code, Field, Message string }

// A Sentence is a remark for a person, with a code for a program.
type Sentence struct{ Code, Text string }

// A State is a machine's operating point in one vehicle.
type State struct {
	WindingC, CoreC, JunctionC, RotorC, InletC float64
	Ageing                                     float64 // of the winding's insulation, against the design value
}

// An Answer is what Ceiling gives. Currents are those into the charger unless
// a name says otherwise.
type Answer struct {
	Confidence float64
	Ceiling    Setting
	Nominal    Setting
	AfterIdle  Setting
	Advice     Setting // the lower of Ceiling and AfterIdle
	AdviceIdle bool    // AfterIdle is the lower

	Limits [limitCount]LimitRow // lowest first

	State   State // of the likeliest vehicle at the ceiling
	Careful State // of the vehicle at the edge of the confidence, at the ceiling
	Design  State // what each is held to; InletC and CoreC are not limited

	AlternatorA   float64
	AvailableA    float64
	OtherA        float64 // vehicle and starter battery
	SpeedRpm      float64
	BusV          float64
	ShaftW        float64
	Efficiency    float64
	Losses        Losses
	IdleInletC    float64
	IdleAvailable float64

	Hold  [4]HoldRow
	Holds int

	Unknowns [unknowns]UnknownCost // costliest first

	HasCable        bool
	LeadOhm         float64
	LeadDropV       float64
	ConductorC      float64
	AmpacityA       float64
	FuseContinuousA float64
	ChargerV        float64

	Validity []Flag
	Says     []Sentence
	Cautions []string

	Plan     *Plan      // of a day; nil in the answer about a moment
	Lead     *LeadCheck // of voltage readings along a lead; nil elsewhere
	Learning *Learning  // of a fit; nil elsewhere

	fit    CurveFit
	fitted bool
}
