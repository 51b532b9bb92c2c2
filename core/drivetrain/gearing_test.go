package drivetrain

import (
	"math"
	"testing"

	"spareamps/core/internal/near"
	"spareamps/core/internal/tables"
	"spareamps/testdata"
)

// 1000 rpm at 42.8:1 turn the wheels 23.4 times a minute: 3.4 km/h on a tyre
// 2.4 m round (4x4abc.com).
func TestGearing(t *testing.T) {
	near.Abs(t, "wheel", WheelRpm(1000, 42.8), 23.4, 0.234)
	kmh := WheelRpm(1000, 42.8) * 2.4 * 60 / 1000
	near.Abs(t, "road speed", kmh, 3.4, 0.05)
	near.Abs(t, "back again", EngineRpm(kmh, 42.8, 2.4/math.Pi), 1000, 1e-9)
	near.Abs(t, "standing", EngineRpm(0, 42.8, 0.76), 0, 0)
}

// A hot slow day's loads come to 77.0 A, 1040 W at 13.5 V.
func TestVehicleLoads(t *testing.T) {
	tab, err := testdata.Read("vehicle_loads.csv")
	if err != nil {
		t.Fatal(err)
	}
	sum := 0.0
	for i := range tab.Rows {
		sum += tables.Figure(t, tab, i, "current_A")
	}
	near.Abs(t, "vehicle_loads.csv, sum", sum, 77.0, 0.1)
	near.Abs(t, "vehicle_loads.csv, power", sum*13.5, 1040, 1)
}

func TestFuel(t *testing.T) {
	near.Abs(t, "diesel", FuelL("diesel", 2000), 0.44, 1e-12)
	near.Abs(t, "petrol", FuelL("petrol", 500), 0.132, 1e-12)
}
