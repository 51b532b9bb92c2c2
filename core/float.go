package core

import "spareamps/core/detmath"

// leadPerK is how charging voltages fall with temperature, V/K per 12 V:
// 4.2 mV/K a cell. Usual advice is 3 to 5 (from memory), a published table of
// AGM voltages 4.2; vehicle regulators do 1.7 (testdata/regulator_bands.csv),
// so they charge too little in frost and too much in heat.
const leadPerK = 0.025

// warmed returns by how much a charging voltage changes, V per 12 V. Level
// below 0 °C and above 50 °C.
func warmed(celsius float64) float64 {
	return leadPerK * (25 - detmath.Min(detmath.Max(celsius, 0), 50))
}

// floatRange returns the voltages between which a feed may stay on a battery
// for good: enough to keep it full, too little for gas (flooded, EFB) or for
// drying out (AGM, gel). classFactor is 2 for 24 V.
//
// At 25 °C 13.2 to 14.0 V flooded, 13.2 to 13.7 V AGM and gel, 25 mV/K less
// above that and more below. Checked: testdata/float_by_temperature.csv.
func floatRange(kind string, classFactor, celsius float64) (lowV, highV float64) {
	k, w := leadKindOf(kind), warmed(celsius)
	return classFactor * (k.holdV + w), classFactor * (k.floatV + w)
}

// absorptionV returns the usual absorption voltage and the largest, for some
// hours only.
func absorptionV(kind string, classFactor, celsius float64) (usualV, mostV float64) {
	k, w := leadKindOf(kind), warmed(celsius)
	return classFactor * (k.absorbV + w), classFactor * (k.mostAbsorb + w)
}

// A feedVerdict says what a feed voltage does to a battery.
type feedVerdict uint8

const (
	feedTooLow  feedVerdict = iota // does not keep it full
	feedStays                      // may stay on for good
	feedHours                      // for some hours, as in absorption
	feedTooHigh                    // not at all
)

// judgeFeed judges the voltage at a battery's posts, after the drop in the
// lead.
func judgeFeed(kind string, classFactor, terminalV, celsius float64) feedVerdict {
	low, high := floatRange(kind, classFactor, celsius)
	_, most := absorptionV(kind, classFactor, celsius)
	switch {
	case terminalV < low:
		return feedTooLow
	case terminalV <= high:
		return feedStays
	case terminalV <= most:
		return feedHours
	}
	return feedTooHigh
}
