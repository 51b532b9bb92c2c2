package core

import (
	"fmt"
	"math"
	"math/rand"
	"testing"

	"gonum.org/v1/gonum/mat"

	"spareamps/core/air"
	"spareamps/core/conductor"
	"spareamps/core/internal/near"
	"spareamps/core/rig"
)

// drawOperating draws a machine in air from the whole range of speed, inlet
// air, altitude and dust, with its unknowns drawn too.
func drawOperating(p picker) operating {
	a := rig.Alternator{RatedCurrentA: p.between("rated", 30, 400), RatedSpeedRpm: 6000, PolePairs: 6, ClassV: "12", IdleSpeedRpm: 1500}
	if p.below("class", 3) == 0 {
		a.ClassV = "24"
	}
	if p.below("idle current", 2) == 0 {
		a.IdleCurrentA = a.RatedCurrentA * p.between("idle share", 0.3, 0.6)
	}
	var z, spread [unknowns]float64
	for i := range z {
		z[i], spread[i] = p.between("z", -2.7, 2.7), Unknowns[i].Spread
	}
	f := draw(&z, &spread)
	s := shapeOf(&a, 1)
	m := s.machine(&f)
	n := 300 * math.Pow(20000.0/300, p.between("speed", 0, 1))
	inletC := p.between("inlet", -40, 120)
	density := air.Density(p.between("altitude", -430, 6000), inletC)
	flow := f.flow * (1 - p.between("fouling", 0, 0.9))
	return newOperating(m, n, classFactor(&a)*p.between("bus", 12.8, 14.9), inletC, density, flow, &f)
}

// A balance is the heat of every part at given temperatures, written from what
// goes in and out and nothing of how newton and flow are written.
type balance struct {
	made     float64      // W, all losses
	net      temperatures // W into each node, less what leaves it
	toStream float64      // W that leave with the stream
	toBay    float64      // W to the bay's air by still air, bearings and shaft
	leaving  float64      // W the stream carries, by its rise in temperature
	out      output
}

// formAt is a phase current's form factor where the balance is taken; nil: its
// own.
func (o *operating) balance(t temperatures, x float64, formAt *output) balance {
	b := balance{out: o.machine.output(o.omega, o.busV, x, t[winding])}
	form := b.out
	if formAt != nil {
		form = *formAt
	}
	phase := form.form * b.out.a
	ohm := o.machine.heatR * conductor.Copper(t[winding]) / conductor.Copper(o.refC)
	copperW := 3 * ohm * phase * phase
	diodesW := o.dropV * b.out.a
	ironW := o.ironW * o.ironShare(&b.out)
	fieldW := o.fieldW * x * x * conductor.Copper(t[rotor]) / conductor.Copper(o.refC)
	b.made = copperW + diodesW + ironW + fieldW + o.friction

	// The stream: first the rectifier, then the friction that stays in the
	// air, then winding, core and rotor side by side at its mean temperature.
	fromPlates := o.toStream.d * (t[plates] - o.inletC)
	behind := o.inletC + (fromPlates+(1-frictionInIron)*o.friction)/o.stream
	g := o.toStream.w + o.toStream.s + o.toStream.r
	mean := (2*o.stream*behind + o.toStream.w*t[winding] + o.toStream.s*t[iron] + o.toStream.r*t[rotor]) / (2*o.stream + g)
	fromW, fromS, fromR := o.toStream.w*(t[winding]-mean), o.toStream.s*(t[iron]-mean), o.toStream.r*(t[rotor]-mean)
	outlet := behind + (fromW+fromS+fromR)/o.stream
	if math.Abs(mean-(behind+outlet)/2) > 1e-9*(1+math.Abs(mean)) {
		panic(fmt.Sprintf("the stream's mean %v is not that of %v and %v", mean, behind, outlet))
	}

	bayS, bayD, bayR := o.sBay*(t[iron]-o.inletC), o.dBay*(t[plates]-o.inletC), o.rBay*(t[rotor]-o.inletC)
	slots := o.ws * (t[winding] - t[iron])
	b.net = temperatures{
		winding: copperW - slots - fromW,
		iron:    (1-ironToRotorShare)*ironW + frictionInIron*o.friction + slots - fromS - bayS,
		plates:  diodesW - fromPlates - bayD,
		rotor:   fieldW + ironToRotorShare*ironW - fromR - bayR,
	}
	b.toStream = fromPlates + fromW + fromS + fromR + (1-frictionInIron)*o.friction
	b.toBay = bayS + bayD + bayR
	b.leaving = o.stream * (outlet - o.inletC)
	return b
}

// ironShare is (1) of a heldFlux, from the machine's own quantities.
func (o *operating) ironShare(p *output) float64 {
	m, e := &o.machine, o.omega*o.machine.flux
	held := 2 / math.Pi * (o.busV + m.dropV) / e
	i1 := math.Pi / 3 * p.a
	return math.Min(p.ps*p.ps, held*held) + 2*held*m.r*i1/e + math.Pow(m.r*i1/e, 2) + armatureIron*math.Pow(p.a/m.limitA(), 2)
}

// atField solves the temperatures at a field share by damped repetition: heat at
// the temperatures before, a linear network, half a step. Slow and plain.
func (o *operating) atField(x float64) temperatures {
	t := temperatures{o.inletC + 20, o.inletC + 20, o.inletC + 20, o.inletC + 20}
	const d = 1.0
	for range 20000 {
		// The network is linear in the temperatures for given heat: its matrix
		// by unit steps.
		a, rhs := mat.NewDense(nodes, nodes, nil), mat.NewVecDense(nodes, nil)
		heat := o.balance(t, x, nil)
		for j := range nodes {
			// Heat kept, temperature of one node up by d: subtract how the
			// heat made moved.
			up := t
			up[j] += d
			b := o.balance(up, x, nil)
			moved := o.heatOf(up, x)
			kept := o.heatOf(t, x)
			for i := range nodes {
				a.Set(i, j, ((b.net[i]-moved[i])-(heat.net[i]-kept[i]))/d)
			}
		}
		for i := range nodes {
			rhs.SetVec(i, -heat.net[i])
		}
		var step mat.VecDense
		if err := step.SolveVec(a, rhs); err != nil {
			panic(err)
		}
		worst := 0.0
		for i := range nodes {
			t[i] += 0.5 * step.AtVec(i)
			worst = math.Max(worst, math.Abs(step.AtVec(i)))
		}
		if worst < 1e-11 {
			break
		}
	}
	return t
}

// heatOf is the heat made in each node.
func (o *operating) heatOf(t temperatures, x float64) temperatures {
	out := o.machine.output(o.omega, o.busV, x, t[winding])
	ironW := o.ironW * o.ironShare(&out)
	phase := out.phaseA()
	return temperatures{
		winding: 3 * o.machine.heatR * conductor.Copper(t[winding]) / conductor.Copper(o.refC) * phase * phase,
		iron:    (1-ironToRotorShare)*ironW + frictionInIron*o.friction,
		plates:  o.dropV * out.a,
		rotor:   o.fieldW*x*x*conductor.Copper(t[rotor])/conductor.Copper(o.refC) + ironToRotorShare*ironW,
	}
}

// Where the machine has something to give at all.
func (o *operating) gives() bool {
	return o.machine.output(o.omega, o.busV, fieldCap, o.inletC).a > 0.5
}

// The point is that of a slow search: bisection over the field share, the
// temperatures by damped repetition.
func TestSteadyAgainstSlowSearch(t *testing.T) {
	n := 60
	if testing.Short() {
		n = 12
	}
	p := seededPicker{rand.New(rand.NewSource(4))}
	for k := 0; k < n; {
		o := drawOperating(p)
		from := o.start()
		full := o.seek(fullField, 0, &from)
		if !o.gives() || full.out.a < 5 || full.t[winding] > 350 || full.t[rotor] > 350 {
			continue
		}
		k++
		target := full.out.a * p.between("share", 0.2, 0.8)
		got := o.seek(fixedCurrent, target, &full)
		lo, hi := 0.0, maxField
		var at temperatures
		for range 60 {
			mid := (lo + hi) / 2
			at = o.atField(mid)
			if o.machine.output(o.omega, o.busV, mid, at[winding]).a > target {
				hi = mid
			} else {
				lo = mid
			}
			if hi-lo < 1e-10 {
				break
			}
		}
		what := fmt.Sprintf("%.1f A at %.0f rpm, %.0f °C", target, o.speedRpm, o.inletC)
		near.Abs(t, what+": field share", got.x, lo, 1e-6)
		for i := range at {
			near.Abs(t, fmt.Sprintf("%s: node %d in °C", what, i), got.t[i], at[i], 1e-4)
		}
	}
}

// Heat made is heat leaving: with the stream, by its rise in temperature, and to
// the bay; to rounding once the iteration is carried on to its end.
func TestSteadyEnergyCloses(t *testing.T) {
	p := seededPicker{rand.New(rand.NewSource(5))}
	stopped := 0.0
	for range 500 {
		o := drawOperating(p)
		from := o.start()
		at := o.seek(fullField, 0, &from)
		b := o.balance(at.t, at.x, nil)
		stopped = math.Max(stopped, math.Abs(b.made-b.leaving-b.toBay)/b.made)
		for range 30 {
			dw, dr, dx := o.newton(&at, fullField, 0)
			at.t[winding] += dw
			at.t[rotor] += dr
			at.x += dx
			at.out = o.at(at.x, at.t[winding])
			o.rest(&at)
		}
		b = o.balance(at.t, at.x, nil)
		what := fmt.Sprintf("%.0f rpm, %.0f °C", o.speedRpm, o.inletC)
		near.Share(t, what+": heat leaving in W", b.leaving+b.toBay, b.made, 1e-9)
		near.Share(t, what+": heat of the stream in W", b.leaving, b.toStream, 1e-9)
		at.out = b.out
		near.Share(t, what+": losses by part in W", o.losses(&at).Total(), b.made, 1e-12)
	}
	t.Logf("where the iteration stops the heat closes within %.1e", stopped)
	if stopped > 1e-5 {
		t.Errorf("where the iteration stops the heat is out by %.1e, want 1e-5", stopped)
	}
}

// One step of newton is that of a Jacobian by finite differences, the form
// factor held; and how far the slope of the form factor, left out, turns it.
func TestNewtonJacobian(t *testing.T) {
	p := seededPicker{rand.New(rand.NewSource(6))}
	turned, n := 0.0, 0
	for n < 300 {
		o := drawOperating(p)
		from := o.start()
		at := o.seek(fullField, 0, &from)
		if at.out.a < 2 || at.t[winding] > 300 || at.t[rotor] > 300 {
			continue
		}
		n++
		at.x *= p.between("off", 0.7, 0.95)
		at.t[winding] -= 8
		at.t[rotor] -= 6
		at.out = o.at(at.x, at.t[winding])
		o.rest(&at)
		for _, c := range []struct {
			name   string
			c      closing
			target float64
		}{
			{"fixed current", fixedCurrent, 0.9 * at.out.a}, {"fixed field", fixedField, 0.8}, {"full field", fullField, 0},
			{"winding", windingAt, at.t[winding] + 5}, {"rotor", rotorAt, at.t[rotor] + 3}, {"in hand", inHand, 0.9}, {"belt", shaftAt, 1500},
		} {
			q := at
			dw, dr, dx := o.newton(&q, c.c, c.target)
			// The iron's step, by the slopes of (5).
			out := &q.out
			_, ironX, ironA := o.held.shares(out)
			di := o.sw*dw + o.sr*dr + o.sA*(out.dT*dw+out.dx*dx) + o.sI*(ironX*dx+ironA*(out.dT*dw+out.dx*dx))
			got := []float64{dw, di, dr, dx}
			held := o.finiteStep(&at, c.c, c.target, true)
			whole := o.finiteStep(&at, c.c, c.target, false)
			if held == nil || whole == nil {
				continue
			}
			size := math.Abs(held[0]) + math.Abs(held[1]) + math.Abs(held[2]) + 100*math.Abs(held[3])
			for i := range got {
				scale := size
				if i == 3 {
					scale /= 100
				}
				if math.Abs(got[i]-held[i]) > 1e-5*scale {
					t.Errorf("%s at %.0f rpm, %.0f °C: step %d is %v, by finite differences %v", c.name, o.speedRpm, o.inletC, i, got[i], held[i])
				}
				turned = math.Max(turned, math.Abs(held[i]-whole[i])/scale)
			}
		}
	}
	t.Logf("the form factor's slope, left out, turns a step by at most %.3f of its length", turned)
}

// finiteStep solves for a step with a Jacobian by central differences; nil where
// it is singular.
func (o *operating) finiteStep(at *steady, c closing, target float64, holdForm bool) []float64 {
	base := o.machine.output(o.omega, o.busV, at.x, at.t[winding])
	var form *output
	if holdForm {
		form = &base
	}
	residual := func(u [4]float64) [4]float64 {
		q := *at
		q.t[winding], q.t[iron], q.t[rotor], q.x = u[0], u[1], u[2], u[3]
		q.out = o.machine.output(o.omega, o.busV, q.x, q.t[winding])
		q.t[plates] = o.inletC + o.dPerA*q.out.a
		b := o.balance(q.t, q.x, form)
		full, _ := o.full(q.t[rotor])
		f := [4]float64{-b.net[winding], -b.net[iron], -b.net[rotor]}
		switch c {
		case fixedCurrent:
			f[3] = q.out.a - target
		case fixedField:
			f[3] = q.x - target
		case fullField:
			f[3] = q.x - full
		case windingAt:
			f[3] = q.t[winding] - target
		case rotorAt:
			f[3] = q.t[rotor] - target
		case inHand:
			f[3] = q.out.a - target*o.machine.output(o.omega, o.busV, full, q.t[winding]).a
		case shaftAt:
			f[3] = o.busV*q.out.a + b.made - target
		}
		return f
	}
	u := [4]float64{at.t[winding], at.t[iron], at.t[rotor], at.x}
	f := residual(u)
	a, rhs := mat.NewDense(4, 4, nil), mat.NewVecDense(4, nil)
	for j := range u {
		h := 1e-3
		if j == 3 {
			h = 1e-6
		}
		up, down := u, u
		up[j] += h
		down[j] -= h
		fu, fd := residual(up), residual(down)
		for i := range f {
			a.Set(i, j, (fu[i]-fd[i])/(2*h))
		}
	}
	for i := range f {
		rhs.SetVec(i, -f[i])
	}
	var x mat.VecDense
	if err := x.SolveVec(a, rhs); err != nil {
		return nil
	}
	return x.RawVector().Data
}
