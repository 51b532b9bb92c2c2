package core

import (
	"math"
	"testing"

	"spareamps/core/internal/near"
	"spareamps/core/internal/tables"
	"spareamps/testdata"
)

// The usual load share is the geometric mean of the published shares.
func TestUsualLoadShare(t *testing.T) {
	tab, err := testdata.Read("usual_loads.csv")
	if err != nil {
		t.Fatal(err)
	}
	sum := 0.0
	for i := range tab.Rows {
		share := tables.Figure(t, tab, i, "demand_share")
		near.Abs(t, "share of row", share, tables.Figure(t, tab, i, "demand_W")/tables.Figure(t, tab, i, "label_A")/13.5, 0.005)
		sum += math.Log(share)
	}
	near.Abs(t, "geometric mean", usualLoadShare, math.Exp(sum/float64(len(tab.Rows))), 0.02)
}
