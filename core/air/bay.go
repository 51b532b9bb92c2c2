package air

const (
	airingMinutes  = 3.0  // time constant of the bay's air once driving again; engineering estimate
	restSoakMin    = 20.0 // after which the bay of a stopped engine cools: an owner's log is hottest then
	restBayMinutes = 60.0 // time constant of that cooling; engineering estimate
)

// EngineOnRise returns the rise of the bay's air after some minutes with the engine
// on. It follows road speed with a lag: slowly up after a stop, faster down once
// moving.
func EngineOnRise(riseK, target, minutes float64) float64 {
	tau := SoakMinutes
	if target < riseK {
		tau = airingMinutes
	}
	return riseK + (target-riseK)*minutes/(minutes+tau)
}

// EngineOffRise returns the rise of the bay's air above ambient, in K, after
// some minutes more with the engine off, stoodMin after it stopped at their end.
// The engine warms the bay first, then all of it cools.
func EngineOffRise(riseK, stoodMin, minutes float64) float64 {
	target, tau := soakedRise, SoakMinutes
	if stoodMin > restSoakMin {
		target, tau = 0, restBayMinutes
	}
	return riseK + (target-riseK)*minutes/(minutes+tau)
}
