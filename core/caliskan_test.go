package core

import (
	"math"
	"testing"

	"spareamps/core/internal/tables"
	"spareamps/testdata"
)

// closedForm is the closed form in the pure numbers of the bridge table.
func closedForm(s, r float64) float64 {
	return closedFormCurrent(1, 1, r, math.Sqrt(3)*s, 0)
}

// What the comment of closedFormCurrent says of its accuracy.
func TestClosedForm(t *testing.T) {
	for _, c := range []struct{ speed, least, most float64 }{ // as a multiple of the cut-in speed
		{4, 0, 0.01}, {2.5, 0.02, 0.031}, {2, 0.04, 0.06}, {1.5, 0.14, 0.20}, {1.25, 0.39, 0.57},
	} {
		for _, r := range []float64{0, 0.05, 0.1, 0.2, 0.3} {
			s := 1 / c.speed
			if high := closedForm(s, r)/BridgeCurrent(s, r) - 1; high < c.least || high > c.most {
				t.Errorf("at %v times cut-in, R/X %v: closed form high by %.3f, want %v to %v", c.speed, r, high, c.least, c.most)
			}
		}
	}
	// Its own cut-in, π/(2√3) for that of s = 1.
	own := math.Pi / (2 * math.Sqrt(3))
	if closedForm(own*1.0001, 0.1) != 0 || closedForm(own*0.9999, 0.1) <= 0 {
		t.Errorf("closed form does not cut in at s = %v", own)
	}
	// Derived: another time-stepped bridge, right to 1 %.
	if got := closedForm(0.7, 0.1); math.Abs(got/0.5355-1) > 0.01 {
		t.Errorf("closed form at s=0.7 R/X=0.1: %v, want 0.5355 within 1 %%", got)
	}
	if got := BridgeCurrent(0.7, 0.1); math.Abs(got/0.4379-1) > 0.01 {
		t.Errorf("bridge at s=0.7 R/X=0.1: %v, want 0.4379 within 1 %%", got)
	}
}

func TestClosedFormMachine(t *testing.T) {
	tab, err := testdata.Read("rivas_output.csv")
	if err != nil {
		t.Fatal(err)
	}
	for i := range tab.Rows {
		rpm, vs := tables.Figure(t, tab, i, "speed_rpm"), tables.Figure(t, tab, i, "emf_peak_V")
		got, want := closedFormCurrent(vs, 2*math.Pi*rpm/60*6*120e-6, 0.037, 14, 1), tables.Figure(t, tab, i, "closed_form_A")
		if math.Abs(got/want-1) > 0.005 {
			t.Errorf("%v rpm: got %.2f A, want %v A within 0.5 %% (rivas_output.csv)", rpm, got, want)
		}
	}
}

// Load matching without losses: the power is greatest at Vo = π·Vs/(2√2) and
// is 3·Vs²/(4X) there. Source: Perreault and Caliskan, IEEE Transactions on
// Power Electronics 19(3), 2004 (from memory).
func TestClosedFormMatching(t *testing.T) {
	const vs, x = 50.52, 0.4524
	at := math.Pi * vs / (2 * math.Sqrt2)
	best := at * closedFormCurrent(vs, x, 0, at, 0)
	if want := 3 * vs * vs / (4 * x); math.Abs(best/want-1) > 1e-12 {
		t.Errorf("matched power %v W, want %v", best, want)
	}
	for _, off := range []float64{0.98, 1.02} {
		if p := off * at * closedFormCurrent(vs, x, 0, off*at, 0); p >= best {
			t.Errorf("%v W at %v of the matched voltage, want below %v", p, off, best)
		}
	}
}
