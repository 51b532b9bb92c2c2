package core

import (
	"spareamps/core/detmath"
	"spareamps/core/rig"
)

// A FitTrial is one vehicle drawn from all that are plausible, given readings
// as its instruments would show them, and what a fit made of these.
type FitTrial struct {
	Verdict string
	Held    []bool  // of each parameter: whether the interval of 90 % holds the truth
	OwnA    float64 // the drawn vehicle's own ceiling into the charger
	BeforeA float64 // the answer's at the asked confidence, by the label alone
	AfterA  float64 // and with what was learned
}

// FitTrials counts what many trials came to.
type FitTrials struct {
	Vehicles   int
	Held       []int // of each parameter: in how many vehicles its interval holds the truth
	Safe       int   // vehicles that stand the ceiling after the fit
	SafeBefore int   // and that by the label alone
	Verdicts   map[string]int
	GainsA     []float64 // of the ceiling at the moment asked, by the fit
}

// Add counts one more.
func (c *FitTrials) Add(t *FitTrial) {
	if c.Vehicles == 0 {
		c.Held, c.Verdicts = make([]int, len(t.Held)), map[string]int{}
	}
	c.Vehicles++
	for i, held := range t.Held {
		if held {
			c.Held[i]++
		}
	}
	if t.AfterA <= t.OwnA {
		c.Safe++
	}
	if t.BeforeA <= t.OwnA {
		c.SafeBefore++
	}
	c.Verdicts[t.Verdict]++
	c.GainsA = append(c.GainsA, t.AfterA-t.BeforeA)
}

const ninety = 1.6448536269514722 // normal quantile: 90 % lie within so many deviations

// FitTrialParameters are the names of the parameters of Held.
func FitTrialParameters() (names []string) {
	for i := range parameters {
		name, _, _ := parameterOf(i)
		names = append(names, name)
	}
	return names
}

// TryFit draws a vehicle by standard normal numbers, writes what it would show
// into the observations of q (their values say which are read), fits them, and
// compares. It is how the fit's own claims are counted.
func (d *Advisor) TryFit(q Request, normal func() float64) (t FitTrial, err error) {
	var p [parameters]float64
	for j := range p {
		p[j] = normal()
	}
	q.Rig.Observations = append([]rig.Observation(nil), q.Rig.Observations...)
	d.show(&q, &p, normal)
	a, err := d.Fit(&q)
	if err != nil {
		return t, err
	}
	l := a.Learning
	t.Verdict = fitVerdictNames[l.Verdict]
	t.BeforeA, t.AfterA = l.Moments[0].Before.InputA, l.Moments[0].After.InputA
	for j, e := range l.Parameters {
		t.Held = append(t.Held, detmath.Abs(p[j]-e.Mean) <= ninety*e.Spread)
	}
	st := &d.study
	st.prepare(&q)
	s := st.scene(&q, 0)
	w := newWarmFor(st, &s)
	var z [unknowns]float64
	copy(z[:], p[:])
	e, v := &st.other, &st.drawn
	st.make(v, &z)
	v.stand = detmath.Exp(added(&p, pStanding))
	v.operate(st, &s, &e.o)
	v.limitsAt(st, &s, &e.o, &w, &e.w, &e.c)
	side := st.outputSide(&s)
	t.OwnA = side.least(&e.c)
	return t, nil
}

// show writes what a vehicle of parameters p shows into q's observations. What
// drives the model is written before what follows from it is asked for. Temperatures
// below the air's, which would be refused, are written as the air's.
func (d *Advisor) show(q *Request, p *[parameters]float64, normal func() float64) {
	st := &d.study
	for _, kinds := range [...][]int{{readsBus, readsInlet, readsRest}, {readsInput}, {readsOutput, readsCase, readsCore, readsPlates, readsDrop, readsCharge, readsCrank}} {
		st.prepareFit(q)
		f := fitter{}
		f.set(st, q)
		f.expect(p, f.out)
		for i, r := range f.values {
			for _, k := range kinds {
				if k != r.Kind {
					continue
				}
				y := f.out[i]
				if normal != nil {
					y += normal() * f.deviation(&f.rows[r.Row], k, y)
				}
				if k >= readsInlet && k <= readsPlates {
					y = detmath.Max(y, f.rows[r.Row].AmbientC)
				}
				*instrumentTable[k].at(&q.Rig.Observations[r.Row]) = y
			}
		}
	}
}
