package core

import "spareamps/core/detmath"

// cost is (1) for expected values.
func (f *fitter) cost(p *[parameters]float64, out []float64) float64 {
	c := 0.0
	for _, z := range p {
		c += 0.5 * z * z
	}
	for i := range f.values {
		r := detmath.Abs((f.values[i].Value - out[i]) / f.values[i].Deviation)
		if r <= huberAt {
			c += 0.5 * r * r
		} else {
			c += huberAt * (r - 0.5*huberAt)
		}
	}
	return c
}

// differentiate fills the sensitivities around p, whose expected values are out.
func (f *fitter) differentiate(p *[parameters]float64, out []float64) {
	aimed := f.aimed()
	for j := range p {
		if j >= pBright && !aimed[j-pBright] {
			for i := range f.values {
				f.jac[i][j] = 0
			}
			continue
		}
		q := *p
		q[j] += fitStep
		f.expect(&q, f.moved)
		for i := range f.values {
			f.jac[i][j] = (f.moved[i] - out[i]) / (fitStep * f.values[i].Deviation)
		}
	}
}

// aimed tells which of the parameters from pBright on any reading depends on.
func (f *fitter) aimed() (some [parameters - pBright]bool) {
	for i := range f.values {
		if r := &f.values[i]; r.Kind >= readsCase && r.Kind <= readsPlates {
			some[lowWords[surfaceOf(&f.rows[r.Row])].parameter-pBright] = true
		}
	}
	return some
}

// normal makes the matrix (2) and the gradient of (1) at p. Readings beyond
// huberAt pull, but no harder the further they are: they tell nothing.
func (f *fitter) normal(p *[parameters]float64, out []float64, a *symmetric, g *[parameters]float64) {
	*a = symmetric{}
	for j := range p {
		a[j][j], g[j] = 1, p[j]
	}
	for i := range f.values {
		r := (f.values[i].Value - out[i]) / f.values[i].Deviation
		row := &f.jac[i]
		for j := range g {
			g[j] -= detmath.ClampAbs(r, huberAt) * row[j]
		}
		if detmath.Abs(r) > huberAt {
			continue
		}
		for j := range g {
			if row[j] == 0 {
				continue
			}
			for k := range j + 1 {
				a[j][k] += row[j] * row[k]
			}
		}
	}
}

// search descends from p and returns the cost there.
func (f *fitter) search(p *[parameters]float64) (cost float64, steps int, settled bool) {
	f.expect(p, f.out)
	cost = f.cost(p, f.out)
	var a, damped symmetric
	var g, d [parameters]float64
	fresh := make([]float64, len(f.out))
	damping := 1e-3
	for steps = 1; steps <= fitMost; steps++ {
		f.steps++
		if f.stopped = f.stopped || f.told != nil && !f.told(f.steps); f.stopped {
			return cost, steps, false
		}
		f.differentiate(p, f.out)
		f.normal(p, f.out, &a, &g)
		for {
			damped = a
			for j := range damped {
				damped[j][j] *= 1 + damping
			}
			damped.factor()
			d = g
			damped.solve(&d)
			trial, most, promised := *p, 0.0, 0.0
			for j := range trial {
				trial[j] = detmath.ClampAbs(trial[j]-d[j], farthest)
				most = detmath.Max(most, detmath.Abs(trial[j]-p[j]))
				promised += 0.5 * d[j] * (g[j] + damping*a[j][j]*d[j])
			}
			f.expect(&trial, fresh)
			c := f.cost(&trial, fresh)
			if c <= cost {
				switch kept := cost - c; {
				case kept > 0.75*promised:
					damping = detmath.Max(damping*0.2, 1e-9)
				case kept < 0.25*promised:
					damping *= 3
				}
				*p, cost = trial, c
				copy(f.out, fresh)
				if most < fitSettled {
					return cost, steps, true
				}
				break
			}
			if most < fitSettled {
				return cost, steps, true // downhill is lost in rounding
			}
			if damping *= 5; !(damping < 1e12) {
				return cost, steps, false
			}
		}
	}
	return cost, fitMost, false
}
