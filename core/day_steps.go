package core

import (
	"cmp"

	"spareamps/core/air"
	"spareamps/core/detmath"
	"spareamps/core/drivetrain"
	"spareamps/core/rig"
	"spareamps/core/sun"
)

// A dayStep is one step of a day: all that does not depend on how the charger
// is set.
type dayStep struct {
	engine     bool
	short      bool // standing with the engine on for less than a hand-over is worth
	to         direction
	bin        int32 // of the ceilings; −1 with the engine off
	stretch    int32 // −1 where the charger is not to charge
	rpm        float64
	kmh        float64
	riseK      float64 // of the inlet's air above ambient in the long run, engine on
	altitudeM  float64
	ownW       float64 // the vehicle's own draw
	vehicleW   float64 // with the loads on its side
	houseW     float64 // drawn from the house battery, inverter's losses and its own electronics with it
	sunW       float64
	ambientC   float64
	cellC      float64 // of the house battery
	accepts    intake  // of the house battery at that temperature
	leastSoc   float64 // of the starter battery, for the engine to start
	regulatorV float64 // held for the starter battery
}

// A direction is what the charger is set to.
type direction uint8

const (
	off direction = iota
	charge
	feed
)

var directionNames = [...]string{off: "off", charge: "charge", feed: "feed"}

// A loadSum is what a load draws over all days, in Wh.
type loadSum struct{ wh float64 }

// steps makes the steps of a day, each stepMin long.
func (p *planner) makeSteps() {
	d := &p.q.Day
	n := int(d.Days*1440/p.stepMin + 0.5)
	p.steps = resized(p.steps[:0], n)
	p.dayLengths()
	cellKnown := p.q.states("day.house_battery_C")
	for i := range p.steps {
		s := &p.steps[i]
		m := p.minute(i)
		s.bin, s.stretch = -1, -1
		s.altitudeM, s.ownW = d.AltitudeM, d.ParkedW
		s.ambientC = p.air(m)
		s.cellC = s.ambientC
		if cellKnown {
			s.cellC = d.HouseBatteryC
		}
		s.houseW = p.q.Rig.HouseBattery.SelfW
	}
	for i := range d.Legs {
		p.layLeg(&d.Legs[i])
	}
	p.layTrack()
	p.alter()
	kmh, rise := -1.0, 0.0
	for i := range p.steps {
		s := &p.steps[i]
		s.vehicleW = s.ownW
		s.accepts = intakeOf(&p.q.Rig.HouseBattery, s.cellC)
		s.leastSoc = p.leastSoc(s.ambientC)
		if s.engine {
			if s.kmh != kmh {
				kmh, rise = s.kmh, air.InletRise(s.kmh)
			}
			s.riseK = rise
		}
		s.regulatorV = p.st.nominal.v
		if s.engine && p.q.Rig.Alternator.RegulatorV == 0 {
			s.regulatorV -= regulatorPerK * p.st.nominalV / 12 * (s.ambientC + s.riseK - regulatorC)
		}
	}
	p.layLoads()
	p.laySun()
}

// minute is the middle of a step, in minutes since midnight of the first day.
func (p *planner) minute(i int) float64 { return p.q.Day.Start + (float64(i)+0.5)*p.stepMin }

// known returns v, or what holds otherwise where v is not a number: not given.
func known(v, otherwise float64) float64 {
	if v != v {
		return otherwise
	}
	return v
}

// each runs over the steps between two times of each day, in minutes since its
// start; day 0 means every day.
func (p *planner) each(day, from, to float64, do func(i int, at float64)) {
	for k := 0.0; k < p.q.Day.Days; k++ {
		if day > 0 && day != k+1 {
			continue
		}
		i := int((k*1440+from)/p.stepMin + 0.5)
		end := min(int((k*1440+to)/p.stepMin+0.5), len(p.steps))
		for ; i < end; i++ {
			do(i, (float64(i)+0.5)*p.stepMin-k*1440-from)
		}
	}
}

// layLeg lays a leg over the steps. The stops of a drive come after every
// stop_every_min of driving.
func (p *planner) layLeg(l *rig.Leg) {
	d, e := &p.q.Day, &p.q.Rig.Engine
	drive := l.Kind == "drive"
	on := drive || l.Engine == "on"
	own, idle := cmp.Or(l.VehicleLoadsW, p.drivingW), cmp.Or(l.VehicleLoadsW, p.idlingW)
	rpm := l.EngineRpm
	if l.OverallRatio > 0 {
		rpm = drivetrain.EngineRpm(l.SpeedKmh, l.OverallRatio, e.TyreDiameterM)
	}
	period := l.StopEveryMin + l.StopMin
	p.each(l.Day, sinceClock(d, l.From, false), sinceClock(d, l.To, true), func(i int, at float64) {
		s := &p.steps[i]
		s.altitudeM = known(l.AltitudeM, d.AltitudeM)
		moving := drive
		if period > 0 {
			moving = at-period*detmath.Floor(at/period) < l.StopEveryMin
		}
		s.engine = on && (moving || !drive || l.StopEngine == "on")
		switch {
		case !s.engine:
		case moving:
			s.rpm, s.kmh, s.ownW = detmath.Max(rpm, e.IdleRpm), l.SpeedKmh, own
		case drive: // a stop on it
			s.rpm, s.ownW = e.IdleRpm, idle
		default:
			s.rpm, s.ownW = detmath.Max(rpm, e.IdleRpm), idle
		}
	})
}

// layTrack lays a recorded track over the steps.
func (p *planner) layTrack() {
	d, e := &p.q.Day, &p.q.Rig.Engine
	for i := range d.Track {
		r := &d.Track[i]
		if r.Engine == "off" {
			continue
		}
		from := r.Minute - d.Start
		p.each(1, from, from+1, func(k int, _ float64) {
			s := &p.steps[k]
			s.engine, s.kmh, s.rpm = true, r.SpeedKmh, r.EngineRpm
			s.altitudeM = known(r.AltitudeM, d.AltitudeM)
			s.ownW = p.drivingW
			switch {
			case s.kmh < 1:
				s.ownW = p.idlingW
			case s.rpm == 0 && d.TrackRatio > 0:
				s.rpm = drivetrain.EngineRpm(s.kmh, d.TrackRatio, e.TyreDiameterM)
			case s.rpm == 0:
				s.rpm = d.TrackEngineRpm
			}
			s.rpm = detmath.Max(s.rpm, e.IdleRpm)
		})
	}
}

// layLoads adds what loads draw, each on its side.
func (p *planner) layLoads() {
	d, inv := &p.q.Day, &p.q.Rig.Inverter
	p.loads = resized(p.loads[:0], len(d.Loads))
	p.inverter = resized(p.inverter[:0], len(p.steps))
	hours := p.stepMin / 60
	for i := range d.Loads {
		l := &d.Loads[i]
		if p.change.without != nil && p.change.without[i] {
			continue
		}
		sum := &p.loads[i]
		draw := func(k int, _ float64) {
			s := &p.steps[k]
			if l.When == "engine_on" && !s.engine || l.When == "engine_off" && s.engine {
				return
			}
			w := l.Watts * l.Duty
			sum.wh += w * hours
			switch l.Side {
			case "vehicle":
				s.vehicleW += w
			case "inverter":
				p.inverter[k].w += w
				p.inverter[k].peakW += l.Watts
				p.inverter[k].surgeW = detmath.Max(p.inverter[k].surgeW, l.SurgeW-l.Watts)
			default:
				s.houseW += w
			}
		}
		if l.From == unset {
			p.each(0, 0, 1440, draw)
			continue
		}
		from := sinceClock(d, l.From, false)
		to := from + l.Minutes
		if l.Minutes == 0 {
			if to = sinceClock(d, l.To, true); to <= from {
				to += 1440
			}
		}
		p.each(0, from, detmath.Min(to, 1440), draw)
		if to > 1440 {
			p.each(0, 0, to-1440, draw) // past the day's start
		}
	}
	p.inverterLossWh, p.inverterPeakW, p.inverterSurgeW = 0, 0, 0
	for i := range p.inverter {
		v := &p.inverter[i]
		if v.peakW == 0 {
			continue
		}
		in := inverterInputW(inv, v.w)
		p.steps[i].houseW += in
		p.inverterLossWh += (in - v.w) * hours
		p.inverterPeakW = detmath.Max(p.inverterPeakW, v.peakW)
		p.inverterSurgeW = detmath.Max(p.inverterSurgeW, v.peakW+v.surgeW)
	}
}

// An inverterStep is what an inverter's loads draw from it in a step.
type inverterStep struct{ w, peakW, surgeW float64 }

// drivingLoads settles what the vehicle draws where nothing is said.
func (p *planner) drivingLoads() {
	d := &p.q.Day
	p.drivingW = p.st.usualLoadsW()
	if p.q.states("day.vehicle_loads_W") {
		p.drivingW = d.VehicleLoadsW
	}
	p.idlingW = p.drivingW
	if p.q.states("day.idle_loads_W") {
		p.idlingW = d.IdleLoadsW
	}
}

// dayLengths finds sunrise and sunset of each day, in hours of its clock.
func (p *planner) dayLengths() {
	d := &p.q.Day
	p.offsetH = d.UTCOffsetH
	if !p.q.states("day.utc_offset_h") {
		p.offsetH = detmath.Floor(d.LongitudeDeg/15 + 0.5)
	}
	p.placed = p.q.states("day.date") && p.q.states("day.latitude_deg") && p.q.states("day.longitude_deg")
	p.sunriseH, p.sunsetH = 6, 18
	if p.placed {
		if rise, set, ok := sun.SunriseSunset(d.Date, d.LatitudeDeg, d.LongitudeDeg, p.offsetH); ok {
			p.sunriseH, p.sunsetH = rise, set
		}
	}
}

// air returns the air temperature at a time in minutes since midnight of the
// first day.
func (p *planner) air(minute float64) float64 {
	d := &p.q.Day
	m := minute - 1440*detmath.Floor(minute/1440)
	if len(d.Air) == 0 {
		return sun.DiurnalC(m/60, p.sunriseH, p.sunsetH, d.MinC, d.MaxC)
	}
	// Straight lines, over midnight too.
	last := &d.Air[len(d.Air)-1]
	a, b := rig.AirRow{At: last.At - 1440, AmbientC: last.AmbientC}, rig.AirRow{At: d.Air[0].At + 1440, AmbientC: d.Air[0].AmbientC}
	for i := range d.Air {
		if d.Air[i].At <= m {
			a = d.Air[i]
		} else {
			b = d.Air[i]
			break
		}
	}
	if b.At <= a.At {
		return a.AmbientC
	}
	return a.AmbientC + (b.AmbientC-a.AmbientC)*(m-a.At)/(b.At-a.At)
}

// laySun adds what the panel gives.
func (p *planner) laySun() {
	d, panel := &p.q.Day, &p.q.Rig.Solar
	if !p.placed || !panel.Given {
		return
	}
	for i := range p.steps {
		s := &p.steps[i]
		at := d.Date + (p.minute(i)/60-p.offsetH)/24
		h, a := sun.Position(at, d.LatitudeDeg, d.LongitudeDeg)
		if h > 0 {
			ghi, dni, dhi := sun.Cloudy(h, at, s.altitudeM, d.Cloud)
			s.sunW = detmath.Max(sun.PanelOutputW(panel, h, a, ghi, dni, dhi, s.ambientC, panelWindMS), 0)
		}
	}
}

// A regulator whose voltage is not stated falls by regulatorPerK volts per
// kelvin and 12 V, and holds the usual one at regulatorC: the middle of
// published bands (testdata/regulator_bands.csv). What the air below the bonnet
// is, it is taken to be.
const (
	regulatorPerK = 0.0105
	regulatorC    = 70
)

// panelWindMS is the air's speed over the panel, m/s: still evenings and slow
// driving; engineering estimate.
const panelWindMS = 1
