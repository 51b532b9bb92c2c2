package core

import (
	"math"
	"testing"

	"spareamps/core/limit"
)

func follow(t testing.TB) (*Follower, Reading) {
	t.Helper()
	q := Demo()
	f, err := NewFollower(&q)
	if err != nil {
		t.Fatal(err)
	}
	return f, Reading{q.Moment.EngineRpm, q.Moment.SpeedKmh, q.Moment.AmbientC, 0}
}

// Driving on at what is allowed leads to the ceiling that lasts: the advice of
// a moment says how far one may go for ever and through a stop.
func TestFollowSettlesAtTheCeiling(t *testing.T) {
	f, r := follow(t)
	for range 180 {
		f.Advance(&r, 1)
		r.ChargerA = f.Allowed(&r).InputA
	}
	q := Demo()
	a, err := Ceiling(&q)
	if err != nil {
		t.Fatal(err)
	}
	got := f.Allowed(&r)
	t.Logf("after three hours %v W by %s, steady advice %v W", got.OutputW, limit.Table[got.Limit].Name, a.Advice.OutputW)
	// The stop's air warms with a lag here, and is as it is after ten minutes
	// from its first minute there.
	if got.OutputW < a.Advice.OutputW || got.OutputW > a.Ceiling.OutputW {
		t.Errorf("after three hours got %v W, want from the advice %v to the ceiling %v", got.OutputW, a.Advice.OutputW, a.Ceiling.OutputW)
	}
	if limit := f.st.class.windingLimitC(); got.WindingC > limit+0.5 {
		t.Errorf("winding at %v °C at the confidence asked, want at most %v", got.WindingC, limit)
	}
}

// Hotter air, a hotter machine, or a stop never allow more.
func TestFollowIsMonotone(t *testing.T) {
	cool, r := follow(t)
	cool.Advance(&r, 1)
	hot, _ := follow(t)
	hard := r
	hard.ChargerA = 45
	hot.Advance(&hard, 90)
	if a, b := cool.Allowed(&r), hot.Allowed(&r); b.OutputW > a.OutputW || b.WindingC <= a.WindingC {
		t.Errorf("after hard charging %+v, after none %+v", b, a)
	}
	warmer := r
	warmer.AmbientC += 12
	if a, b := cool.Allowed(&r), cool.Allowed(&warmer); b.OutputW > a.OutputW {
		t.Errorf("in hotter air %v W, else %v W", b.OutputW, a.OutputW)
	}
}

// A rest cools, whatever its length is cut into; no reading leads to what is
// no number.
func TestFollowRests(t *testing.T) {
	f, r := follow(t)
	r.ChargerA = 40
	f.Advance(&r, 60)
	before := f.Allowed(&r).WindingC
	off := Reading{AmbientC: 20}
	f.Advance(&off, 600)
	a := f.Allowed(&off)
	if a.OutputW != 0 || a.WindingC > 25 || a.WindingC < 20 {
		t.Errorf("ten hours after %v °C: %+v", before, a)
	}
	for _, r := range []Reading{{8000, 200, 60, 500}, {1, 0, -40, 0}, {600, 0, 60, 1e4}} {
		f.Advance(&r, 30)
		a := f.Allowed(&r)
		for _, x := range []float64{a.OutputW, a.InputA, a.WindingC, a.JunctionC, a.RotorC} {
			if math.IsNaN(x) || math.IsInf(x, 0) || x > 1e4 && x != a.WindingC {
				t.Errorf("%+v: %+v", r, a)
			}
		}
	}
}

func BenchmarkFollow(b *testing.B) {
	f, r := follow(b)
	r.ChargerA = 20
	for b.Loop() {
		f.Advance(&r, 0.1)
		f.Allowed(&r)
	}
}
