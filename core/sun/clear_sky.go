package sun

import (
	"spareamps/core/air"
	"spareamps/core/detmath"
)

const (
	solarConstant = 1361.0 // W/m², Kopp and Lean 2011 (1360.8 ± 0.5)

	// Linke turbidity of the clear days of a land rig: 2 is clean cold air, 3
	// clean warm air, 4 to 6 moist or dusty. Engineering estimate; 1 more takes
	// 6 % of a summer day's global sum and 15 % of its beam.
	clearTurbidity = 3.5

	// The fit was made from sea level to Alpine stations; beyond, it would
	// let through more than arrives.
	clearTopM = 4000.0
)

// ClearSky returns global horizontal, beam normal and diffuse horizontal
// irradiance in W/m² under a cloudless sky at an apparent sun elevation in
// degrees, a time in days since 2000-01-01 UT (for the distance of the sun)
// and an altitude in m. Below the horizon all are 0.
//
// The sky is that of (1) to (4) at a turbidity of 3.5. For −430 to 4000 m;
// above, as at 4000 m. Dust is neglected: a haze of turbidity 6 takes a further
// 13 % of a summer day's global sum and 30 % of its beam. Sums of clear days
// lie 2 to 10 % below those of Haurwitz 1945, at 10° of elevation the moment
// does by 29 %: careful near the horizon. Checked: TestClearSkyHaurwitz.
func ClearSky(elevationDeg, dayUT, altitudeM float64) (ghi, dni, dhi float64) {
	if !(elevationDeg > 0) {
		return 0, 0, 0
	}
	v := newSunVector(dayUT)
	h := detmath.Max(detmath.Min(altitudeM, clearTopM), -430)
	air := AirMass(elevationDeg) * air.Pressure(h) / 101325
	s, _ := detmath.Sincos(elevationDeg)
	return Ineichen(s, air, clearTurbidity, h, solarConstant/(v.au*v.au))
}

// AirMass returns the relative optical air mass at an apparent elevation.
//
//	m = 1/(sin h + 0.50572·(h + 6.07995)^−1.6364)     (1)
//
// From the horizon (38) to the zenith (1). Source: Kasten and Young 1989.
// Checked: testdata/checks.csv, air_mass.
func AirMass(elevationDeg float64) float64 {
	s, _ := detmath.Sincos(elevationDeg)
	return 1 / (s + 0.50572*detmath.Pow(elevationDeg+6.07995, -1.6364)) // (1)
}

// Ineichen returns the irradiances of a clear sky at the sine of elevation,
// the absolute air mass m, a Linke turbidity T, an altitude z in m and the
// irradiance I0 outside the atmosphere.
//
//	G = (5.09e-5·z + 0.868)·I0·sin h·exp(−(3.92e-5·z + 0.0387)·m·(f1 + f2·(T − 1)))     (2)
//	B = (0.664 + 0.163/f1)·I0·exp(−0.09·m·(T − 1))                                   (3)
//	B <= G·(1 − (0.1 − 0.2·e^−T)/(0.1 + 0.882/f1))/sin h                             (4)
//	f1 = exp(−z/8000), f2 = exp(−z/1250)
//
// Diffuse is G − B·sin h. The enhancement exp(0.01·m^1.8) that some put to (2)
// is left out: near the horizon it grows without bound. Source: Ineichen and
// Perez, Solar Energy 73 (2002) 151; Perez et al., Solar Energy 73 (2002) 307.
// Checked: testdata/clear_sky.csv.
func Ineichen(sinH, air, turbidity, altitudeM, outside float64) (ghi, dni, dhi float64) {
	f1, f2 := detmath.Exp(-altitudeM/8000), detmath.Exp(-altitudeM/1250)
	ghi = (5.09e-5*altitudeM + 0.868) * outside * sinH * detmath.Exp(-(3.92e-5*altitudeM+0.0387)*air*(f1+f2*(turbidity-1))) // (2)
	dni = (0.664 + 0.163/f1) * outside * detmath.Exp(-0.09*air*(turbidity-1))                                               // (3)
	dni = detmath.Min(dni, ghi*(1-(0.1-0.2*detmath.Exp(-turbidity))/(0.1+0.882/f1))/sinH)                                   // (4)
	return ghi, dni, ghi - dni*sinH
}

// Cloudy returns ClearSky's irradiances under a share of sky covered by cloud,
// 0 to 1.
//
//	G = G0·(1 − 0.75·n^3.4)           (5)
//	D/G = d0 + (1 − d0)·n², d0 = D0/G0     (6)
//
// (6) is the source's with its clear-sky share of 0.3 replaced by that of our
// clear sky, so that nothing jumps at n = 0. For hourly means over low and
// middle cloud: thin high cloud takes less, and a broken sky swings about it.
// Source: Kasten and Czeplak, Solar Energy 24 (1980) 177 (ten years at
// Hamburg); (6) from memory. Checked: testdata/checks.csv, cloud_ratio.
func Cloudy(elevationDeg, dayUT, altitudeM, cloud float64) (ghi, dni, dhi float64) {
	ghi, dni, dhi = ClearSky(elevationDeg, dayUT, altitudeM)
	if !(ghi > 0 && cloud > 0) {
		return ghi, dni, dhi
	}
	n := detmath.Min(cloud, 1)
	passed := CloudRatio(n)
	// The share that is not diffuse, 1 − (6), is (1 − d0)·(1 − n²).
	dni *= passed * (1 - n*n)
	sunny := (ghi - dhi) * passed * (1 - n*n)
	ghi *= passed
	return ghi, dni, ghi - sunny
}

func CloudRatio(n float64) float64 { return 1 - 0.75*detmath.Pow(n, 3.4) } // (5)
