package core

import (
	"fmt"
	"math"
	"math/rand"
	"testing"
)

// bridgeWave is a bridge moving through time, in the units of the table: EMF of peak
// 1, reactance 1, so time is the electrical angle. Between two commutations
// the circuit is linear and is solved exactly:
//
//	di/dθ = e(θ) − r·i − u,  e a sine, u constant
//
// with e and u taken around the loop that conducts. Three phases conduct (the
// neutral floats at minus the mean of the phases' voltages), or two (the third
// phase's terminal then sits 1.5·e off the middle of the direct voltage), or none.
type bridgeWave struct {
	v, r   float64 // direct voltage, R/X
	step   float64
	theta  float64
	i      [3]float64
	sign   [3]int        // +1 upper diode conducts, −1 lower, 0 neither
	loop   [3][3]float64 // share of each phase's EMF in the loop of phase k
	u      [3]float64
	charge float64 // integral of the direct current
	square float64 // integral of the phases' mean squared current
	power  float64 // integral of EMF times current
}

func phaseEMF(theta float64) (sin, cos [3]float64) {
	const h = 0.86602540378443864676
	s, c := math.Sincos(theta)
	return [3]float64{s, -s/2 - h*c, -s/2 + h*c}, [3]float64{c, -c/2 + h*s, -c/2 - h*s}
}

func newBridgeWave(s, r float64) *bridgeWave {
	step := min(math.Pi/180, 0.1*math.Acos(min(s, 1)))
	if r > 5 {
		step = min(step, 0.1/r) // the transients after a commutation
	}
	return &bridgeWave{v: math.Sqrt(3) * s, r: r, step: step}
}

// settle chooses the diodes that conduct from the ones that did and the EMFs,
// and writes down the loops.
func (w *bridgeWave) settle() {
	const eps = 1e-12
	e, _ := phaseEMF(w.theta)
	n := 0
	for _, s := range w.sign {
		n += s * s
	}
	if n < 2 {
		w.sign, w.i, n = [3]int{}, [3]float64{}, 0
		hi, lo := 0, 0
		for k := range e {
			if e[k] > e[hi] {
				hi = k
			}
			if e[k] < e[lo] {
				lo = k
			}
		}
		if e[hi]-e[lo] >= w.v-eps {
			w.sign[hi], w.sign[lo], n = 1, -1, 2
		}
	}
	off := 0
	for k, s := range w.sign {
		if s == 0 {
			off = k
		}
	}
	if n == 2 && math.Abs(1.5*e[off]) > w.v/2-eps {
		w.sign[off], n = 1, 3
		if e[off] < 0 {
			w.sign[off] = -1
		}
	}
	w.loop, w.u = [3][3]float64{}, [3]float64{}
	mean := float64(w.sign[0]+w.sign[1]+w.sign[2]) / 3
	for k, s := range w.sign {
		if s == 0 {
			continue
		}
		w.loop[k][k] = 1
		w.u[k] = w.v / 2 * (float64(s) - mean)
		if n == 2 {
			w.loop[k][off] = 0.5
		}
	}
}

// at returns the currents tau after theta if no diode commutates before.
func (w *bridgeWave) at(tau float64) (out [3]float64) {
	s0, c0 := phaseEMF(w.theta)
	s1, c1 := phaseEMF(w.theta + tau)
	d, g := math.Exp(-w.r*tau), tau
	if w.r*tau != 0 {
		g = -math.Expm1(-w.r*tau) / w.r
	}
	var p [3]float64
	for k := range p {
		p[k] = ((w.r*s1[k] - c1[k]) - (w.r*s0[k]-c0[k])*d) / (1 + w.r*w.r)
	}
	for k := range out {
		if w.sign[k] != 0 {
			out[k] = w.i[k]*d - w.u[k]*g + w.loop[k][0]*p[0] + w.loop[k][1]*p[1] + w.loop[k][2]*p[2]
		}
	}
	return out
}

// margin is negative once a diode must have commutated by tau; stop is the
// phase whose current has ended, or -1.
func (w *bridgeWave) margin(tau float64) (least float64, stop int) {
	i := w.at(tau)
	e, _ := phaseEMF(w.theta + tau)
	n, off := 0, 0
	least, stop = math.Inf(1), -1
	for k, s := range w.sign {
		if s == 0 {
			off = k
			continue
		}
		n++
		if g := float64(s) * i[k]; g < least {
			least, stop = g, k
		}
	}
	switch n {
	case 2:
		if g := w.v/2 - 1.5*math.Abs(e[off]); g < least {
			least, stop = g, -1
		}
	case 0:
		least = w.v - (max(e[0], e[1], e[2]) - min(e[0], e[1], e[2]))
	}
	return least, stop
}

func (w *bridgeWave) advance(tau float64) {
	// Gauss's four points.
	x := [4]float64{0.06943184420297371, 0.33000947820757187, 0.6699905217924281, 0.9305681557970263}
	g := [4]float64{0.17392742256872693, 0.32607257743127307, 0.32607257743127307, 0.17392742256872693}
	for k := range x {
		i := w.at(x[k] * tau)
		w.charge += g[k] * tau * (math.Abs(i[0]) + math.Abs(i[1]) + math.Abs(i[2])) / 2
		w.square += g[k] * tau * (i[0]*i[0] + i[1]*i[1] + i[2]*i[2]) / 3
		e, _ := phaseEMF(w.theta + x[k]*tau)
		w.power += g[k] * tau * (e[0]*i[0] + e[1]*i[1] + e[2]*i[2])
	}
	w.i = w.at(tau)
	w.theta += tau
}

// sixth runs a sixth of a period from the currents x of two phases. A sixth of
// a period on, the circuit is the same with the phases renamed and the signs
// turned; the currents are returned in the new names, so a periodic state is a
// fixed point.
func (w *bridgeWave) sixth(x [2]float64) [2]float64 {
	const end = math.Pi / 3
	w.theta, w.charge, w.square, w.power = 0, 0, 0, 0
	w.i = [3]float64{x[0], x[1], -x[0] - x[1]}
	for k, i := range w.i {
		w.sign[k] = 0
		if math.Abs(i) > 1e-13 {
			w.sign[k] = int(math.Copysign(1, i))
		}
	}
	w.settle()
	for end-w.theta > 1e-15 {
		tau := min(w.step, end-w.theta)
		if g, _ := w.margin(tau); g >= 0 {
			w.advance(tau)
			continue
		}
		lo, hi := 0.0, tau
		for mid := tau / 2; mid > lo && mid < hi && hi-lo > 1e-15; mid = (lo + hi) / 2 {
			if g, _ := w.margin(mid); g < 0 {
				hi = mid
			} else {
				lo = mid
			}
		}
		_, stop := w.margin(hi)
		w.advance(hi)
		if stop >= 0 {
			w.sign[stop], w.i[stop] = 0, 0
		}
		w.settle()
	}
	return [2]float64{-w.i[2], -w.i[0]}
}

// settledBridge returns the wave run over a sixth of its periodic state: Newton's
// method on the map of a sixth of a period, a plain pass through the map
// wherever a step of Newton's does not help. The map never moves two states
// apart (the circuit is passive), so the plain passes cannot diverge; Newton's
// steps are what makes r = 0 converge.
func settledBridge(s, r float64) *bridgeWave {
	w := newBridgeWave(s, r)
	scale := 1 / math.Sqrt(1+r*r)
	miss := func(x [2]float64) (d [2]float64, size float64) {
		f := w.sixth(x)
		d = [2]float64{f[0] - x[0], f[1] - x[1]}
		return d, max(math.Abs(d[0]), math.Abs(d[1]))
	}
	var x [2]float64
	d, size := miss(x)
	for pass := 0; size > 1e-13*scale; pass++ {
		if pass == 200 {
			panic(fmt.Sprintf("bridge does not settle at s=%v r=%v: still moves by %g", s, r, size))
		}
		var j [2][2]float64
		h := 1e-7 * scale
		for c := range x {
			xc := x
			xc[c] += h
			dc, _ := miss(xc)
			j[0][c], j[1][c] = (dc[0]-d[0])/h, (dc[1]-d[1])/h
		}
		det := j[0][0]*j[1][1] - j[0][1]*j[1][0]
		better := false
		for share := 1.0; det != 0 && share > 0.2 && !better; share /= 2 {
			xn := [2]float64{
				x[0] - share*(j[1][1]*d[0]-j[0][1]*d[1])/det,
				x[1] - share*(j[0][0]*d[1]-j[1][0]*d[0])/det,
			}
			if dn, n := miss(xn); n < 0.8*size {
				x, d, size, better = xn, dn, n, true
			}
		}
		if !better {
			x = [2]float64{x[0] + d[0], x[1] + d[1]}
			d, size = miss(x)
		}
	}
	w.sixth(x)
	return w
}

// solveBridge returns y and the form factor.
func solveBridge(s, r float64) (y, form float64) {
	if s <= 0 { // a short circuit: sines, and where r = 0 any offset would stay
		return 3 / math.Pi / math.Sqrt(1+r*r), math.Pi / 3 / math.Sqrt2
	}
	w := settledBridge(s, r)
	y = w.charge / (math.Pi / 3)
	return y, math.Sqrt(w.square/(math.Pi/3)) / y
}

// resistiveBridge returns y·√(1+r²) and the form factor in the limit r → ∞,
// where each instant stands for itself.
func resistiveBridge(s float64) (y, form float64) {
	const n = 20000
	v := math.Sqrt(3) * s
	var charge, square float64
	for k := range n {
		e, _ := phaseEMF(math.Pi / 3 * (float64(k) + 0.5) / n)
		hi, lo := max(e[0], e[1], e[2]), min(e[0], e[1], e[2])
		mid := -hi - lo
		switch {
		case hi-lo <= v:
		case math.Abs(mid) <= v/3:
			i := (hi - lo - v) / 2
			charge += i
			square += 2 * i * i / 3
		default:
			m := math.Copysign(v/3, mid)
			i := [3]float64{hi - (v/2 - m/2), lo + (v/2 + m/2), mid - m}
			charge += (math.Abs(i[0]) + math.Abs(i[1]) + math.Abs(i[2])) / 2
			square += (i[0]*i[0] + i[1]*i[1] + i[2]*i[2]) / 3
		}
	}
	return charge / n, math.Sqrt(square/n) / (charge / n)
}

// Where all three phases conduct always and R = 0, the phase's voltage is a
// six-step wave; the current's zero must fall on its step. With V = √3·s and
// the sum of 1/n² over n = 1, 5, 7, 11 ... being π²/9,
//
//	y = (3/π)·√(1 − (2πV/9)²),  V² <= 1/(1/9 + 4π²/81)
func TestSolveBridgeWithoutResistance(t *testing.T) {
	for s := 0.01; s <= 0.746; s += 0.008 {
		v := math.Sqrt(3) * s
		want := 3 / math.Pi * math.Sqrt(1-math.Pow(2*math.Pi*v/9, 2))
		if got, _ := solveBridge(s, 0); math.Abs(got-want) > 1e-10 {
			t.Errorf("y(%v, 0) solved: got %v, want %v within 1e-10 (six-step wave)", s, got, want)
		}
	}
}

// One thin pulse per sixth of a period: with 2·di/dθ = √3·(cos θ − s) from
// cos θ = s on, the current ends where its integral does, and the pulse's
// charge is known. So it is while the pulse ends before the third phase
// conducts, at sin θ = s/√3.
func TestSolveBridgePulses(t *testing.T) {
	for s := 0.958; s < 0.9995; s += 0.0037 {
		a := math.Acos(s)
		i := func(x float64) float64 { return math.Sqrt(3) / 2 * (math.Sin(x) + math.Sin(a) - s*(x+a)) }
		lo, hi := a, 3*a
		for range 60 {
			if mid := (lo + hi) / 2; i(mid) > 0 {
				lo = mid
			} else {
				hi = mid
			}
		}
		x := lo
		if math.Sin(x) > s/math.Sqrt(3) {
			t.Fatalf("s=%v: the third phase conducts", s)
		}
		charge := math.Sqrt(3) / 2 * (math.Cos(a) - math.Cos(x) + math.Sin(a)*(x+a) - s*(x+a)*(x+a)/2)
		want := charge / (math.Pi / 3)
		if got, _ := solveBridge(s, 0); math.Abs(got-want) > 1e-10 {
			t.Errorf("y(%v, 0) solved: got %v, want %v within 1e-10 (single pulses)", s, got, want)
		}
	}
}

// What the EMF gives, the resistance and the direct side take.
func TestSolveBridgeBalance(t *testing.T) {
	rng := rand.New(rand.NewSource(4))
	for range 300 {
		s, u := rng.Float64(), rng.Float64()*0.98
		r := u / (1 - u)
		w := settledBridge(s, r)
		if got, want := w.r*3*w.square+w.v*w.charge, w.power; math.Abs(got-want) > 1e-10 {
			t.Errorf("s=%v r=%v: heat and output %v, EMF's work %v, allowed 1e-10 apart", s, r, got, want)
		}
	}
}

// Large R/X tends to the resistive bridge, and the distance falls as X/R.
func TestSolveBridgeResistive(t *testing.T) {
	for _, s := range []float64{0.05, 0.3, 0.6, 0.8, 0.9, 0.97} {
		want, wantForm := resistiveBridge(s)
		var off [2]float64
		for k, r := range []float64{50, 100} {
			y, form := solveBridge(s, r)
			off[k] = y*math.Sqrt(1+r*r) - want
			if math.Abs(form/wantForm-1) > 3/r {
				t.Errorf("form factor at s=%v r=%v: got %v, want %v within %v", s, r, form, wantForm, 3/r)
			}
		}
		if math.Abs(off[1]) > 0.005 || math.Abs(off[1]) > 0.6*math.Abs(off[0]) {
			t.Errorf("s=%v: off the resistive limit %v by %v at r=50 and %v at r=100", s, want, off[0], off[1])
		}
	}
}
