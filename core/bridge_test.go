package core

import (
	"bytes"
	"flag"
	"fmt"
	"go/format"
	"math"
	"math/rand"
	"os"
	"runtime"
	"sync"
	"testing"
)

var updateBridge = flag.Bool("update-bridge", false, "write bridge_table.go anew")

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
	w.theta, w.charge, w.square = 0, 0, 0
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

// solveBridge returns y and the form factor in the periodic state: Newton's
// method on the map of a sixth of a period, a plain pass through the map
// wherever a step of Newton's does not help. The map never moves two states
// apart (the circuit is passive), so the plain passes cannot diverge; Newton's
// steps are what makes r = 0 converge.
func solveBridge(s, r float64) (y, form float64) {
	if s <= 0 {
		return 3 / math.Pi / math.Sqrt(1+r*r), math.Pi / 3 / math.Sqrt2
	}
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

// normalBridge returns the surface of the table: Y = y·√(1+r²) over s and
// u = r/(1+r), and the form factor.
func normalBridge(s, u float64) (f, form float64) {
	if s >= 1 {
		return 0, 0
	}
	if u >= 1 {
		return resistiveBridge(s)
	}
	r := u / (1 - u)
	y, form := solveBridge(s, r)
	return y * math.Sqrt(1+r*r), form
}

const (
	tableCols   = 20
	tableCaps   = 0.98
	tableForms  = 10
	tablePerOne = 500 // every knot is a multiple of 1/500
)

// tableKnots is the grid along s: fine where the current begins to have gaps
// (the slope jumps there by up to 1; the jump lies between s = 0.9498 at r = 0
// and 0.944 at r = 0.5, and fades as r grows).
func tableKnots() []float64 {
	var k []int
	for _, z := range [][3]int{{0, 300, 20}, {300, 460, 8}, {460, 476, 1}, {476, 500, 4}} {
		for x := z[0]; x < z[1]; x += z[2] {
			k = append(k, x)
		}
	}
	k = append(k, tablePerOne)
	at := make([]float64, len(k))
	for i := range k {
		at[i] = float64(k[i]) / tablePerOne
	}
	return at
}

// evenSlopes returns fourth-order differences of equally spaced values.
func evenSlopes(f []float64, h float64) []float64 {
	n := len(f) - 1
	m := make([]float64, n+1)
	for j := range m {
		switch {
		case j == 0:
			m[j] = (-11*f[0] + 18*f[1] - 9*f[2] + 2*f[3]) / (6 * h)
		case j == n:
			m[j] = (11*f[n] - 18*f[n-1] + 9*f[n-2] - 2*f[n-3]) / (6 * h)
		case j == 1 || j == n-1:
			m[j] = (f[j+1] - f[j-1]) / (2 * h)
		default:
			m[j] = (8*(f[j+1]-f[j-1]) - (f[j+2] - f[j-2])) / (12 * h)
		}
	}
	return m
}

// limitSlopes holds slopes to what keeps a Hermite cubic monotone between knots
// (Fritsch and Carlson, SIAM J. Numer. Anal. 17, 1980).
func limitSlopes(x, f, m []float64) {
	for i := range m {
		for _, j := range []int{i - 1, i} {
			if j < 0 || j+1 >= len(x) {
				continue
			}
			d := (f[j+1] - f[j]) / (x[j+1] - x[j])
			if m[i]*d <= 0 {
				m[i] = 0
			} else if math.Abs(m[i]) > 3*math.Abs(d) {
				m[i] = 3 * d
			}
		}
	}
}

func sixDigits(x float64) float32 {
	if x == 0 {
		return 0
	}
	p := math.Pow(10, 5-math.Floor(math.Log10(math.Abs(x))))
	return float32(math.Round(x*p) / p)
}

// makeNodes samples value and slopes of pick at the knots and cols+1 values of u.
func makeNodes(knots []float64, cols int, pick func(s, u float64) (f, fs float64)) [][]bridgeNode {
	rows := make([][]bridgeNode, len(knots))
	f, fs := make([][]float64, len(knots)), make([][]float64, len(knots))
	var wg sync.WaitGroup
	for w := range runtime.NumCPU() {
		wg.Go(func() {
			for i := w; i < len(knots); i += runtime.NumCPU() {
				f[i], fs[i] = make([]float64, cols+1), make([]float64, cols+1)
				for j := range f[i] {
					f[i][j], fs[i][j] = pick(knots[i], float64(j)/float64(cols))
				}
			}
		})
	}
	wg.Wait()
	col, m := make([]float64, len(knots)), make([]float64, len(knots))
	for j := range cols + 1 {
		for i := range knots {
			col[i], m[i] = f[i][j], fs[i][j]
		}
		limitSlopes(knots, col, m)
		for i := range knots {
			fs[i][j] = m[i]
		}
	}
	for i := range knots {
		fu, fsu := evenSlopes(f[i], 1/float64(cols)), evenSlopes(fs[i], 1/float64(cols))
		for j := range fu {
			rows[i] = append(rows[i], bridgeNode{sixDigits(f[i][j]), sixDigits(fs[i][j]), sixDigits(fu[j]), sixDigits(fsu[j])})
		}
	}
	return rows
}

func currentNodes(knots []float64) [][]bridgeNode {
	return makeNodes(knots, tableCols, func(s, u float64) (f, fs float64) {
		const h = 1e-5
		at := func(s float64) float64 { f, _ := normalBridge(s, u); return f }
		switch {
		case s == 0:
			return at(0), (-3*at(0) + 4*at(h) - at(2*h)) / (2 * h)
		case s >= 1:
			return 0, 0
		}
		return at(s), (at(s+h) - at(s-h)) / (2 * h)
	})
}

func formFactorNodes(knots []float64) [][]bridgeNode {
	return makeNodes(knots, tableForms, func(s, u float64) (f, fs float64) {
		const h = 1e-5
		at := func(s float64) float64 { _, q := normalBridge(min(s, tableCaps), u); return q }
		if s == 0 {
			return at(0), (-3*at(0) + 4*at(h) - at(2*h)) / (2 * h)
		}
		return at(s), (at(s+h) - at(s-h)) / (2 * h)
	})
}

func writeNodes(b *bytes.Buffer, name string, rows [][]bridgeNode) {
	fmt.Fprintf(b, "\nvar %s = [...]bridgeNode{\n", name)
	for _, row := range rows {
		for j, n := range row {
			fmt.Fprintf(b, "{%v, %v, %v, %v},", n.f, n.fs, n.fu, n.fsu)
			if j%4 == 3 || j == len(row)-1 {
				b.WriteByte('\n')
			}
		}
	}
	b.WriteString("}\n")
}

func bridgeSource(knots []float64, y, q [][]bridgeNode) ([]byte, error) {
	b := new(bytes.Buffer)
	fmt.Fprintf(b, `// Code generated by go test -run TestBridgeTable -update-bridge; DO NOT EDIT.

package core

const (
	bridgeCols = %d // cells along u in bridgeNodes
	formCols = %d // cells along u in formNodes
	formCap = %v // s above which the form factor stays
	bridgeCellsPerUnit = %d
)

// bridgeCell is the cell along s of each 1/%[4]d of s.
var bridgeCell = [bridgeCellsPerUnit + 1]uint8{`, tableCols, tableForms, tableCaps, tablePerOne)
	for c := range tablePerOne + 1 {
		if c%25 == 0 {
			b.WriteByte('\n')
		}
		i := 0
		for i < len(knots)-2 && math.Round(knots[i+1]*tablePerOne) <= float64(c) {
			i++
		}
		fmt.Fprintf(b, "%d,", i)
	}
	b.WriteString("\n}\n\nvar bridgeKnots = [...]bridgeKnot{\n")
	for i := range len(knots) - 1 {
		w := math.Round((knots[i+1]-knots[i])*tablePerOne) / tablePerOne
		fmt.Fprintf(b, "{%v, %v, %v},\n", knots[i], w, 1/w)
	}
	b.WriteString("}\n")
	b.WriteString("\n// bridgeNodes is Y = y·√(1+r²) over (s, u): rows of s, " +
		"in each row u = 0, 1/bridgeCols ... 1.")
	writeNodes(b, "bridgeNodes", y)
	b.WriteString("\n// formNodes is the form factor, laid out like bridgeNodes.")
	writeNodes(b, "formNodes", q)
	return format.Source(b.Bytes())
}

// TestBridgeTable makes the table anew and compares it with the one compiled.
func TestBridgeTable(t *testing.T) {
	knots := tableKnots()
	y, q := currentNodes(knots), formFactorNodes(knots)
	if *updateBridge {
		src, err := bridgeSource(knots, y, q)
		if err == nil {
			err = os.WriteFile("bridge_table.go", src, 0o644)
		}
		if err != nil {
			t.Fatal(err)
		}
		t.Log("bridge_table.go written; run the tests again")
		return
	}
	for i := range y {
		for j, want := range y[i] {
			if got := bridgeNodes[i*(bridgeCols+1)+j]; !nodesAgree(got, want) {
				t.Errorf("bridgeNodes row %d column %d: got %v, want %v", i, j, got, want)
			}
		}
	}
	for i := range q {
		for j, want := range q[i] {
			if got := formNodes[i*(formCols+1)+j]; !nodesAgree(got, want) {
				t.Errorf("formNodes row %d column %d: got %v, want %v", i, j, got, want)
			}
		}
	}
}

func nodesAgree(a, b bridgeNode) bool {
	near := func(x, y float32) bool { return math.Abs(float64(x-y)) <= 2e-5*(1+math.Abs(float64(y))) }
	return near(a.f, b.f) && near(a.fs, b.fs) && near(a.fu, b.fu) && near(a.fsu, b.fsu)
}

func TestBridgeExact(t *testing.T) {
	rng := rand.New(rand.NewSource(1))
	var worst, ws, wr float64
	for k := range 3000 {
		s, u := rng.Float64(), rng.Float64()
		switch k % 3 {
		case 1:
			s = 0.65 + 0.35*s
		case 2:
			s, u = 0.9+0.1*s, 0.4*u
		}
		if u > 0.99 {
			u = 0.99
		}
		r := u / (1 - u)
		want, _ := solveBridge(s, r)
		got := BridgeCurrent(s, r)
		if e := math.Abs(got-want) * math.Sqrt(1+r*r); e > worst {
			worst, ws, wr = e, s, r
		}
	}
	t.Logf("worst %.2e at s=%v r=%v", worst, ws, wr)
	if worst > 3e-4 {
		t.Errorf("off by %.2e at s=%v r=%v, allowed 3e-4", worst, ws, wr)
	}
}
