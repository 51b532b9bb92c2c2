package core

import (
	"cmp"

	"spareamps/core/conductor"
	"spareamps/core/detmath"
	"spareamps/core/jsontext"
	"spareamps/core/rig"
)

// ForWiring are the sections of a request that the check of a lead reads.
var ForWiring = []string{"rig.cable", "rig.charger", "wiring"}

// A LeadCheck is what two readings say of a lead.
type LeadCheck struct {
	CurrentA float64
	DropV    float64
	LossW    float64

	Ohm        float64 // both conductors and their ends, as measured
	OhmSpread  float64 // either way
	HasCable   bool    // what follows is known
	ShouldOhm  float64 // by the cable's size at its temperature
	MoreOhm    float64 // measured less that
	Verdict    int     // leadSound and on
	MoreM      float64 // one way: that much longer it would be; negative: shorter
	LikeMM2    float64 // area at which the measured would be as it should; 0: no area is
	SpotW      float64 // lost in MoreOhm, if that is one bad contact
	ConductorC float64
	AmpacityA  float64

	FuseA         float64 // 0: none
	FuseMostA     float64 // the largest that protects the cable
	FuseProtects  bool
	FuseContinueA float64 // what it carries without end

	FullA     float64 // the charger's full input; 0: not described
	FullDropV float64
	FullV     float64 // arrives then
	FullC     float64 // conductor then; 0 without cable
	FullShare float64 // of the nominal voltage lost then
	Carries   bool    // fuse and cable carry FullA without end
}

// Verdicts on a measured lead.
const (
	leadUnknown = iota // no cable described
	leadSound
	leadHigh
	leadLow
	leadUnclear // the current is too small for the meter
	leadVerdicts
)

var leadVerdictNames = [leadVerdicts]string{"no_cable", "sound", "high", "low", "unclear"}

const (
	// The standard states the most a conductor may have; makers stay a few per
	// cent below. Engineering estimate.
	leadSpread = 0.10
	// Clamp meters and displays of chargers state 2 to 3 % of the reading; from
	// memory.
	currentSpread = 0.03
)

// checkWiring keeps what is wrong with the parts of a request that the check of
// a lead reads, and adds what is wrong with the readings.
func (q *Request) checkWiring(all []Problem) (ps []Problem) {
	for _, p := range all {
		if inSections(p.Field, ForWiring) {
			ps = append(ps, p)
		}
	}
	w := &q.Wiring
	switch {
	case !w.Given:
		return append(ps, plain("missing", "wiring", "", "an object", "wiring is missing: source_V, far_V, and far_A or far_W"))
	case w.FarA > 0 && w.FarW > 0:
		ps = append(ps, plain("conflict", "wiring.far_W", jsontext.NumberText(w.FarW), "far_A or far_W", "wiring.far_W and wiring.far_A are both given"))
	case w.FarA == 0 && w.FarW == 0:
		ps = append(ps, plain("missing", "wiring.far_A", "", "0.1 to 1000 A", "wiring.far_A is missing, or else far_W: without a current no voltage is lost"))
	}
	if w.FarV > w.SourceV && w.SourceV > 0 {
		ps = append(ps, plain("conflict", "wiring.far_V", jsontext.NumberText(w.FarV), "at most source_V", "wiring.far_V is above source_V, "+jsontext.NumberText(w.SourceV)+" V: current flows down; are the readings swapped, or not of the same moment?"))
	}
	return ps
}

// CheckWiring says what two voltage readings tell of a lead.
//
//	R = (V_source − V_far)/I     (1)
//	±: 2·d/I + 0.03·R            (2)
//
// d is the meter's last digit: the two readings may be one off either way. The
// current is read, or far-end watts over far-end volts. (1) holds both
// conductors, lugs, fuse and whatever else lies between the two places.
// Neglects that the load may change between the readings.
// Source: Ohm. Checked: TestWiringFeed, `common practice, no source`.
func CheckWiring(q *Request) (*Answer, error) {
	if err := q.Check(ForWiring...); err != nil {
		return nil, err
	}
	w, c := &q.Wiring, new(LeadCheck)
	c.CurrentA = w.FarA
	if c.CurrentA == 0 {
		c.CurrentA = w.FarW / w.FarV
	}
	c.DropV = w.SourceV - w.FarV
	c.Ohm = leadOhm(w.SourceV, w.FarV, c.CurrentA)            // (1)
	c.OhmSpread = 2*w.MeterV/c.CurrentA + currentSpread*c.Ohm // (2)
	c.LossW = c.DropV * c.CurrentA
	nominalV := 12 * classFactor(&q.Rig.Alternator)
	l := conductor.Lead{EndsOhm: c.Ohm}
	if q.Rig.Cable.Given {
		l = conductor.NewLead(&q.Rig.Cable, nominalV)
		c.compare(&q.Rig.Cable, &l, w.AmbientC)
		l.EndsOhm += c.MoreOhm
	}
	if q.Rig.Charger.Given {
		c.full(&q.Rig.Charger, &l, w, nominalV)
	}
	a := &Answer{Lead: c}
	c.remarks(q, a)
	return a, nil
}

func leadOhm(sourceV, farV, currentA float64) float64 { return (sourceV - farV) / currentA }

// compare holds the measured against what the cable should have.
func (c *LeadCheck) compare(cable *rig.Cable, l *conductor.Lead, ambientC float64) {
	c.HasCable = true
	c.ConductorC = l.ConductorC(c.CurrentA, ambientC)
	c.AmpacityA = l.HeatA(ambientC)
	c.ShouldOhm = l.Ohm(c.CurrentA, ambientC)
	c.MoreOhm = c.Ohm - c.ShouldOhm
	sure := c.OhmSpread + leadSpread*c.ShouldOhm
	switch {
	case c.OhmSpread > c.ShouldOhm && detmath.Abs(c.MoreOhm) <= sure:
		c.Verdict = leadUnclear
	case c.MoreOhm > sure:
		c.Verdict = leadHigh
	case c.MoreOhm < -sure:
		c.Verdict = leadLow
	default:
		c.Verdict = leadSound
	}
	c.SpotW = detmath.Max(c.MoreOhm, 0) * c.CurrentA * c.CurrentA
	warm := conductor.Copper(c.ConductorC)
	perM := 2 * conductor.Resistance20(conductor.CableArea(cable)) * warm
	c.MoreM = detmath.Max(c.MoreOhm/perM, -cable.LengthM)
	c.LikeMM2 = areaOf((c.Ohm - l.EndsOhm) / (2 * cable.LengthM * warm))
	if c.FuseA = cable.FuseA; c.FuseA > 0 {
		c.FuseMostA = conductor.FuseOverCable * c.AmpacityA
		c.FuseProtects = conductor.FuseProtects(c.FuseA, c.AmpacityA)
		c.FuseContinueA = conductor.FuseContinuous(c.FuseA, ambientC)
	}
}

// areaOf is Resistance20 turned round, by halving; 0 where no area from 0.2 to
// 500 mm² has that resistance.
func areaOf(ohmPerM float64) float64 {
	lo, hi := 0.2, 500.0
	if !(ohmPerM < conductor.Resistance20(lo) && ohmPerM > conductor.Resistance20(hi)) {
		return 0
	}
	for range 50 {
		mid := (lo + hi) / 2
		if conductor.Resistance20(mid) > ohmPerM {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// full takes the lead as measured to the charger's full input.
func (c *LeadCheck) full(ch *rig.Charger, l *conductor.Lead, w *rig.Wiring, nominalV float64) {
	if l.A105 == 0 {
		l.A105 = 1e9 // of unknown size: its heat is not counted
	}
	eta := cmp.Or(ch.Efficiency, efficiencyDefault)
	i, ok := inputA(ch.MaxOutputW, eta, w.SourceV, l, w.AmbientC)
	if !ok || ch.MaxInputA > 0 && i > ch.MaxInputA {
		if i = ch.MaxInputA; i == 0 {
			i = ch.MaxOutputW / eta / w.SourceV // what it would ask for, and not get
		}
	}
	c.FullA = i
	c.FullDropV = detmath.Min(i*l.Ohm(i, w.AmbientC), w.SourceV)
	c.FullV = w.SourceV - c.FullDropV
	c.FullShare = c.FullDropV / nominalV
	if c.HasCable {
		c.FullC = l.ConductorC(i, w.AmbientC)
		c.Carries = i <= c.AmpacityA && (c.FuseA == 0 || i <= c.FuseContinueA)
	}
}
