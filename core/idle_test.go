package core

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"spareamps/core/internal/near"
	"spareamps/core/limit"
)

// throughStop follows a stop in steps of 5 s: a long drive at one output, then
// ten minutes of idling at another. It returns by how much winding or rotor
// pass their limit before the stop, and by how much at the worst after it.
func (v *vehicle) throughStop(r *trial, idle *scene, currentA float64) (before, after float64) {
	moving, idling := v.operating(r.st, &r.now), v.operating(r.st, idle)
	start := moving.start()
	p := moving.seek(fullField, 0, &start)
	if total := currentA + r.now.otherA(v); total < p.out.a {
		p = moving.seek(fixedCurrent, total, &p)
	}
	over := func(o *operating, t *temperatures) float64 {
		return max(t[winding]-r.limitC(winding, o.inletC), t[rotor]-r.limitC(rotor, o.inletC), t[iron]-r.limitC(iron, o.inletC))
	}
	before, after = over(&moving, &p.t), math.Inf(-1)
	at, x := p.t, p.x
	for range idleMinutes * 12 {
		x = idling.step(&at, currentA+idle.otherA(v), 5, x)
		after = math.Max(after, over(&idling, &at))
	}
	return before, after
}

// The ceiling after idling holds through the stop: from a long drive at it, ten
// minutes of idling pass no limit of winding or rotor, but in the vehicles
// tolerated and in those too hot before the stop, which the ceiling of now is
// there for. Vehicles that fail either are counted too: each ceiling has its
// confidence by itself, both together have a little less.
func TestCeilingThroughIdle(t *testing.T) {
	n := 40
	if testing.Short() {
		n = 8
	}
	hottest, bound, more, most := math.Inf(-1), 0, 0, 0
	for _, r := range trials(31, n, 0) {
		a := new(Answer)
		r.st.answer(&r.q, a, wantCeiling|wantIdle)
		idle := r.st.scene(&r.q, idleMinutes)
		failed, either := 0, 0
		for i := range r.st.sample {
			v := &r.st.sample[i]
			before, after := v.throughStop(r, &idle, a.AfterIdle.InputA)
			switch {
			case before > 0:
			case after > 0.3: // the steps in use are coarser
				failed++
			default:
				hottest = math.Max(hottest, after)
			}
			both := math.Min(a.Ceiling.InputA, a.AfterIdle.InputA)
			if before, after := v.throughStop(r, &idle, both); both > 0 && math.Max(before, after) > 0.3 {
				either++
			}
		}
		if a.AdviceIdle {
			bound++
		}
		if either > r.k {
			more++
			most = max(most, either-r.k)
		}
		if a.AfterIdle.InputA > 0 && failed > r.k {
			t.Errorf("%d vehicles pass winding or rotor through a stop at %.1f A, tolerated %d\n%s", failed, a.AfterIdle.InputA, r.k, r.q.JSON())
		}
	}
	t.Logf("nearest to a limit: %.3f K; idling is the lower in %d of %d; in %d more vehicles than tolerated fail drive or stop, by at most %d of %d", hottest, bound, n, more, most, sampleSize)
	if bound == 0 {
		t.Error("idling is never the lower: the draws are dull")
	}
}

// alone searches one vehicle's ceiling through the stop by halving.
func (t *stop) alone(i int) (float64, int) {
	v := t.vehicles[i]
	if over, _ := t.over(i, v.hi); over <= 0 {
		return v.hi, v.lim
	}
	for v.hi-v.lo > 1e-6 {
		mid := (v.lo + v.hi) / 2
		if over, lim := t.over(i, mid); over > 0 {
			v.hi, v.lim = mid, lim
		} else {
			v.lo = mid
		}
	}
	return v.lo, v.lim
}

// The quantile of the ceilings through a stop is that of every vehicle searched
// alone, in A and in W.
func TestStopQuantile(t *testing.T) {
	n := 60
	if testing.Short() {
		n = 10
	}
	worstA, worstW := 0.0, 0.0
	for _, r := range trials(33, n, 0.05) {
		idle := r.st.scene(&r.q, idleMinutes)
		w := newWarmFor(r.st, &idle)
		r.st.nominal.limits(r.st, &idle, &w)
		r.st.crowd.fill(r.st, &idle, &w)
		s := &r.st.stop
		s.begin(r.st, &r.now, &idle)
		var amps, watts [sampleSize]float64
		for i := range amps {
			amps[i], _ = s.alone(i)
			watts[i] = s.level(i, amps[i], true)
		}
		slices.Sort(amps[:])
		slices.Sort(watts[:])
		for _, k := range []int{r.k, 0, 1, 6, 30, 64} {
			s.begin(r.st, &r.now, &idle)
			side := &r.st.crowd.side // beyond which no more is asked for
			a, watt := math.Max(math.Min(s.quantile(k, false), side.a), 0), math.Max(side.capped(s.quantile(k, true)), 0)
			wantA, wantW := math.Max(math.Min(amps[k], side.a), 0), math.Max(side.capped(watts[k]), 0)
			worstA, worstW = math.Max(worstA, math.Abs(a-wantA)), math.Max(worstW, math.Abs(watt-wantW))
			near.Abs(t, fmt.Sprintf("%d-th in A", k), a, wantA, stopWithinA+1e-5*a)
			near.Abs(t, fmt.Sprintf("%d-th in W", k), watt, wantW, stopWithinW+1e-5*watt)
			if t.Failed() {
				t.Fatalf("%s", r.q.JSON())
			}
		}
	}
	t.Logf("off by at most %.1e A, %.1e W", worstA, worstW)
}

// Finer steps through the stop move a vehicle's ceiling by less than 0.1 A.
func TestIdleStepsAreFine(t *testing.T) {
	n := 40
	if testing.Short() {
		n = 8
	}
	worst, seen := 0.0, 0
	for _, r := range trials(32, n, 0) {
		idle := r.st.scene(&r.q, idleMinutes)
		w := newWarmFor(r.st, &idle)
		r.st.nominal.limits(r.st, &idle, &w)
		r.st.crowd.fill(r.st, &idle, &w)
		r.st.stop.begin(r.st, &r.now, &idle)
		for i := 0; i < sampleSize; i += 11 {
			v := &r.st.sample[i]
			wi := w
			c, _ := v.limits(r.st, &idle, &wi)
			r.st.crowd.side.widen(&c)
			lasting := c.least()
			got, lim := r.st.stop.alone(i)
			if got <= lasting || got <= 0 || !bySlowHeat(lim) {
				continue // not set by the stop
			}
			lo, hi := lasting, 2*got+1
			for range 40 {
				mid := (lo + hi) / 2
				if before, after := v.throughStop(r, &idle, mid); math.Max(before, after) > 0 {
					hi = mid
				} else {
					lo = mid
				}
			}
			seen++
			// Above what the output can carry the stop asks for no more.
			c[limit.Winding], c[limit.Rotor], c[limit.Case] = never, never, never
			want := math.Min(lo, c.least())
			worst = math.Max(worst, math.Abs(got-want))
			if math.Abs(got-want) > 0.1 {
				t.Errorf("vehicle %d: %.3f A through the stop, in fine steps %.3f A\n%s", i, got, want, r.q.JSON())
			}
		}
	}
	t.Logf("%d vehicles: off by at most %.3f A", seen, worst)
	if !testing.Short() && seen < 20 {
		t.Errorf("only %d vehicles are set by the stop: the draws are dull", seen)
	}
}
