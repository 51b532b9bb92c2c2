package detmath

import "math"

// ln 2 in two pieces. The first has 21 trailing zero bits, so its product with
// the exponent of any float64 is exact.
const (
	ln2Hi  = 0x1.62e42feep-1
	ln2Lo  = math.Ln2 - ln2Hi
	expTop = 690.77552789821370520539743640530926228 // ln 1e300
	expLow = -745.2                                  // below: less than half the least float64
	leastX = 5e-324
)

// Exp returns e to the x.
//
//	x = k·ln 2 + r, |r| <= (ln 2)/2        (1)
//	e^r = (R + r)/(R − r), R = r·coth(r/2)  (2)
//	R = 2·Σ B(2n)·r^2n/(2n)!                (3)
//
// with the Bernoulli numbers B up to the twelfth power, the first neglected
// term being 1e-17. Within 1 ulp where the result is a normal number. Never
// infinite: 1e300 from x = ln 1e300 on. Checked: TestExp.
func Exp(x float64) float64 {
	if x >= expTop {
		return 1e300
	}
	if !(x >= expLow) {
		return 0
	}
	whole := x*math.Log2E + WholeUnit
	n := whole - WholeUnit
	k := int(int32(math.Float64bits(whole)))
	hi := x - n*ln2Hi
	lo := n * ln2Lo
	r := hi - lo // (1)
	z := r * r
	// R − 2, (3)
	c := z * (1.0/6 + z*(-1.0/360+z*(1.0/15120+z*(-1.0/604800+z*(1.0/23950080-z*(691.0/653837184000))))))
	// (2) as 1 + r + r·(r − c)/(2 + c − r), which rounds the small part only.
	y := 1 + (hi - (lo - r*(r-c)/(2+c-r)))
	if k < -1021 {
		return y * power2(k+100) * 0x1p-100
	}
	return y * power2(k)
}

// power2 returns 2 to the k for the exponents of normal numbers.
func power2(k int) float64 { return math.Float64frombits(uint64(k+1023) << 52) }

// Log returns the natural logarithm of x.
//
//	x = 2^k·m, √½ <= m < √2                                (1)
//	ln m = 2·artanh f = 2·Σ f^(2n+1)/(2n+1), f = (m − 1)/(m + 1)  (2)
//
// Within 1 ulp. Never infinite: for x <= 0 it is the logarithm of the least
// positive number, -744.44. Checked: TestLog.
func Log(x float64) float64 {
	if !(x > leastX) {
		x = leastX
	} else if x > math.MaxFloat64 {
		x = math.MaxFloat64
	}
	k := 0
	if x < 0x1p-1022 {
		x *= 0x1p54
		k = -54
	}
	b := math.Float64bits(x)
	k += int(b>>52) - 1023
	m := math.Float64frombits(b&(1<<52-1) | 1023<<52)
	if m > math.Sqrt2 {
		m /= 2
		k++
	}
	t := m - 1
	f := t / (m + 1)
	z := f * f
	w := z * z
	// The sum of (2) less its first term, odd and even powers apart for speed.
	odd := 1.0/3 + w*(1.0/7+w*(1.0/11+w*(1.0/15+w*(1.0/19+w*(1.0/23)))))
	even := 1.0/5 + w*(1.0/9+w*(1.0/13+w*(1.0/17+w*(1.0/21))))
	s := 2 * z * (odd + z*even)
	// 2f is t − f·t, where t is exact and f is not.
	return float64(k)*ln2Hi + (t - (f*(t-s) - float64(k)*ln2Lo))
}

// Pow returns x to the y for x > 0, from exp and log; x <= 0 is taken as the
// least positive number. Off by about |y·ln x| ulp, so within 1e-14 of the
// result for |y·ln x| < 40. Checked: TestPow.
func Pow(x, y float64) float64 { return Exp(y * Log(x)) }
