package air

import "spareamps/core/detmath"

// Air at the alternator's inlet, below the bonnet.
const (
	MovingRise   = 15.0 // K above ambient once moving well: an owner's log gives 14 to 17 K
	StandingRise = 20.0 // K more standing with the engine running: induction air 35 K above ambient is published for dense traffic with air conditioning; owners read 25 to 41 K (testdata/underbonnet_air.csv)
	soakedRise   = 42.0 // K above ambient 20 min after the engine was switched off: 74 °C at 32 °C, one owner's log
	ramSpeed     = 15.0 // km/h over which ram air takes the standing rise away by 1/e; from memory, low confidence
	SoakMinutes  = 8.0  // time constant of the air below the bonnet after a stop; engineering estimate: 20 min reach 92 %
)

// StandingShare returns the share of the standing rise that is there at a road
// speed in km/h.
//
//	exp(−v/v0)     (1)
func StandingShare(speedKmh float64) float64 { return detmath.Exp(-speedKmh / ramSpeed) }

// EngineSpaceRise is how far the air along a lead through an engine space is
// above ambient: 33 CFR 183.425 rates conductors for 50 °C there and for 30 °C
// outside.
const EngineSpaceRise = 20.0

// AlongLead returns the air temperature along the lead, in °C: it leaves the bay,
// so it is not as hot as the alternator's inlet after a stop.
func AlongLead(ambientC, inletC float64) float64 {
	return detmath.Min(inletC, ambientC+EngineSpaceRise)
}

// InletRise returns how far the inlet air is above ambient, in K, after long
// driving at a road speed in km/h.
//
//	dT = dT_move + dT_stand·exp(−v/v0)     (2)
//
// For engines with the alternator in the open engine bay and the engine running;
// a bay whose engine was switched off is that of EngineOffRise. Sun on the
// bonnet, a following wind and exhaust nearby are neglected; the spread of the
// unknown inlet_rise stands for them. One factor multiplies the rise moving and
// standing: no measurement tells them apart, and one closed bay makes both, so the
// hottest vehicle is hot in both. At its 95 % edge the rise is 23 K moving and
// 53 K standing. Sources: at the constants.
func InletRise(speedKmh float64) float64 {
	return MovingRise + StandingRise*StandingShare(speedKmh) // (2)
}

// SoakRise returns how much more the inlet air rises, in K, in the minutes
// after a stop from a road speed in km/h.
//
//	dT = dT_stand·(1 − exp(−v/v0))·(1 − exp(−t/τ))     (3)
func SoakRise(speedKmh, minutes float64) float64 {
	return StandingRise * (1 - StandingShare(speedKmh)) * (1 - detmath.Exp(-minutes/SoakMinutes)) // (3)
}
