package core

import (
	"math"
	"spareamps/core/detmath"
)

// A LogTrack is a recorded track, cleaned, that tells what a log of the same
// drive does not: how fast the vehicle went, and at what altitude.
type LogTrack struct {
	Minutes     []TrackMinute // as ResampleTrack gives them
	HasAltitude bool
	MidnightS   float64 // universal time from which they count, in s since 1970
	OffsetS     float64 // of the log's clock to universal time, where its times have no zone; NaN: not known
}

// LogNeedsOffset is what a problem of a log asks for whose times have no zone.
const LogNeedsOffset = "the log's offset to universal time"

// How the times of a log stand to universal time.
const (
	logUndated = iota // of a stopwatch, or of any day
	logZoned
	logZoneless
)

// A logJoin counts how the rows of a log meet a track.
type logJoin struct {
	met, undated, zoneless int     // rows: within it; not to be compared
	firstS, lastS          float64 // universal times of those that can be; NaN: none
}

// join finds what the track says at a row; NaN: nothing.
func (r *logReader) join(s float64) (speedKmh, altitudeM float64) {
	t, j := r.track, &r.joins
	speedKmh, altitudeM = math.NaN(), math.NaN()
	switch {
	case t == nil:
		return
	case r.clock.base == logUndated:
		j.undated++
		return
	case r.clock.base == logZoneless && t.OffsetS != t.OffsetS:
		j.zoneless++
		return
	case r.clock.base == logZoneless:
		s -= t.OffsetS
	}
	if j.firstS != j.firstS {
		j.firstS = s
	}
	j.lastS = s
	if len(t.Minutes) == 0 {
		return
	}
	i := int(detmath.Floor((s-t.MidnightS)/60) - t.Minutes[0].Minute)
	if i < 0 || i >= len(t.Minutes) || t.Minutes[i].GapS > 30 {
		return
	}
	j.met++
	if t.HasAltitude {
		altitudeM = t.Minutes[i].AltitudeM
	}
	return t.Minutes[i].SpeedKmh, altitudeM
}

// tracked says whether a track tells a condition.
func (r *logReader) tracked(f int) bool {
	return r.track != nil && (f == logSpeedKmh || f == logAltitudeM && r.track.HasAltitude)
}

// apart says why no row of a log lies within the track; nothing where one does.
func (r *logReader) apart() []Problem {
	t, j := r.track, &r.joins
	if t == nil || j.met > 0 || r.rep.Rows == 0 {
		return nil
	}
	switch {
	case j.undated > 0:
		return []Problem{plain("track", "time", "", "a date with each time", "the log's times have no date: a track cannot be joined to them")}
	case j.zoneless > 0:
		return []Problem{plain("track", "time", "", LogNeedsOffset, "the log's times have no zone: say how far its clock is ahead of universal time")}
	case len(t.Minutes) == 0:
		return []Problem{plain("track", "time", "", "a track with records", "the track has no minutes")}
	}
	at := logInput("at")
	when := func(s float64) string { return logWhen(at, nil, s, logUniversal) }
	minute := func(i int) float64 { return t.MidnightS + 60*t.Minutes[i].Minute }
	last := minute(len(t.Minutes)-1) + 60
	return []Problem{plain("track", "time", when(j.firstS), when(minute(0))+" to "+when(last),
		"no row of the log lies within the track: the log goes from "+when(j.firstS)+" to "+when(j.lastS)+", the track from "+when(minute(0))+" to "+when(last))}
}
