package core

// A Rosenbrock method of order 2 for the heat of the network: linearly
// implicit, L-stable (a step of any length damps), order 2 whatever error the
// Jacobian has.
//
//	(I − γhJ)·k1 = f(u)
//	(I − γhJ)·k2 = f(u + h·k1) − 2·k1
//	u' = u + h·(3·k1 + k2)/2,  γ = 1 − 1/√2     (1)
//
// Source: Verwer, Spee, Blom, Hundsdorfer, "A second-order Rosenbrock method
// applied to photochemical dispersion problems", SIAM J. Sci. Comput. 20
// (1999); value of γ from memory. Checked: transient_test.go against the matrix
// exponential and for its order.
const rosGamma = 0.29289321881345254

// A flow is the heat flow of the network at an instant.
type flow struct {
	rate temperatures          // K/s
	jac  [nodes][nodes]float64 // of rate, 1/s
	out  output
	x    float64
}

// capacity returns the heat capacities of the nodes in J/K.
func (z size) capacity() temperatures {
	return temperatures{z.heat * windingCapacity, z.heat * ironCapacity, z.heat * platesCapacity, z.heat * rotorCapacity}
}

// flow returns rates and Jacobian at temperatures t while the output is
// currentA, or all the field allows where that is less; x is a field share
// nearby.
func (o *operating) flow(t *temperatures, currentA, x float64) flow {
	var g flow
	full, fullT := o.full(t[rotor])
	g.x, g.out = o.fieldFor(currentA, t[winding], full, x)
	var xW, xR, iW, iR float64 // slopes of field and current against winding and rotor
	if g.x >= full {
		xR = fullT
		iW, iR = g.out.dT, g.out.dx*fullT
	} else if g.out.dx > 0 {
		xW = -g.out.dT / g.out.dx
	}
	ps, dps := g.out.ps, g.out.dps
	cuW := copper(t[winding])
	copperW := o.statorLoss(g.out.phaseA(), t[winding])
	perA := 0.0
	if g.out.a > 0 {
		perA = 2 * copperW / g.out.a
	}
	ironW, ironX := o.ironW*ps*ps, 2*o.ironW*ps*dps
	cuR := copper(t[rotor]) / copper(o.refC)
	fieldW, fieldX := o.fieldW*g.x*g.x*cuR, 2*o.fieldW*g.x*cuR

	behind := o.inletC + (o.toStream.d*(t[plates]-o.inletC)+(1-frictionInIron)*o.friction)/o.stream
	behindD := o.toStream.d / o.stream
	air := o.beta*behind + o.gw*t[winding] + o.gs*t[iron] + o.gr*t[rotor]
	airD := o.beta * behindD

	cap := o.size.capacity()
	const pole = ironToRotorShare
	g.rate = temperatures{
		winding: (copperW - o.ws*(t[winding]-t[iron]) - o.toStream.w*(t[winding]-air)) / cap[winding],
		iron:    ((1-pole)*ironW + frictionInIron*o.friction - o.ws*(t[iron]-t[winding]) - o.toStream.s*(t[iron]-air) - o.sBay*(t[iron]-o.inletC)) / cap[iron],
		plates:  (o.dropV*g.out.a - (o.toStream.d+o.dBay)*(t[plates]-o.inletC)) / cap[plates],
		rotor:   (fieldW + pole*ironW - o.toStream.r*(t[rotor]-air) - o.rBay*(t[rotor]-o.inletC)) / cap[rotor],
	}
	g.jac = [nodes][nodes]float64{
		winding: {copperW*copperAlpha/cuW + perA*iW - o.ws - o.toStream.w*(1-o.gw), o.ws + o.toStream.w*o.gs, o.toStream.w * airD, o.toStream.w*o.gr + perA*iR},
		iron:    {(1-pole)*ironX*xW + o.ws + o.toStream.s*o.gw, -o.ws - o.toStream.s*(1-o.gs) - o.sBay, o.toStream.s * airD, o.toStream.s*o.gr + (1-pole)*ironX*xR},
		plates:  {o.dropV * iW, 0, -o.toStream.d - o.dBay, o.dropV * iR},
		rotor: {(fieldX+pole*ironX)*xW + o.toStream.r*o.gw, o.toStream.r * o.gs, o.toStream.r * airD,
			fieldW*copperAlpha/copper(t[rotor]) + (fieldX+pole*ironX)*xR - o.toStream.r*(1-o.gr) - o.rBay},
	}
	for i := range g.jac {
		for j := range g.jac[i] {
			g.jac[i][j] /= cap[i]
		}
	}
	return g
}

// fieldFor returns the field share that gives an output at a winding
// temperature, at most full, by Newton's method from a share nearby kept
// within a shrinking bracket.
func (o *operating) fieldFor(currentA, windingC, full, x float64) (float64, output) {
	most := o.at(full, windingC)
	if most.a <= currentA {
		return full, most
	}
	lo, hi := 0.0, full
	x = smaller(larger(x, 0.05), full)
	for range 60 {
		out := o.at(x, windingC)
		d := out.a - currentA
		if abs(d) <= 1e-10*(1+currentA) {
			return x, out
		}
		if d > 0 {
			hi = x
		} else {
			lo = x
		}
		next := (lo + hi) / 2
		if out.dx > 0 {
			if n := x - d/out.dx; n > lo && n < hi {
				next = n
			}
		}
		if hi-lo < 1e-13 {
			break
		}
		x = next
	}
	return x, o.at(x, windingC)
}

// step advances temperatures t by h seconds while the output is currentA, or
// all there is, and returns the field share at its end for the next step.
func (o *operating) step(t *temperatures, currentA, h, x float64) float64 {
	g := o.flow(t, currentA, x)
	var m [nodes][nodes]float64
	for i := range m {
		for j := range m[i] {
			m[i][j] = -rosGamma * h * g.jac[i][j]
		}
		m[i][i]++
	}
	k1 := g.rate
	eliminate(&m, &k1)
	mid := *t
	for i := range mid {
		mid[i] += h * k1[i]
	}
	g2 := o.flow(&mid, currentA, g.x)
	k2 := g2.rate
	for i := range k2 {
		k2[i] -= 2 * k1[i]
	}
	back(&m, &k2)
	for i := range t {
		t[i] += h * (1.5*k1[i] + 0.5*k2[i]) // (1)
	}
	return g2.x
}

// eliminate factors a diagonally dominant matrix in place and solves for one
// right side.
func eliminate(m *[nodes][nodes]float64, b *temperatures) {
	for k := range nodes {
		inv := 1 / m[k][k]
		for i := k + 1; i < nodes; i++ {
			f := m[i][k] * inv
			m[i][k] = f
			for j := k + 1; j < nodes; j++ {
				m[i][j] -= f * m[k][j]
			}
		}
	}
	back(m, b)
}

// back solves for a right side with a matrix factored by eliminate.
func back(m *[nodes][nodes]float64, b *temperatures) {
	for i := 1; i < nodes; i++ {
		for j := range i {
			b[i] -= m[i][j] * b[j]
		}
	}
	for i := nodes - 1; i >= 0; i-- {
		for j := i + 1; j < nodes; j++ {
			b[i] -= m[i][j] * b[j]
		}
		b[i] /= m[i][i]
	}
}
