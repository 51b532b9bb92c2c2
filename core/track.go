package core

import (
	"math"
	"spareamps/core/detmath"
	"spareamps/core/jsontext"
)

// A TrackPoint is one record of a track. NaN stands where a value was not
// recorded.
type TrackPoint struct {
	S              float64 // seconds since local midnight of the first record's day
	LatDeg, LonDeg float64 // WGS 84
	EleM           float64
	SpeedKmh       float64
	EngineRpm      float64
}

// A TrackMinute is what one minute of a track was like on the mean.
type TrackMinute struct {
	Minute    float64 // whole minutes since that midnight
	SpeedKmh  float64 // over the whole minute, so that the sum of SpeedKmh/60 is the distance
	EngineRpm float64 // while the engine ran; 0 where RunS is 0
	AltitudeM float64 // the nearest before where none was recorded; 0 without any, see HasAltitude
	MovingS   float64
	GapS      float64 // without record: in a gap, before the first or after the last
	RunS      float64 // the engine is known to have run
	OffS      float64 // the engine recorded at a stop, or taken so in GapS; what RunS and OffS leave of 60 is not known
}

// A TrackReport says what a track was and what was repaired.
type TrackReport struct {
	Points, Minutes int
	FromPositions   bool // speed is from positions, not recorded
	HasAltitude     bool
	HasRpm          bool
	DistanceKm      float64
	MovingMin       float64 // with StandingMin and GapMin the time from first to last record
	StandingMin     float64
	MaxKmh          float64
	Gaps            int
	GapMin, GapKm   float64       // GapKm lies between the ends of gaps, and is not in DistanceKm
	Jumps           int           // records dropped for an impossible speed
	Backwards       int           // records dropped because the clock went back before them
	Duplicates      int           // records dropped for the time of the one before
	Ignored         int           // altitudes and engine speeds out of range, taken as not recorded
	Repairs         []TrackRepair // the first of them, gaps too
}

// A TrackRepair is records dropped for one reason, or the one that ends a gap.
type TrackRepair struct {
	Kind  string // jump, backwards, duplicate, ignored, gap
	Index int    // of the first record, from 0
	Count int    // records in a row
}

const (
	trackMaxKmh   = 200        // no loaded pickup goes faster; engineering estimate
	trackMaxAcc   = 10         // m/s², a little over g: more than tyres hold
	trackStillKmh = 0.7        // recorded speeds below it for trackDwellS are noise of standing: 0.2 m/s, twice what receivers state; from memory
	trackNoiseM   = 15         // three times the 4.9 m within which phones are under open sky (GPS.gov, GPS accuracy)
	trackSmoothS  = 5          // fixes that far on either side are averaged
	trackDwellS   = 20         // that long within trackNoiseM is standing
	trackLeaveS   = 10         // that long outside it is leaving
	trackCrawlMS  = 3          // m/s on the first and last trackNoiseM about a stop; engineering estimate
	trackBridgeS  = 180        // longer without record is a gap
	trackBackS    = 120        // a clock set back further is no correction
	trackMaxS     = 30 * 86400 // what day.track[].minute takes
	trackMaxRows  = 7 * 1440   // and how many of them
	trackRepairs  = 20
)

// ResampleTrack turns a track into minutes.
//
// Recorded speeds are integrated by the trapezoid rule, exact for speeds that
// change evenly between records; below 0.7 km/h for 20 s is standing. They are
// used where at least half as many are recorded as positions, positions else.
//
// Between positions the distance is that of the WGS 84 ellipsoid, see
// trackMetres. A fix whose speed is over 200 km/h, or that takes more than
// 10 m/s² to reach and leave, is dropped. The others are averaged over 5 s to
// either side and measured in chords of at least 15 m, so that noise along a
// road does not add up; a chord cuts corners, which costs less than 9 m at a
// right angle of 10 m radius. Who stays within 15 m for 20 s stands, at the
// mean of those fixes, until fixes lie outside for 10 s, so the jitter of a
// standing receiver is no creeping: of 5 m, standard deviation either way, it
// adds less than 60 m and 45 s of moving to a stop, and 3 to 125 m to an hour's.
// Movement below 2.7 km/h counts as standing in time, not in distance.
// Neglected: height.
//
// Up to three minutes without record are bridged by the straight line. Longer
// gaps are standing with the engine off: nothing is known of them, and an
// engine at rest charges nothing, so the day is promised fewer amperes rather
// than more.
//
// The result has no NaN. Checked: TestTrackCycles, TestTrackRates,
// TestTrackJitter, TestTrackStandsStill.
func ResampleTrack(points []TrackPoint) (rows []TrackMinute, report TrackReport, err error) {
	r := resampler{points: points, rep: TrackReport{Points: len(points)}}
	kept, speeds, fixes, bad := r.inOrder()
	if bad != nil {
		return nil, r.rep, inputError(bad)
	}
	ix := speeds
	if r.rep.FromPositions = 2*len(speeds) < len(fixes); r.rep.FromPositions {
		ix = fixes
	}
	if len(ix) < 2 {
		return nil, r.rep, inputError([]Problem{plain("track", "points", "", "two records or more", "the track has fewer than two records with a time and a speed or a position")})
	}
	first, last := r.s(ix[0]), r.s(ix[len(ix)-1])
	r.from = int(first / 60)
	n := int(last/60) - r.from
	if n == 0 || float64(60*(r.from+n)) < last {
		n++
	}
	if n > trackMaxRows {
		return nil, r.rep, inputError([]Problem{plain("range", "points", jsontext.NumberText((last-first)/86400)+" days", "at most 7 days", "the track goes over "+jsontext.NumberText(detmath.Floor((last-first)/8640)/10)+" days, allowed is 7")})
	}
	r.rows = make([]TrackMinute, n)
	if r.rep.FromPositions {
		r.byPositions(ix)
	} else {
		r.bySpeeds(ix)
	}
	if r.legs == 0 && r.rep.Jumps > 0 {
		i := r.impossible
		return nil, r.rep, inputError([]Problem{plain("track", pointPath(i), "", "0 to 200 km/h",
			"no two records of the track make a speed of 0 to 200 km/h; the first that does not is "+recordName(i))})
	}
	r.finish(kept, first, last)
	return r.rows, r.rep, nil
}

type resampler struct {
	points     []TrackPoint
	rows       []TrackMinute
	from       int // minute of rows[0]
	legs       int // stretches between records taken as they are
	impossible int // record of the first jump
	rep        TrackReport
}

func (r *resampler) s(i int32) float64 { return r.points[i].S }

func pointPath(i int) string { return "points[" + jsontext.NumberText(float64(i)) + "]" }

func recordName(i int) string { return "record " + jsontext.NumberText(float64(i+1)) + " of the track" }

func (r *resampler) repair(kind string, count *int, i int32) {
	*count++
	n := len(r.rep.Repairs)
	if n > 0 && r.rep.Repairs[n-1].Kind == kind && r.rep.Repairs[n-1].Index+r.rep.Repairs[n-1].Count == int(i) {
		r.rep.Repairs[n-1].Count++
	} else if n < trackRepairs {
		r.rep.Repairs = append(r.rep.Repairs, TrackRepair{kind, int(i), 1})
	}
}

func (r *resampler) jump(i int32) {
	if r.rep.Jumps == 0 {
		r.impossible = int(i)
	}
	r.repair("jump", &r.rep.Jumps, i)
}

// inOrder picks the records whose times rise, and of them those with a speed
// and those with a position.
func (r *resampler) inOrder() (kept, speeds, fixes []int32, bad []Problem) {
	last := math.Inf(-1)
	for i := range r.points {
		p := &r.points[i]
		what := ""
		switch {
		case p.S != p.S:
			what = " has no time"
		case p.S < last-trackBackS:
			what = " is " + jsontext.NumberText(last-p.S) + " s before those it follows; records go by time, and a clock set back by more than 120 s is not guessed at"
		case !(p.S >= 0 && p.S <= trackMaxS):
			what = " is " + jsontext.NumberText(p.S) + " s after midnight of the first day, allowed is 0 to 30 days"
		}
		if what != "" {
			return nil, nil, nil, []Problem{plain("track", pointPath(i)+".s", jsontext.NumberText(p.S), "0 to 2592000 s, rising", recordName(i)+what)}
		}
		if detmath.Abs(p.LatDeg) > 90 || detmath.Abs(p.LonDeg) > 180 {
			return nil, nil, nil, []Problem{plain("track", pointPath(i), "", "-90 to 90, -180 to 180 deg", recordName(i)+" is at "+jsontext.NumberText(p.LatDeg)+", "+jsontext.NumberText(p.LonDeg)+"; latitude is -90 to 90, longitude -180 to 180")}
		}
		switch {
		case p.S < last:
			r.repair("backwards", &r.rep.Backwards, int32(i))
			continue
		case p.S == last:
			r.repair("duplicate", &r.rep.Duplicates, int32(i))
			continue
		}
		last = p.S
		kept = append(kept, int32(i))
		if p.SpeedKmh == p.SpeedKmh {
			speeds = append(speeds, int32(i))
		}
		if p.LatDeg == p.LatDeg && p.LonDeg == p.LonDeg {
			fixes = append(fixes, int32(i))
		}
	}
	return kept, speeds, fixes, nil
}

// spread hands out what goes evenly from v0 at t0 to v1 at t1 minute by minute:
// the seconds in it, and the integral over them.
func (r *resampler) spread(t0, t1, v0, v1 float64, add func(m int, dt, vdt float64)) {
	slope := (v1 - v0) / (t1 - t0)
	for t := t0; t < t1; {
		k := int(t / 60)
		end := detmath.Min(float64(k+1)*60, t1)
		add(k-r.from, end-t, (v0+slope*((t+end)/2-t0))*(end-t))
		t = end
	}
}

func (r *resampler) move(t0, t1, v0, v1 float64) {
	if v0+v1 > 0 {
		r.rep.MaxKmh = detmath.Max(r.rep.MaxKmh, detmath.Max(v0, v1))
		r.spread(t0, t1, v0, v1, func(m int, dt, vdt float64) {
			r.rows[m].SpeedKmh += vdt
			r.rows[m].MovingS += dt
		})
	}
}

// gap says whether nothing is known between two records, and notes it.
func (r *resampler) gap(i, j int32) bool {
	t0, t1 := r.s(i), r.s(j)
	if t1-t0 <= trackBridgeS {
		return false
	}
	r.repair("gap", &r.rep.Gaps, j)
	r.rep.GapMin += (t1 - t0) / 60
	a, b := &r.points[i], &r.points[j]
	if d := trackMetres(a.LatDeg, a.LonDeg, b.LatDeg, b.LonDeg); d > trackNoiseM { // not NaN
		r.rep.GapKm += d / 1000
	}
	r.spread(t0, t1, 0, 0, func(m int, dt, _ float64) { r.rows[m].GapS += dt })
	return true
}

func (r *resampler) bySpeeds(ix []int32) {
	good := make([]int32, 0, len(ix))
	for _, i := range ix {
		if v := r.points[i].SpeedKmh; v >= 0 && v <= trackMaxKmh {
			good = append(good, i)
		} else {
			r.jump(i)
		}
	}
	still, standing := 0, false // the records up to still stand; the last one did
	for n := range good {
		if still <= n {
			for still = n; still < len(good) && r.points[good[still]].SpeedKmh < trackStillKmh; still++ {
			}
			if still > n && r.s(good[still-1])-r.s(good[n]) < trackDwellS {
				still = n
			}
		}
		if n > 0 {
			i, j := good[n-1], good[n]
			r.legs++
			if !r.gap(i, j) && !(standing && still > n) {
				r.move(r.s(i), r.s(j), r.points[i].SpeedKmh, r.points[j].SpeedKmh)
			}
		}
		standing = still > n
	}
}

// finish integrates engine speed and altitude and makes means of sums.
func (r *resampler) finish(kept []int32, first, last float64) {
	altitudeS := make([]float64, len(r.rows))
	r.channel(kept, first, last, func(p *TrackPoint) (float64, bool) { return p.EngineRpm, p.EngineRpm >= 0 && p.EngineRpm <= 8000 },
		func(m int, dt, vdt float64) {
			r.rep.HasRpm = true
			if row := &r.rows[m]; vdt < 50*dt {
				row.OffS += dt
			} else {
				row.RunS += dt
				row.EngineRpm += vdt
			}
		})
	r.channel(kept, first, last, func(p *TrackPoint) (float64, bool) { return p.EleM, p.EleM >= -430 && p.EleM <= 6000 },
		func(m int, dt, vdt float64) {
			r.rep.HasAltitude = true
			r.rows[m].AltitudeM += vdt
			altitudeS[m] += dt
		})
	edge := func(m int, s float64) { r.rows[m].GapS = detmath.Min(60, r.rows[m].GapS+s) }
	edge(0, first-60*float64(r.from))
	edge(len(r.rows)-1, 60*float64(r.from+len(r.rows))-last)
	known, km, moving := -1, 0.0, 0.0
	for i := range r.rows {
		row := &r.rows[i]
		row.Minute = float64(r.from + i)
		km += row.SpeedKmh
		moving += row.MovingS
		row.SpeedKmh /= 60
		if row.RunS > 0 {
			row.EngineRpm /= row.RunS
		}
		row.OffS = detmath.Max(0, detmath.Min(row.OffS+row.GapS, 60-row.RunS))
		if altitudeS[i] > 0 {
			row.AltitudeM /= altitudeS[i]
			if known < 0 {
				for k := range i {
					r.rows[k].AltitudeM = row.AltitudeM
				}
			}
			known = i
		} else if known >= 0 {
			row.AltitudeM = r.rows[known].AltitudeM
		}
	}
	r.rep.Minutes = len(r.rows)
	r.rep.DistanceKm = km / 3600
	r.rep.MovingMin = moving / 60
	r.rep.StandingMin = detmath.Max(0, (last-first)/60-r.rep.MovingMin-r.rep.GapMin)
}

// channel integrates a value between its own records, within the time of those
// that tell the speed.
func (r *resampler) channel(kept []int32, first, last float64, value func(p *TrackPoint) (v float64, ok bool), add func(m int, dt, vdt float64)) {
	before, was := int32(-1), 0.0
	for _, i := range kept {
		v, ok := value(&r.points[i])
		if !ok {
			if v == v {
				r.repair("ignored", &r.rep.Ignored, i)
			}
			continue
		}
		if t := r.s(i); t < first || t > last {
			continue
		}
		if before >= 0 && r.s(i)-r.s(before) <= trackBridgeS {
			r.spread(r.s(before), r.s(i), was, v, add)
		}
		before, was = i, v
	}
}
