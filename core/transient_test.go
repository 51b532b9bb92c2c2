package core

import (
	"fmt"
	"math"
	"math/rand"
	"testing"

	"gonum.org/v1/gonum/mat"

	"spareamps/core/internal/near"
)

// demoOperating is the likeliest machine of the demo rig at its moment.
func demoOperating() operating {
	q := Demo()
	st := new(study)
	st.prepare(&q)
	s := st.scene(&q, 0)
	return st.nominal.operating(st, &s)
}

// even returns temperatures that are the same everywhere.
func even(c float64) temperatures { return temperatures{c, c, c, c} }

// advance follows the heat for a time in equal steps.
func (o *operating) advance(t temperatures, currentA, seconds, h float64) temperatures {
	x := 0.5
	for range int(math.Round(seconds / h)) {
		x = o.step(&t, currentA, h, x)
	}
	return t
}

// distance is the largest difference of two sets of temperatures.
func distance(a, b temperatures) float64 {
	worst := 0.0
	for i := range a {
		worst = math.Max(worst, math.Abs(a[i]-b[i]))
	}
	return worst
}

// Halving the step quarters the error, three times over, against a fine
// reference: held current and full field, from cold.
func TestTransientOrder(t *testing.T) {
	o := demoOperating()
	for _, c := range []struct {
		name     string
		currentA float64
	}{{"held current", 70}, {"full field", 1e3}} {
		ref := o.advance(even(36), c.currentA, 960, 0.125)
		before := 0.0
		for _, h := range []float64{30, 15, 7.5, 3.75} {
			e := distance(o.advance(even(36), c.currentA, 960, h), ref)
			t.Logf("%s: steps of %4.1f s are off by %.5f K, ratio %.2f", c.name, h, e, before/e)
			if r := before / e; before > 0 && math.Abs(r-4) > 0.4 {
				t.Errorf("%s: halving to %v s divides the error by %.2f, want 4 within 0.4", c.name, h, r)
			}
			before = e
		}
	}
}

// The steps that hold times and the stop are followed with are fine enough.
func TestTransientStepsInUse(t *testing.T) {
	o := demoOperating()
	for _, minutes := range []float64{1, 5, 15, 60} {
		got := even(36)
		o.run(&got, 70, minutes, nil)
		near.Abs(t, fmt.Sprintf("run for %v min: distance from steps of 0.5 s in K", minutes), distance(got, o.advance(even(36), 70, 60*minutes, 0.5)), 0, 0.3)
	}
}

// Long steps damp. From the inlet's air, from 150 °C and from 30 K around the
// steady point four steps of 1e6 s land by it, and no step swings further away
// than where it began. Above 1500 rpm and with three tenths of the
// air of 3000 rpm or more: a dusty machine that hardly turns comes near to heating
// itself without end, and there such a step looks beyond the range of copper and
// field: it takes five steps, or does not come back.
func TestTransientDamps(t *testing.T) {
	p := seededPicker{rand.New(rand.NewSource(9))}
	far, close := 0.0, 0.0
	for n := 0; n < 200; {
		o := drawOperating(p)
		from := o.start()
		full := o.seek(fullField, 0, &from)
		if o.speedRpm < 1500 || o.turns < 0.3 || full.out.a < 5 || full.t[winding] > 220 || full.t[rotor] > 220 {
			continue
		}
		n++
		target := full.out.a * p.between("share", 0.1, 0.7)
		want := o.seek(fixedCurrent, target, &full)
		for _, start := range []float64{o.inletC, 150} {
			far = math.Max(far, distance(o.advance(even(start), target, 4e6, 1e6), want.t))
		}
		for _, k := range []float64{-30, 30} {
			start := want.t
			for i := range start {
				start[i] += k
			}
			close = math.Max(close, distance(o.advance(start, target, 4e6, 1e6), want.t))
		}
		for _, h := range []float64{60, 600, 6000, 1e6} {
			got := even(150)
			x := 0.5
			for range 12 {
				x = o.step(&got, target, h, x)
				for i, c := range got {
					if away := math.Abs(150 - want.t[i]); !(math.Abs(c-want.t[i]) < 20+away) {
						t.Fatalf("steps of %v s swing to %v, steady %v", h, got, want.t)
					}
				}
			}
		}
	}
	t.Logf("four steps of 1e6 s land within %.2f K, from near within %.1e K", far, close)
	if far > 1 || close > 1 {
		t.Errorf("four steps of 1e6 s are %.2f K from the steady point, from near %.2f K, want 1 K", far, close)
	}
}

// From cold the demo's machine lands by its steady point in one step of 1e6 s:
// within 1 K up to 40 A, and at 60 A, where the field's curve bends, within
// 1.1 K; in two, within 0.1 K.
func TestTransientLongStepOfDemo(t *testing.T) {
	o := demoOperating()
	from := o.start()
	for _, c := range []struct{ currentA, within float64 }{{10, 1}, {40, 1}, {60, 1.1}} {
		want := o.seek(fixedCurrent, c.currentA, &from)
		for steps, within := range []float64{0, c.within, 0.1} {
			if steps > 0 {
				got := o.advance(even(36), c.currentA, 1e6*float64(steps), 1e6)
				near.Abs(t, fmt.Sprintf("%d steps of 1e6 s at %v A: K from the steady point", steps, c.currentA), distance(got, want.t), 0, within)
			}
		}
	}
}

// rates are those of flow.
func (o *operating) rates(t temperatures, currentA float64) temperatures {
	var g flow
	o.flow(&t, currentA, 0.5, 1e-10, &g)
	return g.rate
}

// Around the steady point the heat follows the matrix exponential of the
// linearised network: an integration that shares nothing with step.
func TestTransientAgainstMatrixExponential(t *testing.T) {
	p := seededPicker{rand.New(rand.NewSource(10))}
	worst := 0.0
	for n := 0; n < 60; {
		o := drawOperating(p)
		from := o.start()
		full := o.seek(fullField, 0, &from)
		if full.out.a < 5 || full.t[winding] > 200 || full.t[rotor] > 200 {
			continue
		}
		n++
		target := full.out.a * p.between("share", 0.2, 0.7)
		at := o.seek(fixedCurrent, target, &full)
		rest := o.advance(at.t, target, 3e5, 1e5) // to rounding
		jac := mat.NewDense(nodes, nodes, nil)
		const h = 0.02
		for j := range nodes {
			up, down := rest, rest
			up[j] += h
			down[j] -= h
			fu, fd := o.rates(up, target), o.rates(down, target)
			for i := range nodes {
				jac.Set(i, j, (fu[i]-fd[i])/(2*h))
			}
		}
		off := temperatures{p.between("w", -1, 1), p.between("s", -1, 1), p.between("d", -1, 1), p.between("r", -1, 1)}
		start := rest
		for i := range start {
			start[i] += off[i]
		}
		for _, seconds := range []float64{10, 60, 600} {
			var scaled, e mat.Dense
			scaled.Scale(seconds, jac)
			e.Exp(&scaled)
			var want mat.VecDense
			want.MulVec(&e, mat.NewVecDense(nodes, off[:]))
			got := o.advance(start, target, seconds, 0.5)
			for i := range got {
				miss := math.Abs(got[i] - rest[i] - want.AtVec(i))
				worst = math.Max(worst, miss)
				if miss > 5e-3 { // of 1 K: the network is not quite linear
					t.Errorf("%.0f rpm: after %v s node %d is %.5f K off the steady point, by the matrix exponential %.5f K", o.speedRpm, seconds, i, got[i]-rest[i], want.AtVec(i))
				}
			}
		}
	}
	t.Logf("largest miss %.1e K of a disturbance of up to 1 K", worst)
}

// The Jacobian of flow is that by finite differences, the form factor held; and
// how far its slope, left out, turns it.
func TestFlowJacobian(t *testing.T) {
	p := seededPicker{rand.New(rand.NewSource(12))}
	turned := 0.0
	for n := 0; n < 300; {
		o := drawOperating(p)
		from := o.start()
		full := o.seek(fullField, 0, &from)
		if full.out.a < 5 || full.t[winding] > 250 || full.t[rotor] > 250 {
			continue
		}
		n++
		at := temperatures{p.between("w", 20, 200), p.between("s", 20, 200), p.between("d", 20, 150), p.between("r", 20, 200)}
		share, _ := o.full(at[rotor])
		most := o.machine.output(o.omega, o.busV, share, at[winding]).a
		target := most * p.between("share", 0.2, 0.9)
		if n%3 == 0 {
			target = 2 * most // full field
		}
		var g flow
		o.flow(&at, target, 0.5, 1e-10, &g)
		o.jacobian(&at, &g)
		heat := o.size.capacity()
		rate := func(t temperatures, form *output) (r temperatures) {
			share, _ := o.full(t[rotor])
			x := o.fieldFor(target, t[winding], share, 0.5, 1e-10, new(output))
			b := o.balance(t, x, form)
			for i := range r {
				r[i] = b.net[i] / heat[i]
			}
			return r
		}
		exact := rate(at, nil)
		for i := range exact {
			near.Abs(t, fmt.Sprintf("rate of node %d in K/s", i), g.rate[i], exact[i], 1e-9*(1+math.Abs(exact[i])))
		}
		const h = 1e-3
		for j := range nodes {
			up, down := at, at
			up[j] += h
			down[j] -= h
			fu, fd := rate(up, &g.out), rate(down, &g.out)
			ou, od := rate(up, nil), rate(down, nil)
			for i := range nodes {
				want := (fu[i] - fd[i]) / (2 * h)
				scale := math.Abs(g.jac[i][i])
				if math.Abs(g.jac[i][j]-want) > 1e-5*scale {
					t.Errorf("%.0f rpm, %.1f A: slope of node %d against node %d is %v, by finite differences %v (1/s)", o.speedRpm, g.out.a, i, j, g.jac[i][j], want)
				}
				turned = math.Max(turned, math.Abs(want-(ou[i]-od[i])/(2*h))/scale)
			}
		}
	}
	t.Logf("the form factor's slope, left out, is at most %.3f of a node's own", turned)
}

// What is made and does not leave is stored: the balance of a warm-up, summed
// by the trapezoid rule, closes with the square of the step.
func TestTransientEnergyCloses(t *testing.T) {
	o := demoOperating()
	heat := o.size.capacity()
	miss := func(h float64) float64 {
		at, x := even(36), 0.5
		kept, made := 0.0, 0.0
		power := func() (net, all float64) {
			share, _ := o.full(at[rotor])
			x := o.fieldFor(70, at[winding], share, x, 1e-10, new(output))
			b := o.balance(at, x, nil)
			return b.made - b.leaving - b.toBay, b.made
		}
		before, all := power()
		start := at
		for s := 0.0; s < 1200; s += h {
			x = o.step(&at, 70, h, x)
			after, a := power()
			kept += h * (before + after) / 2
			made += h * (all + a) / 2
			before, all = after, a
		}
		stored := 0.0
		for i := range at {
			stored += heat[i] * (at[i] - start[i])
		}
		return math.Abs(kept-stored) / made
	}
	coarse, fine := miss(20), miss(10)
	t.Logf("of the heat made in 20 min, %.1e is missed in steps of 20 s, %.1e in steps of 10 s", coarse, fine)
	if fine > 1e-4 || coarse/fine < 3 {
		t.Errorf("energy misses %.1e in steps of 20 s and %.1e in steps of 10 s, want below 1e-4 and a ratio near 4", coarse, fine)
	}
}

// In the end the heat rests at the steady point, held current or full field.
func TestTransientRestsAtSteady(t *testing.T) {
	p := seededPicker{rand.New(rand.NewSource(13))}
	for n := 0; n < 100; {
		o := drawOperating(p)
		from := o.start()
		full := o.seek(fullField, 0, &from)
		if full.out.a < 5 || full.t[winding] > 250 || full.t[rotor] > 250 {
			continue
		}
		n++
		got := o.advance(even(o.inletC), 1e4, 3e5, 600)
		near.Abs(t, fmt.Sprintf("full field at %.0f rpm: K from the steady point", o.speedRpm), distance(got, full.t), 0, 0.01)
		target := 0.6 * full.out.a
		want := o.seek(fixedCurrent, target, &full)
		got = o.advance(even(o.inletC), target, 3e5, 600)
		near.Abs(t, fmt.Sprintf("%.1f A at %.0f rpm: K from the steady point", target, o.speedRpm), distance(got, want.t), 0, 0.01)
	}
}
