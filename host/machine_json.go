package main

import (
	"encoding/json"

	"spareamps/core"
)

// machineJSON prints a report as one object; what is not known is null.
func (p *program) machineJSON(r *core.MachineReport) error {
	known := func(v float64, ok bool) any {
		if !ok {
			return nil
		}
		return v
	}
	m := &r.Machine
	out := object{
		{"bus_V", r.BusV},
		{"isothermal", r.Isothermal},
		{"inlet_C", known(r.InletC, !r.Isothermal)},
		{"altitude_m", known(r.AltitudeM, !r.Isothermal)},
		{"fouling", known(r.Fouling, !r.Isothermal)},
		{"machine", object{
			{"pole_pairs", m.PolePairs}, {"flux_Wb", m.FluxWb}, {"inductance_H", m.InductanceH},
			{"resistance_ohm", m.ResistanceOhm}, {"diode_drop_V", m.DiodeDropV}, {"reference_C", m.ReferenceC},
			{"test_V", r.TestV}, {"cut_in_rpm", r.CutInRpm}, {"limit_current_A", r.LimitA}, {"r_over_x_6000", r.RX},
		}},
	}
	rows := make([]object, 0, len(r.Rows))
	for i := range r.Rows {
		row := &r.Rows[i]
		l, t := lossesOf(row), temperaturesOf(row)
		hot := row.Settled && !r.Isothermal
		rows = append(rows, object{
			{"speed_rpm", row.SpeedRpm},
			{"current_A", known(row.CurrentA, row.Settled)},
			{"closed_form_A", known(row.ClosedFormA, row.Settled)},
			{"field_share", known(row.FieldShare, row.Settled)},
			{"losses_W", object{
				{"stator_copper", known(l[0], row.Settled)}, {"rectifier", known(l[1], row.Settled)}, {"field", known(l[2], row.Settled)},
				{"iron", known(l[3], row.Settled)}, {"mechanical", known(l[4], row.Settled)},
			}},
			{"efficiency", known(row.Efficiency, row.Settled)},
			{"temperatures_C", object{
				{"stator_winding", known(t[0], hot)}, {"stator_core", known(t[1], hot)}, {"rectifier_junction", known(t[2], hot)},
				{"rotor", known(t[3], hot)}, {"inlet_air", known(t[4], hot)},
			}},
		})
	}
	out = append(out, pair{"rows", rows})
	if r.Fitted {
		points := make([]object, 0, len(r.FitRows))
		for _, f := range r.FitRows {
			points = append(points, object{
				{"speed_rpm", f.SpeedRpm}, {"given_speed_rpm", f.GivenRpm}, {"given_A", f.GivenA},
				{"fitted_A", f.FittedA}, {"residual_A", f.FittedA - f.GivenA},
			})
		}
		out = append(out, pair{"fit", object{
			{"cut_in_rpm", r.Fit.CutInRpm}, {"limit_current_A", r.Fit.LimitA}, {"r_over_x_6000", r.Fit.RX},
			{"max_residual_A", r.Fit.MaxResidualA}, {"rows", points},
		}})
	}
	from, err := native{}.provenance(p.ctx)
	if err != nil {
		return err
	}
	return p.object(append(out, pair{"provenance", from}))
}

// An object is a JSON object whose members keep their order.
type object []pair

type pair struct {
	key   string
	value any
}

// MarshalJSON writes the members in order.
func (o object) MarshalJSON() ([]byte, error) {
	out := []byte{'{'}
	for i, m := range o {
		if i > 0 {
			out = append(out, ',')
		}
		key, err := json.Marshal(m.key)
		if err != nil {
			return nil, err
		}
		value, err := json.Marshal(m.value)
		if err != nil {
			return nil, err
		}
		out = append(append(append(out, key...), ':'), value...)
	}
	return append(out, '}'), nil
}

// object prints an object.
func (p *program) object(o object) error {
	text, err := json.Marshal(o)
	if err != nil {
		return err
	}
	return p.indented(text)
}
