package core

import (
	"math"
	"math/rand"
	"testing"

	"pgregory.net/rapid"

	"spareamps/core/conductor"
	"spareamps/core/internal/tables"
	"spareamps/testdata"
)

// offGrid returns n places, a third of them where the current begins to have
// gaps and R/X is small.
func offGrid(seed int64, n int) [][2]float64 {
	rng := rand.New(rand.NewSource(seed))
	p := make([][2]float64, n)
	for k := range p {
		s, u := rng.Float64(), 0.99*rng.Float64()
		switch k % 3 {
		case 1:
			s = 0.65 + 0.35*s
		case 2:
			s, u = 0.9+0.1*s, 0.4*u
		}
		p[k] = [2]float64{s, u / (1 - u)}
	}
	return p
}

func TestBridgeCurrent(t *testing.T) {
	n := 3000
	if testing.Short() {
		n = 300
	}
	worst, at := 0.0, [2]float64{}
	for _, p := range offGrid(1, n) {
		want, _ := solveBridge(p[0], p[1])
		if e := math.Abs(BridgeCurrent(p[0], p[1]) - want); e > worst {
			worst, at = e, p
		}
	}
	t.Logf("off by at most %.2e of Vs/X, at s=%v r=%v", worst, at[0], at[1])
	if worst > 3e-4 {
		t.Errorf("BridgeCurrent(%v, %v) is off by %.2e, allowed 3e-4 (bridge solved)", at[0], at[1], worst)
	}
}

func TestPhaseForm(t *testing.T) {
	n := 3000
	if testing.Short() {
		n = 300
	}
	worst, at := 0.0, [2]float64{}
	loss, lossAt := 0.0, [2]float64{}
	short := math.Pow(3/math.Pi*math.Pi/(3*math.Sqrt2), 2)
	for _, p := range offGrid(2, n) {
		y, want := solveBridge(p[0], p[1])
		got := phaseForm(p[0], p[1])
		if e := math.Abs(got/want - 1); p[0] <= formCap && p[1] <= 1.5 && e > worst {
			worst, at = e, p
		}
		if e := math.Abs(got*got-want*want) * y * y * (1 + p[1]*p[1]) / short; p[0] > formCap && e > loss {
			loss, lossAt = e, p
		}
	}
	t.Logf("form factor off by at most %.2f %%, at s=%v r=%v; above s=%v its copper loss by %.2f %% of a short circuit's, at s=%v r=%v",
		100*worst, at[0], at[1], formCap, 100*loss, lossAt[0], lossAt[1])
	if worst > 0.01 {
		t.Errorf("phaseForm(%v, %v) is off by %.2f %%, allowed 1 %% (bridge solved)", at[0], at[1], 100*worst)
	}
	if loss > 0.01 {
		t.Errorf("copper loss at s=%v r=%v is off by %.2f %% of a short circuit's, allowed 1 %% (bridge solved)", lossAt[0], lossAt[1], 100*loss)
	}
	if got, want := phaseForm(0, 0.1), math.Pi/(3*math.Sqrt2); math.Abs(got-want) > 1e-6 {
		t.Errorf("phaseForm(0, 0.1) = %v, want %v within 1e-6 (sine)", got, want)
	}
}

func TestBridgeT1(t *testing.T) {
	tab, err := testdata.Read("bridge_t1.csv")
	if err != nil {
		t.Fatal(err)
	}
	worst := 0.0
	for i := range tab.Rows {
		s, r, want := tables.Figure(t, tab, i, "s"), tables.Figure(t, tab, i, "r_over_x"), tables.Figure(t, tab, i, "y")
		got := BridgeCurrent(s, r)
		worst = max(worst, math.Abs(got-want))
		if math.Abs(got-want) > 0.003 {
			t.Errorf("bridge_t1.csv:%d: y(%v, %v) = %.4f, want %.4f within 0.003", tab.Line(i), s, r, got, want)
		}
	}
	t.Logf("off by at most %.4f", worst)
}

// The machine of Rivas, Perreault and Keim at 14 V and 1 V a diode.
func TestBridgeMachine(t *testing.T) {
	tab, err := testdata.Read("rivas_output.csv")
	if err != nil {
		t.Fatal(err)
	}
	const l, res = 120e-6, 0.037 // H, ohm: rivas_machine.csv
	for i := range tab.Rows {
		rpm, vs := tables.Figure(t, tab, i, "speed_rpm"), tables.Figure(t, tab, i, "emf_peak_V")
		x := 2 * math.Pi * rpm / 60 * 6 * l
		s := (14 + 2) / (math.Sqrt(3) * vs)
		got, want := BridgeCurrent(s, res/x)*vs/x, tables.Figure(t, tab, i, "bridge_A")
		if math.Abs(got/want-1) > 0.015 {
			t.Errorf("%v rpm: got %.2f A, want %v A within 1.5 %% (rivas_output.csv)", rpm, got, want)
		}
		rms := got * phaseForm(s, res/x)
		if want := tables.Figure(t, tab, i, "phase_rms_A"); math.Abs(rms/want-1) > 0.015 {
			t.Errorf("%v rpm: phase %.2f A rms, want %v within 1.5 %% (rivas_output.csv)", rpm, rms, want)
		}
	}
}

// The control points of a bicubic patch bound it: where those along s fall, so
// does the surface, everywhere in the cell and not only where sampled.
func TestBridgeFallsInS(t *testing.T) {
	const cols = bridgeCols + 1
	bezier := func(a, b *bridgeNode, h float64) (value, slope [4]float64) {
		return [4]float64{float64(a.f), float64(a.f) + float64(a.fu)*h/3, float64(b.f) - float64(b.fu)*h/3, float64(b.f)},
			[4]float64{float64(a.fs), float64(a.fs) + float64(a.fsu)*h/3, float64(b.fs) - float64(b.fsu)*h/3, float64(b.fs)}
	}
	for i, k := range bridgeKnots {
		for j := range bridgeCols {
			n := i*cols + j
			f0, m0 := bezier(&bridgeNodes[n], &bridgeNodes[n+1], 1.0/bridgeCols)
			f1, m1 := bezier(&bridgeNodes[n+cols], &bridgeNodes[n+cols+1], 1.0/bridgeCols)
			falls := false
			for c := range 4 {
				p := [4]float64{f0[c], f0[c] + m0[c]*k.width/3, f1[c] - m1[c]*k.width/3, f1[c]}
				for d := range 3 {
					if p[d+1]-p[d] > 1e-9 {
						t.Errorf("cell s=%v u=%v: control point rises by %g", k.at, float64(j)/bridgeCols, p[d+1]-p[d])
					}
					falls = falls || p[d+1] < p[d]-1e-9
				}
			}
			if !falls {
				t.Errorf("cell s=%v u=%v is flat", k.at, float64(j)/bridgeCols)
			}
		}
	}
}

func TestBridgeFallsInR(t *testing.T) {
	for _, k := range bridgeKnots {
		for a := 0.0; a < 1; a += 0.2 {
			for u := 0.0; u < 0.999; u += 0.002 {
				s, r := k.at+a*k.width, u/(1-u)
				if _, _, yr := bridgeCurrent(s, r); yr > 0 || yr == 0 && s > 0 {
					t.Fatalf("dy/dr at s=%v r=%v is %g, want below 0", s, r, yr)
				}
			}
		}
	}
}

func TestBridgeMonotone(t *testing.T) {
	unit := rapid.Float64Range(0, 1)
	rapid.Check(t, func(t *rapid.T) {
		s, ds := unit.Draw(t, "s"), unit.Draw(t, "ds")
		u, du := unit.Draw(t, "u"), unit.Draw(t, "du")
		if s > 0.9999 || u > 0.9999 {
			return
		}
		r := u / (1 - u)
		y := BridgeCurrent(s, r)
		if y <= 0 {
			t.Fatalf("y(%v, %v) = %v, want above 0", s, r, y)
		}
		if to := s + (1-s)*ds; to > s+1e-6 {
			if less := BridgeCurrent(to, r); !(less < y) {
				t.Fatalf("y(%v, %v) = %v, y(%v, ·) = %v: want a fall with s", s, r, y, to, less)
			}
		}
		if v := u + (1-u)*du; v > u+1e-6 && v < 1 {
			if less := BridgeCurrent(s, v/(1-v)); !(less < y) {
				t.Fatalf("y(%v, %v) = %v, y(·, %v) = %v: want a fall with r", s, r, y, v/(1-v), less)
			}
		}
	})
}

func TestBridgePartials(t *testing.T) {
	// dy/ds changes by up to 1 within 0.002 of s: a difference over 2e-7 at
	// the edge of such a cell misses it by some 5e-5.
	check := func(s, r float64) {
		t.Helper()
		const h = 1e-7
		y, ys, yr := bridgeCurrent(s, r)
		if lo, hi := s-h, s+h; lo >= 0 && hi <= 1 {
			want := (BridgeCurrent(hi, r) - BridgeCurrent(lo, r)) / (hi - lo)
			if math.Abs(ys-want) > 1e-4 || y < 0 {
				t.Errorf("dy/ds at s=%v r=%v: got %v, want %v", s, r, ys, want)
			}
		}
		if r > h {
			want := (BridgeCurrent(s, r+h) - BridgeCurrent(s, r-h)) / (2 * h)
			if math.Abs(yr-want) > 1e-4 {
				t.Errorf("dy/dr at s=%v r=%v: got %v, want %v", s, r, yr, want)
			}
		}
	}
	for _, p := range offGrid(3, 3000) {
		check(p[0], p[1])
	}
	// Across the edges of cells neither value nor partials jump.
	rng := rand.New(rand.NewSource(5))
	jump := func(s0, r0, s1, r1 float64) {
		t.Helper()
		y0, ys0, yr0 := bridgeCurrent(s0, r0)
		y1, ys1, yr1 := bridgeCurrent(s1, r1)
		if math.Abs(y0-y1) > 1e-9 || math.Abs(ys0-ys1) > 1e-6 || math.Abs(yr0-yr1) > 1e-6 {
			t.Errorf("jump between (%v, %v) and (%v, %v): y %g, dy/ds %g, dy/dr %g",
				s0, r0, s1, r1, y1-y0, ys1-ys0, yr1-yr0)
		}
	}
	const e = 1e-11
	for _, k := range bridgeKnots[1:] {
		for range 20 {
			u := 0.99 * rng.Float64()
			jump(k.at-e, u/(1-u), k.at+e, u/(1-u))
		}
	}
	for j := 1; j < bridgeCols; j++ {
		for range 20 {
			s, u := rng.Float64(), float64(j)/bridgeCols
			jump(s, (u-e)/(1-u+e), s, (u+e)/(1-u-e))
		}
	}
	jump(1-1e-10, 0.1, 1, 0.1)
}

func TestBridgeEnds(t *testing.T) {
	for _, r := range []float64{0, 0.3, 1, 7, 1e6} {
		got, want := BridgeCurrent(0, r), 3/math.Pi/math.Sqrt(1+r*r)
		if math.Abs(got-want) > 1e-6*want {
			t.Errorf("y(0, %v) = %v, want %v within 1e-6 (short circuit)", r, got, want)
		}
		for _, s := range []float64{1, 1.5, 1e300, math.MaxFloat64} {
			if y, ys, yr := bridgeCurrent(s, r); y != 0 || ys != 0 || yr != 0 {
				t.Errorf("y(%v, %v) and partials = %v %v %v, want 0", s, r, y, ys, yr)
			}
		}
		if got, want := BridgeCurrent(-3, r), BridgeCurrent(0, r); got != want {
			t.Errorf("y(-3, %v) = %v, want %v", r, got, want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		s, r := rapid.Float64().Draw(t, "s"), rapid.Float64().Draw(t, "r")
		if rapid.Bool().Draw(t, "below cut-in") {
			s = math.Mod(math.Abs(s), 1)
		}
		y, ys, yr := bridgeCurrent(s, r)
		for _, v := range []float64{y, ys, yr, phaseForm(s, r)} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("bridgeCurrent(%v, %v) = %v %v %v, form %v: want finite", s, r, y, ys, yr, phaseForm(s, r))
			}
		}
		if y < 0 || y > 0.955 {
			t.Fatalf("y(%v, %v) = %v, want within 0..0.955", s, r, y)
		}
	})
}

func benchPlaces() (p [1024][2]float64) {
	copy(p[:], offGrid(6, len(p)))
	return p
}

func BenchmarkBridgeCurrent(b *testing.B) {
	b.ReportAllocs()
	p := benchPlaces()
	sum := 0.0
	for k := range b.N {
		y, ys, yr := bridgeCurrent(p[k&1023][0], p[k&1023][1])
		sum += y + ys + yr
	}
	benchSink = sum
}

func BenchmarkPhaseForm(b *testing.B) {
	b.ReportAllocs()
	p := benchPlaces()
	sum := 0.0
	for k := range b.N {
		sum += phaseForm(p[k&1023][0], p[k&1023][1])
	}
	benchSink = sum
}

// The output written out is that of the curves, the bridge and the form factor,
// with its partials; below cut-in too, at the ends of the curves, and where
// copper is held.
func TestOutputIsItsParts(t *testing.T) {
	rng := rand.New(rand.NewSource(15))
	worst := 0.0
	for n := range 20000 {
		m := newMachine(6, 13.5, 1.9, 700+900*rng.Float64(), 40+300*rng.Float64(), 0.2*rng.Float64())
		omega, v := m.omega(300*math.Pow(60, rng.Float64())), 11+5*rng.Float64()
		x, windingC := maxField*rng.Float64(), -300+700*rng.Float64()
		switch n % 50 {
		case 0:
			x = maxField
		case 1:
			x = 0
		case 2:
			x = 1e-3 * rng.Float64()
		}
		got := m.output(omega, v, x, windingC)
		ps, dps := curveAt(&fluxCurve, x)
		li, dli := curveAt(&inductanceCurve, x)
		want := output{ps: ps, dps: dps}
		if ps > 1e-9 {
			s := (v + m.dropV) / (math.Sqrt(3) * m.flux * ps * omega)
			r := m.r * conductor.Copper(windingC) / conductor.Copper(m.refC) / (omega * m.l * li)
			if y, ys, yr := bridgeCurrent(s, r); y > 0 {
				k := m.flux * ps / (m.l * li)
				want = output{a: k * y, dx: k*y*(dps/ps-dli/li) + k*(-ys*s*dps/ps-yr*r*dli/li), dT: k * yr * r * conductor.CopperAlpha / conductor.Copper(windingC), ps: ps, dps: dps, form: phaseForm(s, r)}
			}
		}
		scale := 1 + math.Abs(want.a)
		for _, c := range [][3]float64{
			{got.a, want.a, scale}, {got.dx, want.dx, 10*scale + math.Abs(want.dx)}, {got.dT, want.dT, scale}, {got.form, want.form, 1},
			{got.ps, want.ps, 1}, {got.dps, want.dps, 1},
		} {
			miss := math.Abs(c[0]-c[1]) / c[2]
			worst = math.Max(worst, miss)
			if !(miss <= 1e-11) { // rounding, as near the cut-in it grows
				t.Fatalf("field share %v, %v °C: got %+v, want %+v", x, windingC, got, want)
			}
		}
	}
	t.Logf("largest miss %.1e", worst)
}

// benchSink keeps a benchmark's work from being left out.
var benchSink float64
