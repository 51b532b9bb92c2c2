package core

import (
	"math"
	"testing"
)

// A hold time is what a fine simulation says: shortly before it every limit is
// kept, shortly after one is passed, by the vehicle at the edge.
func TestHoldTimes(t *testing.T) {
	n := 80
	if testing.Short() {
		n = 15
	}
	rows, lasting, worst := 0, 0, 0.0
	for _, r := range trials(41, n, 0.05) {
		a := new(Answer)
		r.st.answer(&r.q, a, wantCeiling|wantHold)
		resp := r.st.respond(&r.now, &r.w, r.least)
		edge := r.st.edge(&r.now, &r.w, &resp, r.ceiling)
		o := edge.operating(r.st, &r.now)
		l := &noLead
		if r.st.hasLead {
			l = &r.st.lead
		}
		other := r.now.otherA(&edge)
		warm := edge.inputFor(r.q.Moment.SettingW, l, o.inletC) + other
		start := even(r.now.ambientC)
		x := 0.5
		for s := 0.0; s < 60*r.q.Moment.MinutesSinceStart; s += 30 {
			x = o.step(&start, warm, math.Min(30, 60*r.q.Moment.MinutesSinceStart-s), x)
		}
		before := a.Ceiling.OutputW
		for _, h := range a.Hold[:a.Holds] {
			if h.OutputW <= before {
				t.Errorf("hold of %v W after %v W: want them to rise\n%s", h.OutputW, before, r.q.JSON())
			}
			before = h.OutputW
			current := h.InputA + other
			passed := math.Inf(1)
			at, x := start, x
			if over, _ := r.beyond(&at, current); over > 0 {
				passed = 0
			}
			for s := 0.0; s < 3600 && math.IsInf(passed, 1); s += 2 {
				was, _ := r.beyond(&at, current)
				x = o.step(&at, current, 2, x)
				if over, _ := r.beyond(&at, current); over > 0 {
					passed = (s + 2*-was/(over-was)) / 60
				}
			}
			if h.Minutes >= never {
				lasting++
				if passed < 59 {
					t.Errorf("%v W is said to last, but a limit is passed after %.2f min\n%s", h.OutputW, passed, r.q.JSON())
				}
				continue
			}
			rows++
			off := math.Abs(h.Minutes - passed)
			worst = math.Max(worst, math.Min(off, off/(0.05*passed)))
			if passed == 0 != (h.Minutes == 0) || off > 0.1+0.05*h.Minutes {
				t.Errorf("%v W for %.2f min until %s, in fine steps %.2f min\n%s", h.OutputW, h.Minutes, Limits[h.Limit].Name, passed, r.q.JSON())
			}
		}
		for i := 1; i < a.Holds; i++ {
			if a.Hold[i].Minutes > a.Hold[i-1].Minutes {
				t.Errorf("a higher setting may be held for longer: %v\n%s", a.Hold[:a.Holds], r.q.JSON())
			}
		}
	}
	t.Logf("%d hold times, %d that last", rows, lasting)
	if rows < n/2 {
		t.Errorf("only %d hold times: the draws are dull", rows)
	}
}
