package drivetrain

// Fuel burnt per kWh more at the crankshaft of a running engine, L: the
// Willans factors of Decision (EU) 2020/728, table 2, engines without
// turbocharger; a petrol engine with one has 0.280.
const (
	dieselPerKWh = 0.220
	petrolPerKWh = 0.264
)

// FuelL returns the extra fuel in L that shaft energy in Wh takes from an
// engine that runs anyway. Not for one that runs only to charge: its friction
// then counts in full, several times this. Checked: testdata/checks.csv.
func FuelL(fuel string, shaftWh float64) float64 {
	if fuel == "petrol" {
		return petrolPerKWh / 1e3 * shaftWh
	}
	return dieselPerKWh / 1e3 * shaftWh
}
