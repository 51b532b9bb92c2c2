package core

import "spareamps/core/limit"

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

	Limits [limit.Count]LimitRow // lowest first

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
