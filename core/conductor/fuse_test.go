package conductor

import (
	"testing"

	"spareamps/core/internal/near"
	"spareamps/core/internal/tables"
	"spareamps/testdata"
)

// The share of its rating a fuse carries without end, re-rated for heat.
// Sources: testdata/fuses.csv.
func TestFuseTable(t *testing.T) {
	tab, err := testdata.Read("fuses.csv")
	if err != nil {
		t.Fatal(err)
	}
	facts := map[string]float64{}
	for i := range tab.Rows {
		fact, _ := tab.Text(i, "fact")
		facts[fact] = tables.Figure(t, tab, i, "value")
	}
	share := facts["continuous share, US-standard fuse, room temperature"]
	ref := facts["reference ambient"]
	slope := facts["re-rating with the temperature of the fuse body"]
	if share == 0 || ref == 0 || slope == 0 {
		t.Fatalf("fuses.csv lacks a fact: %v", facts)
	}
	near.Abs(t, "80 A at the reference ambient", FuseContinuous(80, ref), 80*share, 1e-9)
	near.Abs(t, "80 A at 85 °C", FuseContinuous(80, 85), 80*share*(1+slope*(85-ref)), 1e-9)
	near.Abs(t, "85 °C over 23 °C: near 0.9 by fuse guidelines", FuseContinuous(1, 85)/FuseContinuous(1, 23), 0.9, 0.03)
	near.Abs(t, "never negative", FuseContinuous(80, 1000), 0, 0)
	before := FuseContinuous(100, -40)
	for c := -39.0; c < 200; c++ {
		a := FuseContinuous(100, c)
		if a > before {
			t.Fatalf("a fuse carries more at %v °C: %v A after %v A", c, a, before)
		}
		before = a
	}
}

// A fuse protects a conductor up to one and a half times its ampacity. Source:
// 46 CFR 183.380(d).
func TestFuseProtects(t *testing.T) {
	for _, c := range []struct {
		fuseA, ampacityA float64
		want             bool
	}{{80, 160, true}, {150, 100, true}, {151, 100, false}, {80, 0, false}} {
		if got := FuseProtects(c.fuseA, c.ampacityA); got != c.want {
			t.Errorf("%v A fuse before a cable of %v A: protects %v, want %v", c.fuseA, c.ampacityA, got, c.want)
		}
	}
}
