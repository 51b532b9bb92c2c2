package core

import (
	"math"
	"testing"

	"spareamps/core/conductor"
	"spareamps/core/limit"
)

// passes returns after how many minutes from temperatures of now an output
// passes a limit, in steps of 2 s; infinity where it does not within an hour.
func (r *trial) passes(o *operating, start temperatures, currentA float64) float64 {
	at, x := start, 0.5
	was, _ := r.beyond(o, &at, currentA)
	if was > 0 {
		return 0
	}
	for s := 0.0; s < 3600; s += 2 {
		x = o.step(&at, currentA, 2, x)
		over, _ := r.beyond(o, &at, currentA)
		if over > 0 {
			return (s + 2*-was/(over-was)) / 60
		}
		was = over
	}
	return math.Inf(1)
}

// now returns a vehicle's temperatures of now: begun at ambient, after the
// minutes since the start at the setting.
func (r *trial) temperaturesNow(v *vehicle, o *operating, l *conductor.Lead) temperatures {
	warm := v.inputFor(r.q.Moment.SettingW, l, o.leadC) + r.now.otherA(v)
	at, x := even(r.now.ambientC), 0.5
	for s := 0.0; s < 60*r.q.Moment.MinutesSinceStart; s += 30 {
		x = o.step(&at, warm, math.Min(30, 60*r.q.Moment.MinutesSinceStart-s), x)
	}
	return at
}

// A hold time is the stated share of what a fine simulation of the vehicle at
// the edge says; and within it no more of the sample than one in ten beyond
// those tolerated pass a limit of heat.
func TestHoldTimes(t *testing.T) {
	n := 30
	if testing.Short() {
		n = 8
	}
	rows, lasting, most, sum := 0, 0, 0.0, 0.0
	for _, r := range trials(41, n, 0) {
		a := new(Answer)
		r.st.answer(&r.q, a, wantCeiling|wantHold)
		resp := r.st.respond(&r.now, &r.w, r.least)
		edge := r.st.edge(&r.now, &r.w, &resp, r.ceiling)
		o := edge.operating(r.st, &r.now)
		l := &noLead
		if r.st.hasLead {
			l = &r.st.lead
		}
		start := r.temperaturesNow(&edge, &o, l)
		before := a.Ceiling.OutputW
		for i, h := range a.Hold[:a.Holds] {
			if h.OutputW <= before {
				t.Errorf("hold of %v W after %v W: want them to rise\n%s", h.OutputW, before, r.q.JSON())
			}
			before = h.OutputW
			if i > 0 && h.Minutes > a.Hold[i-1].Minutes {
				t.Errorf("a higher setting may be held for longer: %v\n%s", a.Hold[:a.Holds], r.q.JSON())
			}
			passed := r.passes(&o, start, h.InputA+r.now.otherA(&edge))
			if h.Minutes >= never {
				lasting++
				if passed < 59 {
					t.Errorf("%v W is said to last, but a limit is passed after %.2f min\n%s", h.OutputW, passed, r.q.JSON())
				}
				continue
			}
			rows++
			if want := holdShare * passed; math.Abs(h.Minutes-want) > 0.1+0.05*want {
				t.Errorf("%v W for %.2f min until %s, by steps of 2 s %.2f min, of which %v is %.2f min\n%s", h.OutputW, h.Minutes, limit.Table[h.Limit].Name, passed, holdShare, want, r.q.JSON())
			}
			if h.Minutes == 0 {
				continue
			}
			failed := 0
			for i := 0; i < sampleSize; i += 4 {
				v := &r.st.sample[i]
				o := v.operating(r.st, &r.now)
				in := v.inputFor(h.OutputW, l, o.leadC)
				if r.passes(&o, r.temperaturesNow(v, &o, l), in+r.now.otherA(v)) < h.Minutes {
					failed += 4
				}
			}
			share := float64(failed-r.k) / sampleSize
			most = math.Max(most, share)
			sum += math.Max(share, 0)
			if share > 0.1 {
				t.Errorf("%v W held for %.2f min: %d of %d vehicles pass a limit, tolerated %d\n%s", h.OutputW, h.Minutes, failed, sampleSize, r.k, r.q.JSON())
			}
		}
	}
	t.Logf("%d hold times, %d that last; beyond the tolerated fail up to %.3f of the vehicles, %.3f in the mean", rows, lasting, most, sum/float64(max(rows, 1)))
	if !testing.Short() && rows < n/5 {
		t.Errorf("only %d hold times: the draws are dull", rows)
	}
}
