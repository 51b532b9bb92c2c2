package core

// Ceiling answers a request: the largest steady current into the charger such
// that, for the asked share of plausible vehicles, no limit is passed.
//
// Its error is an *InputError; a request from Decode gives none.
func Ceiling(q *Request) (*Answer, error) {
	if err := q.Check(); err != nil {
		return nil, err
	}
	st, a := new(study), new(Answer)
	st.prepare(q)
	st.draws()
	st.answer(q, a, wantAll)
	return a, nil
}

// population is what each vehicle of the sample allows in a scene.
type population struct {
	own    [limitCount][sampleSize]float64 // A, by limit
	least  [sampleSize]float64             // A, all limits together
	watts  [sampleSize]float64             // W at that current
	sorted [sampleSize]float64             // room for kth
}

// fill runs the sample through a scene. With all false only least and watts
// are filled.
func (p *population) fill(st *study, s *scene, from *warm, all bool) {
	for i := range st.sample {
		v := &st.sample[i]
		w := *from
		c, o := v.limits(st, s, &w, all)
		if all {
			for k := range c {
				p.own[k][i] = c[k]
			}
		}
		p.least[i] = c.least()
		p.watts[i] = v.outputAt(st, p.least[i], o.inletC)
	}
}

// quantile returns the k-th smallest of values, leaving them in place.
func (p *population) quantile(values *[sampleSize]float64, k int) float64 {
	p.sorted = *values
	return kth(p.sorted[:], k)
}

// want says which parts of an answer are asked for.
type want uint8

const (
	wantCeiling want = 1 << iota // at the asked confidence, with every limit's own
	wantIdle                     // if the vehicle stops, and the advice
	wantState                    // operating points and wiring at the ceiling
	wantCosts
	wantHold
	wantWords

	wantAll = wantCeiling | wantIdle | wantState | wantCosts | wantHold | wantWords
)

// answer fills in an answer to a checked request: always the likeliest
// vehicle's ceiling, and the parts that are wanted.
func (st *study) answer(q *Request, a *Answer, parts want) {
	a.Confidence = q.Confidence
	k := tolerated(q.Confidence)
	now := st.scene(q, 0)

	w := newWarmFor(st, &now)
	nominal, o := st.nominal.limits(st, &now, &w, true)
	least := nominal.least()
	a.Nominal = st.setting(least, st.nominal.outputAt(st, least, o.inletC), o.inletC)
	a.Nominal.Limit = nominal.lowest()
	if parts == 0 {
		return
	}

	// Every limit's own ceiling, then all together.
	var p population
	p.fill(st, &now, &w, true)
	for i := range a.Limits {
		a.Limits[i] = LimitRow{i, max(p.quantile(&p.own[i], k), 0), max(nominal[i], 0)}
	}
	sortLimits(&a.Limits)
	ceiling := p.quantile(&p.least, k)
	a.Ceiling = st.setting(ceiling, p.quantile(&p.watts, k), o.inletC)
	a.Ceiling.Limit = a.Limits[0].Limit
	edge := p.member(ceiling)

	if parts&wantIdle != 0 {
		st.idle(q, a, &now, k)
	}
	if parts&wantState != 0 {
		st.describe(a, &now, &o, ceiling, edge)
	}
	if parts&wantCosts != 0 {
		st.costs(a, &now, &w, &p, least, ceiling, k)
	}
	if parts&wantHold != 0 {
		st.holds(q, a, &now, edge)
	}
	if parts&wantWords != 0 {
		st.remark(q, a, &now, &o)
	}
	a.fit, a.fitted = st.shape.fit, st.shape.fitted
}

// newWarmFor finds the likeliest vehicle's steady points from scratch.
func newWarmFor(st *study, s *scene) warm {
	o := st.nominal.operating(st, s)
	return newWarm(&o)
}

// setting rounds a ceiling.
func (st *study) setting(currentA, watts, bayC float64) Setting {
	s := Setting{InputA: floor(currentA*10+1e-9) / 10, OutputW: watts}
	step := 1.0
	if st.charger.Given {
		step = st.charger.StepW
	}
	s.OutputW = roundDown(watts, step)
	s.OutputA = s.OutputW / st.chargeV()
	l := &noLead
	if st.hasLead {
		l = &st.lead
	}
	s.DrawA = st.nominal.inputFor(s.OutputW, l, bayC)
	return s
}

// chargeV is the voltage at which the charger's output is counted.
func (st *study) chargeV() float64 {
	if st.house.Given {
		return st.house.chargeV()
	}
	return leadChargePerV * st.nominalV
}

// lowest returns the limit that is passed first.
func (c *ceilings) lowest() int {
	m := 0
	for i := range c {
		if c[i] < c[m] {
			m = i
		}
	}
	return m
}

// member returns the vehicle whose own ceiling is the given one.
func (p *population) member(least float64) int {
	for i, x := range p.least {
		if x == least {
			return i
		}
	}
	return 0
}

// sortLimits puts the lowest first; ties keep the table's order.
func sortLimits(rows *[limitCount]LimitRow) {
	for i := 1; i < len(rows); i++ {
		for j := i; j > 0 && less(&rows[j], &rows[j-1]); j-- {
			rows[j], rows[j-1] = rows[j-1], rows[j]
		}
	}
}

func less(a, b *LimitRow) bool {
	if a.InputA != b.InputA {
		return a.InputA < b.InputA
	}
	return a.NominalA < b.NominalA
}

// describe fills in the operating points at the ceiling.
func (st *study) describe(a *Answer, s *scene, o *operating, ceiling float64, edge int) {
	v := &st.nominal
	p, full := o.carry(ceiling + s.otherA(v))
	a.State = st.state(o, &p)
	a.OtherA, a.SpeedRpm, a.BusV = s.otherA(v), o.speedRpm, v.v
	a.AlternatorA, a.AvailableA = p.out.a, full
	a.Losses = o.losses(&p)
	out := v.v * p.out.a
	a.ShaftW = out + a.Losses.Total()
	if a.ShaftW > 0 {
		a.Efficiency = out / a.ShaftW
	}
	e := &st.sample[edge]
	eo := e.operating(st, s)
	ep, _ := eo.carry(ceiling + s.otherA(e))
	a.Careful = st.state(&eo, &ep)
	a.Design = State{WindingC: st.class.windingLimitC(), JunctionC: junctionLimitC, RotorC: st.class.rotorLimitC(), Ageing: 1}
	if st.hasLead {
		l := &st.lead
		a.HasCable = true
		a.LeadOhm = l.ohm(ceiling, o.inletC)
		a.LeadDropV = a.LeadOhm * ceiling
		a.ConductorC = l.conductorC(ceiling, o.inletC)
		a.AmpacityA = l.heatA(o.inletC)
		a.FuseContinuousA = FuseContinuous(l.fuseA, o.inletC)
	}
	a.ChargerV = v.v - a.LeadDropV
}

// carry returns the steady point at an output, or at full field where there is
// less, and the output full field gives at the same temperatures.
func (o *operating) carry(currentA float64) (p steady, availableA float64) {
	from := o.start()
	if o.machine.output(o.omega, o.busV, fieldCap, o.inletC).a <= 0 {
		p = o.solve(fixedField, 0.02, &from)
		return p, 0
	}
	p = o.seek(fullField, 0, &from)
	if p.out.a > currentA {
		p = o.seek(fixedCurrent, max(currentA, 0), &p)
	}
	full, _ := o.full(p.t[rotor])
	return p, o.machine.output(o.omega, o.busV, full, p.t[winding]).a
}

// state reads the temperatures of an operating point.
func (st *study) state(o *operating, p *steady) State {
	return State{
		WindingC: p.t[winding], CoreC: p.t[iron], RotorC: p.t[rotor], InletC: o.inletC,
		JunctionC: p.t[plates] + junctionPerA*p.out.a,
		Ageing:    st.class.ageing(p.t[winding]),
	}
}

// costs says what each unknown costs: how much higher the ceiling would be if
// that one were known to be as likeliest. The ceiling's dependence on it is
// taken from the likeliest vehicle with that unknown alone moved either way (a
// parabola), and taken out of every vehicle of the sample.
func (st *study) costs(a *Answer, s *scene, from *warm, p *population, nominal, ceiling float64, k int) {
	const far = 1.6448536269514722 // the 5 % quantile
	for i := range a.Unknowns {
		a.Unknowns[i].Unknown = i
		if st.spread[i] == 0 {
			continue
		}
		var side [2]float64
		for j, z := range [...]float64{-far, far} {
			var at [unknowns]float64
			at[i] = z
			v := st.vehicle(&at)
			w := *from
			c, _ := v.limits(st, s, &w, false)
			side[j] = c.least()
		}
		slope := (side[1] - side[0]) / (2 * far)
		bend := (side[1] + side[0] - 2*nominal) / (2 * far * far)
		for n := range p.sorted {
			z := sampleValue(n, i)
			p.sorted[n] = p.least[n] - z*(slope+z*bend)
		}
		a.Unknowns[i].CostA = max(kth(p.sorted[:], k)-ceiling, 0)
	}
	for i := 1; i < len(a.Unknowns); i++ {
		for j := i; j > 0 && a.Unknowns[j].CostA > a.Unknowns[j-1].CostA; j-- {
			a.Unknowns[j], a.Unknowns[j-1] = a.Unknowns[j-1], a.Unknowns[j]
		}
	}
}
