package core

import (
	"spareamps/core/calendar"
	"spareamps/core/detmath"
	"spareamps/core/drivetrain"
	"spareamps/core/jsontext"
	"spareamps/core/rig"
)

// sinceClock returns the minutes from a day's start to a time of day; ends says that
// the start itself counts as the day's end.
func sinceClock(d *rig.Day, clock float64, ends bool) float64 {
	m := clock - d.Start
	for m < 0 {
		m += 1440
	}
	for m > 1440 || m == 1440 && !ends {
		m -= 1440
	}
	if ends && m == 0 {
		m = 1440
	}
	return m
}

// checkDay says what of a day does not go together. Where a day is needed and
// left out that is the problem.
func (q *Request) checkDay(needed bool) (ps []Problem) {
	d := &q.Day
	if !d.Given {
		if needed {
			ps = append(ps, plain("missing", "day", "", "an object", "day is missing"))
		}
		return ps
	}
	c := dayCheck{q: q, d: d}
	c.place()
	c.air()
	c.legs()
	c.loads()
	c.switches()
	c.track()
	return c.problems
}

type dayCheck struct {
	q        *Request
	d        *rig.Day
	problems []Problem
}

func (c *dayCheck) add(code, field, value, allowed, message string) {
	if len(c.problems) < jsontext.MaxProblems {
		c.problems = append(c.problems, plain(code, field, value, allowed, field+message))
	}
}

func (c *dayCheck) missing(field, allowed, why string) {
	c.add("missing", field, "", allowed, " is missing"+why)
}

func (c *dayCheck) conflict(field, value, allowed, what string) {
	c.add("conflict", field, value, allowed, what)
}

// place asks for what a day stands on.
func (c *dayCheck) place() {
	q := c.q
	if !q.Rig.HouseBattery.Given {
		c.missing("rig.house_battery", "an object", ": a day is about charging it")
	}
	if !q.Rig.Charger.Given {
		c.missing("rig.charger", "an object", ": a day is about its setting")
	}
	if !q.Rig.Solar.Given {
		return
	}
	stated := [...]bool{q.states("day.date"), q.states("day.latitude_deg"), q.states("day.longitude_deg")}
	if stated[0] || stated[1] || stated[2] {
		for i, name := range [...]string{"day.date", "day.latitude_deg", "day.longitude_deg"} {
			if !stated[i] {
				c.missing(name, inputs.fields[inputs.mustIndex(name)].allowed(), ": the sun needs date, latitude and longitude")
			}
		}
	}
}

func (c *dayCheck) air() {
	q, d := c.q, c.d
	if len(d.Air) == 0 {
		least, most := q.states("day.min_C"), q.states("day.max_C")
		if !least {
			c.missing("day.min_C", "-50 to 55 °C", ": the lowest air temperature, or else day.air")
		}
		if !most {
			c.missing("day.max_C", "-50 to 60 °C", ": the highest air temperature, or else day.air")
		}
		if least && most && d.MaxC < d.MinC {
			c.conflict("day.max_C", jsontext.NumberText(d.MaxC), "at least min_C", " is below min_C")
		}
	}
	for i := 1; i < len(d.Air); i++ {
		if d.Air[i].At <= d.Air[i-1].At {
			c.conflict(rowPath("day.air[].at", i), calendar.ClockText(d.Air[i].At), "later than the row before", " is not later than the row before")
		}
	}
}

func (c *dayCheck) legs() {
	d := c.d
	if len(d.Legs) > 0 && len(d.Track) > 0 {
		c.conflict("day.legs", "", "legs or track", " and track are both given")
		return
	}
	for i := range d.Legs {
		l := &d.Legs[i]
		at := func(name string) string { return rowPath("day.legs[]."+name, i) }
		from, to := sinceClock(d, l.From, false), sinceClock(d, l.To, true)
		switch {
		case from == to, l.From == l.To:
			c.conflict(at("to"), calendar.ClockText(l.To), "another time than from", " is the time it begins")
			continue
		case to < from:
			c.conflict(at("to"), calendar.ClockText(l.To), "within one day from "+calendar.ClockText(d.Start), " lies beyond the start of the next day, "+calendar.ClockText(d.Start)+": end the leg there, or move day.start")
			continue
		}
		if l.Day > d.Days {
			c.conflict(at("day"), jsontext.NumberText(l.Day), "1 to "+jsontext.NumberText(d.Days), " is after the last day")
		}
		for j := i - 1; j >= 0; j-- {
			o := &d.Legs[j]
			if l.Day > 0 && o.Day > 0 && l.Day != o.Day {
				continue
			}
			oFrom, oTo := sinceClock(d, o.From, false), sinceClock(d, o.To, true)
			if from < oTo && oFrom < to {
				c.conflict(at("from"), calendar.ClockText(l.From), "a time outside the other legs", " overlaps day.legs["+jsontext.NumberText(float64(j))+"], "+calendar.ClockText(o.From)+" to "+calendar.ClockText(o.To))
				break
			}
			if from < oFrom && l.Day == o.Day {
				c.conflict(at("from"), calendar.ClockText(l.From), "legs in the order of time", " is before the leg in front of it, "+calendar.ClockText(o.From))
				break
			}
		}
		if l.Kind != "" {
			c.leg(l, at)
		}
	}
}

// leg checks one leg by itself.
func (c *dayCheck) leg(l *rig.Leg, at func(string) string) {
	if l.Kind == "drive" {
		if l.SpeedKmh == 0 {
			c.missing(at("speed_kmh"), "1 to 200 km/h", ": a drive has a speed")
		}
		if l.Engine == "off" {
			c.conflict(at("engine"), l.Engine, "on", " is off on a drive")
		}
		if l.EngineRpm > 0 && l.OverallRatio > 0 {
			c.conflict(at("overall_ratio"), jsontext.NumberText(l.OverallRatio), "engine_rpm or overall_ratio", " and engine_rpm are both given")
		}
		if l.OverallRatio > 0 {
			if c.q.Rig.Engine.TyreDiameterM == 0 {
				c.missing("rig.engine.tyre_diameter_m", "0.3 to 2.5 m", ": overall_ratio needs it")
			} else if rpm := drivetrain.EngineRpm(l.SpeedKmh, l.OverallRatio, c.q.Rig.Engine.TyreDiameterM); rpm > 8000 {
				c.conflict(at("overall_ratio"), jsontext.NumberText(l.OverallRatio), "an engine speed of at most 8000 rpm", " turns the engine at "+jsontext.NumberText(detmath.Floor(rpm))+" rpm")
			}
		}
		if (l.StopEveryMin > 0) != (l.StopMin > 0) {
			c.missing(at(map[bool]string{true: "stop_min", false: "stop_every_min"}[l.StopMin == 0]), "1 to 600 min", ": stops need both their length and how often")
		}
		return
	}
	if l.SpeedKmh > 0 {
		c.conflict(at("speed_kmh"), jsontext.NumberText(l.SpeedKmh), "none on a "+l.Kind, " is given on a "+l.Kind)
	}
	if l.StopEveryMin > 0 || l.StopMin > 0 {
		c.conflict(at("stop_min"), jsontext.NumberText(l.StopMin), "only on a drive", " is for a drive")
	}
	if l.Kind == "camp" && l.Engine == "on" {
		c.conflict(at("engine"), l.Engine, "off; a stop may have the engine on", " is on in camp")
	}
}

func (c *dayCheck) loads() {
	for i := range c.d.Loads {
		l := &c.d.Loads[i]
		at := func(name string) string { return rowPath("day.loads[]."+name, i) }
		switch hasEnd := l.To != unset || l.Minutes > 0; {
		case l.From == unset && hasEnd:
			c.missing(at("from"), "a time of day", ": its end or length is given")
		case l.From != unset && !hasEnd:
			c.missing(at("to"), "a time of day", ", or else minutes")
		case l.To != unset && l.Minutes > 0:
			c.conflict(at("minutes"), jsontext.NumberText(l.Minutes), "to or minutes", " and to are both given")
		case l.From != unset && l.From == l.To:
			c.conflict(at("to"), calendar.ClockText(l.To), "another time than from", " is the time it begins; leave both out for all day")
		}
		if l.Side == "inverter" && !c.q.Rig.Inverter.Given {
			c.missing("rig.inverter", "an object", ": "+at("side")+" is inverter")
		}
	}
}

func (c *dayCheck) switches() {
	d := c.d
	if d.Control == "schedule" && len(d.Switches) == 0 {
		c.missing("day.switches", "at least one row", ": control is schedule")
	}
	if d.Control != "schedule" && len(d.Switches) > 0 {
		c.conflict("day.switches", "", "only with control schedule", " are given, but control is "+d.Control)
	}
	for i := range d.Switches {
		if i > 0 && sinceClock(d, d.Switches[i].At, false) <= sinceClock(d, d.Switches[i-1].At, false) {
			c.conflict(rowPath("day.switches[].at", i), calendar.ClockText(d.Switches[i].At), "later than the row before", " is not later than the row before")
		}
		if d.Switches[i].To == "feed" && c.q.Rig.Charger.FeedW == 0 {
			c.conflict(rowPath("day.switches[].to", i), "feed", "charge or off", " is feed, but rig.charger.feed_W is 0")
		}
	}
}

func (c *dayCheck) track() {
	d := c.d
	for i := range d.Track {
		r := &d.Track[i]
		at := func(name string) string { return rowPath("day.track[]."+name, i) }
		if i > 0 && r.Minute <= d.Track[i-1].Minute {
			c.conflict(at("minute"), jsontext.NumberText(r.Minute), "later than the row before", " is not later than the row before")
		}
		if r.Minute < d.Start || r.Minute >= d.Start+1440*d.Days {
			c.conflict(at("minute"), jsontext.NumberText(r.Minute), "within the days from "+calendar.ClockText(d.Start), " lies outside the days planned")
		}
		if r.Engine == "off" && r.SpeedKmh > 0 {
			c.conflict(at("engine"), r.Engine, "on", " is off while the vehicle moves")
		}
	}
	if d.TrackRatio > 0 && c.q.Rig.Engine.TyreDiameterM == 0 {
		c.missing("rig.engine.tyre_diameter_m", "0.3 to 2.5 m", ": track_ratio needs it")
	}
}
