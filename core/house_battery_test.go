package core

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"spareamps/testdata"
)

// LiFePO4 accepts by cell temperature between the ordinary and the fast column
// of the manual, and nothing below 0 °C.
func TestLFPAcceptanceTable(t *testing.T) {
	tab, err := testdata.Read("lfp_charge_limits.csv")
	if err != nil {
		t.Fatal(err)
	}
	b := HouseBattery{Given: true, Chemistry: "lifepo4", CapacityAh: 100, NominalV: 12.8}
	for i := range tab.Rows {
		from, to := tableFigure(t, tab, i, "from_C"), tableFigure(t, tab, i, "to_C")
		low, high := 100*tableFigure(t, tab, i, "normal_per_h"), 100*tableFigure(t, tab, i, "fast_per_h")
		for _, c := range []float64{from, (from + to) / 2, to - 1e-6} {
			if got := AcceptedCurrent(&b, c, 0.5); got < low || got > high {
				t.Errorf("100 Ah at %v °C: %v A, the manual has %v to %v (lfp_charge_limits.csv)", c, got, low, high)
			}
		}
	}
	for c := -40.0; c < 0; c += 0.5 {
		near(t, fmt.Sprintf("LiFePO4 at %v °C", c), AcceptedCurrent(&b, c, 0.2), 0, 0)
	}
}

// Acceptance is never negative, grows in proportion to capacity, never rises
// with the state of charge, and keeps to the maker's maximum.
func TestAcceptance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := HouseBattery{Given: true, NominalV: 12.8, CapacityAh: rapid.Float64Range(1, 5000).Draw(t, "capacity"),
			Chemistry: rapid.SampledFrom([]string{"lifepo4", "lead-acid", "flooded", "agm", "gel"}).Draw(t, "chemistry")}
		cellC := rapid.Float64Range(-40, 80).Draw(t, "cell")
		soc := rapid.Float64Range(0, 1).Draw(t, "soc")
		a := AcceptedCurrent(&b, cellC, soc)
		if a < 0 || a > 0.5*b.CapacityAh {
			t.Errorf("%+v at %v °C, %v: %v A", b, cellC, soc, a)
		}
		twice := b
		twice.CapacityAh *= 2
		if got := AcceptedCurrent(&twice, cellC, soc); got < 2*a*(1-1e-12) || got > 2*a*(1+1e-12) {
			t.Errorf("twice the capacity takes %v A after %v A", got, a)
		}
		fuller := soc + rapid.Float64Range(0, 1).Draw(t, "fuller")*(1-soc)
		if got := AcceptedCurrent(&b, cellC, fuller); got > a {
			t.Errorf("fuller (%v after %v) it takes %v A after %v A", fuller, soc, got, a)
		}
		b.MaxChargeA = rapid.Float64Range(0.1, 2000).Draw(t, "most")
		if got := AcceptedCurrent(&b, cellC, soc); got > b.MaxChargeA || a == 0 && got > 0 {
			t.Errorf("%+v at %v °C, %v: %v A, without a maker's maximum %v A", b, cellC, soc, got, a)
		}
	})
}

func TestChargeVoltage(t *testing.T) {
	for _, c := range []struct {
		b    HouseBattery
		want float64
	}{
		{HouseBattery{Chemistry: "lifepo4", NominalV: 12.8}, 13.8}, // 3.45 V a cell, from memory
		{HouseBattery{Chemistry: "lifepo4", NominalV: 25.6}, 27.6},
		{HouseBattery{Chemistry: "agm", NominalV: 12}, 14.4}, // 2.4 V a cell, from memory
		{HouseBattery{Chemistry: "flooded", NominalV: 24}, 28.8},
		{HouseBattery{Chemistry: "agm", NominalV: 12, ChargeV: 14.1}, 14.1},
	} {
		near(t, fmt.Sprintf("charging voltage of %+v", c.b), c.b.chargeV(), c.want, 1e-9)
	}
}
