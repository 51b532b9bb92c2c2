package conductor

import (
	"spareamps/core/detmath"
	"spareamps/core/rig"
)

// Class5 is the DC resistance at 20 °C of a class 5 (fine stranded) plain
// copper conductor by area, in ohm per km: the maximum a maker may deliver.
// Source: IEC 60228. Checked: testdata/iec60228_class5.csv.
var Class5 = [...]struct{ mm2, ohmPerKm float64 }{
	{1.5, 13.3}, {2.5, 7.98}, {4, 4.95}, {6, 3.30}, {10, 1.91}, {16, 1.21},
	{25, 0.780}, {35, 0.554}, {50, 0.386}, {70, 0.272}, {95, 0.206}, {120, 0.161},
}

// Resistance20 returns the resistance at 20 °C in ohm per metre of a class 5
// copper conductor of an area in mm². Between the standard's sizes, and for
// AWG sizes, resistance times area is interpolated; outside them it is that of
// the nearest.
//
// For 1 to 150 mm². Neglects skin effect (DC). Equal to the standard's maximum
// at its sizes, 11 to 15 % above solid copper. Source: IEC 60228.
func Resistance20(areaMM2 float64) float64 {
	last := len(Class5) - 1
	if areaMM2 <= Class5[0].mm2 {
		return Class5[0].ohmPerKm * Class5[0].mm2 / areaMM2 / 1000
	}
	for i := range last {
		a, b := Class5[i], Class5[i+1]
		if areaMM2 <= b.mm2 {
			t := (areaMM2 - a.mm2) / (b.mm2 - a.mm2)
			if t == 1 {
				return b.ohmPerKm / 1000
			}
			pa, pb := a.ohmPerKm*a.mm2, b.ohmPerKm*b.mm2
			return (pa + t*(pb-pa)) / areaMM2 / 1000
		}
	}
	return Class5[last].ohmPerKm * Class5[last].mm2 / areaMM2 / 1000
}

// AWGArea returns the area in mm² of a solid conductor of an AWG number; 0 is
// 1/0, −1 is 2/0, −3 is 4/0.
//
//	d = 0.127 mm·92^((36−n)/39)     (1)
//
// Source: ASTM B258. SAE J1127 battery cable of the same number has 5 to 12 %
// less copper, so such a cable is described by its mm² where they are known.
func AWGArea(n float64) float64 {
	d := 0.127 * detmath.Pow(92, (36-n)/39) // (1)
	return 0.78539816339744831 * d * d
}

// Ampacities are continuous currents of a single conductor with insulation for
// 105 °C in 30 °C ambient, by AWG number. Source: 33 CFR 183.425, table 5.
// Checked: testdata/ampacity_33cfr183.csv.
var Ampacities = [...]struct{ awg, a float64 }{
	{18, 20}, {16, 25}, {14, 35}, {12, 45}, {10, 60}, {8, 80}, {6, 120}, {4, 160},
	{3, 180}, {2, 210}, {1, 245}, {0, 285}, {-1, 330}, {-2, 385}, {-3, 445},
}

const (
	ampacityInsulationC = 105.0
	ampacityAmbientC    = 30.0
)

// Ampacity returns the continuous current in A of a single copper conductor of
// an area in mm² whose insulation allows insulationC, in ambientC.
//
//	I = I105·√((T_ins − T)/(105 − 30))     (2)
//
// I105 by area lies on the chords of the table. (2) follows from heat in proportion to the square of the current; it
// gives 0.856 at 50 °C where the table has 0.85. Bundled conductors carry less
// (x 0.70 for three). Source: 33 CFR 183.425. Checked: testdata/checks.csv.
func Ampacity(areaMM2, insulationC, ambientC float64) float64 {
	rise := insulationC - ambientC
	if rise <= 0 {
		return 0
	}
	return ampacity105(areaMM2) * detmath.Sqrt(rise/(ampacityInsulationC-ampacityAmbientC)) // (2)
}

func ampacity105(areaMM2 float64) float64 {
	last := len(Ampacities) - 1
	lo := AWGArea(Ampacities[0].awg)
	if areaMM2 <= lo {
		return Ampacities[0].a * areaMM2 / lo
	}
	for i := range last {
		hi := AWGArea(Ampacities[i+1].awg)
		if areaMM2 <= hi {
			t := (areaMM2 - lo) / (hi - lo)
			return Ampacities[i].a + t*(Ampacities[i+1].a-Ampacities[i].a)
		}
		lo = hi
	}
	return Ampacities[last].a * detmath.Sqrt(areaMM2/lo) // beyond the table: by surface, engineering estimate
}

// A Lead is the pair of conductors between the alternator's side and the
// charger, with its terminations.
type Lead struct {
	Ohm20       float64 // both conductors at 20 °C
	EndsOhm     float64 // terminations, taken as constant
	InsulationC float64
	A105        float64 // ampacity105 of its area
	FuseA       float64
	MaxDropV    float64
}

func NewLead(c *rig.Cable, nominalV float64) Lead {
	area := CableArea(c)
	return Lead{
		Ohm20:       2 * c.LengthM * Resistance20(area),
		EndsOhm:     c.Terminations * c.TerminationMilliohm / 1000,
		InsulationC: c.InsulationC,
		A105:        ampacity105(area),
		FuseA:       c.FuseA,
		MaxDropV:    c.MaxDrop * nominalV,
	}
}

// CableArea returns the conductor's area in mm².
func CableArea(c *rig.Cable) float64 {
	if c.AreaMM2 > 0 {
		return c.AreaMM2
	}
	return AWGArea(awgNumber(c.AWG))
}

// awgNumber reads "4" or "2/0"; the input table allows nothing else.
func awgNumber(s string) float64 {
	n := 0.0
	for i := range len(s) {
		if s[i] == '/' {
			return 1 - n
		}
		n = 10*n + float64(s[i]-'0')
	}
	return n
}

// ConductorC returns the conductor's temperature at a current in A.
//
//	T = T_amb + 75 K·(I/I105)²     (3)
func (l *Lead) ConductorC(currentA, ambientC float64) float64 {
	u := currentA / l.A105
	return ambientC + (ampacityInsulationC-ampacityAmbientC)*u*u // (3)
}

// OhmLaw returns the lead's resistance in ohm as a + b·I², by (3).
func (l *Lead) OhmLaw(ambientC float64) (a, b float64) {
	return l.Ohm20*Copper(ambientC) + l.EndsOhm,
		l.Ohm20 * CopperAlpha * (ampacityInsulationC - ampacityAmbientC) / (l.A105 * l.A105)
}

// Ohm returns the lead's resistance in ohm at a current in A.
func (l *Lead) Ohm(currentA, ambientC float64) float64 {
	a, b := l.OhmLaw(ambientC)
	return a + b*currentA*currentA
}

// HeatA returns the current at which the conductor reaches its insulation's
// rating.
func (l *Lead) HeatA(ambientC float64) float64 {
	rise := l.InsulationC - ambientC
	if rise <= 0 {
		return 0
	}
	return l.A105 * detmath.Sqrt(rise/(ampacityInsulationC-ampacityAmbientC))
}

// DropA returns the current at which the drop reaches dropV, the conductor
// being at the temperature that current gives it.
//
//	R(I)·I = ΔV     (4)
func (l *Lead) DropA(dropV, ambientC float64) float64 {
	if dropV <= 0 {
		return 0
	}
	// R grows with I², so that R(I)·I is convex: Newton from the cold value
	// comes down from above without passing the root.
	base, grow := l.OhmLaw(ambientC)
	i := dropV / base
	for range 20 {
		d := (base*i + grow*i*i*i - dropV) / (base + 3*grow*i*i)
		i -= d
		if detmath.Abs(d) < 1e-12*i {
			break
		}
	}
	return i
}

// SmallCraftDrop returns the voltage drop in V of a copper lead by the small
// craft form: length out and back in m, current in A, area in mm².
//
//	E = 0.0164·I·L/S     (5)
//
// Source: ISO 10133 annex (coefficient at 20 °C, solid copper). It is kept as
// a cross-check: our own drop counts stranding and the conductor's heat.
func SmallCraftDrop(currentA, lengthM, areaMM2 float64) float64 {
	return 0.0164 * currentA * lengthM / areaMM2 // (5)
}
