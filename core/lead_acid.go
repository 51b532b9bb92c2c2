package core

// Rest voltages of 12 V blocks at 25 °C, empty to full. AGM: a 26 Ah battery
// tested by a university (adv-vehicle-sim, ESS_PB25). Flooded: a magazine's
// table for 25 to 100 % (motorhome.com); empty by the drop from 25 % of a
// rounder set (a radio maker's mailing list). Checked: testdata/lead_acid_rest.csv.
var (
	agmRest     = restCurve{11.70, 11.96, 12.26, 12.48, 12.67, 12.89}
	floodedRest = restCurve{11.75, 12.15, 12.30, 12.45, 12.66}
)

// Resistances of the same 26 Ah AGM battery over its mean of 80 and 100 % on
// discharge, which its table has a little below each other the wrong way
// round (11.7 and 12.2 mΩ). Other lead-acid batteries are taken alike.
// Checked: testdata/agm_resistance.csv.
const agmMilliohm = 11.95

var (
	agmOut = restCurve{40.7 / agmMilliohm, 33.8 / agmMilliohm, 19.3 / agmMilliohm, 13.1 / agmMilliohm, 1, 1}
	agmIn  = restCurve{31.6 / agmMilliohm, 29.5 / agmMilliohm, 28.0 / agmMilliohm, 23.1 / agmMilliohm, 26.1 / agmMilliohm, 47.2 / agmMilliohm}
)

// leadWarm is the first terms of exp(0.0125·x): by it a battery gives 1.25
// times its cold-cranking current at 0 °C, the lower of two published ratios
// (1.25, 1.3). Checked: testdata/cranking_by_temperature.csv.
var leadWarm = warming{0.0125, 0.0125 * 0.0125 / 2, 0.0125 * 0.0125 * 0.0125 / 6}

// A leadKind is what differs between kinds, voltages per 12 V at 25 °C.
type leadKind struct {
	rest                restCurve
	peukert             float64 // exponent less one; middle or careful end of the ranges at fxsolver.com
	holdV               float64 // least that keeps it full; from memory
	floatV              float64 // most that may stay on
	absorbV, mostAbsorb float64 // usual and largest absorption
}

// Flooded: gas from 14.0 V (an inverter-charger's manual, manualsdump.com
// 92630); absorption to 14.8 V (a maker's data sheet). AGM: the 21 to 27 °C row
// of inverterandcharger.com's table. Gel: 2.35 V a cell in cycles, 2.25 to
// 2.30 V float (a 12 V, 106 Ah gel battery's data sheet); a magazine has 13.8 to
// 14.1 V and 13.4 to 13.8 V (practical-sailor.com 11705): the largest absorption
// is the lower of the two. Checked: testdata/float_by_temperature.csv,
// testdata/gel_charge.csv.
var (
	flooded = leadKind{floodedRest, 0.2, 13.2, 14.0, 14.4, 14.8}
	agm     = leadKind{agmRest, 0.1, 13.2, 13.7, 14.3, 14.6}
	gel     = leadKind{agmRest, 0.15, 13.2, 13.7, 14.1, 14.1}
)

// leadKindOf finds a kind by its name in the inputs; what is none of AGM and
// gel has free acid.
func leadKindOf(kind string) *leadKind {
	switch kind {
	case "agm":
		return &agm
	case "gel":
		return &gel
	}
	return &flooded
}

// leadBattery makes a lead-acid battery of blocks in series.
//
// Of the charge 0.90 stays (the AGM test), above 80 % less and when full half
// (from memory; a maker's sheet: 0.5 or less from 80 % on). Rest voltage rises
// by 0.2 mV/K a cell, from memory.
func leadBattery(kind string, blocks, capacityAh, ohm25, takes float64) battery {
	k := leadKindOf(kind)
	b := battery{
		blocks: blocks, perK: 1.2e-3 * blocks, capacityAh: capacityAh,
		warm: &leadWarm,
		kept: [2]float64{0.90, 0.5}, keptFrom: 0.8,
		peukert: k.peukert, coldAh: 0.006,
		absorbV: k.absorbV * blocks, absorbPerK: -leadPerK * blocks,
		takes: takes, takesFull: 0.03, taperFrom: 0.8,
	}
	b.lay(k.rest, agmOut, agmIn, blocks, ohm25)
	return b
}
