package air

import "spareamps/core/detmath"

const (
	SeaLevelDensity = 1.225 // kg/m³, ISO 2533
	GasConstant     = 287.053
)

// Pressure returns the air pressure in Pa at a geopotential altitude in m.
//
//	p = 101325·(T/288.15)^5.2559, T = 288.15 − 0.0065·h     (1)
//
// For −2000 to 11000 m. The weather moves it by some 3 %, which is neglected.
// Source: ISO 2533 (standard atmosphere). Checked: testdata/checks.csv, isa_pressure_Pa.
func Pressure(altitudeM float64) float64 {
	return 101325 * detmath.Pow((288.15-0.0065*altitudeM)/288.15, 5.25588) // (1)
}

// Density returns the density of dry air in kg/m³ at an altitude in m and an
// air temperature in °C. Humidity is neglected: at 40 °C and saturation moist
// air is 3 % lighter.
//
//	ρ = p/(R·T)     (2)
//
// Source: ISO 2533. Checked: testdata/checks.csv, isa_density.
func Density(altitudeM, airC float64) float64 {
	return Pressure(altitudeM) / (GasConstant * (airC + 273.15)) // (2)
}

// StandardAirC returns the temperature of the standard atmosphere in °C.
func StandardAirC(altitudeM float64) float64 { return 15 - 0.0065*altitudeM }
