package core

import (
	"fmt"
	"math"
	"math/rand"
	"slices"
	"testing"

	"gonum.org/v1/gonum/diff/fd"
	"gonum.org/v1/gonum/optimize"
	"gonum.org/v1/gonum/stat/distuv"

	"spareamps/core/internal/near"
	"spareamps/core/rig"
)

// fieldDay is what a crew reads in half an hour: conditions of the demo, with
// the places where values go. Invented.
func fieldDay() Request {
	q := Demo()
	at := func(o rig.Observation) { q.Rig.Observations = append(q.Rig.Observations, o) }
	base := rig.Observation{Begins: "warm", EverythingOn: "no", EngineRpm: 1400, SpeedKmh: 15, AmbientC: 36, AltitudeM: 600, VehicleLoadsW: 350, Surface: "painted"}
	o := base
	o.Minutes, o.SettingW, o.InletC, o.CoreC, o.BusV, o.ChargerV, o.ChargerInputA = 30, 300, 1, 1, 1, 1, 1
	at(o)
	o = base
	o.Minutes, o.SettingW, o.CaseC, o.PlatesC = 15, 200, 1, 1
	at(o)
	o = base
	o.Minutes, o.EngineRpm, o.SpeedKmh, o.EverythingOn, o.OutputA, o.BusV = 1, 850, 0, "yes", 1, 13
	at(o)
	o.EngineRpm, o.BusV = 2000, 13.2
	at(o)
	return q
}

// manyReadings is a request with n rows like those of fieldDay.
func manyReadings(n int) Request {
	q := fieldDay()
	rows := q.Rig.Observations
	for len(q.Rig.Observations) < n {
		o := rows[len(q.Rig.Observations)%len(rows)]
		o.EngineRpm += 17 * float64(len(q.Rig.Observations)%11)
		q.Rig.Observations = append(q.Rig.Observations, o)
	}
	return q
}

// observed is a request whose observations are those of a vehicle drawn by a seed.
func observed(q Request, seed int64) (Request, [parameters]float64) {
	rng := rand.New(rand.NewSource(seed))
	var p [parameters]float64
	for j := range p {
		p[j] = rng.NormFloat64()
	}
	q.Rig.Observations = slices.Clone(q.Rig.Observations)
	new(Advisor).show(&q, &p, rng.NormFloat64)
	return q, p
}

// aFitter is a fitter laid out for a request.
func aFitter(q *Request) *fitter {
	f := new(fitter)
	st := new(study)
	st.prepareFit(q)
	f.set(st, q)
	return f
}

// learnt fits a request that can be.
func learnt(t testing.TB, q Request) *Learning {
	t.Helper()
	a, err := Fit(&q)
	if err != nil {
		t.Fatal(err)
	}
	return a.Learning
}

// Where vehicles are drawn from what is plausible, intervals of 90 % hold the
// truth as often, and the ceiling that a fit leaves is safe as often as it says.
// Against: the draws themselves.
func TestFitCovers(t *testing.T) {
	for on, n := range map[string]int{"bright": 1500, "painted": 1500, "dull": 400, "mixed": 400} {
		if testing.Short() {
			n /= 15
		}
		t.Run(on, func(t *testing.T) { covers(t, on, n) })
	}
}

// covers is TestFitCovers with parts read on a surface, or each row on another.
func covers(t *testing.T, on string, n int) {
	rng := rand.New(rand.NewSource(7))
	d := new(Advisor)
	q := fieldDay()
	for i := range q.Rig.Observations {
		o := &q.Rig.Observations[i]
		if o.Surface = on; on == "mixed" {
			o.Surface = []string{"bright", "dull"}[i%2]
		}
	}
	var c FitTrials
	for range n {
		trial, err := d.TryFit(q, rng.NormFloat64)
		if err != nil {
			t.Fatal(err)
		}
		c.Add(&trial)
	}
	held, safe, safeBefore, gains, verdicts := c.Held, c.Safe, c.SafeBefore, c.GainsA, c.Verdicts
	share := func(k, of int) float64 { return float64(k) / float64(of) }
	all := 0
	for j, k := range held {
		name, _, _ := parameterOf(j)
		// Three and a half deviations of counting.
		if off := 3.5 * math.Sqrt(0.09/float64(n)); math.Abs(share(k, n)-0.9) > off {
			t.Errorf("%s: intervals of 90 %% hold %.3f of %d truths, counting allows %.3f either way", name, share(k, n), n, off)
		}
		all += k
	}
	if s := share(all, n*parameters); s < 0.88 || s > 0.92 {
		t.Errorf("intervals of 90 %% hold %.3f of all truths", s)
	}
	if s := share(safe, n); s < 0.95 {
		t.Errorf("the ceiling at 95 %% is safe for %.3f of %d vehicles", s, n)
	}
	slices.Sort(gains)
	t.Logf("%d vehicles: 90 %% intervals hold %.3f; ceiling safe for %.3f, by the label %.3f; gain of the median %.1f A, of tenths %.1f to %.1f A; %v",
		n, share(all, n*parameters), share(safe, n), share(safeBefore, n), gains[n/2], gains[n/10], gains[9*n/10], verdicts)
}

// Sensitivities are those that central differences of another step give.
func TestFitSensitivities(t *testing.T) {
	q, p := observed(fieldDay(), 4)
	f := aFitter(&q)
	for j := range p {
		p[j] *= 0.5
	}
	f.expect(&p, f.out)
	f.differentiate(&p, f.out)
	n := len(f.values)
	up, down := make([]float64, n), make([]float64, n)
	for j := range p {
		const h = 0.02
		at := p
		at[j] += h
		f.expect(&at, up)
		at[j] -= 2 * h
		f.expect(&at, down)
		for i := range f.values {
			want := (up[i] - down[i]) / (2 * h * f.values[i].Deviation)
			if got := f.jac[i][j]; math.Abs(got-want) > 3e-3*(1+math.Abs(want)) {
				name, _, _ := parameterOf(j)
				t.Errorf("%s against %s: %v, by central differences %v", instrumentTable[f.values[i].Kind].field, name, got, want)
			}
		}
	}
}

// The likeliest parameters are those that a general minimiser finds.
// Against: gonum.org/v1/gonum/optimize, BFGS.
func TestFitMinimum(t *testing.T) {
	for seed := range int64(6) {
		q, _ := observed(fieldDay(), 20+seed)
		if seed%2 == 1 { // one that pulls no harder than it may
			q.Rig.Observations[0].CoreC += 40
		}
		f := aFitter(&q)
		var l Learning
		best, _ := f.learn(&l)
		cost := func(x []float64) float64 {
			var p [parameters]float64
			copy(p[:], x)
			f.expect(&p, f.moved)
			return f.cost(&p, f.moved)
		}
		grad := func(g, x []float64) {
			fd.Gradient(g, cost, x, &fd.Settings{Formula: fd.Central, Step: 1e-3})
		}
		r, err := optimize.Minimize(optimize.Problem{Func: cost, Grad: grad}, make([]float64, parameters), &optimize.Settings{GradientThreshold: 1e-4}, &optimize.BFGS{})
		if r == nil {
			t.Fatal(err)
		}
		if got := cost(best[:]); got > r.F+1e-4 {
			t.Errorf("seed %d: cost %v, gonum %v", seed, got, r.F)
		}
		for j := range best {
			if math.Abs(best[j]-r.X[j]) > 0.02 {
				name, _, _ := parameterOf(j)
				t.Errorf("seed %d: %s %v, gonum %v", seed, name, best[j], r.X[j])
			}
		}
	}
}

// The posterior's normal approximation has the means and spreads that a sampler
// of (1) finds. Against: a random walk of 200,000 steps (Metropolis).
func TestFitPosterior(t *testing.T) {
	q, _ := observed(fieldDay(), 31)
	f := aFitter(&q)
	var l Learning
	best, cov := f.learn(&l)
	root := cov
	root.factor()
	rng := rand.New(rand.NewSource(5))
	steps := 100000
	if testing.Short() {
		steps = 10000
	}
	p := best
	f.expect(&p, f.out)
	c := f.cost(&p, f.out)
	var sum, square [parameters]float64
	took := 0
	for range steps {
		var u [parameters]float64
		for j := range u {
			u[j] = 0.5 * rng.NormFloat64()
		}
		at := p
		for j := range at {
			for k := range j + 1 {
				at[j] += root[j][k] * u[k]
			}
		}
		f.expect(&at, f.moved)
		if next := f.cost(&at, f.moved); math.Log(rng.Float64()) < c-next {
			p, c = at, next
			took++
		}
		for j := range p {
			d := p[j] - best[j]
			sum[j] += d
			square[j] += d * d
		}
	}
	n := float64(steps)
	for j := range best {
		name, _, _ := parameterOf(j)
		mean := sum[j] / n
		spread := math.Sqrt(square[j]/n - mean*mean)
		laplace := math.Sqrt(cov[j][j])
		if testing.Short() {
			continue
		}
		if math.Abs(mean) > 0.25*laplace || math.Abs(spread/laplace-1) > 0.2 {
			t.Errorf("%s: sampler %+.2f off the mean, spread %.3f, by the approximation %.3f", name, mean, spread, laplace)
		}
	}
	t.Logf("took %d of %d steps", took, steps)
}

// Readings that tell nothing of the alternator leave the ceiling where it was.
func TestFitNothing(t *testing.T) {
	q := Demo()
	q.Rig.Observations = []rig.Observation{{Begins: "warm", EverythingOn: "no", Minutes: 30, EngineRpm: 1400, SpeedKmh: 15, AmbientC: 30, SettingW: 300, StartSoc: 0.5, EndSoc: 0.56}}
	a, err := Fit(&q)
	if err != nil {
		t.Fatal(err)
	}
	l := a.Learning
	if l.Verdict != fitNothing || l.Keep || len(l.Means) > 0 {
		t.Errorf("verdict %s, kept %v", fitVerdictNames[l.Verdict], l.Means)
	}
	for _, m := range l.Moments {
		if m.Before.InputA != m.After.InputA || m.Before.SettingW != m.After.SettingW {
			t.Errorf("the ceiling moved: %+v", m)
		}
	}
	// Nor do unknowns of which nothing is kept.
	q.Learn(rig.Learned{From: q.fingerprint(), StandingSpread: 1})
	plain := Demo()
	if got, want := ceilingText(t, &q), ceilingText(t, &plain); got != want {
		t.Errorf("with nothing learned: %s\nwant %s", got, want)
	}
}

// ceilingText is the part of an answer that a fit may move.
func ceilingText(t *testing.T, q *Request) string {
	t.Helper()
	a, err := Ceiling(q)
	if err != nil {
		t.Fatal(err)
	}
	return fmt.Sprint(a.Ceiling, a.Nominal, a.AfterIdle, a.Limits, a.State, a.Careful, a.Hold)
}

// A misfit's bound is the quantile of chi-square. Against: gonum's distuv.
func TestMostMisfit(t *testing.T) {
	for _, n := range []int{1, 3, 9, 30, 300} {
		p := 1 - distuv.ChiSquared{K: float64(n)}.CDF(mostMisfit(n))
		if p < 2e-4 || p > 1e-3 {
			t.Errorf("%d readings: passed with probability %v", n, p)
		}
	}
}

// Readings that no plausible vehicle shows are called so, and nothing is kept.
func TestFitContradiction(t *testing.T) {
	q := Demo()
	row := rig.Observation{Begins: "warm", EverythingOn: "no", Minutes: 30, EngineRpm: 1400, SpeedKmh: 15, AmbientC: 30, SettingW: 100, CoreC: 260}
	q.Rig.Observations = []rig.Observation{row}
	l := learnt(t, q)
	if l.Verdict != fitContradiction || l.Keep {
		t.Errorf("a core of 260 °C: %s, keep %v", fitVerdictNames[l.Verdict], l.Keep)
	}
}

// One reading that is far out among sound ones moves little, and is named.
func TestFitOutlier(t *testing.T) {
	q, _ := observed(manyReadings(8), 12)
	sound := learnt(t, q)
	q.Rig.Observations[0].CoreC += 70
	off := learnt(t, q)
	named := false
	for i := range off.Readings {
		r := &off.Readings[i]
		named = named || r.Outlier && r.Row == 0 && r.Kind == readsCore
	}
	if !named {
		t.Error("a core read 70 K too hot is not called an outlier")
	}
	if a, b := sound.Moments[0].After.InputA, off.Moments[0].After.InputA; math.Abs(a-b) > 4 {
		t.Errorf("the ceiling went from %v to %v A by it", a, b)
	}
}

// A feed of about 520 W that leaves at 14.0 V and arrives at 13.9 V puts the
// lead near 3 mΩ: common practice, no source. CheckWiring says 2.7.
func TestFitLead(t *testing.T) {
	q := Demo()
	for path, v := range map[string]string{"rig.cable.area_mm2": "50", "rig.cable.length_m": "3", "rig.cable.fuse_A": "100", "rig.charger.efficiency": "0.95", "rig.charger.max_output_W": "800"} {
		if err := q.Set(path, v); err != nil {
			t.Fatal(err)
		}
	}
	row := rig.Observation{Begins: "warm", EverythingOn: "no", Minutes: 30, EngineRpm: 1800, SpeedKmh: 30, AmbientC: 25, SettingW: 494, BusV: 14, ChargerV: 13.9, ChargerInputA: 520 / 13.9}
	for range 3 {
		q.Rig.Observations = append(q.Rig.Observations, row)
	}
	l := learnt(t, q)
	near.Abs(t, "the lead in mΩ, common practice, no source", 1e3*l.LeadOhm, 3, 0.5)
	q.Wiring = rig.Wiring{Given: true, SourceV: 14, FarV: 13.9, FarW: 520, AmbientC: 40, MeterV: 0.01}
	near.Abs(t, "the lead in mΩ against the check of a lead", 1e3*l.LeadOhm, 1e3*leadOhm(14, 13.9, 520/13.9), 3*1e3*l.LeadSpread)
}

// What was learned holds for the alternator it was learned of and no other.
func TestLearnedOfAnother(t *testing.T) {
	shows, _ := observed(fieldDay(), 9)
	q := Demo()
	for _, o := range shows.Rig.Observations {
		q.Observe(o)
	}
	a, err := Fit(&q)
	if err != nil || !a.Learning.Keep {
		t.Fatal(err, a.Learning.Verdict)
	}
	q.Learn(a.Learning.Learned)
	other := q
	if err := other.Set("rig.alternator.fouling", "0.3"); err != nil {
		t.Fatal(err)
	}
	b, err := Ceiling(&other)
	if err != nil {
		t.Fatal(err)
	}
	stale := slices.ContainsFunc(b.Validity, func(f Flag) bool { return f.Code == "learned_stale" })
	if !stale {
		t.Error("learned of other vents, and nothing says so")
	}
	other.Rig.LearnedGiven = false
	if got, want := ceilingText(t, &other), b; got != fmt.Sprint(want.Ceiling, want.Nominal, want.AfterIdle, want.Limits, want.State, want.Careful, want.Hold) {
		t.Error("what was learned of other vents still counts")
	}
	// Through its own text a rig stays as it is.
	back, err := Decode(q.JSON())
	if err != nil {
		t.Fatal(err)
	}
	if got, want := ceilingText(t, &back), ceilingText(t, &q); got != want {
		t.Errorf("through JSON: %s\nwant %s", got, want)
	}
	if back.fingerprint() != q.fingerprint() {
		t.Error("the mark of the alternator changes through JSON")
	}
}

// Of driving alone nothing is learned about standing.
func TestFitDrivingSaysNothingOfStanding(t *testing.T) {
	q := Demo()
	row := rig.Observation{Begins: "warm", EverythingOn: "no", Minutes: 60, EngineRpm: 2000, SpeedKmh: 90, AmbientC: 30, InletC: 38}
	q.Rig.Observations = []rig.Observation{row, row, row}
	l := learnt(t, q)
	if e := l.Parameters[uInletRise]; e.Mean > -1 {
		t.Errorf("an inlet 8 K above the air leaves inlet_rise at %v spreads", e.Mean)
	}
	if l.StandingMean != 0 || l.StandingSpread != 1 {
		t.Errorf("standing: %v, %v", l.StandingMean, l.StandingSpread)
	}
	if g := l.Moments[1]; g.After.SettingW > g.Before.SettingW+60 {
		t.Errorf("standing, the setting rose from %v to %v W by what was read at 90 km/h", g.Before.SettingW, g.After.SettingW)
	}
}

// minuteOfLog is one row of a run, its core to be read.
var minuteOfLog = rig.Observation{Begins: "before", EverythingOn: "no", Minutes: 1, EngineRpm: 1400, SpeedKmh: 15, AmbientC: 36, AltitudeM: 600, VehicleLoadsW: 350, SettingW: 300, CoreC: 1}

// Two hours of a run in minutes tell no more than readings every twenty minutes.
func TestFitLogWeighsByTime(t *testing.T) {
	spread := func(rows int, minutes float64) float64 {
		q := Demo()
		for i := range rows {
			o := minuteOfLog
			o.Minutes = minutes
			if i == 0 {
				o.Begins, o.CoreC = "cold", 0
			}
			q.Observe(o)
		}
		new(Advisor).show(&q, &[parameters]float64{}, nil)
		f := aFitter(&q)
		var l Learning
		_, cov := f.learn(&l)
		return math.Sqrt(cov[uFilm][uFilm])
	}
	if fine, coarse := spread(120, 1), spread(6, 20); math.Abs(fine/coarse-1) > 0.05 {
		t.Errorf("air_film spreads %.3f after a log of minutes, %.3f after one of twenty minutes", fine, coarse)
	}
}

// Of a log that begins at any temperature, the first half hour does not make the
// machine look cool: one that sets out cold is told from one that is.
func TestFitLogFromCold(t *testing.T) {
	log := func(begins string) Request {
		q := Demo()
		for i := range 25 {
			o := minuteOfLog
			if i == 0 {
				o.Begins = begins
			}
			q.Observe(o)
		}
		return q
	}
	q := log("cold")
	new(Advisor).show(&q, &[parameters]float64{}, nil)
	known := learnt(t, q)
	q.Rig.Observations[0].Begins = "warm" // as a reader of logs has it, who cannot know
	unknown := learnt(t, q)
	if a, b := known.Moments[0].After.InputA, unknown.Moments[0].After.InputA; b > a+1.5 {
		t.Errorf("the ceiling of a log from cold is %v A, %v A where its start is not known", a, b)
	}
}

// Loads that are not known do not make a hot machine look well cooled.
func TestFitUnknownLoads(t *testing.T) {
	q := Demo()
	i := inputs.mustIndex("moment.vehicle_loads_W")
	q.given[i>>6] &^= 1 << (i & 63)
	q.Moment.VehicleLoadsW = 0
	row := rig.Observation{Begins: "warm", EverythingOn: "no", Minutes: 30, EngineRpm: 1400, SpeedKmh: 15, AmbientC: 30, SettingW: 300, CoreC: 95}
	q.Rig.Observations = []rig.Observation{row}
	blind := learnt(t, q)
	q.Rig.Observations[0].VehicleLoadsW = 250
	low := learnt(t, q)
	t.Logf("core at 95 °C: loads not known %+v; of 250 W %+v", blind.Moments[0], low.Moments[0])
	if a := blind.Parameters[uFilm].Mean; a > 0.15 {
		t.Errorf("loads not known: air_film at %v spreads by a hot core", a)
	}
	if b := low.Moments[0]; b.After.LikeliestA > b.Before.LikeliestA-1 {
		t.Errorf("a core of 95 °C at 550 W leaves the likeliest ceiling at %v A, before %v", b.After.LikeliestA, b.Before.LikeliestA)
	}
}

func BenchmarkFit(b *testing.B) {
	run := func(b *testing.B, q Request) {
		for b.Loop() {
			a, err := Fit(&q)
			if err != nil {
				b.Fatal(err)
			}
			b.ReportMetric(float64(len(a.Learning.Readings)), "readings")
			b.ReportMetric(float64(a.Learning.Iterations), "steps")
		}
	}
	for _, n := range []int{4, 13} {
		q, _ := observed(manyReadings(n), 3)
		b.Run(fmt.Sprintf("%d_rows", n), func(b *testing.B) { run(b, q) })
	}
	q := Demo()
	for i := range 1500 {
		o := rig.Observation{Begins: "before", EverythingOn: "no", Minutes: 1, EngineRpm: 1300 + float64(i%400), SpeedKmh: float64(i % 30), AmbientC: 32, VehicleLoadsW: 350, SettingW: 250,
			BusV: 13.8, InletC: 50, CoreC: 80}
		if i == 0 {
			o.Begins = "cold"
		}
		q.Rig.Observations = append(q.Rig.Observations, o)
	}
	q, _ = observed(q, 3)
	b.Run("log_of_a_day", func(b *testing.B) { run(b, q) })
}

// A fit tells each of its steps, can be stopped at any, and is the same fit.
func TestFitTold(t *testing.T) {
	q := DemoFit()
	want := learnt(t, q)
	steps := 0
	a, err := new(Advisor).FitTold(&q, func(step int) bool {
		if steps++; step != steps {
			t.Errorf("step %d told as %d", steps, step)
		}
		return true
	})
	if err != nil {
		t.Fatal(err)
	}
	if steps != want.Iterations || a.Learning.Misfit != want.Misfit {
		t.Errorf("%d steps, misfit %v, want %d and %v", steps, a.Learning.Misfit, want.Iterations, want.Misfit)
	}
	for _, last := range []int{1, 5, steps} {
		told := 0
		_, err := new(Advisor).FitTold(&q, func(step int) bool { told = step; return step < last })
		e, ok := err.(*InputError)
		if !ok || e.Problems[0].Code != "stopped" || told != last {
			t.Errorf("stopped at step %d: told %d, %v", last, told, err)
		}
	}
}
