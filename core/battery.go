package core

import "spareamps/core/detmath"

// A battery is one battery as a simulation sees it: made once from the rig,
// then asked often. Charging currents are positive.
//
// Resistance is one number for the first minute or so after a change of load:
// no time constants, no hysteresis of the rest voltage, no self-discharge.
type battery struct {
	pieces     [pieces]piece
	blocks     float64 // of 12 V, or cells, in series
	perK       float64 // V/K of the open-circuit voltage
	capacityAh float64 // usable at the 20 h rate and 25 °C
	warm       *warming
	kept       [2]float64 // share of charged amp-hours that stays: below keptFrom, and full
	keptFrom   float64
	peukert    float64 // exponent less one
	coldAh     float64 // share of capacity lost per K below 25 °C
	absorbV    float64 // at 25 °C
	absorbPerK float64 // V/K
	takes      float64 // A per Ah it takes at absorbV, hardly charged, 25 °C
	takesFull  float64 // share of that when full
	taperFrom  float64

	leastV float64 // no open-circuit voltage is below it
	weakW  float64 // a tenth of what it gives at best when empty and frozen
}

// bounded fills in what is asked before every step of a simulation.
func (b battery) bounded() battery {
	const frostC = -40
	b.leastV = b.restV(0, frostC)
	b.weakW = 0.1 * b.leastV * b.leastV / b.ohm(0, frostC, false)
	return b
}

// A warming is how resistance changes with temperature: a polynomial of the
// kelvins below 25 °C, from -40 °C to 45 °C and level beyond.
type warming [3]float64

func (w *warming) factor(celsius float64) float64 {
	x := detmath.Min(detmath.Max(25-celsius, -20), 65)
	return 1 + x*(w[0]+x*(w[1]+x*w[2]))
}

// restV returns the open-circuit voltage at rest, in V.
func (b *battery) restV(soc, celsius float64) float64 {
	p, u := b.at(soc)
	return p.restV + p.restRise*detmath.Clamp(u, 0, 1) + b.perK*(celsius-25)
}

// ohm returns the resistance in Ω. On discharge it falls with charge and with
// temperature.
func (b *battery) ohm(soc, celsius float64, charging bool) float64 {
	p, u := b.at(soc)
	u = detmath.Clamp(u, 0, 1)
	ohm := p.out + p.outRise*u
	if charging {
		ohm = p.in + p.inRise*u
	}
	return ohm * b.warm.factor(celsius)
}

// coulombic returns the share of charged amp-hours that stays.
func (b *battery) coulombic(soc float64) float64 {
	x := detmath.Max(soc-b.keptFrom, 0) / (1 - b.keptFrom)
	return b.kept[0] + (b.kept[1]-b.kept[0])*detmath.Min(x, 1)
}

// drawn returns the amp-hours of charge that go per amp-hour delivered at a
// current in A: 1 for LiFePO4; for lead-acid more above the 20 h rate, and
// more in the cold.
//
//	q = (I/I20)^(k−1) / (1 − 0.006·(25 − T))     (1)
//
// From Peukert's t = H·(C/(I·H))^k. No gain above 25 °C or below the 20 h
// rate. Charge left over by a high current comes back with hours of rest;
// that is neglected, which is careful. Checked: testdata/capacity_cold.csv,
// testdata/reserve_capacity.csv.
func (b *battery) drawn(currentA, celsius float64) float64 {
	q := 1 / (1 - b.coldAh*detmath.Min(detmath.Max(25-celsius, 0), 85)) // (1)
	if rate := 20 * currentA; b.peukert > 0 && rate > b.capacityAh {
		q *= detmath.Pow(rate/b.capacityAh, b.peukert)
	}
	return q
}

// chargeA returns the current in A that it takes from a bus held at busV.
//
//	I = C·a·taper(soc)/f(T) · (V − E)/(V_abs(T) − E), at most (V − E)/R     (1)
//
// with the rest voltage E, the absorption voltage V_abs and the resistance's
// temperature factor f. Never negative: below the rest voltage it takes
// nothing.
func (b *battery) chargeA(busV, soc, celsius float64) float64 {
	p, u := b.at(soc)
	u = detmath.Clamp(u, 0, 1)
	e := p.restV + p.restRise*u + b.perK*(celsius-25)
	over := busV - e
	if over <= 0 {
		return 0
	}
	shape := b.warm.factor(celsius)
	left := detmath.Min(detmath.Max((1-soc)/(1-b.taperFrom), b.takesFull), 1)
	span := detmath.Max(b.absorbV+b.absorbPerK*(celsius-25)-e, 0.1*b.blocks)
	taken := b.capacityAh * b.takes * left / (shape * span)
	return over * detmath.Min(taken, 1/((p.in+p.inRise*u)*shape)) // (1)
}
