package core

import (
	"cmp"

	"spareamps/core/detmath"
	"spareamps/core/rig"
)

// fitMoments is the number of moments for which a gain is told.
const fitMoments = 4

// A Gain is what is allowed at a moment before and after.
type Gain struct {
	EngineRpm, SpeedKmh, AmbientC float64
	Before, After                 Allowed
}

// Allowed is a ceiling in short.
type Allowed struct {
	InputA     float64 // into the charger, at the asked confidence
	SettingW   float64 // as advised
	LikeliestA float64 // into the charger, in the likeliest vehicle
}

// A Suggestion is a reading that would raise the ceiling.
type Suggestion struct {
	Which int // index into the table of suggestions
	GainA float64
}

// suggested is what may be read next: conditions and what is read, or an
// unknown that can be measured directly.
type suggested struct {
	name  string
	how   string
	kind  int // of the table of instruments; -1: direct
	knows int // the unknown it tells, if direct
	row   func(q *Request) rig.Observation
}

var suggestions = [...]suggested{
	{"inlet_air", "tie a probe beside the alternator's inlet before driving, lead clear of belt and fan; read it after 20 minutes of driving as now", readsInlet, 0, likeNow(20)},
	{"core", "engine cold and off, put a dab of matt paint on the bare laminations; drive half an hour as now at the advised setting, stop, engine off, bonnet up, aim an infrared thermometer at the dab within a minute, touch nothing, and state surface painted; on bare metal it reads 20 to 30 K low and helps little", readsCore, 0, onPaint(30)},
	{"housing", "engine cold and off, stick matt tape on the housing's front, clear of belt and fan; drive half an hour as now at the advised setting, stop, engine off, aim an infrared thermometer at the tape within a minute, and state surface painted; on bare metal it reads 20 to 30 K low and helps little", readsCase, 0, onPaint(30)},
	{"rectifier_plates", "after ten minutes at the advised setting, engine off, aim an infrared thermometer at a dark, dull spot of the plates behind the rear cover within a minute, and state surface dull; they are live: no metal, paint or tape near them", readsPlates, 0, onDull(10)},
	{"output_at_idle", "standing, everything on until the volts sag, clamp the alternator's thick lead for a few seconds; sleeves and lead clear of belt and fan", readsOutput, 0, allOn(0)},
	{"output_at_speed", "parked, somebody holds 2000 engine rpm with everything on until the volts sag: clamp the alternator's thick lead for a few seconds, hands clear of belt and fan", readsOutput, 0, allOn(2000)},
	{"volts", "engine hot, idling a little fast, usual loads: volts at the alternator", readsBus, 0, likeNow(20)},
	{"charger_input", "clamp one conductor of the charger's lead at a steady setting", readsInput, 0, likeNow(5)},
	{"vents", "engine cold and off: look at the vents with a light, brush them, and state fouling", -1, uFlow, nil},
	{"pulleys", "engine off, key out: measure both pulleys' diameters and state pulley_ratio", -1, uPulley, nil},
}

// likeNow makes an observation under the conditions of the moment, at a setting
// that the charger's rating allows and half of it.
func likeNow(minutes float64) func(*Request) rig.Observation {
	return func(q *Request) rig.Observation {
		m := &q.Moment
		return rig.Observation{Begins: "warm", Minutes: minutes, EngineRpm: detmath.Max(m.EngineRpm, 1), SpeedKmh: m.SpeedKmh, AmbientC: m.AmbientC,
			AltitudeM: m.AltitudeM, SettingW: 0.5 * q.Rig.Charger.MaxOutputW, VehicleLoadsW: m.VehicleLoadsW}
	}
}

// onPaint and onDull make an observation of a part under the conditions of likeNow,
// read on matt paint or on dull metal.
func onPaint(minutes float64) func(*Request) rig.Observation { return aimedAt("painted", minutes) }
func onDull(minutes float64) func(*Request) rig.Observation  { return aimedAt("dull", minutes) }

func aimedAt(surface string, minutes float64) func(*Request) rig.Observation {
	now := likeNow(minutes)
	return func(q *Request) rig.Observation {
		o := now(q)
		o.Surface = surface
		return o
	}
}

// allOn makes one with everything on, at a speed, or at idle where that is 0.
func allOn(rpm float64) func(*Request) rig.Observation {
	return func(q *Request) rig.Observation {
		return rig.Observation{Begins: "warm", Minutes: 1, EngineRpm: cmp.Or(rpm, q.Rig.Engine.IdleRpm), AmbientC: q.Moment.AmbientC,
			AltitudeM: q.Moment.AltitudeM, EverythingOn: "yes"}
	}
}

// gains tells what was gained at common moments, and what the next readings
// would gain.
//
// The ceiling at a confidence lies q deviations of it below its likeliest
// value; to first order its variance is gᵀ·C·g, and a reading of sensitivity j
// takes (gᵀ·C·j)²/(1 + jᵀ·C·j) from it.
func (f *fitter) gains(l *Learning, best *[parameters]float64, cov *symmetric) {
	q := *f.q
	after := q
	if l.Keep {
		after.Learn(l.Learned)
	}
	asked := q.Moment
	moments := [fitMoments][2]float64{{asked.EngineRpm, asked.SpeedKmh}, {q.Rig.Engine.IdleRpm, 0}, {1500, 20}, {2200, 60}}
	ready, answer := new(study), new(Answer)
	allowed := func(q *Request) (list [fitMoments]Allowed) {
		ready.prepare(q)
		ready.draws()
		for i, at := range moments {
			q.Moment.EngineRpm, q.Moment.SpeedKmh = at[0], at[1]
			ready.answer(q, answer, wantCeiling|wantIdle)
			list[i] = Allowed{answer.Ceiling.InputA, answer.Advice.OutputW, answer.Nominal.InputA}
		}
		return list
	}
	then, since := allowed(&q), allowed(&after)
	for i, at := range moments {
		l.Moments[i] = Gain{at[0], at[1], asked.AmbientC, then[i], since[i]}
	}
	q.Moment = asked

	// The slopes of the ceiling around the likeliest vehicle.
	st := f.st
	s := st.scene(&q, 0)
	w := newWarmFor(st, &s)
	var g [parameters]float64
	var z [unknowns]float64
	copy(z[:], best[:])
	const step = 0.5
	for j := range z {
		at := z
		at[j] += step
		up := st.leastAt(&s, &w, &at)
		at[j] -= 2 * step
		g[j] = (up - st.leastAt(&s, &w, &at)) / (2 * step)
	}
	k := tolerated(q.Confidence)
	far := -normalAt(k)
	var cg [parameters]float64
	before := 0.0
	for i := range g {
		for j := range g {
			cg[i] += cov[i][j] * g[j]
		}
		before += g[i] * cg[i]
	}
	before = detmath.Sqrt(detmath.Max(before, 0))

	for i := range suggestions {
		t := &suggestions[i]
		var row [parameters]float64
		if t.kind < 0 {
			known := Unknowns[t.knows].Known / Unknowns[t.knows].Spread
			if st.spread[t.knows] <= Unknowns[t.knows].Known || known >= 1 {
				continue
			}
			row[t.knows] = detmath.Sqrt(1/(known*known) - 1)
		} else {
			ask := *f.q
			o := t.row(f.q)
			ask.Rig.Observations = []rig.Observation{o}
			one := fitter{}
			one.set(st, &ask)
			if !one.tells(&o, t.kind) {
				continue
			}
			one.values = []Residual{{Row: 0, Kind: t.kind, Deviation: 1}}
			one.out, one.moved, one.jac = make([]float64, 1), make([]float64, 1), make([][parameters]float64, 1)
			one.expect(best, one.out)
			one.values[0].Deviation = instrumentTable[t.kind].deviation(one.out[0])
			one.differentiate(best, one.out)
			row = one.jac[0]
		}
		gj, jj := 0.0, 1.0
		for a := range row {
			gj += row[a] * cg[a]
			for b := range row {
				jj += row[a] * cov[a][b] * row[b]
			}
		}
		gain := far * (before - detmath.Sqrt(detmath.Max(before*before-gj*gj/jj, 0)))
		if gain >= 0.05 {
			l.Next = append(l.Next, Suggestion{i, gain})
		}
	}
	for i := 1; i < len(l.Next); i++ {
		for j := i; j > 0 && l.Next[j].GainA > l.Next[j-1].GainA; j-- {
			l.Next[j], l.Next[j-1] = l.Next[j-1], l.Next[j]
		}
	}
}
