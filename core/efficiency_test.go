package core

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"spareamps/core/air"
	"spareamps/core/internal/tables"
	"spareamps/core/rig"
	"spareamps/testdata"
)

// A lossCell is one cell of a published efficiency map with the model's value.
type lossCell struct {
	rpm, currentA      float64
	published, model   float64 // efficiency
	publishedW, modelW float64 // loss
	counted            bool
}

// truckMap returns the efficiency map of the 28 V truck machine; the model uses the
// machine's own output curve.
func truckMap(t *testing.T) []lossCell {
	tab, err := testdata.Read("truck_28v_efficiency.csv")
	if err != nil {
		t.Fatal(err)
	}
	o := mappedMachine(t, "truck_28v_output.csv", 28)
	curve := tables.Read(t, "truck_28v_output.csv") // the same speeds, row by row
	var cells []lossCell
	for i := range tab.Rows {
		rpm := tables.Figure(t, tab, i, "speed_rpm")
		for _, percent := range []float64{25, 50, 75, 100} {
			c := lossCell{rpm: rpm, published: tables.Figure(t, tab, i, fmt.Sprintf("load%.0f_share", percent)), counted: true}
			o.cell(&c, percent/100*tables.Figure(t, curve, i, "output_A"))
			cells = append(cells, c)
		}
	}
	return cells
}

// busMap returns the default map of a 24 V bus alternator; the largest currents of the
// map serve as its output curve.
func busMap(t *testing.T) []lossCell {
	tab, err := testdata.Read("bus_aux_efficiency.csv")
	if err != nil {
		t.Fatal(err)
	}
	o := busMachine()
	var cells []lossCell
	for i := range tab.Rows {
		c := lossCell{rpm: tables.Figure(t, tab, i, "speed_rpm"), published: tables.Figure(t, tab, i, "efficiency_share"),
			counted: tables.Figure(t, tab, i, "counted_number") == 1}
		o.cell(&c, tables.Figure(t, tab, i, "current_A"))
		cells = append(cells, c)
	}
	return cells
}

func busMachine() mapped {
	return mapped{mappedOf(rig.Alternator{ClassV: "24", TestV: 28.3, PolePairs: 6, RatedSpeedRpm: 6000, PointsSpeed: "alternator",
		Points: []rig.Point{{SpeedRpm: 2000, CurrentA: 53}, {SpeedRpm: 4000, CurrentA: 125}, {SpeedRpm: 6000, CurrentA: 136}}}), 28.3}
}

// A mapped is a machine with a published efficiency map.
type mapped struct {
	machine machine
	busV    float64
}

func mappedOf(a rig.Alternator) machine {
	s := shapeOf(&a, 1)
	f := draw(&[unknowns]float64{}, &[unknowns]float64{})
	return s.machine(&f)
}

func mappedMachine(t *testing.T, curve string, busV float64) mapped {
	output, err := testdata.Read(curve)
	if err != nil {
		t.Fatal(err)
	}
	var points []rig.Point
	for i := range output.Rows {
		points = append(points, rig.Point{SpeedRpm: tables.Figure(t, output, i, "speed_rpm"), CurrentA: tables.Figure(t, output, i, "output_A")})
	}
	return mapped{mappedOf(rig.Alternator{ClassV: "24", TestV: busV, PolePairs: 6, RatedSpeedRpm: 6000, Points: points, PointsSpeed: "alternator"}), busV}
}

// cell fills in the model's side at a current in A, or at full field where the model
// gives less.
func (m *mapped) cell(c *lossCell, currentA float64) {
	f := draw(&[unknowns]float64{}, &[unknowns]float64{})
	o := newOperating(m.machine, c.rpm, m.busV, 23, air.Density(0, 23), 1, &f)
	p := carryAt(&o, currentA)
	c.currentA = currentA
	c.modelW = o.losses(&p).Total()
	out := m.busV * p.out.a
	c.model = out / (out + c.modelW)
	c.publishedW = m.busV * currentA * (1/c.published - 1)
}

// The losses follow two published maps over speed: at each speed the mean loss ratio,
// divided by that of the whole map, lies within 0.8 to 1.25, so the model favours
// neither crawling nor fast driving. The level of a map belongs to its machine.
func TestEfficiencyMaps(t *testing.T) {
	for name, cells := range map[string][]lossCell{"truck_28v_efficiency.csv": truckMap(t), "bus_aux_efficiency.csv": busMap(t)} {
		bySpeed := map[float64][]float64{}
		all, n := 0.0, 0.0
		for _, c := range cells {
			ratio := math.Log(c.modelW / c.publishedW)
			t.Logf("%s: %.0f rpm %5.1f A: efficiency %.3f, published %.2f; loss %.0f W, published %.0f, ratio %.2f%s",
				name, c.rpm, c.currentA, c.model, c.published, c.modelW, c.publishedW, math.Exp(ratio), map[bool]string{false: " (not counted)"}[c.counted])
			if c.counted {
				bySpeed[c.rpm] = append(bySpeed[c.rpm], ratio)
				all, n = all+ratio, n+1
			}
		}
		all /= n
		speeds := make([]float64, 0, len(bySpeed))
		for rpm := range bySpeed {
			speeds = append(speeds, rpm)
		}
		slices.Sort(speeds)
		for _, rpm := range speeds {
			sum := 0.0
			for _, r := range bySpeed[rpm] {
				sum += r
			}
			mean := sum / float64(len(bySpeed[rpm]))
			t.Logf("%s: %.0f rpm: mean loss ratio %.2f, over the map's own %.2f: %.2f", name, rpm, math.Exp(mean), math.Exp(all), math.Exp(mean-all))
			if r := math.Exp(mean - all); r < 0.8 || r > 1.25 {
				t.Errorf("%s: at %.0f rpm the loss ratio is %.2f of the map's mean, allowed 0.8 to 1.25", name, rpm, r)
			}
		}
	}
}
