package core

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"spareamps/core/internal/tables"
	"spareamps/core/jsontext"
	"spareamps/core/rig"
	"spareamps/testdata"
)

// A foretelling is a published curve, read as a person reads it: a fit on some of
// its points says how far the others may lie from what it expects.
type foretelling struct {
	name   string
	set    [][2]string // the rig
	busV   float64
	points []rig.Point // by engine speed
	cold   []rig.Point // the same right after a start
	knows  []float64
	misses string // speeds known to lie outside, DEVELOPERS.md "What does not match"
}

// row is a reading at full output, hot.
func (c *foretelling) row(p rig.Point) rig.Observation {
	return rig.Observation{Begins: "warm", EverythingOn: "yes", Minutes: 60, EngineRpm: p.SpeedRpm, AmbientC: 25, BusV: c.busV, OutputA: p.CurrentA,
		InletC: math.NaN(), CaseC: math.NaN(), CoreC: math.NaN(), PlatesC: math.NaN()}
}

// expected is what a fit on the first readings of a request foretells of the last:
// the value and one standard deviation of a reading there.
func expected(q Request) (value, deviation float64) {
	rows := q.Rig.Observations
	all := aFitter(&q)
	q.Rig.Observations = rows[:len(rows)-1]
	f := aFitter(&q)
	var l Learning
	best, cov := f.learn(&l)
	all.expect(&best, all.out)
	all.differentiate(&best, all.out)
	last := len(all.values) - 1
	spread, j := 1.0, &all.jac[last]
	for a := range j {
		for b := range j {
			spread += j[a] * cov[a][b] * j[b]
		}
	}
	return all.out[last], math.Sqrt(spread) * all.values[last].Deviation
}

func (c *foretelling) check(t *testing.T) {
	q := NewRequest()
	for _, set := range append([][2]string{{"moment.engine_rpm", "3000"}, {"moment.ambient_C", "25"}}, c.set...) {
		if err := q.Set(set[0], set[1]); err != nil {
			t.Fatal(err)
		}
	}
	for _, p := range c.points {
		if slices.Contains(c.knows, p.SpeedRpm) {
			q.Rig.Observations = append(q.Rig.Observations, c.row(p))
		}
	}
	fitted := len(q.Rig.Observations)
	try := func(p rig.Point, o rig.Observation, how string) {
		q.Rig.Observations = append(q.Rig.Observations[:fitted], o)
		got, deviation := expected(q)
		off := (p.CurrentA - got) / deviation
		at := fmt.Sprintf("%.0f rpm%s", p.SpeedRpm, how)
		said := fmt.Sprintf("%s, fitted on %.0f rpm: at %s foretold %.1f ± %.1f A (90 %%), published %v A, %+.1f deviations", c.name, c.knows, at, got, ninety*deviation, p.CurrentA, off)
		known := slices.Contains(strings.Split(c.misses, ", "), at)
		switch missed := math.Abs(off) > ninety; {
		case missed && known:
			t.Log(said + ": outside, as known")
		case missed:
			t.Error(said)
		case known:
			t.Error(said + ": inside, but listed as outside")
		default:
			t.Log(said)
		}
	}
	for _, p := range c.points {
		if !slices.Contains(c.knows, p.SpeedRpm) {
			try(p, c.row(p), "")
		}
	}
	for _, p := range c.cold {
		o := c.row(p)
		o.Begins, o.Minutes = "cold", 0.2
		try(p, o, " cold")
	}
}

// curvePoints are the points of a published table, speeds over the pulley ratio.
func curvePoints(t *testing.T, file, column string, ratio float64) (points []rig.Point) {
	t.Helper()
	tab, err := testdata.Read(file)
	if err != nil {
		t.Fatal(err)
	}
	for i := range tab.Rows {
		if text, _ := tab.Text(i, column); text != "" {
			points = append(points, rig.Point{SpeedRpm: tables.Figure(t, tab, i, "speed_rpm") / ratio, CurrentA: tables.Figure(t, tab, i, column)})
		}
	}
	return points
}

// Points of published output curves foretell the others within the interval of
// 90 % that the fit states. Sources: the tables of that name.
func TestFitForetellsCurves(t *testing.T) {
	measured := [][2]string{{"rig.alternator.rated_current_A", "180"}, {"rig.alternator.pulley_ratio", "1"}}
	truck := [][2]string{{"rig.alternator.rated_current_A", "155"}, {"rig.alternator.pulley_ratio", "1"}, {"rig.alternator.class_V", "24"}, {"rig.alternator.test_V", "28"}}
	marine := [][2]string{{"rig.alternator.rated_current_A", "50"}, {"rig.alternator.rated_speed_rpm", "5000"}, {"rig.alternator.pulley_ratio", "1.78"}}
	const r = 1.78
	hot := curvePoints(t, "marine_50a_output.csv", "hot_A", r)
	cold := curvePoints(t, "marine_50a_output.csv", "cold_A", r)
	machine := curvePoints(t, "sarafianos_output.csv", "output_A", 1)
	curve := curvePoints(t, "truck_28v_output.csv", "output_A", 1)
	for _, c := range []foretelling{
		{name: "180 A machine", set: measured, busV: 13.5, points: machine, knows: []float64{2000, 6000}},
		{name: "28 V truck", set: truck, busV: 28, points: curve, knows: []float64{2000, 6000}},
		{name: "28 V truck", set: truck, busV: 28, points: curve, knows: []float64{3000, 8000}, misses: "2000 rpm"},
		{name: "50 A marine", set: marine, busV: 13.5, points: hot, cold: cold, knows: []float64{1300 / r, 5000 / r}, misses: "1404 rpm cold"},
		{name: "50 A marine", set: marine, busV: 13.5, points: hot, cold: cold, knows: []float64{2500 / r, 5000 / r}, misses: "1404 rpm cold"},
		{name: "50 A marine", set: marine, busV: 13.5, points: hot, cold: cold, knows: []float64{2500 / r}, misses: "1404 rpm cold"},
	} {
		c.check(t)
	}
}

// Of cars of which nothing but two readings is published, the one at 2000 rpm
// foretells that near idle. The label is not published: taken is the next ten
// amps above the reading, the output at 2000 rpm being 0.85 to 0.95 of a label
// (from memory). Source: testdata/car_pairs.csv.
func TestFitForetellsCars(t *testing.T) {
	tab, err := testdata.Read("car_pairs.csv")
	if err != nil {
		t.Fatal(err)
	}
	misses := map[string]string{"2007 coupe": "1000 rpm", "1997 sedan A": "750 rpm", "1997 sedan B": "750 rpm"}
	for i := range tab.Rows {
		car, _ := tab.Text(i, "car")
		low := 750.0 // the default of idle_rpm
		if text, _ := tab.Text(i, "low_engine_rpm"); text != "idle" {
			low = tables.Figure(t, tab, i, "low_engine_rpm")
		}
		high := rig.Point{SpeedRpm: tables.Figure(t, tab, i, "high_engine_rpm"), CurrentA: tables.Figure(t, tab, i, "high_A")}
		label := jsontext.NumberText(10 * math.Ceil(high.CurrentA/0.95/10))
		c := foretelling{name: car + ", label taken as " + label + " A", busV: 13.5, knows: []float64{high.SpeedRpm}, misses: misses[car],
			set:    [][2]string{{"rig.alternator.rated_current_A", label}},
			points: []rig.Point{{SpeedRpm: low, CurrentA: tables.Figure(t, tab, i, "low_A")}, high}}
		c.check(t)
	}
}
