package core

import (
	"math"
	"math/rand"
	"spareamps/core/detmath"
	"spareamps/core/jsontext"
)

// A trial is a request whose sample has been run through its moment.
type trial struct {
	q       Request
	st      *study
	now     scene
	w       warm
	k       int     // vehicles that may fall below the ceiling
	ceiling float64 // A, not rounded
	least   float64 // A, of the likeliest vehicle
}

func newTrial(q Request) *trial {
	r := &trial{q: q, st: new(study), k: tolerated(q.Confidence)}
	r.st.prepare(&r.q)
	r.st.draws()
	r.now = r.st.scene(&r.q, 0)
	r.w = newWarmFor(r.st, &r.now)
	c, _ := r.st.nominal.limits(r.st, &r.now, &r.w)
	r.least = c.least()
	p := &r.st.crowd
	p.fill(r.st, &r.now, &r.w)
	r.ceiling = detmath.Min(p.quantile(&p.least, r.k), p.side.a)
	return r
}

// trials draws requests that have a ceiling.
func trials(seed int64, n int, wild float64) (list []*trial) {
	p := seededPicker{rand.New(rand.NewSource(seed))}
	for len(list) < n {
		if r := newTrial(drawRequest(p, wild)); r.ceiling > 0.5 {
			list = append(list, r)
		}
	}
	return list
}

// limitC is what a node is held to in a machine that is cooled at inletC.
func (r *trial) limitC(node int, inletC float64) float64 { return r.st.heatLimit(inletC)[node] }

// beyond returns by how much the hottest node passes its limit, in K, and which.
func (r *trial) beyond(o *operating, t *temperatures, currentA float64) (worst float64, node int) {
	worst, node = math.Inf(-1), -1
	for i, c := range t {
		if i == plates {
			c += r.st.nominal.machine.junctionPerA() * currentA
		}
		if d := c - r.limitC(i, o.inletC); d > worst {
			worst, node = d, i
		}
	}
	return worst, node
}

// answered is Ceiling for a request that is known to be sound.
func answered(t interface {
	Helper()
	Fatalf(string, ...any)
}, q *Request) *Answer {
	t.Helper()
	defer func() {
		if r := recover(); r != nil {
			t.Fatalf("panic: %v\n%s", r, q.JSON())
		}
	}()
	a, err := Ceiling(q)
	if err != nil {
		t.Fatalf("%v\n%s", err, q.JSON())
	}
	return a
}

// put sets a number of a request that the table takes.
func put(q *Request, path string, v float64) {
	if !inputs.setNum(q, inputs.mustIndex(path), v) {
		panic("core: the table refuses " + path + " " + jsontext.NumberText(v))
	}
}
