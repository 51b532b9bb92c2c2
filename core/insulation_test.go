package core

import (
	"math"
	"testing"

	"spareamps/core/internal/near"
	"spareamps/core/internal/tables"
	"spareamps/testdata"
)

// The classes of IEC 60085, and what IEC 60034-1 leaves between the mean of a
// winding and its hottest spot.
func TestInsulationClasses(t *testing.T) {
	tab, err := testdata.Read("iec60085.csv")
	if err != nil {
		t.Fatal(err)
	}
	if len(tab.Rows) != len(insulationClasses) {
		t.Errorf("%d classes, iec60085.csv has %d", len(insulationClasses), len(tab.Rows))
	}
	for i := range tab.Rows {
		letter, _ := tab.Text(i, "class")
		near.Abs(t, "class "+letter+" (IEC 60085)", insulation(letter).hottestC, tables.Figure(t, tab, i, "limit_C"), 0)
	}
	tab, err = testdata.Read("iec60034_rise.csv")
	if err != nil {
		t.Fatal(err)
	}
	for i := range tab.Rows {
		letter, _ := tab.Text(i, "class")
		c := insulation(letter)
		near.Abs(t, "hot spot of class "+letter+" (IEC 60034-1)", c.hotSpotK, tables.Figure(t, tab, i, "hot_spot_allowance_K"), 0)
		near.Abs(t, "mean of class "+letter+" (IEC 60034-1)", c.hottestC-c.hotSpotK, tables.Figure(t, tab, i, "mean_C"), 0)
		near.Abs(t, "design value of class "+letter, c.windingLimitC(), tables.Figure(t, tab, i, "mean_C")-10, 0)
		near.Abs(t, "rotor of class "+letter, c.rotorLimitC(), tables.Figure(t, tab, i, "mean_C"), 0)
	}
	near.Abs(t, "class H, winding", insulation("H").windingLimitC(), 155, 0)
	for i := 1; i < len(insulationClasses); i++ {
		if insulationClasses[i].windingLimitC() <= insulationClasses[i-1].windingLimitC() {
			t.Errorf("class %s stands no more than class %s", insulationClasses[i].letter, insulationClasses[i-1].letter)
		}
	}
	if insulation("?").letter != "H" {
		t.Error("an unknown letter is not taken for H")
	}
}

// The 10 K rule, against the ratios printed. Source: testdata/insulation_life.csv.
func TestAgeing(t *testing.T) {
	tab, err := testdata.Read("insulation_life.csv")
	if err != nil {
		t.Fatal(err)
	}
	c := insulation("F")
	for i := range tab.Rows {
		life := c.ageing(tables.Figure(t, tab, i, "reference_C")) / c.ageing(tables.Figure(t, tab, i, "winding_C"))
		near.Share(t, "life against the reference", life, tables.Figure(t, tab, i, "life_ratio"), 0.02)
	}
	for _, c := range insulationClasses {
		near.Abs(t, "ageing at the design value", c.ageing(c.windingLimitC()), 1, 1e-12)
		near.Share(t, "ageing 7 K above", c.ageing(c.windingLimitC()+7), math.Pow(2, 0.7), 1e-12)
	}
}
