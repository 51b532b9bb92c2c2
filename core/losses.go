package core

import (
	"spareamps/core/conductor"
	"spareamps/core/detmath"
)

// Losses of an alternator by part, in W.
type Losses struct {
	StatorCopper float64
	Rectifier    float64
	Field        float64
	Iron         float64
	Mechanical   float64 // friction and fan
}

// Total returns the sum in W.
func (p Losses) Total() float64 {
	return p.StatorCopper + p.Rectifier + p.Field + p.Iron + p.Mechanical
}

// The losses a label does not tell scale from the measured 180 A machine of
// Sarafianos et al. 2015.
const (
	measuredA      = 180   // A
	fieldW         = 60    // W of the 180 A machine at full field, brushes included
	ironW          = 219   // W, open circuit at 2000 rpm and full field
	ironExponent   = 1.45  // of speed, measured 2000 to 8000 rpm
	frictionConst  = 20.36 // W } friction and fan of the measured machine, quadratic in rpm,
	frictionLinear = -1.601e-3
	frictionSquare = 2.302e-6 // W/rpm² } within 7 W from 2000 to 8000 rpm
)

// ironLoss returns the open-circuit iron loss in W at full field. Under load a
// heldFlux says what share of it is left.
//
//	P = 219·(A/180)·(n/2000)^1.45     (1)
//
// Under partial field it falls with the square of the flux. The measured
// open-circuit loss lies within 12 % of that above half field; below, it falls
// faster. Source: Sarafianos et al. 2015. Checked: testdata/checks.csv, iron_ratio.
func (z size) ironLoss(speedRpm float64) float64 {
	return ironW * z.iron * detmath.Pow(speedRpm/2000, ironExponent) // (1)
}

// mechanicalLoss returns friction and fan in W.
//
//	P = (20.36 − 1.601e-3·n + 2.302e-6·n²)·(A/180)^0.7     (2)
//
// For 1500 to 8000 rpm; beyond, the fan's part is extended by its square, below
// it falls in proportion to speed.
// Source: Sarafianos et al. 2015; the exponent is an engineering estimate.
// Checked: testdata/checks.csv, friction_W.
func (z size) mechanicalLoss(speedRpm float64) float64 {
	const slowest = 1500
	if speedRpm < slowest {
		return z.mechanicalLoss(slowest) * speedRpm / slowest
	}
	return (frictionConst + speedRpm*(frictionLinear+speedRpm*frictionSquare)) * z.friction // (2)
}

// fieldLoss returns the rotor's copper loss in W at a field share of 1 and the
// machine's reference temperature.
//
//	P = 60·(A/180)^0.5     (3)
func (z size) fieldLoss() float64 { return fieldW * z.field } // (3)

// junctionPerA returns how far a diode's junction is above its plate, in K per A
// of output: each of six carries a third of it.
//
//	ΔT/I = 0.8·Vd/3/n,  n = A/150 but at least 1     (5)
//
// n is how many diodes, or how large ones, a leg has: a diode is rated 50 A in
// the mean, a third of 150 A. A machine of six phases has two bridges. Other
// families have a resistance of their own in the place of 0.8 K/W. Source: rectifier data sheets, 0.6 to 0.9 K/W and
// 40 to 50 A at a case of 150 °C. Checked: testdata/checks.csv, diode_rise_K.
func (m *machine) junctionPerA() float64 {
	return rectifiers[m.kind.rectifier].perW * m.dropV / 2 / 3 / detmath.Max(m.size.diodes, stators[m.kind.stator].bridges)
} // (5)

// statorLoss returns the copper loss of the three phases at a phase current (root mean
// square) and winding temperature.
//
//	P = 3·R(T)·Irms²     (4)
func (m *machine) statorLoss(phaseA, windingC float64) float64 {
	return 3 * m.heatR * conductor.Copper(windingC) / conductor.Copper(m.refC) * phaseA * phaseA // (4)
}
