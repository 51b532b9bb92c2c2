package core

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"spareamps/core/calendar"
	"spareamps/core/detmath"
	"spareamps/core/internal/near"
	"spareamps/core/rig"
)

// plain is a rig and a day on which one thing at a time is tried.
func plainDay() Request {
	q := Demo()
	q.Rig.StarterBattery.CapacityAh = 80
	q.Day.HouseSoc = 0.5
	q.Day.Loads = nil
	q.Rig.Solar.Given = false
	q.given[fieldOf("day.house_battery_C")>>6] &^= 1 << (fieldOf("day.house_battery_C") & 63)
	q.Day.HouseBatteryC = 0
	q.Day.Legs = []rig.Leg{driving("07:30", "12:00", 25, 1700), driving("14:00", "18:00", 25, 1700)}
	return q
}

func fieldOf(path string) int { return inputs.mustIndex(path) }

func minuteOf(clock string) float64 {
	v, code := (&Field{Kind: Clock, Max: 1440}).readTime([]byte(clock))
	if code != "" {
		panic(clock)
	}
	return v
}

func driving(from, to string, kmh, rpm float64) rig.Leg {
	q := NewRequest()
	inputs.resize(&q, inputs.group("day.legs[]"), 1)
	l := q.Day.Legs[0]
	l.Kind, l.From, l.To, l.SpeedKmh, l.EngineRpm, l.VehicleLoadsW, l.StopEveryMin, l.StopMin = "drive", minuteOf(from), minuteOf(to), kmh, rpm, 0, 0, 0
	l.OverallRatio, l.Day, l.Engine = 0, 0, ""
	return l
}

func allSays(a *Answer) string {
	var b strings.Builder
	for _, s := range a.Says {
		b.WriteString(s.Code + ": " + s.Text + "\n")
	}
	for _, f := range a.Validity {
		b.WriteString(f.Code + ": " + f.Message + "\n")
	}
	return b.String()
}

// A LiFePO4 battery is never told to be charged in frost, nor beyond what its
// temperature lets it take, however the air warms later.
func TestDayInFrost(t *testing.T) {
	q := plainDay()
	q.Day.MinC, q.Day.MaxC, q.Day.HouseSoc = -12, 6, 0.3
	q.Rig.Solar.Given = true
	var d Advisor
	a, err := d.Day(&q)
	if err != nil {
		t.Fatal(err)
	}
	p := &d.planner
	x := &daySetting{a.Plan.SettingW, p.allowed}
	charged := 0.0
	for i := range p.steps {
		s := &p.steps[i]
		w := x.at(s)
		if s.to != charge || !s.engine || w <= 0 {
			continue
		}
		charged += w
		if most := AcceptedCurrent(&q.Rig.HouseBattery, s.cellC, 0) * p.house.restV(1, s.cellC); w > most {
			t.Fatalf("%s: set to %g W at %.1f °C, where the battery takes %.0f", calendar.ClockText(p.begin(i)), w, s.cellC, most)
		}
	}
	if charged == 0 {
		t.Error("nothing is charged when it has thawed")
	}
	if text := allSays(a); !strings.Contains(text, "sun_frost") {
		t.Errorf("the sun on a frozen battery is not told of:\n%s", text)
	}
}

// Where nobody changes the setting, the whole day has the lowest.
func TestAutomaticHasOneSetting(t *testing.T) {
	q := plainDay()
	q.Day.Control, q.Rig.Charger.WithEngine = "automatic", "no"
	q.Rig.HouseBattery.CapacityAh, q.Day.HouseSoc = 300, 0.1
	q.Day.Legs = []rig.Leg{driving("07:00", "09:00", 50, 2200), driving("10:00", "12:00", 20, 1600), driving("14:00", "17:00", 6, 1000)}
	auto := planOf(t, &q)
	q.Day.Control = "by_hand"
	hand := planOf(t, &q)
	least := never
	for _, s := range hand.Stretches {
		least = detmath.Min(least, s.AllowedW)
	}
	for _, s := range auto.Stretches {
		if s.AllowedW > least {
			t.Errorf("automatic allows %g W from %s, by hand the least is %g", s.AllowedW, calendar.ClockText(s.From), least)
		}
	}
	a, _ := PlanDay(&q)
	if text := a.Says[0].Text; strings.Count(text, " W") != 3 {
		t.Errorf("three settings by hand, told: %s", text)
	}
}

// Of the vehicles of the sample that stand the day without charging, at most
// the share the confidence leaves out, and one more, pass a limit of heat when
// they are taken through the day at the highest settings.
func TestDayIsSafeForTheCrowd(t *testing.T) {
	if testing.Short() {
		t.Skip("random days take long")
	}
	check := func(t rapid.TB, q *Request) {
		var d Advisor
		if _, err := d.Day(q); err != nil {
			t.Fatal(err)
		}
		p := &d.planner
		alone := make([]bool, sampleSize)
		fails := 0
		for _, charging := range []bool{false, true} {
			for n := range d.study.sample {
				if alone[n] {
					continue
				}
				h := []dayHeat{newDayHeat(&d.study.sample[n], new(operating), p.steps[0].ambientC)}
				for i := range p.steps {
					s := &p.steps[i]
					if !s.engine {
						h[0].rest(s.ambientC, p.stepMin)
						continue
					}
					w := 0.0
					if charging && s.stretch >= 0 {
						w = p.allowed[s.stretch]
					}
					if over, _ := h[0].run(p.st, s, &p.used[s.bin], w, p.takes[i], p.stepMin, i, nil); over > 0.5 {
						if charging {
							fails++
						} else {
							alone[n] = true
						}
						break
					}
				}
			}
		}
		if most := tolerated(q.Confidence) + 1; fails > most {
			t.Fatalf("%d of %d vehicles pass a limit, at most %d may: allowed %v", fails, sampleSize, most, p.allowed)
		}
	}
	// Made up: a cold morning, an almost empty starter battery, and two kinds of
	// running nearly as hard. With vehicles of the harder alone followed, 9 of 128
	// passed a limit.
	q := Demo()
	q.Rig.HouseBattery.NominalV, q.Rig.HouseBattery.CapacityAh, q.Rig.HouseBattery.Reserve = 0, 467, 0.25
	q.Rig.Charger.MaxOutputW, q.Rig.Charger.MaxInputA, q.Rig.Charger.StepW, q.Rig.Charger.FeedW = 1500, 0, 1, 0
	q.Rig.StarterBattery.CapacityAh, q.Rig.StarterBattery.Kind = 200, "agm"
	q.Rig.Solar.PeakW, q.Rig.Solar.TiltDeg = 10, 0
	d := &q.Day
	d.Days, d.Date, d.LatitudeDeg, d.MinC, d.MaxC, d.HouseBatteryC, d.Cloud = 1, 12597, 1.375, 0.11, 1.56, 5.51, 0
	d.HouseSoc, d.StarterSoc, d.WantSoc, d.VehicleLoadsW, d.ShortestSwitch, d.SettingW = 0.496, 0.237, 0.2, 81.77, 26, 10000
	d.Control, d.Switches = "schedule", []rig.Switch{{At: 420, To: "charge"}, {At: 700, To: "off"}, {At: 800, To: "charge"}, {At: 1200, To: "off"}}
	d.Legs = []rig.Leg{
		{From: 464, To: 561, Kind: "drive", StopEngine: "off", AltitudeM: math.NaN(), SpeedKmh: 5.88, EngineRpm: 2315},
		{From: 568, To: 574, Kind: "drive", StopEngine: "off", AltitudeM: math.NaN(), SpeedKmh: 4.04, EngineRpm: 1141.75, StopEveryMin: 5.5, StopMin: 1.32},
	}
	d.Loads = nil
	check(t, &q)
	rapid.Check(t, func(t *rapid.T) {
		q := drawDay(t)
		q.Day.Days = 1
		q.Rig.Charger.MaxOutputW = 1500
		q.Day.SettingW = 10000 // its remedies are of no interest
		check(t, &q)
	})
}

func TestDayCases(t *testing.T) {
	plan := func(change func(q *Request)) (*Answer, *Plan) {
		q := plainDay()
		change(&q)
		a, err := PlanDay(&q)
		if err != nil {
			t.Fatal(err)
		}
		return a, a.Plan
	}
	t.Run("a load from midnight to midnight draws all day", func(t *testing.T) {
		_, p := plan(func(q *Request) {
			q.Day.Loads = []rig.Load{{Name: "fan", Watts: 50, Duty: 1, Side: "house", From: 0, To: 1440, When: "always"}}
		})
		for _, e := range p.Ledger {
			if e.Name == "fan" {
				near.Abs(t, "Wh", -e.Wh, 1200, 1e-6)
				return
			}
		}
		t.Error("it is not in the ledger")
	})
	t.Run("a setting that is tried has remedies of its own", func(t *testing.T) {
		_, p := plan(func(q *Request) { q.Day.SettingW = 60 })
		if p.Reached || len(p.Remedies) == 0 || p.Remedies[0].Code != "setting" || p.Remedies[0].GainWh <= 0 {
			t.Errorf("reached %v, remedies %+v", p.Reached, p.Remedies)
		}
	})
	t.Run("a plan from midday has its night", func(t *testing.T) {
		_, p := plan(func(q *Request) {
			q.Day.Start = minuteOf("13:00")
			q.Day.Legs = []rig.Leg{driving("14:00", "18:00", 25, 1700), driving("07:30", "12:00", 25, 1700)}
		})
		if got := calendar.ClockText(p.WantBy); got != "18:00" {
			t.Errorf("due at %s, want 18:00", got)
		}
		if n := p.Nights[0]; calendar.ClockText(n.From) != "18:00" || calendar.ClockText(n.Morning) != "07:30" || n.MorningC > 25 {
			t.Errorf("the night is %s to %s, %.0f °C", calendar.ClockText(n.From), calendar.ClockText(n.Morning), n.MorningC)
		}
	})
	t.Run("a day of rest is no failure", func(t *testing.T) {
		_, p := plan(func(q *Request) {
			q.Day.Days = 3
			for i := range q.Day.Legs {
				l := q.Day.Legs[i]
				l.Day = 3
				q.Day.Legs[i].Day = 1
				q.Day.Legs = append(q.Day.Legs, l)
			}
			q.Day.Loads = []rig.Load{{Name: "fridge", Watts: 30, Duty: 1, Side: "house", From: unset, To: unset, When: "always"}}
		})
		if !p.Reached {
			t.Errorf("%.0f Wh short at %s of day %g", p.MissWh, calendar.ClockText(p.WantBy), detmath.Floor(p.WantBy/1440)+1)
		}
	})
	t.Run("a load that goes short is told", func(t *testing.T) {
		a, p := plan(func(q *Request) {
			q.Day.HouseSoc = 0.02
			q.Day.Loads = []rig.Load{{Name: "kettle", Watts: 1500, Duty: 1, Side: "inverter", From: 380, To: unset, Minutes: 20, When: "always"}}
		})
		if p.ShortWh < 400 || calendar.ClockText(p.EmptyAt) > "06:30" || !strings.Contains(allSays(a), "has no power") {
			t.Errorf("%.0f Wh short from %s:\n%s", p.ShortWh, calendar.ClockText(p.EmptyAt), allSays(a))
		}
	})
	t.Run("a flat starter battery comes first", func(t *testing.T) {
		a, p := plan(func(q *Request) { q.Day.StarterSoc, q.Day.MinC, q.Day.MaxC = 0.15, 0, 10 })
		if p.Reached || calendar.ClockText(p.FailedAt) != "07:30" || a.Says[0].Code != "failed_start" {
			t.Errorf("reached %v, fails at %s:\n%s", p.Reached, calendar.ClockText(p.FailedAt), allSays(a))
		}
	})
	t.Run("a forgotten turning down is told", func(t *testing.T) {
		_, p := plan(func(q *Request) {
			stop := driving("10:00", "12:00", 0, 0)
			stop.Kind, stop.Engine = "stop", "on"
			q.Day.Legs = []rig.Leg{driving("08:00", "10:00", 60, 1800), stop}
			q.Rig.Charger.WithEngine, q.Rig.HouseBattery.CapacityAh, q.Day.HouseSoc = "no", 400, 0.1
		})
		for _, h := range p.Handovers {
			if calendar.ClockText(h.At) == "10:00" {
				if h.Missed.TooMuchAt >= never {
					t.Errorf("nothing passes a limit: %+v", h)
				}
				return
			}
		}
		t.Errorf("no hand-over at 10:00: %+v", p.Handovers)
	})
	t.Run("sea level on a leg is not the day's altitude", func(t *testing.T) {
		allowed := func(m float64) float64 {
			_, p := plan(func(q *Request) {
				q.Day.AltitudeM = 3000
				for i := range q.Day.Legs {
					q.Day.Legs[i].AltitudeM = m
				}
			})
			return p.AllowedW
		}
		if allowed(0) < allowed(1) {
			t.Errorf("%g W at 0 m, %g at 1 m", allowed(0), allowed(1))
		}
	})
	t.Run("pauses are handed over where the charger goes on", func(t *testing.T) {
		_, p := plan(func(q *Request) {
			q.Rig.Charger.WithEngine, q.Rig.Charger.FeedW, q.Rig.Charger.MinInputV = "no", 0, 0
			for i := range q.Day.Legs {
				q.Day.Legs[i].StopEveryMin, q.Day.Legs[i].StopMin = 15, 25
			}
		})
		if p.NoStartAt < never || p.PauseWh > 0 {
			t.Errorf("no start from %s, %.0f Wh drawn in pauses", calendar.ClockText(p.NoStartAt), p.PauseWh)
		}
	})
	t.Run("a thicker lead is sought until one suffices", func(t *testing.T) {
		_, p := plan(func(q *Request) {
			q.Rig.Cable.AreaMM2, q.Rig.Cable.LengthM, q.Rig.Cable.FuseA = 1.5, 20, 60
		})
		for _, r := range p.Remedies {
			if r.Code == "bigger_lead" {
				if !r.Reached {
					t.Errorf("%s does not suffice", r.Text)
				}
				return
			}
		}
		t.Errorf("no thicker lead among %+v", p.Remedies)
	})
	t.Run("feeding fills the starter battery too", func(t *testing.T) {
		_, p := plan(func(q *Request) {
			q.Day.StarterSoc, q.Day.Legs = 0.6, nil
			q.Day.Loads = []rig.Load{{Name: "modem", Watts: 10, Duty: 1, Side: "vehicle", From: unset, To: unset, When: "always"}}
		})
		if p.StarterSoc < 0.85 || p.HouseSoc > 0.35 {
			t.Errorf("starter battery %.2f, house battery %.2f in the morning", p.StarterSoc, p.HouseSoc)
		}
	})
}
