package core

import (
	"fmt"
	"math"
	"math/rand"
	"testing"
)

// fieldDay is what a crew reads in half an hour: conditions of the demo, with
// the places where values go. Invented.
func fieldDay() Request {
	q := Demo()
	at := func(o Observation) { q.Rig.Observations = append(q.Rig.Observations, o) }
	base := Observation{Begins: "warm", EverythingOn: "no", EngineRpm: 1400, SpeedKmh: 15, AmbientC: 36, AltitudeM: 600, VehicleLoadsW: 350}
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

// manyReadings is a request with n readings like those of fieldDay.
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

// observe writes into q what a vehicle of parameters p shows, with noise.
func observe(q *Request, p *[parameters]float64, rng *rand.Rand) {
	st := new(study)
	st.prepare(q)
	st.spread[uInletRise], st.spread[uVehicle] = Unknowns[uInletRise].Spread, Unknowns[uVehicle].Spread
	put := func(o *Observation, kind int, v float64) {
		*[...]*float64{&o.OutputA, &o.BusV, &o.InletC, &o.CaseC, &o.CoreC, &o.PlatesC, &o.ChargerV, &o.ChargerInputA, &o.EndSoc}[kind] = v
	}
	// What drives the model is written before what follows from it is asked for.
	for round := range 3 {
		f := fitter{}
		f.set(st, q)
		f.expect(p, f.out)
		for i, r := range f.values {
			drives := r.Kind == readsBus || r.Kind == readsInlet
			middle := r.Kind == readsInput
			if round == 0 && !drives || round == 1 && !middle || round == 2 && (drives || middle) {
				continue
			}
			y := f.out[i]
			if rng != nil {
				y += rng.NormFloat64() * instrumentTable[r.Kind].deviation(y)
			}
			put(&q.Rig.Observations[r.Row], r.Kind, y)
		}
	}
}

func drawParameters(rng *rand.Rand) (p [parameters]float64) {
	for j := range p {
		p[j] = rng.NormFloat64()
	}
	return p
}

func TestFitLook(t *testing.T) {
	rng := rand.New(rand.NewSource(3))
	q := fieldDay()
	p := drawParameters(rng)
	observe(&q, &p, rng)
	a, err := Fit(&q)
	if err != nil {
		t.Fatal(err)
	}
	for j, e := range a.Learning.Parameters {
		n, _, _ := parameterOf(j)
		t.Logf("%-20s true %+.2f mean %+.2f spread %.2f", n, p[j], e.Mean, e.Spread)
	}
	for _, r := range a.Learning.Readings {
		t.Logf("%d %s %.2f %.2f ±%.2f", r.Row, instrumentTable[r.Kind].field, r.Value, r.Expected, r.Deviation)
	}
	t.Logf("%s", a.FitJSON())
}

// Where truth is drawn from the prior, intervals of 90 % hold it as often, and
// the ceiling that a fit leaves is safe as often as it says.
func TestFitCovers(t *testing.T) {
	n := 300
	if testing.Short() {
		n = 60
	}
	rng := rand.New(rand.NewSource(7))
	var in [parameters]int
	total, safe, kept := 0, 0, 0
	var gains []float64
	verdicts := map[int]int{}
	for range n {
		q := fieldDay()
		p := drawParameters(rng)
		observe(&q, &p, rng)
		a, err := Fit(&q)
		if err != nil {
			t.Fatal(err)
		}
		l := a.Learning
		verdicts[l.Verdict]++
		for j, e := range l.Parameters {
			if math.Abs(p[j]-e.Mean) <= 1.6448536*e.Spread {
				in[j]++
			}
		}
		total++
		after := q
		if l.Keep {
			after.Learn(a.LearnedOf())
			kept++
		}
		st := new(study)
		plainQ := q
		st.prepare(&plainQ)
		s := st.scene(&plainQ, 0)
		w := newWarmFor(st, &s)
		var z [unknowns]float64
		copy(z[:], p[:])
		own := st.leastAt(&s, &w, &z)
		c, err := Ceiling(&after)
		if err != nil {
			t.Fatal(err)
		}
		if c.Ceiling.InputA <= own {
			safe++
		}
		b, _ := Ceiling(&plainQ)
		gains = append(gains, c.Ceiling.InputA-b.Ceiling.InputA)
	}
	all := 0
	for j, k := range in {
		name, _, _ := parameterOf(j)
		t.Logf("%-20s %.3f", name, float64(k)/float64(total))
		all += k
	}
	t.Logf("all %.3f; safe %.3f of %d, kept %d, verdicts %v", float64(all)/float64(total*parameters), float64(safe)/float64(total), total, kept, verdicts)
	sum := 0.0
	for _, g := range gains {
		sum += g
	}
	t.Logf("mean gain %.1f A", sum/float64(len(gains)))
}

func BenchmarkFit(b *testing.B) {
	for _, n := range []int{4, 12} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			q := manyReadings(n)
			rng := rand.New(rand.NewSource(3))
			p := drawParameters(rng)
			observe(&q, &p, rng)
			for b.Loop() {
				a, err := Fit(&q)
				if err != nil {
					b.Fatal(err)
				}
				b.ReportMetric(float64(len(a.Learning.Readings)), "readings")
				b.ReportMetric(float64(a.Learning.Iterations), "steps")
			}
		})
	}
}
