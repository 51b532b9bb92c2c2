package core

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"spareamps/core/air"
	"spareamps/core/rig"
)

// machineA is the 130 A machine of Rivas, Perreault, Keim, IEEE Transactions
// on Energy Conversion 19(3), 2004, at a full field of 3.6 A.
const machineA = `{"rig":{"alternator":{"machine":{"pole_pairs":6,"flux_Wb":0.01339956,"inductance_H":120e-6,"resistance_ohm":0.037,"diode_drop_V":1}}}}`

func laid(t testing.TB, text string) *Request {
	t.Helper()
	q := NewRequest()
	if err := q.Lay([]byte(text), ""); err != nil {
		t.Fatal(err)
	}
	return &q
}

func report(t testing.TB, text string, opt MachineOptions) MachineReport {
	t.Helper()
	r, err := MachineRows(laid(t, text), opt)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// The bridge time-stepped with the machine's parameters, and its closed form:
// derived, as testdata/checks.csv says.
func TestMachineRowsOfParameters(t *testing.T) {
	speeds := []float64{1500, 1800, 2000, 3000, 4000, 6000}
	bridge := []float64{30.4, 53.6, 63.9, 87.7, 96.0, 101.9} // 1.5 %
	closed := []float64{39.66, 60.13, 68.88, 89.69, 97.06, 102.36}
	r := report(t, machineA, MachineOptions{SpeedsRpm: speeds, BusV: 14, Isothermal: true})
	for i, row := range r.Rows {
		if math.Abs(row.CurrentA-bridge[i]) > 0.015*bridge[i] {
			t.Errorf("%v rpm: got %.2f A, want %v within 1.5 %%", speeds[i], row.CurrentA, bridge[i])
		}
		if math.Abs(row.ClosedFormA-closed[i]) > 0.005*closed[i] {
			t.Errorf("%v rpm, closed form: got %.2f A, want %v within 0.5 %%", speeds[i], row.ClosedFormA, closed[i])
		}
	}
	if math.Abs(r.LimitA-106.6) > 0.1 {
		t.Errorf("limit current: got %v A, want 106.6", r.LimitA)
	}
}

// Published curves against the fit: SAE 2000-01-1020 through the 2003 release
// of the NREL vehicle simulator; the data page of a 33 hp marine diesel's
// manual; Sarafianos et al. 2015.
func TestMachineRowsOfCurves(t *testing.T) {
	for _, c := range []struct {
		name, rig        string
		tolerance        float64 // A
		cutIn, limit, rx float64 // 0: not looked at
	}{
		{"28 V truck, 2 % of its maximum", `{"alternator":{"class_V":24,"test_V":28,"points":[
			{"speed_rpm":2000,"current_A":80},{"speed_rpm":3000,"current_A":130},{"speed_rpm":4000,"current_A":145},
			{"speed_rpm":5000,"current_A":150},{"speed_rpm":6000,"current_A":155},{"speed_rpm":7000,"current_A":158},
			{"speed_rpm":8000,"current_A":160}]}}`, 3.2, 1339, 163.8, 0.046},
		{"50 A marine, engine speeds", `{"alternator":{"pulley_ratio":1.78,"points_speed":"engine","points":[
			{"speed_rpm":1300,"current_A":16},{"speed_rpm":2500,"current_A":41},{"speed_rpm":5000,"current_A":48}]}}`, 1, 1646, 50.4, 0},
		{"180 A, three points", `{"alternator":{"points":[{"speed_rpm":2000,"current_A":120},
			{"speed_rpm":4000,"current_A":170},{"speed_rpm":6000,"current_A":180}]}}`, 0.1, 940, 188.6, 0.113},
		{"180 A, two points", `{"alternator":{"points":[{"speed_rpm":2000,"current_A":120},
			{"speed_rpm":6000,"current_A":180}]}}`, 0.1, 0, 0, labelRX},
	} {
		r := report(t, `{"rig":`+c.rig+`}`, MachineOptions{SpeedsRpm: []float64{4000}, Isothermal: true})
		for _, f := range r.FitRows {
			if d := math.Abs(f.FittedA - f.GivenA); d > c.tolerance {
				t.Errorf("%s: %v rpm: fitted %.2f A, given %v, tolerance %v", c.name, f.GivenRpm, f.FittedA, f.GivenA, c.tolerance)
			}
		}
		near := func(what string, got, want, share float64) {
			if want != 0 && math.Abs(got-want) > share*want {
				t.Errorf("%s: %s: got %v, want %v within %v", c.name, what, got, want, share)
			}
		}
		near("cut-in", r.Fit.CutInRpm, c.cutIn, 0.02)
		near("limit", r.Fit.LimitA, c.limit, 0.015)
		if c.rx != 0 && math.Abs(r.Fit.RX-c.rx) > 0.015 {
			t.Errorf("%s: R/X: got %v, want %v within 0.015", c.name, r.Fit.RX, c.rx)
		}
		// As given and at the curve's own voltage the rows are the fit.
		near("row against fit", r.Rows[0].CurrentA, r.Fit.Current(4000), 1e-9)
		if c.name == "180 A, two points" {
			near("4000 rpm, not fitted", r.Rows[0].CurrentA, 170, 0.025)
		}
	}
}

// Every row is finite, its energy balance closes and its field is what bus and
// rotor give, from standstill to the fastest, over the table's ranges.
func TestMachineRowsProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := NewRequest()
		if rapid.Bool().Draw(t, "by label") {
			q.Rig.Alternator.RatedCurrentA = rapid.Float64Range(10, 600).Draw(t, "rated_A")
		} else {
			q.Rig.Alternator.MachineGiven = true
			q.Rig.Alternator.Machine = rig.Machine{
				PolePairs: 6, FluxWb: rapid.Float64Range(0.001, 0.2).Draw(t, "flux_Wb"),
				InductanceH:   rapid.Float64Range(1e-6, 0.01).Draw(t, "inductance_H"),
				ResistanceOhm: rapid.Float64Range(0, 1).Draw(t, "resistance_ohm"),
				DiodeDropV:    0.95, ReferenceC: labelCopperC,
			}
			q.given.add(inputs.mustIndex("rig.alternator.machine.pole_pairs"))
			q.given.add(inputs.mustIndex("rig.alternator.machine.flux_Wb"))
			q.given.add(inputs.mustIndex("rig.alternator.machine.inductance_H"))
			q.given.add(inputs.mustIndex("rig.alternator.machine.resistance_ohm"))
		}
		if rapid.Bool().Draw(t, "24 V") {
			q.Rig.Alternator.ClassV = "24"
		}
		opt := MachineOptions{
			InletC:    rapid.Float64Range(-40, 150).Draw(t, "inlet_C"),
			AltitudeM: rapid.Float64Range(-430, 6000).Draw(t, "altitude_m"),
			SpeedsRpm: []float64{rapid.Float64Range(0, 25000).Draw(t, "rpm")},
		}
		opt.Isothermal = rapid.Bool().Draw(t, "isothermal")
		r, err := MachineRows(&q, opt)
		if err != nil {
			t.Skip(err) // no output at the rated speed
		}
		row := r.Rows[0]
		if !row.Settled {
			if q.Rig.Alternator.MachineGiven {
				return // a machine nobody would wind
			}
			t.Fatalf("no steady point at %v rpm, %v °C", opt.SpeedsRpm, opt.InletC)
		}
		for name, v := range map[string]float64{
			"current": row.CurrentA, "closed form": row.ClosedFormA, "losses": row.Losses.Total(), "efficiency": row.Efficiency,
			"winding": row.State.WindingC, "core": row.State.CoreC, "rotor": row.State.RotorC, "junction": row.State.JunctionC,
		} {
			if v-v != 0 || v < 0 && name != "winding" && name != "core" && name != "rotor" && name != "junction" {
				t.Fatalf("%s is %v in %+v", name, v, row)
			}
		}
		if row.CurrentA > 0 {
			out := r.BusV * row.CurrentA
			if d := out/row.Efficiency - out - row.Losses.Total(); math.Abs(d) > 1e-6*out {
				t.Fatalf("power is off by %v W in %+v", d, row)
			}
		}
		if opt.Isothermal {
			return
		}
		shape := shapeOf(&q.Rig.Alternator, pulleyDefault)
		f := draw(&[unknowns]float64{}, &[unknowns]float64{})
		o := newOperating(shape.machine(&f), row.SpeedRpm, r.BusV, opt.InletC, air.Density(opt.AltitudeM, opt.InletC), f.flow, &f)
		if want, _ := o.full(row.State.RotorC); math.Abs(row.FieldShare-want) > 1e-6 {
			t.Fatalf("field share %v, full is %v at %v °C", row.FieldShare, want, row.State.RotorC)
		}
	})
}
