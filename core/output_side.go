package core

import (
	"spareamps/core/air"
	"spareamps/core/detmath"
	"spareamps/core/limit"
)

// An outputSide is what the charger's output rating and the house battery
// allow. Both are watts at the charger's output: a charger is set to them
// whatever its efficiency, so what is not known of that takes nothing off them.
// In amps at the input they are given as the likeliest vehicle draws them.
type outputSide struct {
	w                  float64 // the lower of both
	a                  float64 // A for w in the likeliest vehicle
	chargerA, batteryA float64
}

// noSide is without either.
var noSide = outputSide{never, never, never, never}

// inWatts says whether a limit is one of the charger's output side.
func inWatts(lim int) bool { return lim == limit.ChargerOutput || lim == limit.HouseBattery }

// outputSide returns it for a scene.
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

// widen gives a vehicle's ceilings no less on the output side than the likeliest
// draws: a more efficient charger draws less for the same watts, and is no
// reason to set fewer.
func (x *outputSide) widen(c *ceilings) {
	c[limit.ChargerOutput] = detmath.Max(c[limit.ChargerOutput], x.chargerA)
	c[limit.HouseBattery] = detmath.Max(c[limit.HouseBattery], x.batteryA)
}

// least returns the lowest of a vehicle's ceilings, the output side being what
// the likeliest draws.
func (x *outputSide) least(c *ceilings) float64 {
	x.widen(c)
	return detmath.Min(c.least(), x.a)
}

// capped returns watts, no more than the output side allows; what is short of
// that by less than the solver's hair is that.
func (x *outputSide) capped(w float64) float64 {
	const hair = 1e-6
	if w > x.w*(1-hair) {
		return x.w
	}
	return w
}
