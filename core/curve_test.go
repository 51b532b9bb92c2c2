package core

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/optimize"
	"pgregory.net/rapid"

	"spareamps/core/internal/near"
	"spareamps/core/internal/tables"
	"spareamps/core/rig"
	"spareamps/testdata"
)

// measuredCurves are the published output curves.
func measuredCurves(t *testing.T) map[string][]rig.Point {
	t.Helper()
	curves := map[string][]rig.Point{}
	for name, col := range map[string]string{
		"truck_28v_output": "output_A", "sarafianos_output": "output_A", "marine_50a_output": "hot_A", "rivas_output": "bridge_A",
	} {
		tab, err := testdata.Read(name + ".csv")
		if err != nil {
			t.Fatal(err)
		}
		for i := range tab.Rows {
			curves[name] = append(curves[name], rig.Point{SpeedRpm: tables.Figure(t, tab, i, "speed_rpm"), CurrentA: tables.Figure(t, tab, i, col)})
		}
	}
	return curves
}

// leastSquares fits the three numbers with a search that shares nothing with
// FitCurve but the bridge.
func leastSquares(t *testing.T, points []rig.Point) (nc, limitA, rx, sum float64) {
	t.Helper()
	square := func(x []float64) float64 {
		if x[0] <= 0 || x[2] < 0 {
			return 1e9
		}
		s := 0.0
		for _, p := range points {
			n0 := 1000 * x[0]
			i := 0.0
			if p.SpeedRpm > n0 {
				i = math.Pi / 3 * 100 * x[1] * BridgeCurrent(n0/p.SpeedRpm, x[2]*6000/p.SpeedRpm)
			}
			s += (i - p.CurrentA) * (i - p.CurrentA)
		}
		return s
	}
	top := 0.0
	for _, p := range points {
		top = max(top, p.CurrentA)
	}
	best := math.Inf(1)
	var x []float64
	for _, n0 := range []float64{0.7, 1, 1.4} {
		for _, r := range []float64{0.02, 0.08, 0.15} {
			res, err := optimize.Minimize(optimize.Problem{Func: square}, []float64{n0, 1.05 * top / 100, r},
				&optimize.Settings{FuncEvaluations: 4000, Converger: &optimize.FunctionConverge{Absolute: 1e-13, Iterations: 300}}, &optimize.NelderMead{SimplexSize: 0.05})
			if err != nil {
				t.Fatal(err)
			}
			if res.F < best {
				best, x = res.F, res.X
			}
		}
	}
	return 1000 * x[0], 100 * x[1], x[2], best
}

// On published curves FitCurve finds what another search finds, and misses the
// points by no more than was published.
func TestFitCurveAgainstLeastSquares(t *testing.T) {
	most := map[string]float64{ // A, largest miss of a point: published fits, rounded up
		"truck_28v_output": 1.71, "sarafianos_output": 0.01, "marine_50a_output": 0.01, "rivas_output": 0.1,
	}
	for name, points := range measuredCurves(t) {
		f := FitCurve(points)
		nc, limitA, rx, sum := leastSquares(t, points)
		t.Logf("%s: cut-in %.1f rpm, limit %.2f A, R/X %.4f, largest miss %.3f A; other search %.1f, %.2f, %.4f", name, f.CutInRpm, f.LimitA, f.RX, f.MaxResidualA, nc, limitA, rx)
		near.Share(t, name+": cut-in", f.CutInRpm, nc, 2e-3)
		near.Share(t, name+": limit current", f.LimitA, limitA, 1e-3)
		near.Abs(t, name+": R/X", f.RX, rx, 2e-3)
		own := 0.0
		for _, p := range points {
			own += (f.Current(p.SpeedRpm) - p.CurrentA) * (f.Current(p.SpeedRpm) - p.CurrentA)
		}
		if own > sum*1.0001+1e-6 {
			t.Errorf("%s: FitCurve leaves %.6g A², another search %.6g A²", name, own, sum)
		}
		if f.MaxResidualA > most[name] || !f.OK {
			t.Errorf("%s: misses a point by %.3f A, allowed %v A; ok %v", name, f.MaxResidualA, most[name], f.OK)
		}
	}
}

// The three numbers published for each curve. The tolerances are those of
// published_fits.csv: the numbers trade against each other.
func TestFitCurveShapeNumbers(t *testing.T) {
	tab, err := testdata.Read("published_fits.csv")
	if err != nil {
		t.Fatal(err)
	}
	curves := measuredCurves(t)
	for i, name := range []string{"truck_28v_output", "sarafianos_output", "marine_50a_output"} {
		f := FitCurve(curves[name])
		near.Share(t, name+": cut-in (published_fits.csv)", f.CutInRpm, tables.Figure(t, tab, i, "cut_in_rpm"), 0.02)
		near.Share(t, name+": limit (published_fits.csv)", f.LimitA, tables.Figure(t, tab, i, "limit_A"), 0.015)
		near.Abs(t, name+": R/X (published_fits.csv)", f.RX, tables.Figure(t, tab, i, "r_over_x_6000_ratio"), 0.015)
	}
}

// Points made from three usual numbers give them back; the order of the points
// does not matter, and currents in proportion give a limit in proportion.
func TestFitCurveRecovers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		nc := rapid.Float64Range(fitLowCutIn, fitHighCutIn).Draw(t, "cut in")
		limitA := rapid.Float64Range(40, 250).Draw(t, "limit")
		rx := rapid.Float64Range(fitLowRX, fitHighRX).Draw(t, "r over x")
		var points []rig.Point
		for _, share := range []float64{1.15, 1.4, 1.9, 2.8, 4, 6} {
			n := share * nc
			points = append(points, rig.Point{SpeedRpm: n, CurrentA: curveCurrent(nc, limitA, rx, n)})
		}
		f := FitCurve(points)
		if math.Abs(f.CutInRpm/nc-1) > 1e-3 || math.Abs(f.LimitA/limitA-1) > 1e-3 || math.Abs(f.RX-rx) > 1e-3 {
			t.Errorf("made from %v rpm, %v A, %v; fitted %+v", nc, limitA, rx, f)
		}
		back := make([]rig.Point, len(points))
		for i, p := range points {
			back[len(points)-1-i] = rig.Point{SpeedRpm: p.SpeedRpm, CurrentA: p.CurrentA / 2}
		}
		g := FitCurve(back)
		if math.Abs(g.CutInRpm/f.CutInRpm-1) > 1e-4 || math.Abs(2*g.LimitA/f.LimitA-1) > 1e-4 || math.Abs(g.RX-f.RX) > 1e-4 {
			t.Errorf("in reverse order and at half the current %+v, else %+v", g, f)
		}
	})
}

// Readings far above the cut-in, with a clamp meter's errors, tell nothing of
// it: the fit then stays near what is published instead of running to a cut-in
// of 200 rpm, which would stand for a winding of five times the resistance.
func TestFitCurveOfFlatReadings(t *testing.T) {
	for _, points := range [][]rig.Point{
		{{SpeedRpm: 5200, CurrentA: 95}, {SpeedRpm: 7800, CurrentA: 96}},
		{{SpeedRpm: 5200, CurrentA: 96}, {SpeedRpm: 7800, CurrentA: 95}},
		{{SpeedRpm: 2512, CurrentA: 40.7}, {SpeedRpm: 4232, CurrentA: 45.9}, {SpeedRpm: 6377, CurrentA: 49.6}},
		{{SpeedRpm: 4000, CurrentA: 120}, {SpeedRpm: 5000, CurrentA: 121}, {SpeedRpm: 6000, CurrentA: 120}, {SpeedRpm: 7000, CurrentA: 122}},
	} {
		f := FitCurve(points)
		if f.CutInRpm < 600 || f.CutInRpm > 1600 || f.RX > 0.2 || f.MaxResidualA > 0.03*points[0].CurrentA {
			t.Errorf("%v: %+v, want a cut-in of 600 to 1600 rpm, R/X below 0.2 and misses within 3 %%", points, f)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		nc := rapid.Float64Range(900, 1400).Draw(t, "cut in")
		rx := rapid.Float64Range(0.04, 0.12).Draw(t, "r over x")
		var points []rig.Point
		for i := range rapid.IntRange(2, 6).Draw(t, "points") {
			n := rapid.Float64Range(2.2, 6).Draw(t, fmt.Sprint("speed ", i)) * nc
			points = append(points, rig.Point{SpeedRpm: n, CurrentA: curveCurrent(nc, 120, rx, n) * rapid.Float64Range(0.98, 1.02).Draw(t, "error")})
		}
		f := FitCurve(points)
		if f.CutInRpm < 450 || f.CutInRpm > 2.2*1400 || f.RX > 0.3 {
			t.Errorf("%v (cut-in %v, R/X %v): fitted %+v", points, nc, rx, f)
		}
	})
}

// Few points, or none with output.
func TestFitCurveOfFewPoints(t *testing.T) {
	if f := FitCurve(nil); f.OK || f.LimitA != 0 {
		t.Errorf("no points: %+v", f)
	}
	if f := FitCurve([]rig.Point{{SpeedRpm: 2000, CurrentA: 0}, {SpeedRpm: 3000, CurrentA: 0}}); f.OK {
		t.Errorf("no output: %+v", f)
	}
	f := FitCurve([]rig.Point{{SpeedRpm: 3000, CurrentA: 80}})
	near.Abs(t, "one point: its current", f.Current(3000), 80, 1e-9)
	near.Abs(t, "one point: cut-in", f.CutInRpm, labelCutInRpm, 0)
	near.Abs(t, "one point: R/X", f.RX, labelRX, 0)
	f = FitCurve([]rig.Point{{SpeedRpm: 900, CurrentA: 20}})
	near.Abs(t, "one point below the usual cut-in: its current", f.Current(900), 20, 1e-9)
	f = FitCurve([]rig.Point{{SpeedRpm: 2000, CurrentA: 120}, {SpeedRpm: 6000, CurrentA: 180}})
	near.Abs(t, "two points: R/X", f.RX, labelRX, 0)
	near.Abs(t, "two points: the lower", f.Current(2000), 120, 0.01)
	near.Abs(t, "two points: the upper", f.Current(6000), 180, 0.01)
}
