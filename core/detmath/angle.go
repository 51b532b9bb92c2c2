package detmath

import "math"

const Degree = math.Pi / 180

// Sincos returns the sine and cosine of an angle in degrees, exact at the
// multiples of 90°. Angles below 1e15° are reduced without error.
//
//	x = 90°·k + r, |r| <= 45°     (1)
//
// and Taylor's series of r to the thirteenth and fourteenth power: within
// 3e-14. Plain arithmetic, for the reason Exp is (portable.go). Checked: TestSincos.
func Sincos(deg float64) (sin, cos float64) {
	k := Floor(deg/90 + 0.5)
	r := (deg - 90*k) * Degree // (1)
	z := r * r
	s := r * (1 + z*(-1.0/6+z*(1.0/120+z*(-1.0/5040+z*(1.0/362880+z*(-1.0/39916800+z/6227020800))))))
	c := 1 + z*(-1.0/2+z*(1.0/24+z*(-1.0/720+z*(1.0/40320+z*(-1.0/3628800+z*(1.0/479001600-z/87178291200))))))
	switch int64(k) & 3 {
	case 1:
		return c, -s
	case 2:
		return -s, -c
	case 3:
		return -c, s
	}
	return s, c
}

// Atan2 returns the angle of the point (x, y) in degrees, −180 to 180; of the
// origin, 0.
//
//	arctan t = 2·arctan(t/(1 + √(1 + t²)))     (2)
//
// twice, then the series to the thirteenth power: within 1e-9°. Checked: TestAtan2.
func Atan2(y, x float64) float64 {
	low, high := Min(Abs(x), Abs(y)), Max(Abs(x), Abs(y))
	if !(high > 0) {
		return 0
	}
	t := low / high
	t /= 1 + Sqrt(1+t*t) // (2)
	t /= 1 + Sqrt(1+t*t)
	z := t * t
	a := 4 / Degree * t * (1 - z*(1.0/3-z*(1.0/5-z*(1.0/7-z*(1.0/9-z*(1.0/11-z/13))))))
	if Abs(y) > Abs(x) {
		a = 90 - a
	}
	if x < 0 {
		a = 180 - a
	}
	if y < 0 {
		return -a
	}
	return a
}

// Wrap returns x less the multiple of a period that brings it into 0 <= x < period.
func Wrap(x, period float64) float64 {
	x -= period * Floor(x/period)
	if x >= period { // a tiny negative number rounds up to the period itself
		return 0
	}
	return x
}
