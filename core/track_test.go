package core

import (
	"bufio"
	"math"
	"math/rand"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"spareamps/core/internal/near"
	"spareamps/core/jsontext"
)

var notRecorded = math.NaN()

// speedTrack is a cycle in m/s, one record a second from eight in the morning.
func speedTrack(speeds []float64) []TrackPoint {
	points := make([]TrackPoint, len(speeds))
	for i, v := range speeds {
		points[i] = TrackPoint{28800 + float64(i), notRecorded, notRecorded, notRecorded, 3.6 * v, notRecorded}
	}
	return points
}

// straightTrack lays a cycle along a meridian.
func straightTrack(speeds []float64) []TrackPoint {
	points := make([]TrackPoint, len(speeds))
	north := 0.0
	for i, v := range speeds {
		if i > 0 {
			north += (v + speeds[i-1]) / 2
		}
		points[i] = TrackPoint{28800 + float64(i), 39.5 + north/degreeM, -3, 600, notRecorded, notRecorded}
	}
	return points
}

// degreeM is the length of a degree of latitude at 39.5°: π/180·M, (2) of
// trackMetres worked by hand.
const degreeM = 111025.0

// readCycle reads the columns time in s and speed in m/s.
func readCycle(t *testing.T, file string) (speeds []float64) {
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines := bufio.NewScanner(f)
	for n := 0; lines.Scan(); n++ {
		cells := strings.Split(lines.Text(), ",")
		if n == 0 || len(cells) < 2 {
			continue
		}
		v, err := strconv.ParseFloat(strings.TrimSpace(cells[1]), 64)
		if err != nil {
			t.Fatalf("%s:%d: %v", file, n+1, err)
		}
		speeds = append(speeds, v)
	}
	return speeds
}

func trapezoid(speeds []float64) (m float64) {
	for i := 1; i < len(speeds); i++ {
		m += (speeds[i] + speeds[i-1]) / 2
	}
	return m
}

// failer is a test, or a rapid one.
type failer interface {
	Helper()
	Errorf(format string, args ...any)
	Fatalf(format string, args ...any)
	Fatal(args ...any)
}

func resampled(t failer, points []TrackPoint) ([]TrackMinute, TrackReport) {
	t.Helper()
	rows, report, err := ResampleTrack(points)
	if err != nil {
		t.Fatal(err)
	}
	return rows, report
}

// Public drive cycles keep their distance and top speed, recorded as speeds or
// as positions. SPAREAMPS_CYCLES names a folder with udds.csv, nycc.csv and
// wltc_low_3.csv (US EPA urban and New York City schedules, UN GTR 15 class 3
// low phase; columns time in s and speed in m/s). Without it a cycle of our own
// stands in.
func TestTrackCycles(t *testing.T) {
	cycles := []struct {
		name               string
		points             int
		distance, max, own float64 // m, m/s; share standing
	}{
		// Points, distance and maximum: the schedules in NREL/fastsim
		// (UDDS, WLTC) and the 2003 NREL vehicle simulator (NYCC).
		{"udds.csv", 1370, 11990.4, 25.348, 0.189},
		{"nycc.csv", 599, 1898.4, 44.58 / 3.6, 0.371},
		{"wltc_low_3.csv", 590, 3094.5, 56.5 / 3.6, 0.254},
	}
	folder := os.Getenv("SPAREAMPS_CYCLES")
	if folder == "" {
		t.Log("SPAREAMPS_CYCLES is not set: a cycle of our own instead of the public ones")
		cycles = cycles[:1]
		// 20 s at rest, to 10 m/s in 10 s, 60 s on, to rest in 5 s, 24 s at rest.
		cycles[0].name, cycles[0].points, cycles[0].distance, cycles[0].max, cycles[0].own = "own", 120, 50+600+25, 10, 45.0/120
	}
	for _, c := range cycles {
		t.Run(c.name, func(t *testing.T) {
			var speeds []float64
			if folder != "" {
				speeds = readCycle(t, filepath.Join(folder, c.name))
			} else {
				for i := range 120 {
					speeds = append(speeds, max(0, min(10, float64(i)-20, 2*(95-float64(i)))))
				}
			}
			if len(speeds) != c.points {
				t.Errorf("%d points, want %d", len(speeds), c.points)
			}
			rows, report := resampled(t, speedTrack(speeds))
			near.Share(t, "distance, m", 1000*report.DistanceKm, c.distance, 0.001)
			near.Share(t, "fastest, m/s", report.MaxKmh/3.6, c.max, 0.0005)
			near.Share(t, "own trapezoid, m", trapezoid(speeds), c.distance, 0.001)
			// Standing is counted between records, the schedules count records.
			near.Abs(t, "share standing", report.StandingMin*60/float64(len(speeds)-1), c.own, 0.025)
			sumsAgree(t, rows, report)

			rows, report = resampled(t, straightTrack(speeds))
			t.Logf("by positions: %.1f m of %.1f, %.1f min moving of %.1f, fastest %.2f m/s of %.2f", 1000*report.DistanceKm, c.distance,
				report.MovingMin, float64(len(speeds)-1)/60*(1-c.own), report.MaxKmh/3.6, c.max)
			near.Share(t, "distance by positions, m", 1000*report.DistanceKm, c.distance, 0.002)
			near.Share(t, "fastest by positions, m/s", report.MaxKmh/3.6, c.max, 0.02)
			sumsAgree(t, rows, report)
		})
	}
}

// sumsAgree checks what holds of every track: the rows' distance is the
// report's, times add up, and nothing is NaN, infinite or negative.
func sumsAgree(t failer, rows []TrackMinute, report TrackReport) {
	t.Helper()
	var km, moving, gap float64
	for i, m := range rows {
		for _, v := range []float64{m.Minute, m.SpeedKmh, m.EngineRpm, m.MovingS, m.GapS, m.RunS, m.OffS} {
			if !(v >= 0 && v <= 43200) {
				t.Fatalf("row %d: %+v", i, m)
			}
		}
		if !(m.AltitudeM >= -430 && m.AltitudeM <= 6000) || m.EngineRpm > 8000 || m.SpeedKmh > 200.001 {
			t.Fatalf("row %d: %+v", i, m)
		}
		if m.MovingS+m.GapS > 60.0001 || m.RunS+m.OffS > 60.0001 || m.MovingS == 0 && m.SpeedKmh > 0 {
			t.Fatalf("row %d: more than a minute in a minute, or a speed without moving: %+v", i, m)
		}
		if m.Minute != rows[0].Minute+float64(i) || m.Minute != math.Trunc(m.Minute) {
			t.Fatalf("row %d is minute %g", i, m.Minute)
		}
		km += m.SpeedKmh / 60
		moving += m.MovingS / 60
		gap += m.GapS / 60
	}
	if math.Abs(km-report.DistanceKm) > 1e-9*(1+km) || math.Abs(moving-report.MovingMin) > 1e-9*(1+moving) {
		t.Errorf("rows have %.12g km and %.12g min moving, the report %.12g km and %.12g min", km, moving, report.DistanceKm, report.MovingMin)
	}
	if gap < report.GapMin-1e-6 || report.StandingMin < 0 || len(rows) != report.Minutes {
		t.Errorf("gaps of %g min in rows, report %+v", gap, report)
	}
	span := float64(len(rows))
	if sum := report.MovingMin + report.StandingMin + report.GapMin; sum > span+1e-6 || sum < span-2-1e-6 {
		t.Errorf("moving, standing and gaps are %g min of %g: %+v", sum, span, report)
	}
}

// The length of a degree of latitude and of longitude on WGS 84, in m, as
// tables print it (from memory), and the straight line through the earth.
func TestTrackMetres(t *testing.T) {
	for _, x := range []struct{ lat, north, east float64 }{
		{0, 110574, 111320}, {15, 110649, 107550}, {30, 110852, 96486}, {45, 111132, 78847}, {60, 111412, 55800}, {75, 111618, 28902},
	} {
		near.Abs(t, "a degree of latitude at "+jsontext.NumberText(x.lat), 100*trackMetres(x.lat-0.005, 9, x.lat+0.005, 9), x.north, 0.6)
		near.Abs(t, "a degree of longitude at "+jsontext.NumberText(x.lat), 100*trackMetres(x.lat, 179.995, x.lat, -179.995), x.east, 0.6)
	}
	near.Abs(t, "by hand at 39.5", 100*trackMetres(39.495, 9, 39.505, 9), degreeM, 0.1)
	earth := func(latDeg, lonDeg float64) (p [3]float64) {
		lat, lon := latDeg*math.Pi/180, lonDeg*math.Pi/180
		f := 1 / 298.257223563
		n := 6378137 / math.Sqrt(1-f*(2-f)*math.Sin(lat)*math.Sin(lat))
		return [3]float64{n * math.Cos(lat) * math.Cos(lon), n * math.Cos(lat) * math.Sin(lon), n * (1 - f) * (1 - f) * math.Sin(lat)}
	}
	worst := map[float64]float64{}
	rng := rand.New(rand.NewSource(45))
	for range 20000 {
		lat, lon, course := 140*rng.Float64()-70, 360*rng.Float64()-180, 2*math.Pi*rng.Float64()
		for _, reach := range []float64{1e4, 1e5} {
			m := reach * rng.Float64()
			lat1, lon1 := lat+m*math.Cos(course)/111000, lon+m*math.Sin(course)/111000/math.Cos(lat*math.Pi/180)
			if math.Abs(lat1) > 70 || m < 10 {
				continue
			}
			if lon1 > 180 {
				lon1 -= 360
			} else if lon1 < -180 {
				lon1 += 360
			}
			a, b := earth(lat, lon), earth(lat1, lon1)
			chord := math.Sqrt((a[0]-b[0])*(a[0]-b[0]) + (a[1]-b[1])*(a[1]-b[1]) + (a[2]-b[2])*(a[2]-b[2]))
			arc := 2 * 6.37e6 * math.Asin(chord/2/6.37e6)
			worst[reach] = max(worst[reach], math.Abs(trackMetres(lat, lon, lat1, lon1)/arc-1))
		}
	}
	t.Logf("worst to 10 km %.2g, to 100 km %.2g", worst[1e4], worst[1e5])
	if worst[1e4] > 1e-6 || worst[1e5] > 1e-4 {
		t.Errorf("worst share off up to 10 km %.2g, want 1e-6; up to 100 km %.2g, want 1e-4", worst[1e4], worst[1e5])
	}
}

// A drive is a made way with its true length.
type drive struct {
	points  []TrackPoint // one a second
	km      float64
	standsS float64
	turns   float64 // of 90°
	stops   int
}

// drawDrive draws stretches at 5 to 60 km/h, with bends no tighter than 10 m
// and 2.5 m/s² to the side, and stops of half a minute to six.
func drawDrive(t *rapid.T) drive {
	var d drive
	start := 60 * rapid.Float64Range(0, 700).Draw(t, "start_min")
	at := TrackPoint{start, rapid.Float64Range(-60, 60).Draw(t, "lat"), rapid.Float64Range(-180, 180).Draw(t, "lon"), 600, notRecorded, notRecorded}
	course, v := rapid.Float64Range(0, 6.28).Draw(t, "course"), 0.0
	stay := func(s int) {
		for range s {
			d.points = append(d.points, at)
			at.S++
		}
		d.standsS += float64(s)
		d.stops++
	}
	stay(rapid.IntRange(40, 120).Draw(t, "before_s"))
	for range rapid.IntRange(1, 5).Draw(t, "stretches") {
		speed := rapid.Float64Range(5, 60).Draw(t, "kmh") / 3.6
		length := rapid.IntRange(60, 400).Draw(t, "length_s")
		bend := 0.0
		for s := 0; s < length || v > 0; s++ {
			if s%30 == 0 {
				bend = rapid.SampledFrom([]float64{0, 0, 0, -1, 1, 0.2}).Draw(t, "bend")
			}
			if s >= length {
				v = max(0, v-1.5)
			} else {
				v = min(speed, v+1)
			}
			if s%30 < 10 && v > 0 {
				course += bend * min(2.5/v, v/10)
				d.turns += math.Abs(bend) * min(2.5/v, v/10) / (math.Pi / 2)
			}
			d.points = append(d.points, at)
			at.S++
			at.LatDeg += v * math.Cos(course) / degreeM
			at.LonDeg = turn(at.LonDeg + v*math.Sin(course)/degreeM/math.Cos(at.LatDeg*math.Pi/180))
			d.km += trackMetres(at.LatDeg, at.LonDeg, d.points[len(d.points)-1].LatDeg, d.points[len(d.points)-1].LonDeg) / 1000
		}
		stay(rapid.IntRange(40, 360).Draw(t, "stop_s"))
	}
	return d
}

func every(points []TrackPoint, s int) (out []TrackPoint) {
	for i := 0; i < len(points); i += s {
		out = append(out, points[i])
	}
	return out
}

// At 1 Hz the distance is that of the way within 15 m, 0.5 % and 9 m for each
// right angle of turning, at 5 s the one at 1 Hz within 15 m, 0.5 % and 15 m.
func TestTrackRates(t *testing.T) {
	worst1, worst5 := 0.0, 0.0
	rapid.Check(t, func(t *rapid.T) {
		d := drawDrive(t)
		rows, second := resampled(t, d.points)
		sumsAgree(t, rows, second)
		rows, fifth := resampled(t, every(d.points, 5))
		sumsAgree(t, rows, fifth)
		near := func(what string, got, want, turnM float64) {
			if tol := 0.015 + 0.005*want + turnM/1000*d.turns; math.Abs(got-want) > tol {
				t.Errorf("%s: got %.4f km, want %.4f within %.4f, %.1f right angles", what, got, want, tol, d.turns)
			}
		}
		near("1 Hz against the way", second.DistanceKm, d.km, 9)
		near("5 s against 1 Hz", fifth.DistanceKm, second.DistanceKm, 15)
		worst1 = max(worst1, math.Abs(second.DistanceKm-d.km)/d.km)
		worst5 = max(worst5, math.Abs(fifth.DistanceKm-second.DistanceKm)/d.km)
		if got, want := second.StandingMin, d.standsS/60; math.Abs(got-want) > 0.2*float64(d.stops) {
			t.Errorf("standing %.2f min, want %.2f within 12 s a stop (%d)", got, want, d.stops)
		}
	})
	t.Logf("worst: 1 Hz %.2f %% of the way, 5 s against 1 Hz %.2f %%", 100*worst1, 100*worst5)
}

// Standing jitter of 5 m, standard deviation east and north, adds at 1 Hz and
// at 5 s no more than 45 s of moving and 60 m to each stop.
func TestTrackJitter(t *testing.T) {
	var worstS, worstM float64
	rapid.Check(t, func(t *rapid.T) {
		d := drawDrive(t)
		rng := rand.New(rand.NewSource(int64(rapid.Uint32().Draw(t, "seed"))))
		noisy := slices.Clone(d.points)
		for i := range noisy {
			if j := min(i+1, len(noisy)-1); noisy[i].LatDeg == noisy[j].LatDeg {
				noisy[i].LatDeg += 5 * rng.NormFloat64() / degreeM
				noisy[i].LonDeg += 5 * rng.NormFloat64() / degreeM / math.Cos(noisy[i].LatDeg*math.Pi/180)
				noisy[i].LonDeg = turn(noisy[i].LonDeg)
			}
		}
		for _, s := range []int{1, 5} {
			_, clean := resampled(t, every(d.points, s))
			rows, jitter := resampled(t, every(noisy, s))
			sumsAgree(t, rows, jitter)
			moving, metres := 60*math.Abs(jitter.MovingMin-clean.MovingMin)/float64(d.stops), 1000*math.Abs(jitter.DistanceKm-clean.DistanceKm)/float64(d.stops)
			if moving > 45 || metres > 60 {
				t.Errorf("every %d s: %.1f s and %.1f m a stop, want 45 s and 60 m", s, moving, metres)
			}
			worstS, worstM = max(worstS, moving), max(worstM, metres)
		}
	})
	t.Logf("worst: %.1f s, %.1f m a stop", worstS, worstM)
}

// An hour at rest adds next to nothing whatever the receiver does.
func TestTrackStandsStill(t *testing.T) {
	for _, s := range []float64{1, 2, 5, 10, 30} {
		for _, drift := range []bool{false, true} {
			rng := rand.New(rand.NewSource(7))
			var points []TrackPoint
			var y, x float64
			for at := 0.0; at < 3600; at += s {
				if drift { // wanders about a centre over minutes, 5 m standard deviation
					k := 1 - s/120
					y, x = k*y+math.Sqrt(1-k*k)*5*rng.NormFloat64(), k*x+math.Sqrt(1-k*k)*5*rng.NormFloat64()
				} else {
					y, x = 5*rng.NormFloat64(), 5*rng.NormFloat64()
				}
				points = append(points, TrackPoint{at, 39.5 + y/degreeM, -3 + x/degreeM/0.7716, 600, notRecorded, notRecorded})
			}
			_, report := resampled(t, points)
			t.Logf("every %g s, drift %t: %.0f m, %.2f min moving", s, drift, 1000*report.DistanceKm, report.MovingMin)
			if report.DistanceKm > 0.2 || report.MovingMin > 2 {
				t.Errorf("every %g s, drift %t: %.0f m, %.2f min moving, want at most 200 m, 2 min", s, drift, 1000*report.DistanceKm, report.MovingMin)
			}
		}
	}
}

func TestTrackRepairs(t *testing.T) {
	steady := func() []TrackPoint { // 10 m/s, 400 s
		speeds := make([]float64, 401)
		for i := range speeds {
			speeds[i] = 10
		}
		return straightTrack(speeds)
	}
	for _, c := range []struct {
		name   string
		change func(p []TrackPoint) []TrackPoint
		km     float64
		want   TrackReport
		repair TrackRepair
	}{
		{"nothing", func(p []TrackPoint) []TrackPoint { return p }, 4, TrackReport{}, TrackRepair{}},
		{"a spike of 500 m", func(p []TrackPoint) []TrackPoint { p[100].LatDeg += 500 / degreeM; return p }, 4, TrackReport{Jumps: 1}, TrackRepair{"jump", 100, 1}},
		{"a spike of 40 m", func(p []TrackPoint) []TrackPoint { p[100].LonDeg += 40 / degreeM; return p }, 4, TrackReport{Jumps: 1}, TrackRepair{"jump", 100, 1}},
		{"a first fix far off", func(p []TrackPoint) []TrackPoint { p[0].LatDeg -= 0.3; return p }, 3.99, TrackReport{Jumps: 1}, TrackRepair{"jump", 1, 1}},
		{"a last fix far off", func(p []TrackPoint) []TrackPoint { p[400].LatDeg -= 0.3; return p }, 3.99, TrackReport{Jumps: 1}, TrackRepair{"jump", 400, 1}},
		{"elsewhere from then on", func(p []TrackPoint) []TrackPoint {
			for i := range p[200:] {
				p[200+i].LonDeg += 1
			}
			return p
		}, 3.99, TrackReport{Jumps: 1}, TrackRepair{"jump", 200, 1}},
		{"three minutes missing", func(p []TrackPoint) []TrackPoint { return slices.Delete(p, 101, 280) }, 4, TrackReport{}, TrackRepair{}},
		{"a second more", func(p []TrackPoint) []TrackPoint { return slices.Delete(p, 101, 281) }, 4 - 1.81, TrackReport{Gaps: 1, GapMin: 181.0 / 60, GapKm: 1.81}, TrackRepair{"gap", 101, 1}},
		{"twice the same time", func(p []TrackPoint) []TrackPoint { p[100].S = p[99].S; return p }, 4, TrackReport{Duplicates: 1}, TrackRepair{"duplicate", 100, 1}},
		{"the clock set back 60 s", func(p []TrackPoint) []TrackPoint {
			for i := range p[200:] {
				p[200+i].S -= 60
			}
			return p
		}, 4, TrackReport{Backwards: 59, Duplicates: 1, Jumps: 1}, TrackRepair{"backwards", 200, 59}},
	} {
		rows, report := resampled(t, c.change(steady()))
		sumsAgree(t, rows, report)
		if report.Jumps != c.want.Jumps || report.Gaps != c.want.Gaps || report.Duplicates != c.want.Duplicates || report.Backwards != c.want.Backwards {
			t.Errorf("%s: got %+v", c.name, report)
		}
		near.Abs(t, c.name+": gap min", report.GapMin, c.want.GapMin, 1e-9)
		near.Abs(t, c.name+": gap km", report.GapKm, c.want.GapKm, 1e-4)
		if c.name != "the clock set back 60 s" { // 60 s of way are in one second there: a jump, too
			near.Abs(t, c.name+": km", report.DistanceKm, c.km, 0.0105)
		}
		if c.repair.Kind != "" && !slices.Contains(report.Repairs, c.repair) {
			t.Errorf("%s: repairs %v, want %v", c.name, report.Repairs, c.repair)
		}
	}
}

func TestTrackRefused(t *testing.T) {
	at := func(s, lat, lon, kmh float64) TrackPoint {
		return TrackPoint{s, lat, lon, notRecorded, kmh, notRecorded}
	}
	n := notRecorded
	for _, c := range []struct {
		points         []TrackPoint
		field, message string
	}{
		{nil, "points", "fewer than two records"},
		{[]TrackPoint{at(5, n, n, 7)}, "points", "fewer than two records"},
		{[]TrackPoint{at(5, n, n, n), at(6, n, n, n)}, "points", "fewer than two records"},
		{[]TrackPoint{at(5, 1, 1, n), at(n, 1, 1, n)}, "points[1].s", "record 2 of the track has no time"},
		{[]TrackPoint{at(math.Inf(1), 1, 1, n)}, "points[0].s", "record 1 of the track"},
		{[]TrackPoint{at(-1, 1, 1, n)}, "points[0].s", "allowed is 0 to 30 days"},
		{[]TrackPoint{at(1, 91, 1, n)}, "points[0]", "record 1 of the track is at 91, 1; latitude is -90 to 90"},
		{[]TrackPoint{at(1, 1, 1, n), at(1000, 1, 1, n), at(800, 1, 1, n)}, "points[2].s", "record 3 of the track is 200 s before those"},
		{[]TrackPoint{at(1, n, n, 300), at(2, n, n, 400)}, "points[0]", "the first that does not is record 1"},
		{[]TrackPoint{at(1, n, n, -3), at(2, n, n, math.Inf(1))}, "points[0]", "record 1"},
		{[]TrackPoint{at(1, 10, 10, n), at(2, 20, 10, n), at(3, 30, 10, n)}, "points[1]", "the first that does not is record 2"},
		{[]TrackPoint{at(1, n, n, 3), at(8*86400, n, n, 3)}, "points", "goes over 7.9 days, allowed is 7"},
	} {
		rows, _, err := ResampleTrack(c.points)
		bad, ok := err.(*InputError)
		if !ok || rows != nil || len(bad.Problems) != 1 {
			t.Errorf("%v: got %v, %v", c.points, rows, err)
			continue
		}
		if p := bad.Problems[0]; p.Field != c.field || !strings.Contains(p.Message, c.message) {
			t.Errorf("%v: got %q: %s; want %q: %s", c.points, p.Field, p.Message, c.field, c.message)
		}
	}
}

// Engine speed is the mean while it ran, altitude that of the minute or the
// last one known.
func TestTrackEngine(t *testing.T) {
	var points []TrackPoint
	for s := 30.0; s <= 600; s += 10 {
		p := TrackPoint{s, notRecorded, notRecorded, notRecorded, 18, 1500}
		if s >= 120 && s < 240 {
			p.EngineRpm = 0
		}
		if s >= 240 && s < 300 {
			p.EleM = 600
		}
		if s > 300 && s <= 490 {
			continue
		}
		points = append(points, p)
	}
	points[1].EngineRpm, points[2].EleM = 9000, -700
	rows, report := resampled(t, points)
	sumsAgree(t, rows, report)
	if !report.HasAltitude || !report.HasRpm || report.Ignored != 2 || report.Gaps != 1 || len(rows) != 10 {
		t.Fatalf("got %+v", report)
	}
	for _, m := range rows {
		if m.AltitudeM != 600 {
			t.Errorf("minute %g: %g m, want 600 before, in and after", m.Minute, m.AltitudeM)
		}
	}
	if m := rows[1]; m.EngineRpm != 1375 || m.RunS != 60 || m.OffS != 0 {
		t.Errorf("running, slowing to a stop in its last 10 s: %+v", m)
	}
	if m := rows[2]; m.RunS != 0 || m.OffS != 60 || m.MovingS != 60 {
		t.Errorf("recorded at a stop: %+v", m)
	}
	if m := rows[6]; m.OffS != 60 || m.GapS != 60 || m.SpeedKmh != 0 {
		t.Errorf("in the gap: %+v", m)
	}
	if m := rows[0]; m.GapS != 30 || m.OffS != 30 || m.RunS != 30 || m.SpeedKmh != 9 {
		t.Errorf("before the first record: %+v", m)
	}
}

// trackOf makes any points, many of them sensible.
func trackOf(data []byte) []TrackPoint {
	var points []TrackPoint
	s := 0.0
	for ; len(data) >= 6 && len(points) < 5000; data = data[6:] {
		n := func(b byte, scale, from float64) float64 {
			if b == 255 {
				return math.NaN()
			}
			return from + scale*float64(b)
		}
		s += n(data[0], 0.5, -2)
		if data[0] == 254 {
			s += 1e5
		}
		points = append(points, TrackPoint{s, n(data[1], 1e-4, 39.5), n(data[2], 1.0/64, 177), n(data[3], 40, -450), n(data[4], 1, -3), n(data[5], 40, -40)})
	}
	return points
}

// FuzzResample: any points give rows whose sums agree, or an error that says
// which.
func FuzzResample(f *testing.F) {
	f.Add([]byte{})
	f.Add([]byte("\x06\x10\x10\x20\xff\x20\x06\x11\x10\x20\xff\x21\x06\x14\x10\xff\xff\x22\xf0\x20\x10\x10\xff\x23"))
	f.Add([]byte("\x06\xff\xff\x20\x20\x20\x06\xff\xff\x20\x21\x21\x01\xff\xff\x20\x22\xff\x04\xff\xff\x20\xfe\xff"))
	f.Fuzz(func(t *testing.T, data []byte) {
		points := trackOf(data)
		rows, report, err := ResampleTrack(points)
		if err != nil {
			if bad, ok := err.(*InputError); !ok || rows != nil || len(bad.Problems) == 0 || !strings.Contains(bad.Problems[0].Field, "points") {
				t.Fatalf("%v with %d rows", err, len(rows))
			}
			return
		}
		if report.Points != len(points) {
			t.Fatalf("%d points of %d", report.Points, len(points))
		}
		sumsAgree(t, rows, report)
	})
}
