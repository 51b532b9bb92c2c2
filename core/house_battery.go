package core

import (
	"cmp"

	"spareamps/core/detmath"
	"spareamps/core/rig"
)

// An acceptance is the charge rate a kind of battery takes below a temperature,
// in A per Ah.
type acceptance struct{ upToC, rate float64 }

// Bulk charge rates of lead-acid batteries: flooded and gel 0.2 A/Ah, AGM 0.3; less
// in frost, none in great heat. Flooded: C/5 between 10 and 85 % of charge (a
// magazine, quoted at busconversions.com 10624). Gel: the middle of
// the general advice of 0.1 to 0.3 A/Ah, engineering estimate. The rest is common
// practice, no source.
var (
	floodedAcceptance = [...]acceptance{{-20, 0}, {0, 0.1}, {45, 0.2}, {50, 0.1}, {1e3, 0}}
	agmAcceptance     = [...]acceptance{{-20, 0}, {0, 0.15}, {45, 0.3}, {50, 0.1}, {1e3, 0}}
	gelAcceptance     = [...]acceptance{{-20, 0}, {0, 0.1}, {45, 0.2}, {50, 0.1}, {1e3, 0}}
)

// A knot is a point of a piecewise linear curve.
type knot struct{ x, y float64 }

// along returns the value of a curve, constant beyond its ends.
func along(knots []knot, x float64) float64 {
	a := knots[0]
	for _, b := range knots[1:] {
		if x < b.x {
			return a.y + (b.y-a.y)*detmath.Max(x-a.x, 0)/(b.x-a.x)
		}
		a = b
	}
	return a.y
}

// lfpAcceptance is the charge rate of LiFePO4 in A per Ah by cell temperature:
// a slope through the steps in a telecom battery's manual (ordinary charge), and
// nowhere above them, so that a tenth of a degree never changes the current by
// half. Zero at 0 °C and below. Generic guidance allows 0.2 A/Ah below 10 °C and
// ends at 45 °C. Checked: testdata/lfp_charge_limits.csv.
var lfpAcceptance = [...]knot{{0, 0}, {5, 0.1}, {10, 0.1}, {15, 0.2}, {25, 0.2}, {30, 0.5}, {45, 0.5}, {50, 0.1}, {55, 0.1}, {60, 0}}

// Temperatures in °C between which a maker's maximum holds in full. A single number
// from a maker says nothing about lower temperatures.
const makersFromC, makersToC = 10, 45

// plausibleCharge is the largest plausible ratio of a stated maximum to the table's
// rate. Above it the answer asks the user to check the maximum, and counts no more
// than this ratio. Engineering estimate.
const plausibleCharge = 2

// Terminal voltages while charging at the ceiling's rate, per 12 V of nominal
// (12.8 V for LiFePO4). From memory: 3.45 V/cell; absorption 14.4 V. Gel 2.35 V
// a cell: see leadKind.
const (
	lfpChargePerV  = 13.8 / 12.8
	leadChargePerV = 14.4 / 12
	gelChargePerV  = 14.1 / 12
)

// acceptanceTable returns the acceptance of a lead-acid chemistry.
func acceptanceTable(b *rig.HouseBattery) []acceptance {
	switch b.Chemistry {
	case "agm":
		return agmAcceptance[:]
	case "gel":
		return gelAcceptance[:]
	}
	return floodedAcceptance[:]
}

// usualA returns the charge current in A from the table at ordinary temperatures.
func usualChargeA(b *rig.HouseBattery) float64 {
	switch b.Chemistry {
	case "lifepo4":
		return 0.5 * b.CapacityAh
	case "agm":
		return 0.3 * b.CapacityAh
	}
	return 0.2 * b.CapacityAh
}

// makersA returns the part of the maker's maximum that counts; odd says that the
// maximum is implausibly high.
func makersChargeA(b *rig.HouseBattery) (amps float64, odd bool) {
	most := plausibleCharge * usualChargeA(b)
	return detmath.Min(b.MaxChargeA, most), b.MaxChargeA > most*(1+1e-9)
}

// An intake holds the acceptance of a house battery at one temperature: the bulk
// current, and the capacity in Ah for its taper, which is smaller in frost and great
// heat.
type intake struct{ bulkA, taperAh float64 }

// intake returns the intake at a cell temperature.
//
// A maker's own maximum replaces the table from 10 to 45 °C and caps it
// elsewhere. Below 10 °C it falls linearly: for lead-acid to the table at 0 °C; for
// LiFePO4 steeply to the 0.2 A/Ah of generic guidance at 8 °C, to 0.1 A/Ah at 5 °C
// and to zero at 0 °C, as in the table.
func intakeOf(b *rig.HouseBattery, cellC float64) (t intake) {
	c := b.CapacityAh
	maker, _ := makersChargeA(b)
	if b.Chemistry == "lifepo4" {
		t.bulkA = c * along(lfpAcceptance[:], cellC)
		if maker > 0 {
			low := detmath.Min(maker, 0.1*c)
			t.bulkA = along([]knot{{0, 0}, {5, low}, {8, detmath.Min(maker, 0.2*c)}, {makersFromC, maker},
				{makersToC, maker}, {50, low}, {55, low}, {60, 0}}, cellC)
		}
		t.taperAh = c
		return t
	}
	rate := 0.0
	for _, a := range acceptanceTable(b) {
		if cellC < a.upToC {
			rate = a.rate
			break
		}
	}
	usual := usualChargeA(b)
	t.bulkA, t.taperAh = rate*c, rate*c*c/usual
	switch {
	case maker == 0:
	case cellC >= 0 && cellC < makersToC:
		low := detmath.Min(maker, usual)
		t.bulkA = along([]knot{{0, low}, {makersFromC, maker}}, cellC)
	default:
		t.bulkA = detmath.Min(t.bulkA, maker)
	}
	return t
}

// State of charge at which a lead-acid battery reaches its absorption voltage: an
// AGM battery of 100 Ah at 25 °C, charged at 0.2 and 0.4 A/Ah (an owner's published test,
// "effect of charge rate on AGM battery", pbase.com).
const (
	taperRate0, taperSoc0 = 0.2, 0.774
	taperRate1, taperSoc1 = 0.4, 0.633
	taperLeastSoc         = 0.4   // end of the straight line; engineering estimate
	lfpTaperSoc           = 0.95  // at 0.5 A/Ah and below; from memory: 5 to 10 % from full
	lfpTrickle            = 0.02  // share of the bulk current that remains when full; engineering estimate
	leadTrickle           = 0.004 // A per Ah that remain when full: below the 0.005 at which makers call a battery full; engineering estimate
)

// leadTaperFrom returns the state of charge at which a lead-acid battery reaches its
// absorption voltage and starts to take less, at a charge rate in A per Ah.
//
//	s = 1 − (1 − s0)·r/r0, r ≤ r0                (1)
//	s = s0 − (s0 − s1)·(r − r0)/(r1 − r0), r > r0     (2)
//
// (2) is the line through the two measured points; (1) joins it to a full battery
// at no current, since the voltage rise by resistance and polarisation is
// proportional to the current. Fitted, not checked, between 0.2 and 0.4 A/Ah at
// 25 °C on one AGM battery. Out of sample: other rates, flooded and gel batteries,
// age. Checked: testdata/agm_taper.csv.
func leadTaperFrom(rate float64) float64 {
	if rate <= taperRate0 {
		return 1 - (1-taperSoc0)/taperRate0*rate // (1)
	}
	const slope = (taperSoc0 - taperSoc1) / (taperRate1 - taperRate0)
	return detmath.Max(taperSoc0-slope*(rate-taperRate0), taperLeastSoc) // (2)
}

// at returns the current in A that a battery takes at a state of charge when the
// charger offers askedA.
//
//	I = I_b·(1 − s)/(1 − s_t), s > s_t     (1)
//
// I_b is the lower of the offered and the bulk current; s_t is the state of charge
// at which the taper starts with I_b. The offered current does not limit the result
// here: it only decides where the taper starts. After an hour at 0.4 A/Ah from half
// charge (1) is 3 % of capacity low; at that rate the last tenth is an hour too fast.
func (t *intake) at(lifepo4 bool, askedA, soc float64) float64 {
	if t.bulkA <= 0 {
		return 0
	}
	left := detmath.Max(1-soc, 0)
	if lifepo4 {
		return t.bulkA * detmath.Min(detmath.Max(left/(1-lfpTaperSoc), lfpTrickle), 1)
	}
	driven := detmath.Min(t.bulkA, detmath.Max(askedA, taperRate0*t.taperAh))
	from := leadTaperFrom(driven / t.taperAh)
	return detmath.Min(detmath.Max(driven*left/(1-from), leadTrickle*t.taperAh), t.bulkA) // (1)
}

// AcceptedCurrent returns the largest charge current in A that a house battery takes
// at its temperature and state of charge (0 to 1): by chemistry, from the maker's
// maximum or else the acceptance tables, and less near full.
//
// Checked: testdata/lfp_charge_limits.csv, testdata/agm_taper.csv.
func AcceptedCurrent(b *rig.HouseBattery, cellC, soc float64) float64 {
	t := intakeOf(b, cellC)
	return t.at(b.Chemistry == "lifepo4", t.bulkA, soc)
}

// nominalV returns the nominal voltage; if it is not given, that of four LiFePO4 or
// six lead-acid cells.
func houseNominalV(b *rig.HouseBattery) float64 {
	if b.Chemistry == "lifepo4" {
		return cmp.Or(b.NominalV, 12.8)
	}
	return cmp.Or(b.NominalV, 12)
}

// houseChargeV returns the voltage at which the charger's output is counted.
func houseChargeV(b *rig.HouseBattery) float64 {
	switch {
	case b.ChargeV > 0:
		return b.ChargeV
	case b.Chemistry == "lifepo4":
		return houseNominalV(b) * lfpChargePerV
	case b.Chemistry == "gel":
		return houseNominalV(b) * gelChargePerV
	default:
		return houseNominalV(b) * leadChargePerV
	}
}

// houseCell returns the house battery for a simulation. Its resistance is the stated
// one, or else follows chemistry and capacity: for lead-acid, that of the tested AGM
// battery times 25 Ah over the battery's capacity.
func houseCell(r *rig.Rig) battery {
	b := &r.HouseBattery
	if b.Chemistry == "lifepo4" {
		return lfpBattery(houseNominalV(b)/12.8, b.CapacityAh, b.Milliohm/1e3)
	}
	blocks := houseNominalV(b) / 12
	return leadBattery(b.Chemistry, blocks, b.CapacityAh, cmp.Or(b.Milliohm, blocks*agmMilliohm*25/b.CapacityAh)/1e3, usualChargeA(b)/b.CapacityAh)
}
