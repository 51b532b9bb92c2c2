package core

import (
	"spareamps/core/detmath"
	"spareamps/core/rig"
)

// What the quantities of batteries and starting need besides the model.

// leadKindNames are the kinds of lead-acid batteries by number.
var leadKindNames = [...]string{"flooded", "agm", "gel"}

func leadKindName(i float64) string { return leadKindNames[int(detmath.ClampAbs(i, 2)+0.5)%3] }

// starterRig is a class-12 vehicle with a new starter battery of a kind.
func starterRig(kind, capacityAh, coldA, health float64, by string) rig.Rig {
	r := rig.Rig{StarterBattery: rig.StarterBattery{Kind: leadKindName(kind), CapacityAh: capacityAh, ColdA: coldA, ColdBy: by, Health: health}}
	r.Engine.Fuel = "diesel"
	return r
}

// reserveMinutes runs the reserve-capacity test: 25 A at 27 °C from full until
// 10.5 V, or empty.
func reserveMinutes(kind, capacityAh, coldA float64) float64 {
	r := starterRig(kind, capacityAh, coldA, 1, "SAE")
	b := starterCell(&r)
	const amps, celsius, step = 25, 27, 0.1
	perStep := amps * b.drawn(amps, celsius) * step / 60 / b.capacityAh
	t, soc := 0.0, 1.0
	for soc > 0 && b.restV(soc, celsius)-amps*b.ohm(soc, celsius, false) >= 10.5 {
		soc -= perStep
		t += step
	}
	return t
}

// peukertHours is how long a battery lasts by its drawn amp-hours.
func peukertHours(capacityAh, exponent, currentA float64) float64 {
	b := battery{capacityAh: capacityAh, peukert: exponent - 1}
	return capacityAh / (currentA * b.drawn(currentA, 25))
}

// crankingA is what a new, full battery gives at 7.2 V after 30 s.
func crankingA(coldA, celsius float64) float64 {
	r := starterRig(0, coldA/coldPerAh, coldA, 1, "SAE")
	b := starterCell(&r)
	return (b.restV(1, celsius) - 7.2) / b.ohm(1, celsius, false)
}

// loadTestV is the voltage of a full battery at half its cold-cranking rating.
func loadTestV(coldA, health, celsius float64) float64 {
	r := starterRig(0, coldA/coldPerAh, coldA, health, "SAE")
	b := starterCell(&r)
	return b.restV(1, celsius) - coldA/2*b.ohm(1, celsius, false)
}

// starterDrawA is the current of a starter motor; fuel 0 is diesel, 1 petrol.
func starterDrawA(fuel, litres, celsius float64) float64 {
	r := rig.Rig{Engine: rig.Engine{Fuel: "diesel", DisplacementL: litres}}
	if fuel == 1 {
		r.Engine.Fuel = "petrol"
	}
	return crankA(&r, celsius)
}

// restartMargin is the margin of a flooded battery rated by EN on a diesel.
func restartMargin(capacityAh, coldA, health, soc, celsius, litres float64) float64 {
	r := starterRig(0, capacityAh, coldA, health, "EN")
	r.Engine.DisplacementL = litres
	b := starterCell(&r)
	return restartOf(&r, &b, soc, celsius).marginV
}
