package core

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"spareamps/core/limit"
)

// ownA returns each limit's own ceiling, in the order of the table.
func (a *Answer) ownA() (own [limit.Count]float64) {
	for _, row := range a.Limits {
		own[row.Limit] = row.InputA
	}
	return own
}

// A harsher is a change of a moment or rig for the worse.
type harsher struct {
	name, path string
	up         bool
}

var harshers = []harsher{
	{"hotter", "moment.ambient_C", true},
	{"higher", "moment.altitude_m", true},
	{"dustier", "rig.alternator.fouling", true},
	{"more vehicle loads", "moment.vehicle_loads_W", true},
	{"surer", "confidence", true},
	{"slower on the road", "moment.speed_kmh", false},
}

// Where two answers lie either side of a step of rounding they may part by one
// step though the unrounded values agree within the solver's 1e-6.
const roundedA = 0.1

// The ceiling, its output, every limit's own ceiling, that of the likeliest
// vehicle and the one after idling never rise when the moment gets worse.
//
// Where watts bind, the charger's output or the house battery, a hotter lead
// takes a little more amps for the same watts: there only the watts are held to.
// The house battery's temperature is stated: a warmer LiFePO4 battery takes
// more. Where the inlet air was measured, a slower vehicle has less of a soak
// before it, so the ceiling after idling is left out there.
func TestCeilingNeverRises(t *testing.T) {
	flips, cases := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		q := drawRequest(rapidPicker{t}, 0.1)
		for _, path := range []string{"moment.house_battery_C", "rig.alternator.fouling", "moment.vehicle_loads_W"} {
			i := inputs.mustIndex(path)
			if !q.given.has(i) {
				put(&q, path, map[string]float64{"moment.house_battery_C": 25, "rig.alternator.fouling": 0.2, "moment.vehicle_loads_W": 500}[path])
			}
		}
		before := answered(t, &q)
		for _, h := range harshers {
			i := inputs.mustIndex(h.path)
			f := &inputs.fields[i]
			far := f.Max
			if !h.up {
				far = f.Min
			}
			worse := q
			v := *f.num(&q, 0)
			share := rapid.Float64Range(0, 1).Draw(t, h.name)
			put(&worse, h.path, math.Min(math.Max(v+share*share*(far-v), f.Min), f.Max))
			after := answered(t, &worse)

			rounded := func(what string, was, is, step float64) {
				cases++
				switch rise := is - was; {
				case rise <= 1e-9:
				case rise <= step*1.0001:
					flips++
				default:
					t.Fatalf("%s (%s %v to %v): %s rises from %v to %v\n%s", h.name, h.path, v, *f.num(&worse, 0), what, was, is, q.JSON())
				}
			}
			step := 1.0
			if q.Rig.Charger.Given {
				step = q.Rig.Charger.StepW
			}
			inWatts := func(lim int) bool { return lim == limit.ChargerOutput || lim == limit.HouseBattery }
			for _, x := range []struct {
				name    string
				was, is Setting
			}{{"ceiling", before.Ceiling, after.Ceiling}, {"nominal", before.Nominal, after.Nominal}, {"after_idle", before.AfterIdle, after.AfterIdle}} {
				if x.name == "after_idle" && h.path == "moment.speed_kmh" && q.states("moment.inlet_C") {
					continue
				}
				// The setting is held to what input_A, rounded down, gives.
				rounded(x.name+".output_W", x.was.OutputW, x.is.OutputW, step+roundedA*before.BusV)
				if !inWatts(x.is.Limit) {
					rounded(x.name+".input_A", x.was.InputA, x.is.InputA, roundedA)
				}
			}
			was, is := before.ownA(), after.ownA()
			for k := range was {
				switch k {
				case limit.ChargerOutput, limit.HouseBattery:
					continue // watts: a hotter lead takes more amps for them
				case limit.Winding, limit.Rotor, limit.Belt:
					continue // looked for where they bind before the output only
				}
				if is[k] > was[k]+1e-4+1e-6*was[k] {
					t.Fatalf("%s (%s %v to %v): own ceiling of %s rises from %v to %v\n%s", h.name, h.path, v, *f.num(&worse, 0), limit.Table[k].Name, was[k], is[k], q.JSON())
				}
			}
		}
	})
	if flips > 1+cases/500 {
		t.Errorf("%d of %d rounded values rise by a step: more than rounding explains", flips, cases)
	}
}

// What every answer keeps to, whatever was asked.
func TestCeilingIsSound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := drawRequest(rapidPicker{t}, rapid.SampledFrom([]float64{0, 0.1, 1}).Draw(t, "wild"))
		a := answered(t, &q)
		for i := range outputs.outputs {
			o := &outputs.outputs[i]
			if o.num == nil {
				continue
			}
			rows := 1
			for _, l := range outputs.lists {
				if within(o.Path, l.path) {
					rows = l.rows(a)
				}
			}
			for row := range rows {
				v := o.num(a, row)
				if math.IsNaN(v) || v < never && (math.IsInf(v, 0) || math.Abs(v) > 1e9 && !strings.Contains(o.Path, "ageing")) {
					t.Errorf("%s[%d] = %v\n%s", o.Path, row, v, q.JSON())
				}
			}
		}
		for i := 1; i < len(a.Limits); i++ {
			if a.Limits[i].InputA < a.Limits[i-1].InputA {
				t.Errorf("limits are not sorted: %v\n%s", a.Limits, q.JSON())
			}
		}
		seen := [limit.Count]bool{}
		for _, l := range a.Limits {
			seen[l.Limit] = true
		}
		for i, ok := range seen {
			if !ok {
				t.Errorf("%s is not among the limits", limit.Table[i].Name)
			}
		}
		step := 1.0
		if q.Rig.Charger.Given {
			step = q.Rig.Charger.StepW
		}
		for _, s := range []struct {
			name string
			Setting
		}{{"ceiling", a.Ceiling}, {"nominal", a.Nominal}, {"after_idle", a.AfterIdle}, {"advice", a.Advice}} {
			if s.InputA < 0 || s.OutputW < 0 || s.OutputA < 0 || s.DrawA < 0 {
				t.Errorf("%s is negative: %+v\n%s", s.name, s, q.JSON())
			}
			if n := s.OutputW / step; math.Abs(n-math.Round(n)) > 1e-6*(1+n) {
				t.Errorf("%s.output_W %v is not a whole number of steps of %v W\n%s", s.name, s.OutputW, step, q.JSON())
			}
			if q.Rig.Charger.Given && s.OutputW > q.Rig.Charger.MaxOutputW*(1+1e-9) {
				t.Errorf("%s.output_W %v is above max_output_W %v\n%s", s.name, s.OutputW, q.Rig.Charger.MaxOutputW, q.JSON())
			}
			if most := q.Rig.Charger.MaxInputA; most > 0 && s.InputA > most+1e-9 {
				t.Errorf("%s.input_A %v is above max_input_A %v\n%s", s.name, s.InputA, most, q.JSON())
			}
		}
		if a.Ceiling.InputA > a.Limits[0].InputA+1e-9 {
			t.Errorf("ceiling %v A is above the lowest limit's own %v A (%s)\n%s", a.Ceiling.InputA, a.Limits[0].InputA, limit.Table[a.Limits[0].Limit].Name, q.JSON())
		}
		if a.Advice.OutputW > a.Ceiling.OutputW || a.Advice.OutputW > a.AfterIdle.OutputW {
			t.Errorf("advice %v W is above now %v W or after idling %v W\n%s", a.Advice.OutputW, a.Ceiling.OutputW, a.AfterIdle.OutputW, q.JSON())
		}
		zero := false
		for _, s := range a.Says {
			zero = zero || s.Code == "zero"
		}
		if zero != (a.Ceiling.OutputW == 0) {
			t.Errorf("ceiling %v W: explained as zero %v\n%s", a.Ceiling.OutputW, zero, q.JSON())
		}
	})
}

// Five hours at the ceiling, from cold, pass no limit of winding, rotor or
// rectifier in any vehicle but those the confidence tolerates.
func TestFiveHoursAtTheCeiling(t *testing.T) {
	n := 60
	if testing.Short() {
		n = 10
	}
	hottest := math.Inf(-1)
	for _, r := range trials(22, n, 0.05) {
		below := 0
		for i := range r.st.sample {
			v := &r.st.sample[i]
			if r.st.crowd.least[i] < r.ceiling {
				below++
				continue
			}
			o := v.operating(r.st, &r.now)
			current := r.ceiling + r.now.otherA(v)
			at := even(r.now.ambientC)
			x, h := 0.5, 10.0
			for s := 0.0; s < 5*3600; s += h {
				h = math.Min(1.1*h, 300)
				x = o.step(&at, current, h, x)
				over, node := r.beyond(&o, &at, current)
				hottest = math.Max(hottest, over)
				if over > 0.05 {
					t.Fatalf("after %.0f s at %.2f A node %d of vehicle %d passes its limit by %.3f K\n%s", s+h, r.ceiling, node, i, over, r.q.JSON())
				}
			}
		}
		if below > r.k {
			t.Errorf("%d vehicles fall below the ceiling, tolerated %d\n%s", below, r.k, r.q.JSON())
		}
	}
	t.Logf("nearest to a limit: %.4f K", hottest)
}
