package core

import (
	"bytes"
	"encoding/json"
	"math"
	"testing"

	"pgregory.net/rapid"

	"spareamps/core/calendar"
	"spareamps/core/internal/near"
	"spareamps/core/jsontext"
	"spareamps/core/limit"
	"spareamps/core/rig"
)

func planOf(t interface{ Fatal(...any) }, q *Request) *Plan {
	a, err := PlanDay(q)
	if err != nil {
		t.Fatal(err)
	}
	return a.Plan
}

// ledgerGap is by how much a ledger fails to close, as a share of what flowed.
func ledgerGap(p *Plan) float64 {
	sum, size := 0.0, 1.0
	for _, e := range p.Ledger {
		sum += e.Wh
		size += math.Abs(e.Wh)
	}
	return math.Abs(sum) / size
}

func TestDemoDay(t *testing.T) {
	q := Demo()
	p := planOf(t, &q)
	if gap := ledgerGap(p); gap > 1e-9 {
		t.Errorf("the ledger misses by %g", gap)
	}
	if !p.Reached || p.SettingW <= 0 || p.SettingW > p.AllowedW {
		t.Errorf("setting %g W of %g, reached %v: the demo day is to work", p.SettingW, p.AllowedW, p.Reached)
	}
	if !bytes.Equal(DayJSON(q.JSON()), dayOutputs.encode(nil, &Answer{Confidence: q.Confidence, Plan: p, Says: says(t, &q), Cautions: cautionsOf(t, &q)})) {
		t.Error("the answer in JSON is not that of the struct")
	}
}

func says(t *testing.T, q *Request) []Sentence {
	a, err := PlanDay(q)
	if err != nil {
		t.Fatal(err)
	}
	return a.Says
}

func cautionsOf(t *testing.T, q *Request) []string {
	a, err := PlanDay(q)
	if err != nil {
		t.Fatal(err)
	}
	return a.Cautions
}

// On any day: energy is conserved; the setting advised reaches the wanted
// charge and a step less does not; and at it no limit is passed.
func TestAnyDay(t *testing.T) {
	if testing.Short() {
		t.Skip("random days take long")
	}
	tried := 0
	rapid.Check(t, func(t *rapid.T) {
		q := drawDay(t)
		var d Advisor
		a, err := d.Day(&q)
		if err != nil {
			t.Fatal(err)
		}
		checkLedger(t, a.Plan)
		keepsLimits(t, &d)
		if p := a.Plan; p.Reached && p.SettingW > 0 {
			tried++
			q.Day.SettingW = p.SettingW
			if !planOf(t, &q).Reached {
				t.Fatalf("%g W was advised, but does not reach the charge", p.SettingW)
			}
			q.Day.SettingW = p.SettingW - q.Rig.Charger.StepW
			if q.Day.SettingW > 0.1 && planOf(t, &q).Reached {
				t.Fatalf("%g W was advised, but a step of %g W less does too", p.SettingW, q.Rig.Charger.StepW)
			}
		}
	})
	t.Logf("%d days with a sufficient setting", tried)
}

func checkLedger(t *rapid.T, p *Plan) {
	if gap := ledgerGap(p); gap > 1e-9 {
		t.Fatalf("the ledger misses by %g of what flowed: %+v", gap, p.Ledger)
	}
	size := 0.0
	for _, e := range p.Ledger {
		size += math.Abs(e.Wh)
	}
	for _, e := range p.Ledger {
		if math.IsNaN(e.Wh) || math.IsInf(e.Wh, 0) {
			t.Fatalf("%s is %g", e.Name, e.Wh)
		}
		// A battery warmer or colder than 25 °C takes a little heat from the air.
		if e.Kind == "loss" && e.Wh > 0.01*size {
			t.Fatalf("loss %s gains %g Wh", e.Name, e.Wh)
		}
	}
}

// keepsLimits follows the likeliest vehicle through the day as it was charged.
func keepsLimits(t *rapid.T, d *Advisor) {
	st, p := &d.study, &d.planner
	for _, s := range d.answer.Plan.Stretches {
		if s.SettingW > s.AllowedW {
			t.Fatalf("set to %g W where %g is allowed", s.SettingW, s.AllowedW)
		}
	}
	h := newDayHeat(&st.nominal, new(operating), p.steps[0].ambientC)
	for i := range p.steps {
		s := &p.steps[i]
		if !s.engine {
			h.rest(s.ambientC, 1)
			continue
		}
		w := p.record.chargeW[i]
		over, lim := h.run(st, s, &p.used[s.bin], w, math.Max(p.record.starterA[i], 0), 1, i, nil)
		if over > 0 && w > 0 {
			t.Fatalf("minute %d: %s passed by %g K at %g W", i, limit.Table[lim].Name, over, w)
		}
		if c, _ := p.ceilingW(i); w > c+1e-9 {
			t.Fatalf("minute %d: %g W where the ceiling is %g", i, w, c)
		}
	}
}

// More sun, fewer loads or a longer drive never lower the evening's charge.
func TestMoreNeverLowersTheEvening(t *testing.T) {
	if testing.Short() {
		t.Skip("random days take long")
	}
	rapid.Check(t, func(t *rapid.T) {
		q := drawDay(t)
		q.Day.Days, q.Day.WantBy = 1, 1430
		q.Rig.Charger.FeedW = 0 // what may be fed ends at the reserve, which more of anything puts off
		for i := range q.Day.Switches {
			if q.Day.Switches[i].To == "feed" {
				q.Day.Switches[i].To = "off"
			}
		}
		q.Day.SettingW = rapid.Float64Range(20, 400).Draw(t, "setting")
		evening := func(q Request) (soc, set float64) {
			p := planOf(t, &q)
			for _, s := range p.Stretches {
				set += s.SettingW
			}
			return p.SocThen, set
		}
		before, set := evening(q)
		check := func(what string, q Request) {
			// Near full the taper is followed in whole steps: that leaves a millionth.
			// What the battery takes is shared: more sun may leave the charger less.
			if got, now := evening(q); got < before-1e-5 && now >= set {
				t.Fatalf("%s: charge %.12f, before %.12f", what, got, before)
			}
		}
		more := q
		more.Rig.Solar.PeakW *= 1.3
		check("a larger panel", more)
		if q.Rig.Solar.TiltDeg == 0 { // a panel turned from the sun lives on the light of clouds
			more = q
			more.Day.Cloud *= 0.5
			check("fewer clouds", more)
		}
		if n := len(q.Day.Loads); n > 0 && q.Day.Loads[n-1].Side != "vehicle" {
			more = q
			more.Day.Loads = append([]rig.Load(nil), q.Day.Loads[:n-1]...)
			check("a load less", more)
		}
	})
}

// Driving longer at the end never lowers the evening's charge.
func TestDrivingLonger(t *testing.T) {
	q := Demo()
	q.Day.SettingW = 200
	last := 0.0
	for _, end := range []float64{1060, 1070, 1080, 1090} {
		q.Day.Legs = append([]rig.Leg(nil), q.Day.Legs...)
		n := len(q.Day.Legs)
		q.Day.Legs[n-2].To, q.Day.Legs[n-1].From = end, end
		soc := planOf(t, &q).SocThen
		if soc < last {
			t.Errorf("driving until %s leaves %g, less before %g", calendar.ClockText(end), soc, last)
		}
		last = soc
	}
}

// dayStepBound is by how much halving the step may move the charge of either
// battery at the end of a day; a charger that runs a starter battery down until
// it cuts out does so a step earlier or later.
const dayStepBound = 0.003

func TestDayStepConverges(t *testing.T) {
	if testing.Short() {
		t.Skip("random days take long")
	}
	rapid.Check(t, func(t *rapid.T) {
		q := drawDay(t)
		q.Day.Days = 1
		// Stops that do not fall on whole steps shift by up to half of one.
		for i := range q.Day.Legs {
			l := &q.Day.Legs[i]
			l.StopEveryMin, l.StopMin = math.Round(l.StopEveryMin), math.Round(l.StopMin)
		}
		q.Day.SettingW = rapid.Float64Range(20, 400).Draw(t, "setting")
		var d Advisor
		at := func(step float64) (house, starter float64) {
			a, err := d.dayBy(&q, step)
			if err != nil {
				t.Fatal(err)
			}
			return a.Plan.HouseSoc, a.Plan.StarterSoc
		}
		h1, s1 := at(1)
		h2, s2 := at(0.5)
		cut := 0.0
		if q.Rig.Charger.WithEngine != "yes" {
			cut = 3 * q.Day.SettingW / 60 / 11 / math.Min(q.Rig.StarterBattery.CapacityAh, q.Rig.HouseBattery.CapacityAh)
		}
		if math.Abs(h1-h2) > dayStepBound+cut || math.Abs(s1-s2) > dayStepBound+cut {
			t.Fatalf("house %.5f and %.5f, starter %.5f and %.5f at steps of 1 and 0.5 min", h1, h2, s1, s2)
		}
	})
}

// A pack of about 2 kWh charged with 500 W for an hour of slow driving gains
// roughly a fifth. Common practice, no source.
func TestHourAt500W(t *testing.T) {
	q := Demo()
	q.Rig.HouseBattery.CapacityAh = 160
	q.Rig.Charger.MaxOutputW, q.Rig.Charger.MaxInputA = 800, 0
	q.Rig.Alternator.RatedCurrentA, q.Rig.Alternator.IdleCurrentA = 180, 90
	q.Rig.Solar.Given = false
	q.Day.Loads = nil
	q.Day.Legs = []rig.Leg{{From: 480, To: 540, Kind: "drive", SpeedKmh: 15, EngineRpm: 1800, AltitudeM: math.NaN()}}
	q.Day.SettingW, q.Day.HouseSoc = 500, 0.4
	p := planOf(t, &q)
	if gain := p.SocThen - 0.4; gain < 0.17 || gain > 0.25 {
		t.Errorf("an hour at 500 W (allowed %g) adds %.3f, want roughly 0.2", p.AllowedW, gain)
	}
}

// Whatever the text, the answer is an object, and an error where there is one.
func FuzzDay(f *testing.F) {
	q := Demo()
	f.Add(q.JSON())
	f.Add([]byte(`{"rig":{"alternator":{"rated_current_A":120},"charger":{"max_output_W":600},"house_battery":{"chemistry":"agm","capacity_Ah":100}},"day":{"min_C":-5,"max_C":4,"house_soc":0.2,"legs":[{"from":"23:00","to":"24:00","kind":"drive","speed_kmh":50}]}}`))
	f.Add([]byte(`{"day":{"legs":[{"from":"7:00","to":"07:00","kind":"drive"}],"track":[{"minute":1,"speed_kmh":3}],"start":"25:00","date":"2026-02-30"}}`))
	f.Add([]byte(`{"day":{"days":30,"loads":[{"name":"\u202e","watts":1e9,"to":"24:01"}],"switches":[{"at":"06:00","to":"feed"}]}}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		answer := DayJSON(text)
		if !json.Valid(answer) {
			t.Fatalf("%q answers %q", text, answer)
		}
		if bytes.Contains(answer, []byte("NaN")) || bytes.Contains(answer, []byte("Inf")) {
			t.Fatalf("%q answers %q", text, answer)
		}
	})
}

func BenchmarkDay(b *testing.B) {
	for _, days := range []float64{1, 7, 30} {
		b.Run(jsontext.NumberText(days), func(b *testing.B) {
			q := Demo()
			q.Day.Days = days
			var d Advisor
			for b.Loop() {
				if _, err := d.Day(&q); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(b.Elapsed().Seconds()*1e3/float64(b.N)/days, "ms/day")
		})
	}
}

// A plan of a day does not depend on the moment that the same request may ask
// about: what is measured now says nothing of the hours to come.
func TestDayIgnoresTheMoment(t *testing.T) {
	without := func(q Request) Request { // the day as it would be asked about alone
		var parts map[string]json.RawMessage
		if err := json.Unmarshal(q.JSON(), &parts); err != nil {
			t.Fatal(err)
		}
		delete(parts, "moment")
		text, err := json.Marshal(parts)
		if err != nil {
			t.Fatal(err)
		}
		alone, err := DecodeDay(text)
		if err != nil {
			t.Fatal(err)
		}
		return alone
	}
	alone := without(Demo())
	want := DayJSON(alone.JSON())
	for _, set := range [][2]string{
		{"moment.inlet_C", "52"}, {"moment.vehicle_loads_W", "900"}, {"moment.engine_rpm", "2500"}, {"moment.speed_kmh", "60"},
		{"moment.ambient_C", "5"}, {"moment.altitude_m", "3000"}, {"moment.house_soc", "0.99"}, {"moment.house_battery_C", "-10"},
		{"moment.minutes_since_start", "1"}, {"moment.setting_W", "600"}, {"moment.idle_loads_W", "1200"},
	} {
		q := alone
		if err := q.Set(set[0], set[1]); err != nil {
			t.Fatal(err)
		}
		if got := DayJSON(q.JSON()); !bytes.Equal(got, want) {
			t.Errorf("%s = %s changes the plan: got %s, want %s", set[0], set[1], got, want)
		}
	}
}

// Loads that are measured narrow a plan's spread, stated once or leg by leg.
func TestDayKnowsItsLoads(t *testing.T) {
	spread := func(change func(q *Request)) float64 {
		q := Demo()
		change(&q)
		var st study
		st.prepareFor(&q, true)
		return st.spread[uVehicle]
	}
	u := &Unknowns[uVehicle]
	near.Abs(t, "stated for the day", spread(func(q *Request) {}), u.Known, 0)
	absent := func(q *Request) {
		q.Day.VehicleLoadsW = 0
		q.given[fieldDayLoads>>6] &^= 1 << (fieldDayLoads & 63)
	}
	near.Abs(t, "stated for the moment alone", spread(absent), u.Spread, 0)
	legs := func(but int) func(q *Request) {
		return func(q *Request) {
			absent(q)
			for i := range q.Day.Legs {
				if l := &q.Day.Legs[i]; i != but && l.Kind == "drive" {
					l.VehicleLoadsW = 350
				}
			}
		}
	}
	near.Abs(t, "stated for every leg", spread(legs(-1)), u.Known, 0)
	near.Abs(t, "stated for every leg but one", spread(legs(0)), u.Spread, 0)
}

var fieldDayLoads = inputs.mustIndex("day.vehicle_loads_W")
