package air

import (
	"fmt"
	"math"
	"testing"

	"spareamps/core/internal/near"
	"spareamps/core/internal/tables"
	"spareamps/testdata"
)

// The standard atmosphere, all heights. Source: ISO 2533.
func TestStandardAtmosphere(t *testing.T) {
	tab, err := testdata.Read("isa.csv")
	if err != nil {
		t.Fatal(err)
	}
	for i := range tab.Rows {
		h := tables.Figure(t, tab, i, tab.Columns[0])
		near.Abs(t, fmt.Sprintf("pressure at %v m in Pa (ISO 2533)", h), Pressure(h), tables.Figure(t, tab, i, tab.Columns[1]), 0.0002*101325)
		if !tab.Empty(i, tab.Columns[2]) {
			near.Abs(t, fmt.Sprintf("density at %v m (ISO 2533)", h), Density(h, StandardAirC(h)), tables.Figure(t, tab, i, tab.Columns[2]), 0.001)
		}
	}
	// The power by the library's own function.
	for h := -430.0; h <= 6000; h += 10 {
		near.Share(t, "pressure", Pressure(h), 101325*math.Pow((288.15-0.0065*h)/288.15, 5.25588), 1e-14)
	}
}

// Thinner higher up and in heat.
func TestDensityIsMonotone(t *testing.T) {
	for c := -40.0; c <= 150; c += 10 {
		for h := -430.0; h < 6000; h += 50 {
			if Density(h+50, c) >= Density(h, c) || Density(h, c+1) >= Density(h, c) {
				t.Fatalf("density does not fall at %v m, %v °C", h, c)
			}
		}
	}
	near.Abs(t, "3000 m at 40 °C, derived from ISO 2533", Density(3000, 40), 0.780, 0.001)
}
