package core

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/interp"

	"spareamps/core/internal/near"
	"spareamps/core/internal/tables"
	"spareamps/testdata"
)

// fullFieldA is the field current the curves call full, on the machine that
// was measured.
const fullFieldA = 4.75

// measuredFlux reads the open-circuit voltages as flux linkages: shares of that
// at full field, a column for each speed and the mean.
func measuredFlux(t *testing.T) (fieldA []float64, share [4][]float64, mean []float64) {
	t.Helper()
	tab, err := testdata.Read("sarafianos_open_circuit.csv")
	if err != nil {
		t.Fatal(err)
	}
	for i := range tab.Rows {
		fieldA = append(fieldA, tables.Figure(t, tab, i, "field_A"))
		for j, rpm := range []float64{2000, 4000, 6000, 8000} {
			v := tables.Figure(t, tab, i, fmt.Sprintf("line_%.0frpm_V", rpm))
			share[j] = append(share[j], v*math.Sqrt(2.0/3)/(rpm*rotationalUnit*8))
		}
	}
	mean = make([]float64, len(fieldA))
	for j := range share {
		full := linear(t, fieldA, share[j]).Predict(fullFieldA)
		for i := range share[j] {
			share[j][i] /= full
			mean[i] += share[j][i] / 4
		}
	}
	return fieldA, share, mean
}

func linear(t *testing.T, x, y []float64) *interp.PiecewiseLinear {
	t.Helper()
	var p interp.PiecewiseLinear
	if err := p.Fit(x, y); err != nil {
		t.Fatal(err)
	}
	return &p
}

// The flux curve is the measured one, and the speeds agree on it as its comment
// says. Source: Sarafianos et al. 2015.
func TestFluxCurveIsMeasured(t *testing.T) {
	fieldA, share, mean := measuredFlux(t)
	worst, low := 0.0, 0.0
	for i, a := range fieldA {
		x := a / fullFieldA
		got, _ := curveAt(&fluxCurve, x)
		// Read off printed curves to three figures: 0.5 %, and half that of the
		// largest voltage near the origin.
		near.Abs(t, fmt.Sprintf("flux share at %.2f A", a), got, mean[i], 0.005)
		for j := range share {
			apart := math.Abs(share[j][i]/mean[i] - 1)
			switch {
			case x > 0.3:
				worst = max(worst, apart)
			case x > 0.2:
				low = max(low, apart)
			}
		}
	}
	if worst > 0.03 || low > 0.06 {
		t.Errorf("the four speeds part by %.3f of their mean above a field share of 0.3, stated 0.03; by %.3f at 0.2, stated 0.06", worst, low)
	}
	// Between the measurements the nodes lie on a smooth curve through them.
	var smooth interp.FritschButland
	x, y := []float64{0}, []float64{0}
	for i, a := range fieldA {
		x, y = append(x, a/fullFieldA), append(y, mean[i])
	}
	if err := smooth.Fit(x, y); err != nil {
		t.Fatal(err)
	}
	for k := 1; float64(k)*saturationStep <= 1.05; k++ {
		at := float64(k) * saturationStep
		near.Abs(t, fmt.Sprintf("flux node at %.3f", at), fluxCurve[k].y, smooth.Predict(at), 0.006)
	}
	near.Abs(t, "flux at full field", fluxCurve[8].y, 1, 0)
}

// The inductance curve is the measured one. Source: Sarafianos et al. 2015.
func TestInductanceCurveIsMeasured(t *testing.T) {
	tab, err := testdata.Read("sarafianos_inductance.csv")
	if err != nil {
		t.Fatal(err)
	}
	full := tables.Figure(t, tab, len(tab.Rows)-1, "inductance_uH")
	var x, y []float64
	for i := range tab.Rows {
		a, uH := tables.Figure(t, tab, i, "field_A"), tables.Figure(t, tab, i, "inductance_uH")
		got, _ := curveAt(&inductanceCurve, a/fullFieldA)
		near.Share(t, fmt.Sprintf("inductance share at %.2f A", a), got, uH/full, 0.005)
		x, y = append(x, a/fullFieldA), append(y, uH/full)
	}
	var smooth interp.FritschButland
	if err := smooth.Fit(x, y); err != nil {
		t.Fatal(err)
	}
	for k := 1; k <= 8; k++ {
		at := float64(k) * saturationStep
		near.Share(t, fmt.Sprintf("inductance node at %.3f", at), inductanceCurve[k].y, smooth.Predict(at), 0.008)
	}
	near.Abs(t, "inductance at full field", inductanceCurve[8].y, 1, 0)
}

// Beyond the measurements the curves go on as their comments say.
func TestSaturationIsExtended(t *testing.T) {
	for _, c := range []struct {
		name  string
		curve *[17]node
		power float64
	}{{"flux", &fluxCurve, 0.12}, {"inductance", &inductanceCurve, -0.6}} {
		from, _ := curveAt(c.curve, 1.25)
		for _, x := range []float64{1.3, 1.4, 1.5, 1.6, 1.8, 1.99} {
			got, _ := curveAt(c.curve, x)
			near.Share(t, fmt.Sprintf("%s at %.2f of full field", c.name, x), got, from*math.Pow(x/1.25, c.power), 0.002)
		}
	}
}

// Both curves are monotone, their slope is that of the value, and it does not
// jump at the nodes.
func TestSaturationIsSmooth(t *testing.T) {
	for _, c := range []struct {
		name  string
		curve *[17]node
		sign  float64
	}{{"flux", &fluxCurve, 1}, {"inductance", &inductanceCurve, -1}} {
		const h = 1e-6
		for x := 0.001; x < maxField-0.001; x += 0.00317 {
			y, slope := curveAt(c.curve, x)
			up, _ := curveAt(c.curve, x+h)
			down, _ := curveAt(c.curve, x-h)
			near.Abs(t, fmt.Sprintf("slope of %s at %.4f", c.name, x), slope, (up-down)/(2*h), 2e-5)
			if c.sign*slope < 0 || y <= 0 {
				t.Errorf("%s at %.4f: %v with slope %v, want it monotone", c.name, x, y, slope)
			}
		}
		for k := 1; k < 16; k++ {
			at := float64(k) * saturationStep
			_, before := curveAt(c.curve, at-1e-9)
			_, after := curveAt(c.curve, at+1e-9)
			near.Abs(t, fmt.Sprintf("jump of the slope of %s at %.3f", c.name, at), after-before, 0, 1e-6)
		}
		low, _ := curveAt(c.curve, -1)
		high, _ := curveAt(c.curve, 9)
		near.Abs(t, c.name+" below the range", low, c.curve[0].y, 0)
		near.Abs(t, c.name+" above the range", high, c.curve[16].y, 1e-6)
	}
}

// The cells are the two curves.
func TestSaturationCells(t *testing.T) {
	cubic := func(a, b node) [4]float64 {
		d, m0, m1 := b.y-a.y, a.slope*saturationStep, b.slope*saturationStep
		return [4]float64{a.y, m0, 3*d - 2*m0 - m1, m0 + m1 - 2*d}
	}
	for i, got := range saturationCells {
		f, l := cubic(fluxCurve[i], fluxCurve[i+1]), cubic(inductanceCurve[i], inductanceCurve[i+1])
		want := saturationCubic{f[0], f[1], f[2], f[3], l[0], l[1], l[2], l[3]}
		if got != want {
			t.Errorf("cell %d is %v, want %v", i, got, want)
		}
	}
}
