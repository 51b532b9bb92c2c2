package core

import (
	"cmp"

	"spareamps/core/detmath"
	"spareamps/core/rig"
)

// What volts read on the starter battery tell: at rest how full it was, while
// the starter turns the engine what its resistance and the engine ask together.
// A day takes both; the ceiling neither.

// starterLack is the charge that a starter battery usually lacks.
const starterLack = 1 - starterSocDefault

// restMinutes is how long a battery rests before its volts tell its charge;
// common practice, no source: an hour at least, better a night.
const restMinutes = 60

// coldMinutes is how long an engine stands until it turns like one as cold as the
// air; from memory: emission tests soak a vehicle for six hours at least.
const coldMinutes = 360

// starterSoc is the state of charge at parameters p.
//
//	soc = 1 − 0.15·exp(s·z)     (1)
//
// so that it never passes full, as no battery does.
func starterSoc(p *[parameters]float64) float64 {
	return detmath.Max(1-starterLack*detmath.Exp(added(p, pDischarge)), 0) // (1)
}

// socAt is the state of charge of which a battery shows so many volts at rest.
func (b *battery) socAt(restV, celsius float64) float64 {
	lo, hi := 0.0, 1.0
	for range 20 {
		if mid := (lo + hi) / 2; b.restV(mid, celsius) < restV {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// sagV is by how much the volts fall while the starter turns an engine as cold as
// the air, after a rest at restV.
//
//	V = I(T)·R(soc, T)     (2)
func sagV(r *rig.Rig, b *battery, restV, celsius float64) float64 {
	return crankA(r, celsius) * b.ohm(b.socAt(restV, celsius), celsius, false) // (2)
}

// deviation is the standard deviation of one reading of an observation.
//
// What is read of batteries and regulators is told of 12 V and twice that in
// class 24. Volts while the engine is turned are compared with those at rest, so
// what is wrong with these counts, with the resistance that they tell: more than
// all else where the battery is half empty.
func (f *fitter) deviation(r *rig.Observation, kind int, value float64) float64 {
	d := instrumentTable[kind].deviation(value)
	switch kind {
	case readsBus, readsRest, readsCrank:
		d *= vehicleClassFactor(&f.q.Rig)
	}
	if kind == readsCrank {
		off := f.deviation(r, readsRest, r.RestV)
		sag := sagV(&f.q.Rig, &f.cell, r.RestV-off, r.AmbientC) - sagV(&f.q.Rig, &f.cell, r.RestV+off, r.AmbientC)
		off += sag / 2
		d = detmath.Sqrt(d*d + off*off)
	}
	return d
}

// sound says whether readings may tell of something better than assumed: they go
// together, and no start set out from volts that no such battery shows at rest.
func (f *fitter) sound(l *Learning) bool {
	if l.Verdict == fitContradiction || l.Verdict == fitUnsettled {
		return false
	}
	for i := range l.Readings {
		e := &l.Readings[i]
		if e.Kind != readsRest && e.Kind != readsCrank {
			continue
		}
		r := &f.rows[e.Row]
		off := outlierAt * f.deviation(r, readsRest, r.RestV)
		if e.Outlier || r.RestV < f.cell.restV(0, r.AmbientC)-off || r.RestV > f.cell.restV(1, r.AmbientC)+off {
			return false
		}
	}
	return true
}

// A Proposal is a value that the readings give an input of the rig or of a day.
type Proposal struct {
	Input string
	Value float64
	Why   string
}

// starter fills in what was learned of the starter battery, and what a day would
// take for it.
//
// A proposal is as careful as the readings are weak: what is worse than assumed
// is taken as it most likely is, what is better only as far as the confidence
// asked for allows, and only by readings that go together. Where starting takes
// more than expected, the battery is taken as aged, so with less capacity too;
// where it takes less, the engine as easy to turn.
func (f *fitter) starter(l *Learning) {
	far := -normalAt(tolerated(f.q.Confidence))
	r, sound := &f.q.Rig, f.sound(l)
	if l.has(readsRest) {
		e := &l.Parameters[pDischarge]
		lack := starterLack * detmath.Exp(e.Prior*e.Mean)
		l.StarterSoc, l.StarterSocOff = detmath.Max(1-lack, 0.001), detmath.Min(lack, 1)*e.Prior*e.Spread
		soc, assumed := l.StarterSoc, cmp.Or(f.q.Day.StarterSoc, starterSocDefault)
		if soc > assumed {
			if soc = assumed; sound {
				soc = detmath.Max(1-lack*detmath.Exp(e.Prior*far*e.Spread), assumed)
			}
		}
		if detmath.Abs(soc-assumed) >= 0.01 {
			l.propose("day.starter_soc", detmath.Floor(100*soc)/100, "for a day that begins with the starter battery as last read at rest")
		}
	}
	if l.has(readsCrank) {
		e := &l.Parameters[pSag]
		l.Sag = detmath.Exp(e.Prior * e.Mean)
		l.SagOff = l.Sag * e.Prior * e.Spread
		if most := l.Sag * detmath.Exp(e.Prior*far*e.Spread); sound && most < 0.99 {
			l.propose("rig.engine.cranking_A", 1+detmath.Floor(crankA(r, crankTestC)*most), "the engine turns more easily than its size tells")
		}
		if l.Sag > 1.01 {
			l.propose("rig.starter_battery.health", detmath.Floor(100*cmp.Or(r.StarterBattery.Health, healthDefault)/l.Sag)/100, "the battery gives less than its rating tells")
		}
	}
}

// propose adds a value within what the input takes.
func (l *Learning) propose(input string, value float64, why string) {
	k := &inputs.fields[inputs.mustIndex(input)]
	l.Proposals = append(l.Proposals, Proposal{input, detmath.Min(detmath.Max(value, k.Min), k.Max), why})
}

// has says whether a kind of reading was compared.
func (l *Learning) has(kind int) bool {
	for i := range l.Readings {
		if l.Readings[i].Kind == kind {
			return true
		}
	}
	return false
}
