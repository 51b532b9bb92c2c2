package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"strconv"

	"spareamps/core"
	"spareamps/core/calendar"
)

// withoutPlan is a day without what a track takes the place of: the legs, date
// and place of another.
func withoutPlan(day []byte) json.RawMessage {
	var members map[string]json.RawMessage
	if err := json.Unmarshal(day, &members); err != nil {
		panic("host: " + err.Error()) // of the core's own text
	}
	for _, name := range []string{"legs", "date", "latitude_deg", "longitude_deg", "utc_offset_h"} {
		delete(members, name)
	}
	text, err := json.Marshal(members)
	if err != nil {
		panic("host: " + err.Error())
	}
	return text
}

// followTrack puts the track of --track into the day, in place of its legs.
// What the day does not state it takes from the track, and says so.
func (p *program) followTrack(q *core.Request, f *requestFlags, bad *badInput) error {
	if f.track == "" {
		return nil
	}
	stated := statedMembers(q)
	track, offset, err := p.readTrackFile(f.track, q.Day.UTCOffsetH, stated["utc_offset_h"])
	if err != nil {
		return badTrack(bad, err)
	}
	rows, report, err := core.ResampleTrack(track.points)
	if err != nil {
		return badTrack(bad, track.explain(err))
	}
	t := trackDay{p: p, q: q, track: track, rows: rows, report: &report, stated: stated, offset: offset}
	q.Day.Legs = nil
	problems := problemsOf(q.Lay(t.day(), "day"))
	if problem := t.early(); problem != nil {
		problems = append(problems, *problem)
		q.Day.Track = nil // each row of it would say the same
	}
	bad.problems = append(bad.problems, problems...)
	if len(bad.problems) == 0 {
		t.tell()
	}
	return nil
}

// badTrack adds what is wrong with a track to what else is.
func badTrack(bad *badInput, err error) error {
	var wrong *badInput
	if !errors.As(err, &wrong) {
		return err
	}
	if bad.code == "" {
		bad.code = wrong.code
	}
	bad.problems = append(bad.problems, wrong.problems...)
	bad.hints = append(bad.hints, wrong.hints...)
	return nil
}

// statedMembers are the inputs of a day that are stated.
func statedMembers(q *core.Request) map[string]bool {
	var members map[string]json.RawMessage
	_ = json.Unmarshal(member(q.JSON(), "day"), &members) // no day: none
	stated := map[string]bool{}
	for name := range members {
		stated[name] = true
	}
	return stated
}

// readTrackFile reads a track. Where the offset to UTC is not known it is that
// of the first longitude, as the core takes it: a file is then read twice.
func (p *program) readTrackFile(name string, offset float64, known bool) (*recordedTrack, float64, error) {
	open := func() (io.ReadCloser, error) {
		if name == "-" {
			return io.NopCloser(p.in), nil
		}
		file, err := os.Open(name)
		if err != nil {
			return nil, err
		}
		if info, err := file.Stat(); err == nil && info.Size() > maxTrackBytes {
			file.Close()
			return nil, &badInput{problems: []core.Problem{{Code: "track", Field: "points", Value: itoa(int(info.Size())) + " bytes", Allowed: "at most 256 MB",
				Message: name + " has " + fixed(float64(info.Size())/1e6, 0) + " MB, the most that is read is 256 MB"}}}
		}
		return file, nil
	}
	read := func(offset float64) (*recordedTrack, error) {
		in, err := open()
		if err != nil {
			var path *fs.PathError
			if errors.As(err, &path) {
				return nil, &badInput{problems: []core.Problem{{Code: "track", Value: name, Message: "cannot read " + name + ": " + path.Err.Error()}}}
			}
			return nil, err
		}
		defer in.Close()
		track, err := readTrack(name, interruptible{p.ctx, in}, offset)
		if p.ctx.Err() != nil {
			return nil, p.ctx.Err()
		}
		return track, err
	}
	track, err := read(offset)
	if err != nil || known || track.date == 0 {
		return track, offset, err
	}
	if _, lon, ok := firstPlace(track.points); ok {
		if zone := math.Floor(lon/15 + 0.5); zone != offset && name != "-" {
			offset = zone
			track, err = read(offset)
		}
	}
	return track, offset, err
}

// interruptible is a reader that ends with its context.
type interruptible struct {
	ctx context.Context
	in  io.Reader
}

func (r interruptible) Read(b []byte) (int, error) {
	if err := r.ctx.Err(); err != nil {
		return 0, err
	}
	return r.in.Read(b)
}

func firstPlace(points []core.TrackPoint) (lat, lon float64, ok bool) {
	for i := range points {
		if p := &points[i]; !math.IsNaN(p.LatDeg) && !math.IsNaN(p.LonDeg) {
			return p.LatDeg, p.LonDeg, true
		}
	}
	return 0, 0, false
}

// A trackDay is a track on its way into a day.
type trackDay struct {
	p      *program
	q      *core.Request
	track  *recordedTrack
	rows   []core.TrackMinute
	report *core.TrackReport
	stated map[string]bool
	offset float64 // to UTC

	start float64 // chosen; negative: stated
	days  float64 // chosen; 0: stated
	place bool    // date and place are the track's
}

// shortStop is how long standing without a record of the engine still counts as
// idling, in minutes; engineering estimate: nobody switches off at a crossing.
const shortStop = 3

// day is what the track states of the day, as JSON.
func (t *trackDay) day() []byte {
	var o object
	t.start = -1
	first := t.rows[0].Minute
	if !t.stated["start"] {
		t.start = 60 * math.Floor(first/60)
		if t.start >= 1440 { // a track whose first usable record lies days after midnight
			t.start = 60 * 23
		}
		o = append(o, pair{"start", clock(t.start)})
	}
	if !t.stated["days"] {
		start := t.q.Day.Start
		if t.start >= 0 {
			start = t.start
		}
		t.days = max(1, math.Ceil((t.rows[len(t.rows)-1].Minute+1-start)/1440))
		o = append(o, pair{"days", t.days})
	}
	if lat, lon, ok := firstPlace(t.track.points); t.track.date != 0 {
		date := dateOf(t.track.date)
		placed := t.stated["latitude_deg"] && t.stated["longitude_deg"]
		switch {
		case !placed && ok && !t.stated["latitude_deg"] && !t.stated["longitude_deg"]:
			o = append(o, pair{"latitude_deg", math.Round(lat*100) / 100}, pair{"longitude_deg", math.Round(lon*100) / 100})
			if !t.stated["date"] {
				o = append(o, pair{"date", date})
			}
			if !t.stated["utc_offset_h"] {
				o = append(o, pair{"utc_offset_h", t.offset})
			}
			t.place = true
		case placed && !t.stated["date"]:
			o = append(o, pair{"date", date})
			t.place = true
		}
	}
	o = append(o, pair{"track", t.minutes()})
	text, err := json.Marshal(o)
	if err != nil {
		panic("host: " + err.Error()) // the resampler gives no NaN
	}
	return text
}

func dateOf(days float64) string {
	year, month, day := calendar.Date(days)
	return fmt.Sprintf("%04d-%02d-%02d", year, month, day)
}

// minutes are the rows of the track. Those without movement and with the
// engine off are left out: that is how what is not covered counts.
func (t *trackDay) minutes() []object {
	list := make([]object, 0, len(t.rows))
	for i := 0; i < len(t.rows); {
		j := i // of a stop whose engine is not recorded, the end
		for j < len(t.rows) && t.rows[j].SpeedKmh == 0 && t.rows[j].RunS == 0 && t.rows[j].OffS < 30 {
			j++
		}
		if j > i {
			if j-i < shortStop {
				for ; i < j; i++ {
					list = append(list, t.minute(&t.rows[i]))
				}
			}
			i = j
			continue
		}
		if r := &t.rows[i]; r.SpeedKmh > 0 || r.RunS >= 30 {
			list = append(list, t.minute(r))
		}
		i++
	}
	return list
}

func (t *trackDay) minute(r *core.TrackMinute) object {
	o := object{{"minute", r.Minute}, {"speed_kmh", math.Min(math.Round(r.SpeedKmh*100)/100, 200)}}
	if r.RunS > 0 && r.EngineRpm >= 1 {
		o = append(o, pair{"engine_rpm", math.Round(r.EngineRpm)})
	}
	if t.report.HasAltitude {
		o = append(o, pair{"altitude_m", math.Round(r.AltitudeM)})
	}
	return o
}

// early says that the track begins before the day.
func (t *trackDay) early() *core.Problem {
	first := t.rows[0].Minute
	if t.start >= 0 || first >= t.q.Day.Start {
		return nil
	}
	start := clock(t.q.Day.Start)
	return &core.Problem{Code: "conflict", Field: "day.start", Value: start, Allowed: "at or before " + clock(first),
		Message: "day.start is " + start + ", after the first record of " + t.track.name + " at " + clock(first)}
}

// tell says what the track was, and what was made of it.
func (t *trackDay) tell() {
	r, note := t.report, t.p.note
	first, last := t.rows[0].Minute, t.rows[len(t.rows)-1].Minute+1
	from := "recorded speeds"
	if r.FromPositions {
		from = "positions"
	}
	note("track of %s records from %s to %s by %s: %.1f km, %.0f min moving, %.0f min standing, fastest %.0f km/h",
		itoa(r.Points), clock(first), clock(last), from, r.DistanceKm, r.MovingMin, r.StandingMin, r.MaxKmh)
	if r.Gaps > 0 {
		note("gaps without records: %d, together %.0f min and %.1f km, taken as standing with the engine off%s", r.Gaps, r.GapMin, r.GapKm, t.where("gap"))
	}
	for _, dropped := range []struct {
		n          int
		kind, what string
	}{
		{r.Jumps, "jump", "records left out for an impossible speed"},
		{r.Backwards, "backwards", "records left out for a clock gone back"},
		{r.Duplicates, "duplicate", "records left out for the time of the one before"},
		{r.Ignored, "ignored", "altitudes or engine speeds out of range, left out"},
	} {
		if dropped.n > 0 {
			note("%s: %d%s", dropped.what, dropped.n, t.where(dropped.kind))
		}
	}
	if len(t.track.ignored) > 0 {
		note("columns not read: %s", joinAnd(t.track.ignored))
	}
	if !r.HasRpm {
		how := "idle speed; --track-ratio or --track-engine-rpm tells more"
		switch {
		case t.q.Day.TrackEngineRpm > 0:
			how = number(t.q.Day.TrackEngineRpm) + " rpm while moving"
		case t.q.Day.TrackRatio > 0:
			how = "that of the gearing"
		}
		note("no engine speeds recorded: taken is %s; standing for %d min or longer counts as engine off", how, shortStop)
	}
	if t.start >= 0 {
		s := "the day begins at " + clock(t.start)
		if t.days > 1 {
			s += " and lasts " + number(t.days) + " days"
		}
		note("%s, by the track; --start says another time", s)
	}
	if t.place {
		note("date %s and place %.2f, %.2f, clock %+g h to UTC, by the track where the day does not say; --utc-offset-h says another", dateOf(t.q.Day.Date), t.q.Day.LatitudeDeg, t.q.Day.LongitudeDeg, t.q.Day.UTCOffsetH)
	}
}

// where is the place in the file of the first repair of a kind.
func (t *trackDay) where(kind string) string {
	for _, r := range t.report.Repairs {
		if r.Kind == kind {
			return ", first at " + t.track.place(r.Index)
		}
	}
	return ""
}

func joinAnd(list []string) string {
	s := ""
	for i, name := range list {
		if i > 0 {
			s += ", "
		}
		s += strconv.Quote(name)
	}
	return s
}
