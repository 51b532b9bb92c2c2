package core

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"spareamps/core/calendar"
)

// aTrack is three minutes from 08:00 on 2026-07-24, universal time: 10, 20 and
// 30 km/h, the last unknown for most of it.
func aTrack() *LogTrack {
	day, _ := calendar.Day(2026, 7, 24)
	t := &LogTrack{HasAltitude: true, MidnightS: (day + epochTo2000) * daySeconds, OffsetS: math.NaN()}
	for i := range 4 {
		t.Minutes = append(t.Minutes, TrackMinute{Minute: 480 + float64(i), SpeedKmh: 10 * float64(i+1), AltitudeM: 600 + float64(i)})
	}
	t.Minutes[3].GapS = 45
	return t
}

// A log takes from a track what it does not tell itself, minute by minute, and
// counts the rows; where neither tells the speed, the time is left out.
func TestLogJoinsTrack(t *testing.T) {
	const header = "time,engine_rpm,ambient_C,core_C"
	row := func(at string) string { return "\n" + at + ",1400,30,80" }
	text := header
	for s := range 25 {
		text += row(fmt.Sprintf("2026-07-24T08:%02d:%02dZ", s/6, s%6*10))
	}
	defaults := NoLogDefaults()
	defaults.Track = aTrack()
	defaults.AltitudeM = 100
	l := ReadLog([]byte(text), defaults)
	if l.Report.Joined != 18 || len(l.Report.Problems) > 0 || slices.Contains(l.Report.Assumed, "speed_kmh") {
		t.Errorf("joined %d, want 18: %+v", l.Report.Joined, l.Report)
	}
	if len(l.Rows) != 18 || len(l.Report.Untold) != 1 || l.Report.Untold[0].Field != "speed_kmh" {
		t.Fatalf("%d observations, want 18; %+v", len(l.Rows), l.Report)
	}
	for i, o := range l.Rows {
		if want := float64(10 * (i/6 + 1)); o.SpeedKmh != want || o.AltitudeM != float64(600+i/6) {
			t.Errorf("observation %d: %v km/h, %v m, want %v, %v", i, o.SpeedKmh, o.AltitudeM, want, 600+i/6)
		}
	}

	// Its own columns go before the track.
	own := strings.ReplaceAll(strings.ReplaceAll(text, header, header+",speed_kmh,altitude_m"), ",80", ",80,55,1000")
	l = ReadLog([]byte(own), defaults)
	if l.Report.Joined != 0 || l.Rows[0].SpeedKmh != 55 || l.Rows[0].AltitudeM != 1000 {
		t.Errorf("joined %d, %+v", l.Report.Joined, l.Rows[0])
	}

	// Seconds since 1970, and a clock two hours ahead without a zone.
	epoch := defaults.Track.MidnightS + 480*60
	local := header + row("2026-07-24 10:00:00") + row("2026-07-24 10:00:50")
	ahead := *defaults.Track
	ahead.OffsetS = 7200
	for name, c := range map[string]struct {
		text  string
		track *LogTrack
	}{
		"epoch":     {header + row(fmt.Sprint(int64(epoch))) + row(fmt.Sprint(int64(epoch+50))), defaults.Track},
		"zone":      {header + row("2026-07-24T10:00:00+02:00") + row("2026-07-24T10:00:50+02:00"), defaults.Track},
		"no zone":   {local, &ahead},
		"date, day": {strings.Replace(header, "time,", "date,time,", 1) + "\n2026-07-24,10:00:00,1400,30,80\n2026-07-24,10:00:50,1400,30,80", &ahead},
	} {
		defaults.Track = c.track
		if l := ReadLog([]byte(c.text), defaults); l.Report.Joined != 2 || len(l.Rows) == 0 || l.Rows[0].SpeedKmh != 10 {
			t.Errorf("%s: joined %d, %+v", name, l.Report.Joined, l)
		}
	}
}

// A track of another time, or times that cannot be compared, are told.
func TestLogApartFromTrack(t *testing.T) {
	const header = "time,engine_rpm,ambient_C,core_C"
	for text, want := range map[string]string{
		"\n2026-07-25T08:00:00Z,1400,30,80\n2026-07-25T08:01:00Z,1400,30,80": "no row of the log lies within the track: the log goes from 2026-07-25 08:00:00Z to 2026-07-25 08:01:00Z, the track from 2026-07-24 08:00:00Z to 2026-07-24 08:04:00Z",
		"\n2026-07-24 08:00:00,1400,30,80\n2026-07-24 08:01:00,1400,30,80":   "the log's times have no zone: say how far its clock is ahead of universal time",
		"\n08:00:00,1400,30,80\n08:01:00,1400,30,80":                         "the log's times have no date: a track cannot be joined to them",
		"\n0,1400,30,80\n60,1400,30,80":                                      "the log's times have no date: a track cannot be joined to them",
	} {
		defaults := NoLogDefaults()
		defaults.Track = aTrack()
		l := ReadLog([]byte(header+text), defaults)
		if len(l.Report.Problems) == 0 || l.Report.Problems[0].Message != want {
			t.Errorf("%q: got %+v, want %s", text, l.Report.Problems, want)
		}
	}
}
