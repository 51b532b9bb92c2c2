package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"spareamps/core"
)

// Bounds of what no input of the table says.
const (
	busLeastV, busMostV = 6.0, 60.0
	speedMostRpm        = 25000.0
	speedsMost          = 1000
	benchC              = 25.0 // °C of the air, unless stated
)

func (p *program) newMachine() *cobra.Command {
	var request requestFlags
	var speeds, bus string
	var isothermal, csv bool
	c := &cobra.Command{
		Use:   "machine",
		Short: "the alternator alone at full field, for engineers",
		Long: `Prints what the alternator gives at full field against its own speed: current,
the same by the closed form, losses, efficiency and temperatures. It may be
described by its label, by points of a measured curve (then the fit is printed
too), or by machine parameters. The air at its inlet is at 25 °C unless
--inlet-C says another, its vents are clean unless fouling is stated.

With --isothermal what is given is taken as it is: field share 1, copper at its
reference temperature, at the voltage of the label or curve unless --bus-V says
another.`,
		Example: `spareamps machine
spareamps machine --rig rig.json --speeds 1500,1800,3000 --inlet-C 90
spareamps machine --alternator-points 2000:120,4000:170,6000:180 --isothermal
spareamps machine --speeds 1000:8000:500 --csv -o curve.csv`,
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error {
			return p.machine(&request, speeds, bus, isothermal, csv)
		},
	}
	c.Flags().StringVar(&speeds, "speeds", "1500,1800,2000,2500,3000,4000,6000,8000", "alternator speeds in rpm, a `LIST`; from:to:step is a range")
	c.Flags().StringVar(&bus, "bus-V", "", "voltage at the alternator, in `VOLTS`; else 14, or 28 in class 24")
	c.Flags().BoolVar(&isothermal, "isothermal", false, "without any temperature correction")
	c.Flags().BoolVar(&request.json, "json", false, "the result as one JSON object")
	c.Flags().BoolVar(&csv, "csv", false, "the rows as CSV")
	c.MarkFlagsMutuallyExclusive("json", "csv")
	request.sections = []string{"rig.alternator"}
	request.add(c, "rig.alternator", "moment.inlet_C", "moment.altitude_m")
	return c
}

func (p *program) machine(f *requestFlags, speeds, bus string, isothermal, csv bool) error {
	q, err := p.request(f)
	bad, _ := err.(*badInput)
	if err != nil && bad == nil {
		return err
	}
	if bad == nil {
		bad = &badInput{json: f.json}
	}
	opt := core.MachineOptions{InletC: benchC, Isothermal: isothermal}
	opt.SpeedsRpm = bad.speeds(speeds)
	if bus != "" {
		v, err := strconv.ParseFloat(strings.TrimSpace(bus), 64)
		if err != nil || !(v >= busLeastV && v <= busMostV) {
			bad.add("--bus-V", bus, fmt.Sprintf("%v to %v V", busLeastV, busMostV))
		}
		opt.BusV = v
	}
	inlet, altitude := f.table.given("moment.inlet_C"), f.table.given("moment.altitude_m")
	if isothermal && (inlet || altitude) {
		return &usageError{"--isothermal knows no air: leave out --inlet-C and --altitude-m", ""}
	}
	if inlet {
		opt.InletC = q.Moment.InletC
	}
	if altitude {
		opt.AltitudeM = q.Moment.AltitudeM
	}
	if len(bad.problems) > 0 {
		return bad
	}
	r, err := core.MachineRows(&q, opt)
	if err != nil {
		bad.problems = problemsOf(err)
		return bad
	}
	switch {
	case f.json:
		return p.machineJSON(&r)
	case csv:
		p.machineCSV(&r)
	default:
		g := p.newPage()
		g.machine(&r)
	}
	return nil
}

// add adds a problem of a flag that is no input of the table.
func (b *badInput) add(flag, value, allowed string) {
	b.problems = append(b.problems, core.Problem{Code: "range", Field: flag, Value: value, Allowed: allowed,
		Message: flag + " is " + value + ", allowed is " + allowed})
}

// speeds reads a list of speeds.
func (b *badInput) speeds(text string) (list []float64) {
	const allowed = "numbers from 0 to 25000 rpm, separated by commas; from:to:step is a range"
	for _, part := range strings.Split(text, ",") {
		var v [3]float64
		cells := strings.Split(part, ":")
		ok := len(cells) == 1 || len(cells) == 3
		for i := range cells {
			if ok {
				x, err := strconv.ParseFloat(strings.TrimSpace(cells[i]), 64)
				v[i], ok = x, err == nil && x >= 0 && x <= speedMostRpm
			}
		}
		switch {
		case !ok || len(cells) == 3 && (v[2] <= 0 || v[1] < v[0]):
			b.add("--speeds", part, allowed)
		case len(cells) == 1:
			list = append(list, v[0])
		default:
			n := min(math.Floor((v[1]-v[0])/v[2]+1e-9), speedsMost)
			for i := 0.0; i <= n; i++ {
				list = append(list, v[0]+i*v[2])
			}
		}
		if len(list) > speedsMost {
			b.add("--speeds", text, fmt.Sprintf("at most %d speeds", speedsMost))
			return nil
		}
	}
	return list
}

// machine prints a report for a person.
func (g *page) machine(r *core.MachineReport) {
	head := "Alternator at full field, " + number(r.BusV) + " V"
	if r.Isothermal {
		head += ", copper at " + number(r.Machine.ReferenceC) + " °C throughout"
	} else {
		head += ", air of " + number(r.InletC) + " °C"
		if r.AltitudeM != 0 {
			head += " at " + number(r.AltitudeM) + " m"
		}
		if r.Fouling == 0 {
			head += ", vents clean"
		} else {
			head += ", fouling " + number(r.Fouling)
		}
	}
	g.strong(head)
	m := &r.Machine
	g.para("", fmt.Sprintf("Star equivalent at %s °C: flux %.5g Wb, %.4g mH, %.4g mΩ, %s pole pairs, %.3g V a diode. "+
		"Output begins at %.0f rpm with %s V; limit %s, R/X %.3f at 6000 rpm.",
		number(m.ReferenceC), m.FluxWb, 1e3*m.InductanceH, 1e3*m.ResistanceOhm, number(m.PolePairs), m.DiodeDropV,
		r.CutInRpm, number(r.TestV), amps(r.LimitA), r.RX))
	g.line("")
	g.line("   speed current  closed  effi-   losses, W                    temperature, °C")
	g.line("     rpm       A    form ciency copper rect. field  iron  fan  wind. diode rotor")
	for i := range r.Rows {
		row := &r.Rows[i]
		l := right(fixed(row.SpeedRpm, 0), 8)
		if !row.Settled {
			g.line(l + "  no steady point: the copper runs away in heat")
			continue
		}
		l += right(fixed(row.CurrentA, 1), 8) + right(fixed(row.ClosedFormA, 1), 8) + right(fixed(row.Efficiency, 3), 7)
		for j, w := range lossesOf(row) {
			l += right(fixed(w, 0), [...]int{7, 6, 6, 6, 5}[j])
		}
		if !r.Isothermal {
			l += right(fixed(row.State.WindingC, 0), 7) + right(fixed(row.State.JunctionC, 0), 6) + right(fixed(row.State.RotorC, 0), 6)
		}
		g.line(l)
	}
	if !r.Fitted {
		return
	}
	g.head("Fit to the points")
	g.para("", fmt.Sprintf("Output begins at %.0f rpm, limit %s, R/X %.3f at 6000 rpm; misses a point by at most %.2f A.",
		r.Fit.CutInRpm, amps(r.Fit.LimitA), r.Fit.RX, r.Fit.MaxResidualA))
	g.line("   speed    given   fitted   misses by")
	for _, f := range r.FitRows {
		g.line(right(fixed(f.SpeedRpm, 0), 8) + right(fixed(f.GivenA, 1), 9) + right(fixed(f.FittedA, 1), 9) + right(fixed(f.FittedA-f.GivenA, 2), 12))
	}
}

func lossesOf(row *core.MachineRow) [5]float64 {
	l := &row.Losses
	return [5]float64{l.StatorCopper, l.Rectifier, l.Field, l.Iron, l.Mechanical}
}

// machineCSV prints the rows for a table; what is not known is empty.
func (p *program) machineCSV(r *core.MachineReport) {
	p.data.WriteString("speed_rpm,current_A,closed_form_A,efficiency,stator_copper_W,rectifier_W,field_W,iron_W,mechanical_W," +
		"stator_winding_C,stator_core_C,rectifier_junction_C,rotor_C,inlet_air_C\n")
	for i := range r.Rows {
		row := &r.Rows[i]
		losses, temperatures := lossesOf(row), temperaturesOf(row)
		values := append([]float64{row.SpeedRpm, row.CurrentA, row.ClosedFormA, row.Efficiency}, losses[:]...)
		values = append(values, temperatures[:]...)
		for j, v := range values {
			if j > 0 {
				p.data.WriteByte(',')
			}
			if j == 0 || row.Settled && (j < 9 || !r.Isothermal) {
				p.data.WriteString(number(v))
			}
		}
		p.data.WriteByte('\n')
	}
}

func temperaturesOf(row *core.MachineRow) [5]float64 {
	s := &row.State
	return [5]float64{s.WindingC, s.CoreC, s.JunctionC, s.RotorC, s.InletC}
}
