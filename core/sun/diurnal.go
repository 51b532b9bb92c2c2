package sun

import "spareamps/core/detmath"

// How the air's temperature lags the sun, at 1.5 m in Colorado. Source: Parton
// and Logan, Agricultural Meteorology 23 (1981) 205, values as quoted in the
// manual of trenchproject/TrenchR (diurnal_temp_variation_sineexp).
const (
	greatestLagH = 1.86
	nightDecay   = 2.20
	leastLagH    = -0.17

	// The day where no place is known, or the sun does not set or rise.
	plainSunriseH = 6.0
	plainSunsetH  = 18.0
)

// DiurnalC returns the air temperature in °C at a clock hour of a day with a
// sunrise, a sunset, a least and a greatest temperature. Where sunset is not
// after sunrise the day is taken from 6 to 18 h.
//
//	T = T_min + (T_max − T_min)·sin(π·m/(Y + 2a)), by day              (1)
//	T = T_min + (T_set − T_min)·(e^(−b·n/Z) − e^(−b·N/Z))/(1 − e^(−b·N/Z))     (2)
//
// with m the hours since the least temperature, at c hours after sunrise, n
// those since sunset, N those from sunset to the next least, Y the day and Z
// the night. The second exponential in (2) is ours: without it the night ends
// a ninth of the evening's fall above the least. The course repeats every 24
// hours. Days are taken within 4 to 20 hours.
//
// The authors' fits have mean absolute errors of 1.2 to 2.6 K; others found 0.5
// to 9.3 K over single days, clear ones well and overcast ones poorly (Reicosky
// et al. 1989, of forms like it). Fronts, fog and sea breezes are neglected.
// Checked: testdata/diurnal.csv.
func DiurnalC(hour, sunriseH, sunsetH, minC, maxC float64) float64 {
	return minC + (maxC-minC)*Diurnal(hour, sunriseH, sunsetH, greatestLagH, nightDecay, leastLagH)
}

// Diurnal returns (T − T_min)/(T_max − T_min) with the lags and the decay
// given.
func Diurnal(hour, sunriseH, sunsetH, lagH, decay, leastH float64) float64 {
	if !(sunsetH-sunriseH > 0) {
		sunriseH, sunsetH = plainSunriseH, plainSunsetH
	}
	day := detmath.Max(detmath.Min(sunsetH-sunriseH, 20), 4)
	rise := (sunriseH + sunsetH - day) / 2
	m := detmath.Wrap(detmath.ClampAbs(hour, 1e6)-rise-leastH, 24)
	sunny := day - leastH
	s, _ := detmath.Sincos(180 * detmath.Min(m, sunny) / (day + 2*lagH)) // (1)
	if m <= sunny {
		return s
	}
	b := decay / (24 - day)
	end := detmath.Exp(-b * (24 - sunny))
	return s * (detmath.Exp(-b*(m-sunny)) - end) / (1 - end) // (2)
}
