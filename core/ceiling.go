package core

import (
	"slices"

	"spareamps/core/conductor"
	"spareamps/core/detmath"
	"spareamps/core/limit"
)

// Ceiling answers a request: the largest steady current into the charger such
// that, for the asked share of plausible vehicles, no limit is passed.
//
// Its error is an *InputError; a request from Decode gives none.
func Ceiling(q *Request) (*Answer, error) {
	return new(Advisor).Ceiling(q)
}

// An Advisor answers requests one after another in the same memory, which
// matters where collecting garbage is dear. It serves one goroutine; the zero
// value is ready.
type Advisor struct {
	study   study
	planner planner
	answer  Answer
	text    []byte
}

// Ceiling is the function of that name; its answer holds until the next call.
func (d *Advisor) Ceiling(q *Request) (*Answer, error) {
	if err := q.Check(ForCeiling...); err != nil {
		return nil, err
	}
	a := &d.answer
	*a = Answer{Validity: a.Validity[:0], Says: a.Says[:0], Cautions: a.Cautions[:0]}
	d.study.prepare(q)
	d.study.draws()
	d.study.answer(q, a, wantAll)
	return a, nil
}

// CeilingJSON answers a request in JSON with an answer in JSON, or with
// {"error":{"code","problems":[{"field","value","allowed","message"}]}}. The
// text holds until the next call.
func (d *Advisor) CeilingJSON(request []byte) []byte {
	return d.reply(request, Decode, (*Advisor).Ceiling, &outputs)
}

// reply answers a request in JSON with an answer by a table of outputs.
func (d *Advisor) reply(request []byte, decode func([]byte) (Request, error), answer func(*Advisor, *Request) (*Answer, error), table *outputTable) []byte {
	q, err := decode(request)
	if err != nil {
		return ErrorObject(err)
	}
	a, err := answer(d, &q)
	if err != nil {
		return ErrorObject(err)
	}
	d.text = table.encode(d.text[:0], a)
	return d.text
}

// population is what each vehicle of the sample allows in a scene.
type population struct {
	side   outputSide
	own    [limit.All][sampleSize]float64 // A, by limit
	least  [sampleSize]float64            // A, all limits together
	watts  [sampleSize]float64            // W at that current
	sorted [sampleSize]float64            // room for kth
}

// fill runs the sample through a scene.
func (p *population) fill(st *study, s *scene, from *warm) {
	o, c := &st.other.o, &st.other.c
	p.side = st.outputSide(s)
	for i := range st.sample {
		v := &st.sample[i]
		v.operate(st, s, o)
		v.limitsAt(st, s, o, from, &st.other.w, c)
		p.side.widen(c)
		for k := range c {
			p.own[k][i] = c[k]
		}
		p.least[i] = c.least()
		p.watts[i] = p.side.capped(v.outputAt(st, p.least[i], o.leadC))
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

	o, w, nominal := &st.likeliest.o, &st.likeliest.w, &st.likeliest.c
	st.nominal.operate(st, &now, o)
	w.reset(o)
	st.nominal.limitsAt(st, &now, o, w, w, nominal)
	least := nominal.least()
	side := st.outputSide(&now)
	a.Nominal = st.setting(least, side.capped(st.nominal.outputAt(st, least, o.leadC)), &side, o.leadC)
	a.Nominal.Limit = st.guard.shownAs(nominal.lowest())
	if parts == 0 {
		return
	}

	// Every limit's own ceiling, then all together.
	p := &st.crowd
	p.fill(st, &now, w)
	for i := range a.Limits {
		a.Limits[i] = LimitRow{i, detmath.Max(p.quantile(&p.own[i], k), 0), detmath.Max(nominal[i], 0)}
		if inWatts(i) {
			a.Limits[i].InputA = a.Limits[i].NominalA
		}
	}
	sortLimits(&a.Limits)
	ceiling := detmath.Min(p.quantile(&p.least, k), side.a)
	a.Ceiling = st.setting(ceiling, p.quantile(&p.watts, k), &side, o.leadC)
	a.Ceiling.Limit = a.binding(st.inSteps(side.w))
	merged, mergedNominal := never, never
	if st.guard.merges() {
		merged, mergedNominal = p.merged(&st.guard, k), st.guard.merged(nominal)
	}

	if parts&(wantState|wantCosts|wantHold) != 0 {
		r := st.respond(&now, w, least)
		edge := st.edge(&now, w, &r, ceiling)
		if parts&wantState != 0 {
			st.describe(a, &now, o, &edge, ceiling)
		}
		if parts&wantCosts != 0 {
			st.costs(a, p, &r, ceiling, k)
		}
		if parts&wantHold != 0 {
			st.holds(q, a, &now, &edge)
		}
	}
	if parts&wantIdle != 0 {
		// From here the crowd is that of the stop.
		st.idle(q, a, &now, k)
	}
	if st.guard.merges() {
		st.guard.show(a, merged, mergedNominal, st.inSteps(side.w))
	}
	if parts&wantWords != 0 {
		st.remark(q, a, &now, o)
	}
	a.fit, a.fitted = st.shape.fit, st.shape.fitted
}

// binding returns the lowest of the limits that sets the ceiling: not the
// charger's output side where that, at sideW, would do more.
func (a *Answer) binding(sideW float64) int {
	i := 0
	for inWatts(a.Limits[i].Limit) && a.Ceiling.OutputW < sideW {
		i++
	}
	return a.Limits[i].Limit
}

// newWarmFor finds the likeliest vehicle's steady points from scratch.
func newWarmFor(st *study, s *scene) (w warm) {
	var o operating
	st.nominal.operate(st, s, &o)
	w.reset(&o)
	return w
}

// setting rounds a ceiling. Where charger or house battery set it, their watts
// are the setting.
func (st *study) setting(currentA, watts float64, side *outputSide, leadC float64) Setting {
	s := Setting{InputA: detmath.Floor(detmath.Max(currentA, 0)*10+1e-9) / 10}
	if currentA < side.a {
		// Nor may it draw more than the ceiling in the likeliest vehicle, whose bus
		// voltage and efficiency need not be those of the vehicles that set watts.
		watts = detmath.Min(watts, st.nominal.outputAt(st, s.InputA, leadC))
	}
	s.OutputW = st.inSteps(watts)
	s.OutputA = s.OutputW / st.chargeV()
	s.DrawA = st.nominal.inputFor(s.OutputW, st.leadOrNone(), leadC)
	return s
}

// inSteps rounds watts down to the charger's step.
func (st *study) inSteps(w float64) float64 {
	step := 1.0
	if st.charger.Given {
		step = st.charger.StepW
	}
	return roundDown(w, step)
}

// chargeV is the voltage at which the charger's output is counted.
func (st *study) chargeV() float64 {
	if st.house.Given {
		return houseChargeV(&st.house)
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

// sortLimits puts the lowest first; ties keep the table's order.
func sortLimits(rows *[limit.Count]LimitRow) {
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
func (st *study) describe(a *Answer, s *scene, o *operating, e *vehicle, ceiling float64) {
	v := &st.nominal
	ceiling = detmath.Max(ceiling, 0)
	p, full := o.carry(detmath.Min(ceiling+s.otherA(v), st.guard.mostA))
	a.State = st.state(o, &p)
	a.OtherA, a.SpeedRpm, a.BusV = s.otherA(v), o.speedRpm, v.v
	a.AlternatorA, a.AvailableA = p.out.a, detmath.Min(full, st.guard.mostA)
	a.Losses = o.losses(&p)
	out := v.v * p.out.a
	a.ShaftW = out + a.Losses.Total()
	if a.ShaftW > 0 {
		a.Efficiency = out / a.ShaftW
	}
	eo := e.operating(st, s)
	ep, _ := eo.carry(detmath.Min(ceiling+s.otherA(e), st.guard.mostA))
	a.Careful = st.state(&eo, &ep)
	a.Design = State{WindingC: st.class.windingLimitC(), JunctionC: st.junctionC, RotorC: st.class.rotorLimitC(), Ageing: 1}
	if st.hasLead {
		l := &st.lead
		a.HasCable = true
		a.LeadOhm = l.Ohm(ceiling, o.leadC)
		a.LeadDropV = a.LeadOhm * ceiling
		a.ConductorC = l.ConductorC(ceiling, o.leadC)
		a.AmpacityA = l.HeatA(o.leadC)
		a.FuseContinuousA = conductor.FuseContinuous(l.FuseA, o.airC)
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
		p = o.seek(fixedCurrent, detmath.Max(currentA, 0), &p)
	}
	full, _ := o.full(p.t[rotor])
	return p, o.machine.output(o.omega, o.busV, full, p.t[winding]).a
}

// state reads the temperatures of an operating point.
func (st *study) state(o *operating, p *steady) State {
	return State{
		WindingC: p.t[winding], CoreC: p.t[iron], RotorC: p.t[rotor], InletC: o.airC,
		JunctionC: p.t[plates] + o.junctionPerA()*p.out.a,
		Ageing:    st.class.ageing(p.t[winding]),
	}
}

// A response is how the likeliest vehicle's ceiling moves with each unknown
// alone: a parabola in its standard normal value.
type response struct {
	least       float64 // A, with every unknown as likeliest
	slope, bend [unknowns]float64
}

// respond finds the response from the ceilings at the 5 and 95 % quantile of
// each unknown.
func (st *study) respond(s *scene, from *warm, least float64) response {
	const far = 1.6448536269514722
	r := response{least: least}
	for i := range r.slope {
		if st.spread[i] == 0 || slices.Contains(st.known, i) {
			continue
		}
		var side [2]float64
		for j, z := range [...]float64{-far, far} {
			var at [unknowns]float64
			at[i] = z
			side[j] = st.leastAt(s, from, &at)
		}
		r.slope[i] = (side[1] - side[0]) / (2 * far)
		r.bend[i] = (side[1] + side[0] - 2*least) / (2 * far * far)
	}
	return r
}

// leastAt returns the ceiling of the vehicle at standard normal values.
func (st *study) leastAt(s *scene, from *warm, z *[unknowns]float64) float64 {
	d, v := &st.other, &st.drawn
	st.make(v, z)
	v.operate(st, s, &d.o)
	v.limitsAt(st, s, &d.o, from, &d.w, &d.c)
	side := st.outputSide(s)
	return side.least(&d.c)
}

// edge returns the vehicle at the edge of the confidence: of those that have
// just this ceiling, the likeliest, to first order. From the likeliest of all
// it lies down the response's slope; how far is found by false position.
func (st *study) edge(s *scene, from *warm, r *response, ceiling float64) vehicle {
	norm := 0.0
	for _, m := range r.slope {
		norm += m * m
	}
	if norm == 0 || ceiling >= r.least {
		return st.nominal
	}
	norm = detmath.Sqrt(norm)
	var z [unknowns]float64
	at := func(far float64) float64 {
		for i, m := range r.slope {
			z[i] = -far * m / norm
		}
		return st.leastAt(s, from, &z) - ceiling
	}
	lo, flo := 0.0, r.least-ceiling
	hi := 4.0
	fhi := at(hi)
	for range 30 {
		if fhi > 0 || hi-lo < 1e-9 {
			break // not even the furthest is so low: it has to do
		}
		mid := hi - fhi*(hi-lo)/(fhi-flo)
		f := at(mid)
		if detmath.Abs(f) < 1e-7*(1+detmath.Abs(ceiling)) {
			break
		}
		if f > 0 {
			lo, flo = mid, f
			fhi /= 2
		} else {
			hi, fhi = mid, f
			flo /= 2
		}
	}
	return st.vehicle(&z)
}

// costs says what each unknown costs: how much higher the ceiling would be if
// that one were known to be as likeliest. Its response is taken out of every
// vehicle of the sample.
func (st *study) costs(a *Answer, p *population, r *response, ceiling float64, k int) {
	for i := range a.Unknowns {
		for n := range p.sorted {
			z := sampleValue(n, i)
			p.sorted[n] = p.least[n] - z*(r.slope[i]+z*r.bend[i])
		}
		known := detmath.Min(kth(p.sorted[:], k), p.side.a)
		a.Unknowns[i] = UnknownCost{i, detmath.Max(detmath.Max(known, 0)-detmath.Max(ceiling, 0), 0)}
	}
	for i := 1; i < len(a.Unknowns); i++ {
		for j := i; j > 0 && a.Unknowns[j].CostA > a.Unknowns[j-1].CostA; j-- {
			a.Unknowns[j], a.Unknowns[j-1] = a.Unknowns[j-1], a.Unknowns[j]
		}
	}
}
