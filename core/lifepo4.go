package core

import "cmp"

// lfpRest is the open-circuit voltage of a LiFePO4 cell at 25 °C in steps of
// 5 %: a measured 3 Ah cell (Naumann, thesis, TU München 2018, as tabulated in
// martincornejo/simses-lite). Its first and last 2 % are steeper than a step
// can show: the end points keep the mean, and so the energy, of those steps.
// Checked: testdata/lifepo4_rest.csv.
var lfpRest = restCurve{2.7048, 3.0647, 3.1967, 3.2120, 3.2343, 3.2547, 3.2703, 3.2826, 3.2921, 3.2973, 3.2995,
	3.3014, 3.3035, 3.3060, 3.3108, 3.3185, 3.3345, 3.3403, 3.3425, 3.3447, 3.3805}

// Resistances of that cell at 25 °C over that at half charge, 47.8 mΩ on
// discharge. Between 20 and 70 % its table goes up and down by 4 %; on
// discharge a falling curve is laid through it. Checked:
// testdata/lifepo4_resistance.csv.
var (
	lfpOut = restCurve{1.29, 1.06, 1.04, 0.96, 0.92, 0.89}
	lfpIn  = restCurve{0.79, 0.87, 0.90, 0.98, 1.01, 1.12}
)

// lfpWarm goes through that cell's 1.45, 1 and 0.80 at 10, 25 and 40 °C, and
// is level above 45 °C.
var lfpWarm = warming{0.0215, 0.000525}

const (
	lfpOhmAh   = 4 * 0.0478 * 3 // four cells of that make, Ω·Ah
	lfpBlockOh = 0.001          // connections and electronic switch, Ω per 12.8 V; engineering estimate
)

// lfpBattery makes a LiFePO4 battery of blocks of four cells in series.
//
// Of the charge 0.995 stays (from memory: 0.99 to 1). The rest voltage's
// change with temperature is that cell's at half charge, 0.11 mV/K. What it
// loses of its capacity in frost is not counted.
func lfpBattery(blocks, capacityAh, ohm25 float64) battery {
	b := battery{
		blocks: 4 * blocks, perK: 0.44e-3 * blocks, capacityAh: capacityAh, warm: &lfpWarm,
		kept: [2]float64{0.995, 0.995}, absorbV: 14.2 * blocks, takes: 0.5, takesFull: 0.02, taperFrom: 0.95,
	}
	b.lay(lfpRest, lfpOut, lfpIn, 4*blocks, cmp.Or(ohm25, blocks*(lfpOhmAh/capacityAh+lfpBlockOh)))
	return b
}
