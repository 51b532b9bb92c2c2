package core

import (
	"cmp"
	"math"

	"spareamps/core/detmath"
	"spareamps/core/rig"
)

// A shape is what an alternator's description says of its output curve at the
// reference state.
type shape struct {
	poles    float64
	testV    float64
	dropV    float64
	cutInRpm float64
	limitA   float64
	rx       float64
	refC     float64
	ratedA   float64 // output at ratedRpm
	ratedRpm float64
	byLabel  bool // limitA follows from ratedA, whatever the cut-in
	fit      CurveFit
	fitted   bool
	given    bool // by parameters
	idleOff  bool // the label's idle current fits no cut-in speed
	size     size
	kind     kinds
}

// shapeOf reads the description: explicit parameters lead, then a measured
// curve, then the label.
func shapeOf(a *rig.Alternator, pulley float64) shape {
	return shapeWith(a, pulley, a.Machine.DiodeDropV)
}

// shapeWith is shape with the drop of one diode in the place of that of the
// parameters.
func shapeWith(a *rig.Alternator, pulley, drop float64) shape {
	kind := kindsOf(a)
	s := shape{
		kind: kind, poles: a.PolePairs, testV: labelTestV(a), dropV: rectifiers[kind.rectifier].dropV, refC: labelCopperC,
		cutInRpm: labelCutInRpm, rx: labelRX, ratedA: a.RatedCurrentA, ratedRpm: a.RatedSpeedRpm,
	}
	switch {
	case a.MachineGiven:
		m := machineOfParameters(&a.Machine, s.testV)
		m.dropV = 2 * drop
		s.given = true
		s.poles, s.dropV, s.refC = m.poles, m.dropV, m.refC
		s.cutInRpm, s.limitA, s.rx = m.cutInRpm(s.testV), m.limitA(), m.rx()
		s.ratedA = curveCurrent(s.cutInRpm, s.limitA, s.rx, s.ratedRpm)
	case len(a.Points) > 0:
		points := make([]rig.Point, len(a.Points))
		for i, p := range a.Points {
			if a.PointsSpeed == "engine" {
				p.SpeedRpm *= pulley
			}
			points[i] = p
		}
		s.fit, s.fitted = FitCurve(points), true
		s.cutInRpm, s.limitA, s.rx = s.fit.CutInRpm, s.fit.LimitA, s.fit.RX
		s.ratedA = s.fit.Current(s.ratedRpm)
		for _, p := range points { // where the curve begins above the rated speed
			s.ratedA = detmath.Max(s.ratedA, p.CurrentA)
		}
	default:
		s.byLabel = true
		if a.IdleCurrentA > 0 {
			nc, ok := cutInForLabel(s.rx, a.IdleCurrentA, a.IdleSpeedRpm, s.ratedA, s.ratedRpm)
			s.cutInRpm, s.idleOff = nc, !ok
		}
		s.limitA = limitForLabel(s.cutInRpm, s.rx, s.ratedA, s.ratedRpm)
	}
	s.size = newSize(s.ratedA, s.testV)
	return s
}

// machine makes the machine of a shape with its unknowns applied.
func (s *shape) machine(f *factors) (m machine) {
	s.make(&m, f)
	return m
}

// make is machine in place.
func (s *shape) make(m *machine, f *factors) {
	nc := s.cutInRpm * f.cutIn
	if s.byLabel {
		nc = detmath.Min(nc, 0.9*s.ratedRpm) // a label with two speeds close together
	}
	limitA := s.limitA
	if s.byLabel {
		limitA = limitForLabel(nc, s.rx, s.ratedA, s.ratedRpm)
	}
	m.set(s.poles, s.testV, s.dropV, nc, limitA*f.limitA, s.rx)
	// Copper is sized for the rated current, so heat is made in the resistance
	// usual for it: a fitted R/X is moved threefold by a percent in one reading,
	// and a cut-in speed from a label says little about copper. On the measured
	// 180 A machine it gives 13.9 mΩ where 13.5 were measured (110 °C).
	m.heatR = usualResistance(s.testV+twoDiodesV, m.limitA()) * stators[s.kind.stator].copper
	m.refC, m.size, m.kind = s.refC, s.size, s.kind
	if s.given {
		m.heatR = m.r
	}
}

// usualResistance returns the phase resistance in ohm, warm, that is usual for
// a limit current, at the voltage of the label with two diodes in series.
//
//	R = r6·ω6000·L,  L = (3/π)·V/(√3·ω_c·I∞)
func usualResistance(v, limitA float64) float64 {
	return labelRX * 3 / math.Pi * v / (math.Sqrt(3) * limitA) * 6000 / labelCutInRpm
}

// machineOfParameters makes the machine of explicit parameters.
func machineOfParameters(p *rig.Machine, testV float64) machine {
	return machine{poles: p.PolePairs, flux: p.FluxWb, l: p.InductanceH, r: p.ResistanceOhm, heatR: p.ResistanceOhm,
		dropV: 2 * p.DiodeDropV, refC: p.ReferenceC, testV: testV}
}

// labelTestV is the voltage at which label or curve hold.
func labelTestV(a *rig.Alternator) float64 { return cmp.Or(a.TestV, 13.5*classFactor(a)) }

// classFactor is the voltage class over 12 V.
func classFactor(a *rig.Alternator) float64 {
	if a.ClassV == "24" {
		return 2
	}
	return 1
}
