package detmath

import (
	"math"
	"math/big"
	"math/rand"
	"testing"
)

// ulps returns how many units in the last place of want lie between the two.
func ulps(got float64, want *big.Float) float64 {
	w, _ := want.Float64()
	_, e := math.Frexp(w)
	d := new(big.Float).SetPrec(200).Sub(new(big.Float).SetFloat64(got), want)
	f, _ := d.Float64()
	return math.Abs(math.Ldexp(f, 53-e))
}

// bigExp sums the series of e^x after halving x 20 times.
func bigExp(x float64) *big.Float {
	const prec, halvings = 220, 20
	r := new(big.Float).SetPrec(prec).SetFloat64(x)
	r.SetMantExp(r, -halvings)
	sum := new(big.Float).SetPrec(prec).SetInt64(1)
	term := new(big.Float).SetPrec(prec).SetInt64(1)
	for n := int64(1); n < 40; n++ {
		term.Mul(term, r)
		term.Quo(term, new(big.Float).SetPrec(prec).SetInt64(n))
		sum.Add(sum, term)
	}
	for range halvings {
		sum.Mul(sum, sum)
	}
	return sum
}

// bigLog takes Newton's steps on e^y = x from the library's value.
func bigLog(x float64) *big.Float {
	l := math.Log(x)
	y := new(big.Float).SetPrec(220).SetFloat64(l)
	// ln x = l + ln(x/e^l), and x/e^l is within 1e-13 of 1.
	d := new(big.Float).SetPrec(220).SetFloat64(x)
	d.Quo(d, bigExp(l))
	d.Sub(d, big.NewFloat(1))
	half := new(big.Float).SetPrec(220).Mul(d, d)
	half.Quo(half, big.NewFloat(2))
	y.Add(y, d)
	return y.Sub(y, half)
}

func TestExp(t *testing.T) {
	rng := rand.New(rand.NewSource(1))
	worst, at := 0.0, 0.0
	for k := range 20000 {
		x := rng.Float64()*1390 - 700
		if k%2 == 0 {
			x = rng.NormFloat64()
		}
		if u := ulps(Exp(x), bigExp(x)); u > worst {
			worst, at = u, x
		}
	}
	t.Logf("worst %.3f ulp at %v", worst, at)
	if worst > 1 {
		t.Errorf("exp(%v) is %.3f ulp off, allowed 1", at, worst)
	}
	for _, c := range [][2]float64{{0, 1}, {1e5, 1e300}, {691, 1e300}, {-1e5, 0}, {math.MaxFloat64, 1e300}, {-math.MaxFloat64, 0}, {math.Inf(1), 1e300}, {math.Inf(-1), 0}} {
		if got := Exp(c[0]); got != c[1] {
			t.Errorf("exp(%v) = %v, want %v", c[0], got, c[1])
		}
	}
	for x := -745.1; x < -708; x += 0.1 {
		if got, want := Exp(x), math.Exp(x); math.Abs(got-want) > 5e-324+1e-15*want {
			t.Errorf("exp(%v) = %v, want %v", x, got, want)
		}
	}
}

func TestLog(t *testing.T) {
	rng := rand.New(rand.NewSource(2))
	worst, at := 0.0, 0.0
	for k := range 20000 {
		x := math.Exp(rng.Float64()*1380 - 690)
		switch k % 3 {
		case 1:
			x = 0.4 + 2*rng.Float64()
		case 2:
			x = 1 + rng.NormFloat64()*1e-3
		}
		if u := ulps(Log(x), bigLog(x)); u > worst {
			worst, at = u, x
		}
	}
	t.Logf("worst %.3f ulp at %v", worst, at)
	if worst > 1 {
		t.Errorf("log(%v) is %.3f ulp off, allowed 1", at, worst)
	}
	if got := Log(1); got != 0 {
		t.Errorf("log(1) = %v, want 0", got)
	}
	for _, x := range []float64{0, -1, -math.MaxFloat64, 5e-324, 1e-310, math.MaxFloat64, math.Inf(1), math.Inf(-1)} {
		// The library's logarithm of a subnormal is wrong on amd64: scale first.
		want := math.Log(min(max(x, 5e-324), math.MaxFloat64))
		if x < 1e-300 {
			want = math.Log(max(x, 5e-324)*0x1p60) - 60*math.Ln2
		}
		if got := Log(x); math.Abs(got-want) > 2e-13 {
			t.Errorf("log(%v) = %v, want %v", x, got, want)
		}
	}
}

func TestPow(t *testing.T) {
	rng := rand.New(rand.NewSource(3))
	for range 20000 {
		x, y := math.Exp(rng.NormFloat64()*4), rng.NormFloat64()*2
		if math.Abs(y*math.Log(x)) > 40 {
			continue
		}
		if got, want := Pow(x, y), math.Pow(x, y); math.Abs(got-want) > 1e-14*want {
			t.Errorf("pow(%v, %v) = %v, want %v within 1e-14", x, y, got, want)
		}
	}
	if got := Pow(0, 0.8); got != 0 && got > 1e-250 {
		t.Errorf("pow(0, 0.8) = %v, want next to nothing", got)
	}
}

func BenchmarkExp(b *testing.B) {
	b.ReportAllocs()
	sum := 0.0
	for k := range b.N {
		sum += Exp(float64(k&1023)*0.01 - 5)
	}
	sink = sum
}

func BenchmarkLog(b *testing.B) {
	b.ReportAllocs()
	sum := 0.0
	for k := range b.N {
		sum += Log(float64(k&1023)*0.01 + 0.1)
	}
	sink = sum
}

// sink keeps a benchmark's work from being left out.
var sink float64
