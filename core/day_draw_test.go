package core

import (
	"math"

	"pgregory.net/rapid"

	"spareamps/core/jsontext"
	"spareamps/core/rig"
)

// drawDay draws a day that makes sense, on the demo rig altered.
func drawDay(t *rapid.T) Request {
	q := Demo()
	num := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	pick := func(name string, of ...string) string { return rapid.SampledFrom(of).Draw(t, name) }
	b := &q.Rig.HouseBattery
	b.Chemistry = pick("chemistry", "lifepo4", "lead-acid", "flooded", "agm", "gel")
	b.NominalV, b.CapacityAh = 0, num("capacity", 40, 600)
	b.Reserve = num("reserve", 0, 0.5)
	c := &q.Rig.Charger
	c.MaxOutputW, c.MaxInputA = num("charger", 100, 1500), 0
	c.StepW = num("step", 1, 50)
	c.FeedW = rapid.SampledFrom([]float64{0, 100, 400}).Draw(t, "feed")
	c.WithEngine = pick("with engine", "yes", "no")
	q.Rig.StarterBattery.CapacityAh = num("starter", 30, 200)
	q.Rig.StarterBattery.Kind = pick("starter kind", "flooded", "efb", "agm", "gel")
	q.Rig.Solar.PeakW = num("panel", 10, 800)
	q.Rig.Solar.TiltDeg = rapid.SampledFrom([]float64{0, 0, 20, 60}).Draw(t, "tilt")

	d := &q.Day
	d.Days = float64(rapid.IntRange(1, 3).Draw(t, "days"))
	d.Date = float64(rapid.IntRange(5000, 15000).Draw(t, "date"))
	d.LatitudeDeg = num("latitude", -60, 60)
	d.MinC = num("min", -15, 25)
	d.MaxC = d.MinC + num("range", 1, 20)
	d.HouseBatteryC = num("cell", 5, 40)
	d.Cloud = num("cloud", 0, 1)
	d.HouseSoc, d.StarterSoc = num("house", 0.05, 0.8), num("starter charge", 0.2, 1)
	d.WantSoc = num("want", 0.2, 1)
	d.VehicleLoadsW = num("vehicle loads", 50, 450)
	d.ShortestSwitch = float64(rapid.IntRange(0, 60).Draw(t, "switch"))
	d.Control = pick("control", "by_hand", "automatic", "schedule")
	d.Switches = nil
	if d.Control == "schedule" {
		d.Switches = []rig.Switch{{At: 420, To: "charge"}, {At: 700, To: "off"}, {At: 800, To: "charge"}, {At: 1200, To: "off"}}
		if c.FeedW > 0 {
			d.Switches[3].To = "feed"
		}
	}
	d.Legs = nil
	at := 360.0
	for range rapid.IntRange(0, 6).Draw(t, "legs") {
		at += float64(rapid.IntRange(0, 120).Draw(t, "gap"))
		long := float64(rapid.IntRange(5, 200).Draw(t, "length"))
		l := rig.Leg{From: at, To: at + long, Kind: pick("kind", "drive", "drive", "stop", "camp"), StopEngine: pick("stop engine", "on", "off"), AltitudeM: math.NaN()}
		switch l.Kind {
		case "drive":
			l.SpeedKmh, l.EngineRpm = num("speed", 4, 90), num("rpm", 1100, 3000)
			if rapid.Bool().Draw(t, "stops") {
				l.StopEveryMin, l.StopMin = num("every", 5, 40), num("stop", 1, 30)
			}
		case "stop":
			l.Engine = pick("engine", "on", "off")
		}
		at += long
		d.Legs = append(d.Legs, l)
	}
	d.Loads = nil
	for i := range rapid.IntRange(0, 5).Draw(t, "loads") {
		l := rig.Load{Name: "load " + jsontext.NumberText(float64(i)), Watts: num("watts", 1, 400), Duty: num("duty", 0, 1), From: unset, To: unset,
			Side: pick("side", "house", "inverter", "vehicle"), When: pick("when", "always", "engine_on", "engine_off"), Keep: pick("keep", "yes", "no")}
		if rapid.Bool().Draw(t, "timed") {
			l.From = float64(rapid.IntRange(0, lastMinute).Draw(t, "from"))
			l.Minutes = float64(rapid.IntRange(1, 600).Draw(t, "minutes"))
		}
		d.Loads = append(d.Loads, l)
	}
	if err := q.Check(ForDay...); err != nil {
		t.Fatal(err)
	}
	return q
}
