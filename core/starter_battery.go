package core

const (
	starterRate    = 0.3  // A per Ah drawn right after a start; engineering estimate
	starterMinutes = 5.0  // time constant: 0.025 Ah per Ah is put back; engineering estimate
	starterFloat   = 0.01 // A per Ah kept on; engineering estimate
)

// StarterCurrent returns what the starter battery itself takes, in A, some
// minutes after the engine was started.
//
//	I = C·(0.01 + 0.3·exp(−t/5 min))     (1)
//
// For a battery that was charged before the start and a start of a few
// seconds. After a night that drained it, it takes more for hours: then state
// it as a vehicle load. Engineering estimate, no source.
func StarterCurrent(capacityAh, minutes float64) float64 {
	return capacityAh * (starterFloat + starterRate*exp(-minutes/starterMinutes)) // (1)
}
