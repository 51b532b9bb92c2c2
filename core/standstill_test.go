package core

import (
	"math"
	"testing"

	"spareamps/core/air"
	"spareamps/core/internal/near"
	"spareamps/core/rig"
)

// A standing machine keeps its heat while its parts even out, and ends at the
// bay's air.
func TestStandEvensOut(t *testing.T) {
	z := newSize(120, 13.5)
	capacity := z.capacity()
	heat := func(t *temperatures) (h float64) {
		for i, c := range capacity {
			h += c * t[i]
		}
		return h
	}
	at := temperatures{180, 120, 140, 160}
	sum := heat(&temperatures{1, 1, 1, 1})
	bay := heat(&at) / sum // no heat goes to air as warm as the mean
	before := heat(&at)
	at.stand(bay, 1)
	near.Abs(t, "heat, bay as warm as the mean", heat(&at), before, 1e-9*before)
	for range 60 {
		at.stand(bay, 1)
	}
	for i := range at {
		near.Abs(t, "evened out", at[i], bay, 1e-3)
	}
	for range 48 * 60 {
		at.stand(25, 1)
	}
	for i := range at {
		near.Abs(t, "after two days", at[i], 25, 1e-6)
	}
}

// Steps of a minute follow the law of cooling they approach.
func TestStandCoolsByItsTime(t *testing.T) {
	z := newSize(120, 13.5)
	sum := 0.0
	for _, c := range z.capacity() {
		sum += c
	}
	tau := sum / (z.heat * (ironToBay + platesToBay + rotorToBay)) / 60
	at := temperatures{100, 100, 100, 100}
	for range 60 {
		at.stand(20, 1)
	}
	near.Abs(t, "100 °C in air of 20 °C after an hour", at[iron], 20+80*math.Exp(-60/tau), 0.5)
}

// Rows of a fit with the engine off cool as a day's stop does, minute by minute
// or all at once.
func TestFitStandsAsADayDoes(t *testing.T) {
	q := Demo()
	run := rig.Observation{Begins: "warm", EverythingOn: "no", Minutes: 60, EngineRpm: 1400, SpeedKmh: 15, AmbientC: 31, VehicleLoadsW: 350, SettingW: 300, CoreC: 1, PlatesC: 1}
	stop := rig.Observation{Begins: "before", EverythingOn: "no", Minutes: 45, AmbientC: 31, CoreC: 1, PlatesC: 1, InletC: math.NaN()}
	run.InletC = math.NaN()
	q.Rig.Observations = []rig.Observation{run, stop}
	f := aFitter(&q)
	f.expect(&[parameters]float64{}, f.out)
	low := sharesOf(&[parameters]float64{})
	part := func(shownC float64) float64 { return low.part(surfaceBright, shownC, 31) }
	running, core, plate := part(f.out[0]), part(f.out[2]), part(f.out[3])

	st := new(study)
	st.prepareFit(&q)
	v := st.vehicle(&[unknowns]float64{})
	h := newDayHeat(&v, new(operating), 31)
	h.riseK = air.InletRise(run.SpeedKmh)
	s := scene{engineRpm: run.EngineRpm, ambientC: 31, pressure: air.Pressure(0), riseK: h.riseK, vehicleW: 350, starterA: StarterCurrent(st.starterAh, 120), acceptA: never}
	o := v.operating(st, &s)
	p, _ := o.carry(s.otherA(&v) + v.inputFor(run.SettingW, st.leadOrNone(), o.leadC))
	h.t, h.restMin = p.t, 0
	near.Abs(t, "core while running", running, p.t[iron], 1e-9)
	for range 45 {
		h.rest(31, 1)
	}
	near.Abs(t, "core 45 min after the stop", core, h.t[iron], 1e-9)
	near.Abs(t, "plates 45 min after the stop", plate, h.t[plates], 1e-9)

	q.Rig.Observations = q.Rig.Observations[:1]
	for range 45 {
		o := stop
		o.Minutes = 1
		q.Rig.Observations = append(q.Rig.Observations, o)
	}
	g := aFitter(&q)
	g.expect(&[parameters]float64{}, g.out)
	near.Abs(t, "core, minute by minute", part(g.out[len(g.out)-2]), core, 1e-9)
	t.Logf("core %.1f °C running, %.1f °C 45 min after", running, core)
}

// A machine that was found standing, nobody knows since when, tells next to
// nothing of what heats it.
func TestFitFoundStanding(t *testing.T) {
	q := Demo()
	q.Rig.Observations = []rig.Observation{{Begins: "warm", EverythingOn: "no", Minutes: 10, AmbientC: 30, CoreC: 34, InletC: math.NaN()}}
	l := learnt(t, q)
	if l.Verdict != fitNothing {
		t.Errorf("a cold core of a standing machine: %s, %+v", fitVerdictNames[l.Verdict], l.Means)
	}
}
