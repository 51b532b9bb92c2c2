package core

// An acceptance is the charge rate a chemistry takes between two temperatures,
// in A per Ah.
type acceptance struct{ upToC, rate float64 }

// lfpAcceptance: none below 0 °C; generic guidance keeps to 0.2 A/Ah below
// 10 °C; the rest from a telecom battery's manual (ordinary charge), whose hot
// band is kept. Checked: testdata/lfp_charge_limits.csv.
var lfpAcceptance = [...]acceptance{{0, 0}, {5, 0.1}, {10, 0.1}, {25, 0.2}, {50, 0.5}, {60, 0.1}, {1e3, 0}}

// floodedAcceptance and agmAcceptance: bulk charge of flooded and AGM batteries, 0.2 and 0.3 A/Ah;
// less in frost, none in great heat. Common practice, no source.
var floodedAcceptance = [...]acceptance{{-20, 0}, {0, 0.1}, {45, 0.2}, {50, 0.1}, {1e3, 0}}

var agmAcceptance = [...]acceptance{{-20, 0}, {0, 0.15}, {45, 0.3}, {50, 0.1}, {1e3, 0}}

// Terminal voltages while charging at the ceiling's rate, per 12 V of nominal
// (12.8 V for LiFePO4). From memory: 3.45 V/cell; absorption 14.4 V.
const (
	lfpChargePerV  = 13.8 / 12.8
	leadChargePerV = 14.4 / 12
)

// AcceptedCurrent returns the charge current in A that a house battery takes
// at its temperature and state of charge (0 to 1).
//
// By chemistry and temperature from the acceptance tables, steps as published.
// A maker's own maximum replaces the table in its ordinary band and caps it
// elsewhere. Near full the current tapers: LiFePO4 from 95 %, lead-acid from
// 80 %, in a straight line (from memory; real taper depends on the voltage
// held). Checked: testdata/lfp_charge_limits.csv.
func AcceptedCurrent(b *HouseBattery, cellC, soc float64) float64 {
	table, taperFrom, most := lfpAcceptance[:], b.taperFrom(), 0.5
	switch b.Chemistry {
	case "flooded", "lead-acid":
		table, most = floodedAcceptance[:], 0.2
	case "agm", "gel":
		table, most = agmAcceptance[:], 0.3
	}
	rate := 0.0
	for _, a := range table {
		if cellC < a.upToC {
			rate = a.rate
			break
		}
	}
	amps := rate * b.CapacityAh
	if b.MaxChargeA > 0 && (rate >= most || amps > b.MaxChargeA) {
		amps = b.MaxChargeA
	}
	return amps * taper(soc, taperFrom)
}

// taper is the share of the current that a battery takes near full.
func taper(soc, from float64) float64 {
	if soc <= from {
		return 1
	}
	return larger((1-soc)/(1-from), 0.02)
}

// taperFrom is the charge from which a battery tapers.
func (b *HouseBattery) taperFrom() float64 {
	if b.Chemistry == "lifepo4" {
		return 0.95
	}
	return 0.8
}

// nominalV returns the nominal voltage: that of four LiFePO4 or six lead-acid
// cells where it is not given.
func (b *HouseBattery) nominalV() float64 {
	if b.Chemistry == "lifepo4" {
		return stated(b.NominalV, 12.8)
	}
	return stated(b.NominalV, 12)
}

// chargeV returns the voltage at which the charger's output is counted.
func (b *HouseBattery) chargeV() float64 {
	switch {
	case b.ChargeV > 0:
		return b.ChargeV
	case b.Chemistry == "lifepo4":
		return b.nominalV() * lfpChargePerV
	default:
		return b.nominalV() * leadChargePerV
	}
}

// houseCell makes the house battery as a simulation sees it. Its resistance is
// as stated, else by chemistry and capacity: for lead-acid that of the tested
// AGM battery by 25 Ah over its own.
func (r *Rig) houseCell() battery {
	b := &r.HouseBattery
	if b.Chemistry == "lifepo4" {
		return lfpBattery(b.nominalV()/12.8, b.CapacityAh, b.Milliohm/1e3)
	}
	blocks := b.nominalV() / 12
	takes := 0.2
	if b.Chemistry == "agm" || b.Chemistry == "gel" {
		takes = 0.3
	}
	return leadBattery(b.Chemistry, blocks, b.CapacityAh, stated(b.Milliohm, blocks*agmMilliohm*25/b.CapacityAh)/1e3, takes)
}
