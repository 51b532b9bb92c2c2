package core

import (
	"cmp"

	"spareamps/core/air"
	"spareamps/core/conductor"
	"spareamps/core/jsontext"
	"spareamps/core/rig"
)

// MachineOptions say under what conditions the alternator alone is asked.
type MachineOptions struct {
	SpeedsRpm  []float64 // of the alternator
	BusV       float64   // 0: 14 or 28 V by class; the test voltage where Isothermal
	InletC     float64   // air at the inlet; not used where Isothermal
	AltitudeM  float64   // not used where Isothermal
	Isothermal bool      // take the description as it is: field share 1, copper at its reference temperature
}

// A MachineRow is the alternator at full field and one speed.
type MachineRow struct {
	SpeedRpm    float64
	CurrentA    float64
	ClosedFormA float64 // the same by the closed form, at the same field and temperatures
	FieldShare  float64
	Losses      Losses
	Efficiency  float64 // 0 without output
	State       State   // not set where Isothermal
	Settled     bool    // false: no steady point was found, nothing but the speed is set
}

// A MachineFitRow is one measured point against the fitted curve.
type MachineFitRow struct {
	GivenRpm float64 // as in the request
	SpeedRpm float64 // of the alternator
	GivenA   float64
	FittedA  float64
}

// A MachineReport is the alternator alone.
type MachineReport struct {
	BusV       float64
	TestV      float64
	InletC     float64
	AltitudeM  float64
	Fouling    float64
	Isothermal bool

	// The star equivalent at full field and ReferenceC; the cut-in is at TestV.
	Machine  rig.Machine
	CutInRpm float64
	LimitA   float64
	RX       float64 // R/X at 6000 rpm

	Rows []MachineRow

	Fitted  bool
	Fit     CurveFit
	FitRows []MachineFitRow
}

// MachineRows computes the alternator of a request alone, at full field, for
// the likeliest vehicle. Vents are clean unless the request states otherwise.
//
// Its error is an *InputError; nothing but rig.alternator is needed.
func MachineRows(q *Request, opt MachineOptions) (MachineReport, error) {
	if err := q.Check("rig.alternator"); err != nil {
		return MachineReport{}, err
	}
	alt := &q.Rig.Alternator
	s := q.shape(cmp.Or(alt.PulleyRatio, pulleyDefault))
	if !(s.ratedA > 0) {
		return MachineReport{}, inputError([]Problem{plain("conflict", "rig.alternator", "", "output at rated_speed_rpm",
			"this alternator gives no output at its rated speed of "+jsontext.NumberText(s.ratedRpm)+" rpm")})
	}
	f := draw(&[unknowns]float64{}, &[unknowns]float64{})
	m := s.machine(&f)
	r := MachineReport{
		BusV: opt.BusV, TestV: s.testV, InletC: opt.InletC, AltitudeM: opt.AltitudeM, Isothermal: opt.Isothermal,
		Machine:  rig.Machine{PolePairs: m.poles, FluxWb: m.flux, InductanceH: m.l, ResistanceOhm: m.r, DiodeDropV: m.dropV / 2, ReferenceC: m.refC},
		CutInRpm: m.cutInRpm(s.testV), LimitA: m.limitA(), RX: m.rx(),
		Fitted: s.fitted, Fit: s.fit,
	}
	if alt.MachineGiven {
		r.Machine = alt.Machine // without the rounding of the way there and back
		r.Machine.DiodeDropV = m.dropV / 2
	}
	if r.BusV == 0 {
		r.BusV = 14 * classFactor(alt)
		if opt.Isothermal {
			r.BusV = s.testV
		}
	}
	if q.states("rig.alternator.fouling") {
		r.Fouling = alt.Fouling
	}
	for _, p := range alt.Points {
		if !s.fitted {
			break
		}
		row := MachineFitRow{GivenRpm: p.SpeedRpm, SpeedRpm: p.SpeedRpm, GivenA: p.CurrentA}
		if alt.PointsSpeed == "engine" {
			row.SpeedRpm *= cmp.Or(alt.PulleyRatio, pulleyDefault)
		}
		row.FittedA = s.fit.Current(row.SpeedRpm)
		r.FitRows = append(r.FitRows, row)
	}
	r.Rows = make([]MachineRow, len(opt.SpeedsRpm))
	for i, n := range opt.SpeedsRpm {
		if opt.Isothermal {
			r.Rows[i] = m.asGiven(n, r.BusV, &f)
		} else {
			density := air.Density(opt.AltitudeM, opt.InletC)
			o := newOperating(m, n, r.BusV, opt.InletC, density, f.flow*(1-r.Fouling), &f)
			r.Rows[i] = o.fullFieldRow(insulation(alt.InsulationClass))
		}
	}
	return r, nil
}

// asGiven is a row with the copper at its reference temperature and a field
// share of 1, whatever the bus.
func (m *machine) asGiven(speedRpm, busV float64, f *factors) MachineRow {
	o := newOperating(*m, speedRpm, busV, m.refC, air.SeaLevelDensity, 1, f)
	p := steady{t: temperatures{m.refC, m.refC, m.refC, m.refC}, x: 1}
	p.out = m.output(o.omega, busV, 1, m.refC)
	row := o.row(&p)
	row.Settled = true
	return row
}

// fullFieldRow is the steady row at full field.
func (o *operating) fullFieldRow(class insulationClass) MachineRow {
	p := o.atFullField()
	if !p.ok {
		return MachineRow{SpeedRpm: o.speedRpm}
	}
	row := o.row(&p)
	row.Settled = true
	row.State = State{
		WindingC: p.t[winding], CoreC: p.t[iron], RotorC: p.t[rotor], InletC: o.inletC,
		JunctionC: p.t[plates] + o.junctionPerA()*p.out.a,
		Ageing:    class.ageing(p.t[winding]),
	}
	return row
}

// atFullField returns the steady point at full field. Where copper is hot
// enough to lead the iteration astray it sets out again from hotter still.
func (o *operating) atFullField() steady {
	p := o.start()
	for _, hotter := range [...]float64{0, 150, 400, 900} {
		from := o.start()
		from.t[winding] += hotter
		from.t[iron] += hotter / 2
		if p = o.solve(fullField, 0, &from); p.ok && p.t[winding] >= o.inletC-1e-6 {
			return p
		}
	}
	p.ok = false
	return p
}

// row reads what an operating point gives and loses.
func (o *operating) row(p *steady) MachineRow {
	r := MachineRow{SpeedRpm: o.speedRpm, CurrentA: p.out.a, FieldShare: p.x, Losses: o.losses(p)}
	ps, _ := curveAt(&fluxCurve, p.x)
	li, _ := curveAt(&inductanceCurve, p.x)
	ohm := o.machine.r * conductor.Copper(p.t[winding]) / conductor.Copper(o.machine.refC)
	r.ClosedFormA = closedFormCurrent(o.flux*ps*o.omega, o.omega*o.l*li, ohm, o.busV, o.dropV/2)
	if p.out.a > 0 {
		out := o.busV * p.out.a
		r.Efficiency = out / (out + r.Losses.Total())
	}
	return r
}
