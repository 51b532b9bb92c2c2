package sun

import "spareamps/core/detmath"

// A sunVector is the sun's direction in equatorial coordinates of date, x
// towards the equinox and z towards the north pole, and its distance.
type sunVector struct {
	x, y, z     float64
	au          float64
	siderealDeg float64 // Greenwich mean sidereal time
}

// newSunVector returns the direction at a time in days since 2000-01-01 00:00 UT.
//
//	g = 357.528 + 0.9856003·n, L = 280.460 + 0.9856474·n     (1)
//	λ = L + 1.915·sin g + 0.020·sin 2g                       (2)
//	ε = 23.439 − 0.0000004·n                                 (3)
//	R = 1.00014 − 0.01671·cos g − 0.00014·cos 2g             (4)
//	θ = 280.46062 + 360.98564737·n                           (5)
//
// in degrees and astronomical units, n in days from noon of that day.
// Neglects nutation, the moon's pull and the difference of dynamical and
// universal time, some 0.005° each. Within 0.01° of Meeus' longer series from
// 1950 to 2100. Source: Astronomical Almanac, low-precision formulas for the
// sun (1 to 4); Meeus, Astronomical Algorithms, 12.4 (5). Checked: TestSunPositionMeeus.
func newSunVector(dayUT float64) sunVector {
	n := detmath.ClampAbs(dayUT, 4e6) - 0.5
	sg, cg := detmath.Sincos(357.528 + 0.9856003*n)                            // (1)
	sl, cl := detmath.Sincos(280.460 + 0.9856474*n + 1.915*sg + 0.020*2*sg*cg) // (2)
	se, ce := detmath.Sincos(23.439 - 4e-7*n)                                  // (3)
	return sunVector{
		x: cl, y: ce * sl, z: se * sl,
		au:          1.00014 - 0.01671*cg - 0.00014*(2*cg*cg-1), // (4)
		siderealDeg: 280.46062 + 360.98564737*n,                 // (5)
	}
}

// hourAngle returns the direction turned into the meridian of a longitude: the
// component along the meridian, cos δ·cos H, and that towards the west, cos δ·sin H.
func (v *sunVector) hourAngle(longitudeDeg float64) (meridian, west float64) {
	s, c := detmath.Sincos(v.siderealDeg + detmath.ClampAbs(longitudeDeg, 1e6))
	return v.x*c + v.y*s, v.x*s - v.y*c
}

// Position returns the apparent elevation of the sun's centre and its
// azimuth, clockwise from north, in degrees, at a time in days since
// 2000-01-01 00:00 UT; longitude is east. At a pole or with the sun in the
// zenith, where azimuth is anything, it is what the formulas give.
//
//	sin h = sin φ·sin δ + cos φ·cos δ·cos H     (6)
//	tan A = −cos δ·sin H/(sin δ·cos φ − cos δ·cos H·sin φ)     (7)
//
// plus refraction. Within 0.01° of Meeus' longer series from 1950 to 2100;
// the error grows by some 0.01° a century beyond. Parallax (0.002°) is
// neglected. Sources: newSunVector, airLift. Checked:
// testdata/sun_position.csv, TestSunPositionMeeus.
func Position(dayUT, latitudeDeg, longitudeDeg float64) (elevationDeg, azimuthDeg float64) {
	v := newSunVector(dayUT)
	m, w := v.hourAngle(longitudeDeg)
	s, c := detmath.Sincos(detmath.ClampAbs(latitudeDeg, 90))
	up, north := s*v.z+c*m, c*v.z-s*m // (6), (7)
	h := detmath.Atan2(up, detmath.Sqrt(north*north+w*w))
	return h + airLift(h), detmath.Wrap(detmath.Atan2(-w, north), 360)
}

// airLift returns by how much air lifts the sun, in degrees, at a true
// elevation.
//
//	R = 1.02′/tan(h + 10.3/(h + 5.11))     (8)
//	R = −20.774″/tan h, below −0.575°      (9)
//
// For 1010 hPa and 10 °C; on a hot plateau a fifth less: 0.1° at the horizon,
// 0.004° at 40°. Sources: Saemundsson, in Meeus, Astronomical
// Algorithms, 16.4 (8); NOAA solar calculator (9), which joins it to 0.002°
// and vanishes towards the nadir.
func airLift(h float64) float64 {
	if h < -0.575 {
		s, c := detmath.Sincos(h)
		return -20.774 / 3600 * c / s // (9)
	}
	s, c := detmath.Sincos(h + 10.3/(h+5.11))
	return 1.02 / 60 * c / s // (8)
}

// horizonSine is the sine of −0.833°, where the centre is at sunrise: 34′ of
// refraction and 16′ of radius.
const horizonSine = -0.014538

// SunriseSunset returns the clock hours of sunrise and sunset of the civil day
// that begins at dayUT0, in days since 2000-01-01 as CivilDay gives them, by a
// clock ahead of UT by utcOffsetH. The hours lie around the solar noon of that
// day, sunrise below sunset; where the clock is far from the sun they may be
// below 0 or above 24.
//
//	cos H = (sin(−0.833°) − sin φ·sin δ)/(cos φ·cos δ)     (10)
//
// ok is false where the sun does not cross the horizon; the hours are then 0
// apart in the polar night and 24 in the polar day, about noon. Within 2 s of
// the published times, on a level horizon; weather moves refraction and with it
// sunrise by half a minute, near the polar circle by several. Source: Meeus,
// Astronomical Algorithms, 15.1. Checked: testdata/sun_rise.csv.
func SunriseSunset(dayUT0, latitudeDeg, longitudeDeg, utcOffsetH float64) (sunriseH, sunsetH float64, ok bool) {
	midnight := detmath.ClampAbs(dayUT0, 4e6) - detmath.ClampAbs(utcOffsetH, 48)/24
	s, c := detmath.Sincos(detmath.ClampAbs(latitudeDeg, 90))
	ok = true
	event := func(hour, side float64) float64 {
		half := 0.0
		for range 3 {
			v := newSunVector(midnight + hour/24)
			m, w := v.hourAngle(longitudeDeg)
			up, across := horizonSine-s*v.z, c*detmath.Sqrt(m*m+w*w)
			switch {
			case side == 0:
			case up >= across:
				half, ok = 0, false
			case up <= -across:
				half, ok = 180, false
			default:
				half = detmath.Atan2(detmath.Sqrt(across*across-up*up), up) // (10)
			}
			hour += halfTurn(side*half-detmath.Atan2(w, m)) / 15
		}
		return hour
	}
	noon := event(12, 0)
	sunriseH, sunsetH = event(noon-6, -1), event(noon+6, 1)
	if ok {
		return sunriseH, sunsetH, true
	}
	if sunsetH-sunriseH > 12 {
		return noon - 12, noon + 12, false
	}
	return noon, noon, false
}

// halfTurn brings an angle within half a turn of 0.
func halfTurn(deg float64) float64 { return detmath.Wrap(deg+180, 360) - 180 }
