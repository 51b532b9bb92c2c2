package core

import (
	"cmp"

	"spareamps/core/detmath"
	"spareamps/core/rig"
)

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
	return capacityAh * (starterFloat + starterRate*detmath.Exp(-minutes/starterMinutes)) // (1)
}

// starterTakes is what a starter battery takes at absorption voltage, in A per
// Ah: what it takes after a start.
const starterTakes = starterRate

// Cold-cranking current per Ah where no rating is given: published pairs lie
// between 5.8 and 11.2 (testdata/cold_ratings.csv), so most have more.
const coldPerAh = 7.0

// coldTestV is the voltage that a standard asks of the rating, at -18 °C: SAE
// J537 7.2 V after 30 s, EN 50342-1 7.5 V after 10 s (from memory).
func coldTestV(by string) float64 {
	if by == "EN" {
		return 7.5
	}
	return 7.2
}

const coldTestC = -18

// What is usual, engineering estimates: short drives leave a battery so full.
const (
	starterSocDefault = 0.85
	healthDefault     = 0.8 // a few years old
)

// starterCell makes the starter battery as a simulation sees it: one block, or
// two in series in class 24.
//
// Its resistance is what its cold-cranking rating says of it, warmed by the
// temperature factor and divided by its health.
//
//	R(-18 °C, full) = (E(-18 °C, full) − V_test)/(I_rated·health)     (1)
func starterCell(r *rig.Rig) battery {
	s := &r.StarterBattery
	ah, health := cmp.Or(s.CapacityAh, 70), cmp.Or(s.Health, healthDefault)
	amps, test := s.ColdA, coldTestV(s.ColdBy)
	if amps == 0 {
		amps, test = coldPerAh*ah, coldTestV("SAE")
	}
	blocks := vehicleClassFactor(r)
	b := leadBattery(s.Kind, 1, ah*health, 1, starterTakes)
	ohm := (b.restV(1, coldTestC) - test) / (amps * health * b.ohm(1, coldTestC, false)) // (1)
	return leadBattery(s.Kind, blocks, ah*health, ohm*blocks, starterTakes)
}

// vehicleClassFactor is 2 in class 24, else 1.
func vehicleClassFactor(r *rig.Rig) float64 {
	if r.Alternator.ClassV == "24" {
		return 2
	}
	return 1
}
