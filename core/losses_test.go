package core

import (
	"fmt"
	"math"
	"testing"

	"spareamps/core/internal/near"
	"spareamps/core/internal/tables"
	"spareamps/testdata"
)

// The iron loss of the measured machine, whole table: speed to the power 1.45
// and the square of the flux. Source: Sarafianos et al. 2015.
func TestIronLossTable(t *testing.T) {
	tab, err := testdata.Read("sarafianos_iron.csv")
	if err != nil {
		t.Fatal(err)
	}
	z := newSize(measuredA, 13.5)
	worst := 0.0
	for i := range tab.Rows {
		x := tables.Figure(t, tab, i, "field_A") / fullFieldA
		flux, _ := curveAt(&fluxCurve, x)
		for _, rpm := range []float64{2000, 4000, 6000, 8000} {
			want := tables.Figure(t, tab, i, fmt.Sprintf("iron_%.0frpm_W", rpm))
			got := z.ironLoss(rpm) * flux * flux
			if x > 0.5 {
				worst = max(worst, math.Abs(got/want-1))
			} else if got < 0.9*want && want > 30 {
				t.Errorf("%v rpm, field share %.2f: %.0f W, measured %v W: below half field the model is to be the careful side", rpm, x, got, want)
			}
		}
	}
	t.Logf("iron loss above half field: off by at most %.1f %%", 100*worst)
	if worst > 0.12 {
		t.Errorf("iron loss above half field is off by %.3f, stated 0.12 (sarafianos_iron.csv)", worst)
	}
}

// Friction and fan of the measured machine: the quadratic is the least squares
// fit of the table, and misses it by what the constants say.
func TestMechanicalLossTable(t *testing.T) {
	tab, err := testdata.Read("sarafianos_mechanical.csv")
	if err != nil {
		t.Fatal(err)
	}
	z := newSize(measuredA, 13.5)
	worst := 0.0
	for i := range tab.Rows {
		worst = max(worst, math.Abs(z.mechanicalLoss(tables.Figure(t, tab, i, "speed_rpm"))-tables.Figure(t, tab, i, "friction_windage_W")))
	}
	if worst > 7 {
		t.Errorf("friction and fan are off by up to %.1f W, stated 7 W (sarafianos_mechanical.csv)", worst)
	}
	before := 0.0
	for n := 0.0; n <= 20000; n += 50 {
		w := z.mechanicalLoss(n)
		if w < before {
			t.Fatalf("friction and fan fall at %v rpm: %v W after %v W", n, w, before)
		}
		before = w
	}
	near.Abs(t, "friction at a standstill", z.mechanicalLoss(0), 0, 0)
	near.Abs(t, "jump of friction where the fit begins", z.mechanicalLoss(1500.001)-z.mechanicalLoss(1499.999), 0, 1e-3)
}

// Parts sum up, and scale with the size of the machine as stated.
func TestLossesScale(t *testing.T) {
	near.Abs(t, "total", Losses{1, 2, 4, 8, 16}.Total(), 31, 0)
	a, b := newSize(90, 13.5), newSize(180, 13.5)
	near.Share(t, "iron", b.ironLoss(3000)/a.ironLoss(3000), 2, 1e-12)
	near.Share(t, "field", b.fieldLoss()/a.fieldLoss(), math.Sqrt2, 1e-12)
	near.Share(t, "friction", b.mechanicalLoss(3000)/a.mechanicalLoss(3000), math.Pow(2, 0.7), 1e-12)
	near.Share(t, "heat", b.heat/a.heat, 2, 1e-12)
	c := newSize(90, 27)
	near.Abs(t, "a 28 V machine is as large as one of twice the current", c.heat, b.heat, 1e-12)
	m := machine{heatR: 0.03, refC: 20}
	near.Share(t, "copper loss grows with heat", m.statorLoss(100, 120)/m.statorLoss(100, 20), 1+0.393, 1e-12)
	near.Share(t, "copper loss", m.statorLoss(100, 20), 900, 1e-12)
}

// The junction's rise follows the drop that is stated: at 1.2 V and 150 A it is
// 48 K, at the usual 0.95 V 38 K.
func TestJunctionRiseFollowsTheDrop(t *testing.T) {
	for _, c := range []struct{ drop, want float64 }{{0.95, 38}, {1.2, 48}, {0, 0}} {
		m := machine{dropV: 2 * c.drop}
		near.Abs(t, fmt.Sprintf("rise at %v V a diode and 150 A in K, at 0.8 K/W", c.drop), 150*m.junctionPerA(), c.want, 1e-9)
	}
}
