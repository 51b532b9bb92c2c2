package core

import (
	"spareamps/core/air"
	"spareamps/core/detmath"
	"spareamps/core/limit"
)

// An outputSide holds the limits by the charger's output rating and by the house
// battery. Both are watts at the charger's output, and a charger is set in watts
// whatever its efficiency, so an uncertain efficiency does not lower them. In amps
// at the input they are the current that the nominal vehicle draws.
type outputSide struct {
	w                  float64 // the lower of the two
	a                  float64 // A for w in the nominal vehicle
	chargerA, batteryA float64
}

// noSide has neither limit.
var noSide = outputSide{never, never, never, never}

// inWatts says whether a limit belongs to the charger's output side.
func inWatts(lim int) bool { return lim == limit.ChargerOutput || lim == limit.HouseBattery }

// outputSide returns the output side of a scene.
func (st *study) outputSide(s *scene) outputSide {
	x := noSide
	v, l := &st.nominal, st.leadOrNone()
	leadC := air.AlongLead(s.ambientC, s.inletC(v))
	if st.charger.Given {
		x.w = st.charger.MaxOutputW
		x.chargerA = v.inputFor(x.w, l, leadC)
	}
	if st.house.Given {
		w := s.acceptA*houseChargeV(&st.house) + s.houseW
		x.w = detmath.Min(x.w, w)
		x.batteryA = v.inputFor(w, l, leadC)
	}
	x.a = detmath.Min(x.chargerA, x.batteryA)
	return x
}

// widen raises a vehicle's ceilings on the output side to what the nominal vehicle
// draws: a more efficient charger draws less for the same watts, which is no reason
// to set fewer.
func (x *outputSide) widen(c *ceilings) {
	c[limit.ChargerOutput] = detmath.Max(c[limit.ChargerOutput], x.chargerA)
	c[limit.HouseBattery] = detmath.Max(c[limit.HouseBattery], x.batteryA)
}

// least returns the lowest of a vehicle's ceilings; the output side counts as what
// the nominal vehicle draws.
func (x *outputSide) least(c *ceilings) float64 {
	x.widen(c)
	return detmath.Min(c.least(), x.a)
}

// capped limits watts to what the output side allows, and rounds up to it if the
// difference is below the solver's tolerance.
func (x *outputSide) capped(w float64) float64 {
	const hair = 1e-6
	if w > x.w*(1-hair) {
		return x.w
	}
	return w
}
