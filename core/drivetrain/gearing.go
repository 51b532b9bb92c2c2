package drivetrain

import "math"

// EngineRpm returns the engine speed at a road speed in km/h, from the overall
// ratio (engine turns per turn of the wheel) and the rolling diameter. Slip of
// tyre and converter is neglected. Checked: testdata/checks.csv.
func EngineRpm(speedKmh, overallRatio, tyreDiameterM float64) float64 {
	return speedKmh / 3.6 / (math.Pi * tyreDiameterM) * 60 * overallRatio
}

// WheelRpm returns the turns of the wheel per minute.
func WheelRpm(engineRpm, overallRatio float64) float64 { return engineRpm / overallRatio }
