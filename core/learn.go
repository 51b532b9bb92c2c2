package core

import (
	"spareamps/core/air"
	"spareamps/core/detmath"
	"spareamps/core/rig"
)

// ForFit are the sections of a request that a fit reads; the moment is that for
// which gains are told.
var ForFit = ForCeiling

// Fit learns from the observations of a rig what its label does not tell.
//
// Its error is an *InputError. Valid for observations of one vehicle as it is
// described; after the vents are brushed or a part is changed, older ones no
// longer hold. What the vehicle itself draws is found for the sake of the
// others, but not kept: it differs from moment to moment.
func Fit(q *Request) (*Answer, error) { return new(Advisor).Fit(q) }

// Fit is the function of that name; its answer holds until the next call.
func (d *Advisor) Fit(q *Request) (*Answer, error) { return d.FitTold(q, nil) }

// FitTold is Fit that tells before each step of its search how many there were;
// where told answers false, it ends with an *InputError of code "stopped". Most
// fits take some thirty steps, none more than 120.
func (d *Advisor) FitTold(q *Request, told func(step int) bool) (*Answer, error) {
	if err := q.Check(ForFit...); err != nil {
		return nil, err
	}
	if len(q.Rig.Observations) == 0 {
		return nil, inputError([]Problem{plain("missing", "rig.observations", "", "at least one row", "rig.observations is missing: at least one reading")})
	}
	plainRig := *q
	plainRig.Rig.LearnedGiven, plainRig.Rig.Learned = false, rig.Learned{}
	a := &d.answer
	*a = Answer{Confidence: q.Confidence, Validity: a.Validity[:0], Says: a.Says[:0], Cautions: a.Cautions[:0]}
	d.study.prepareFit(&plainRig)
	f := fitter{told: told}
	f.set(&d.study, &plainRig)
	if len(f.values) == 0 {
		return nil, inputError([]Problem{plain("missing", "rig.observations", "", "a reading", "rig.observations hold conditions, but nothing that was read under them and tells of the vehicle")})
	}
	l := &Learning{Learned: rig.Learned{From: q.fingerprint(), StandingSpread: 1}}
	a.Learning = l
	best, cov := f.learn(l)
	if f.stopped {
		return nil, inputError([]Problem{plain("stopped", "", "", "", "the fit was stopped")})
	}
	f.gains(l, &best, &cov)
	l.remarks(&plainRig, a)
	return a, nil
}

// prepareFit makes a study of a rig without what was learned of it. Whatever the
// moment states, the readings met the rig without it.
func (st *study) prepareFit(q *Request) {
	plainRig := *q
	plainRig.Rig.LearnedGiven = false
	st.prepare(&plainRig)
	st.spread[uInletRise] = Unknowns[uInletRise].Spread
	if st.coolantC > 0 {
		st.spread[uInletRise] *= coolantSpread
	}
	st.spread[uVehicle] = Unknowns[uVehicle].Spread
}

// FitJSON fits a request in JSON, as CeilingJSON answers one.
func (d *Advisor) FitJSON(request []byte) []byte {
	return d.reply(request, Decode, (*Advisor).Fit, &fitOutputs)
}

// FitToldJSON is FitJSON that tells its steps, as FitTold does.
func (d *Advisor) FitToldJSON(request []byte, told func(step int) bool) []byte {
	return d.reply(request, Decode, func(d *Advisor, q *Request) (*Answer, error) { return d.FitTold(q, told) }, &fitOutputs)
}

// FitJSON is Advisor.FitJSON in memory of its own.
func FitJSON(request []byte) []byte { return new(Advisor).FitJSON(request) }

// fitStarts are points from which the search sets out: the likeliest vehicle,
// one that runs hot and one that runs cool.
var fitStarts = [...]float64{0, -1.5, 1.5}

// learn finds the likeliest parameters and how they spread around them.
func (f *fitter) learn(l *Learning) (best [parameters]float64, cov symmetric) {
	least := 0.0
	l.Starts = len(fitStarts)
	var ends [len(fitStarts)]float64
	for i, off := range fitStarts {
		var p [parameters]float64
		for _, j := range [...]int{uFilm, uFlow, uContact} {
			p[j] = off
		}
		cost, steps, settled := f.search(&p)
		l.Iterations += steps
		ends[i] = cost
		if !settled {
			ends[i] = never
		}
		if i == 0 || cost < least {
			best, least, l.Converged = p, cost, settled
		}
	}
	for _, c := range ends {
		if c < least+0.01 {
			l.Agreeing++
		}
	}

	f.expect(&best, f.out)
	f.differentiate(&best, f.out)
	var a symmetric
	var g [parameters]float64
	f.normal(&best, f.out, &a, &g)
	a.factor()
	cov = a.inverse()

	f.residuals(l)
	f.estimates(l, &best, &cov)
	return best, cov
}

// residuals tells how far the readings lie from what is expected.
func (f *fitter) residuals(l *Learning) {
	l.Readings = make([]Residual, len(f.values))
	for i := range f.values {
		r := f.values[i]
		r.Expected = f.out[i]
		r.Outlier = detmath.Abs(r.sigmas()) > outlierAt
		cut := detmath.Min(detmath.Abs(r.sigmas()), outlierAt)
		l.Misfit += cut * cut
		l.Readings[i] = r
	}
}

// estimates fills in parameters, verdict, and what the rig keeps.
func (f *fitter) estimates(l *Learning, best *[parameters]float64, cov *symmetric) {
	learned := false
	var kept [unknowns]bool
	for j := range l.Parameters {
		e := &l.Parameters[j]
		e.Mean, e.Spread = best[j], detmath.Sqrt(detmath.Max(cov[j][j], 0))
		e.Prior = 0
		if j < unknowns {
			e.Prior = f.st.spread[j]
		} else {
			e.Prior = Nuisances[j-unknowns].Spread
		}
		e.Informed = cov[j][j] < uninformed || detmath.Abs(best[j]) > 0.3
		if j < unknowns && j != uVehicle && e.Prior > 0 {
			kept[j] = e.Informed
			learned = learned || e.Informed
		}
	}
	far := 0.0
	for j := range unknowns {
		if j != uVehicle {
			far = detmath.Max(far, detmath.Abs(best[j]))
		}
	}
	outliers := 0
	for i := range l.Readings {
		if l.Readings[i].Outlier {
			outliers++
		}
	}
	for _, z := range best {
		l.Misfit += z * z
	}
	switch {
	case !l.Converged:
		l.Verdict = fitUnsettled
	case far > tooFar || l.Misfit > mostMisfit(len(l.Readings)) || 3*outliers > len(l.Readings):
		l.Verdict = fitContradiction
	case !learned:
		l.Verdict = fitNothing
	default:
		l.Verdict, l.Keep = fitGood, true
	}

	if e := &l.Parameters[pStanding]; e.Informed {
		l.StandingMean, l.StandingSpread = e.Mean, e.Spread
	}

	// The block of the unknowns that were informed, as a lower triangle.
	var a symmetric
	for i := range a {
		a[i][i] = 1
	}
	for i := range unknowns {
		for j := range i + 1 {
			if kept[i] && kept[j] {
				a[i][j] = cov[i][j]
			}
		}
	}
	a.factor()
	for i := range unknowns {
		if !kept[i] {
			continue
		}
		l.Means = append(l.Means, rig.Mean{Unknown: Unknowns[i].Name, Mean: best[i]})
		for j := range i + 1 {
			if kept[j] && a[i][j] != 0 {
				l.Spread = append(l.Spread, rig.Spread{Unknown: Unknowns[i].Name, By: Unknowns[j].Name, Value: a[i][j]})
			}
		}
	}

	f.starter(l)
	for i := range l.Readings {
		switch r := &l.Readings[i]; r.Kind {
		case readsDrop:
			e := l.Parameters[pLead]
			o := &f.rows[r.Row]
			l.LeadOhm = f.st.lead.Ohm(20, air.AlongLead(o.AmbientC, o.AmbientC+air.MovingRise)) * detmath.Exp(e.Prior*e.Mean)
			l.LeadSpread = l.LeadOhm * e.Prior * e.Spread
		case readsCharge:
			e := l.Parameters[pHouse]
			l.HouseAh = f.st.house.CapacityAh * detmath.Exp(e.Prior*e.Mean)
			l.HouseAhOff = l.HouseAh * e.Prior * e.Spread
		}
	}
}

// mostMisfit is what the misfit of n readings passes once in some two thousand
// plausible vehicles: the quantile of chi-square by Wilson and Hilferty's cube
// ("The distribution of chi-square", Proc. Nat. Acad. Sci. 17, 1931).
func mostMisfit(n int) float64 {
	const rare = 3.3 // deviations
	v := 2 / (9 * float64(n))
	c := 1 - v + rare*detmath.Sqrt(v)
	return float64(n) * c * c * c
}
