package main

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/tkrajina/gpxgo/gpx"

	"spareamps/core"
)

func readText(text string, offsetH float64) (*recordedTrack, error) {
	return readTrack("t", strings.NewReader(text), offsetH)
}

// told are the messages of what was wrong.
func told(t testing.TB, err error) string {
	t.Helper()
	var bad *badInput
	if !errors.As(err, &bad) {
		t.Fatalf("got %v, want bad input", err)
	}
	var all []string
	for _, p := range bad.problems {
		if p.Code == "" || p.Field == "" || p.Message == "" {
			t.Errorf("a problem without code, field or message: %+v", p)
		}
		all = append(all, p.Message)
	}
	for _, h := range bad.hints {
		all = append(all, "hint: "+h)
	}
	return strings.Join(all, "\n")
}

func same(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) }

func samePoint(a, b core.TrackPoint) bool {
	return same(a.S, b.S) && same(a.LatDeg, b.LatDeg) && same(a.LonDeg, b.LonDeg) && same(a.EleM, b.EleM) &&
		math.Abs(a.SpeedKmh-b.SpeedKmh) < 1e-9 == !math.IsNaN(b.SpeedKmh) && same(a.EngineRpm, b.EngineRpm)
}

// The forms of CSV that all say the same two records, at 8:00:00 and 8:00:05.5
// local on 2026-07-24, day 9701, two hours ahead of UTC.
func TestTrackCSV(t *testing.T) {
	const eight = 8 * 3600.0
	no := math.NaN()
	speeds := []core.TrackPoint{{S: eight, LatDeg: no, LonDeg: no, EleM: no, SpeedKmh: 18, EngineRpm: 1400}, {S: eight + 5.5, LatDeg: no, LonDeg: no, EleM: no, SpeedKmh: 21.6, EngineRpm: no}}
	places := []core.TrackPoint{{S: eight, LatDeg: 39.5, LonDeg: -3, EleM: 600, SpeedKmh: no, EngineRpm: no}, {S: eight + 5.5, LatDeg: 39.5001, LonDeg: -3, EleM: no, SpeedKmh: no, EngineRpm: no}}
	for _, c := range []struct {
		text string
		want []core.TrackPoint
		date float64
	}{
		{"time,speed_kmh,engine_rpm\n2026-07-24T06:00:00Z,18,1400\n2026-07-24T06:00:05.5Z,21.6,\n", speeds, 9701},
		{"time,speed_kmh,engine_rpm\n2026-07-24T09:00:00+03:00,18,1400\n2026-07-24T09:00:05.5+03:00,21.6,", speeds, 9701},
		{"time,speed_kmh,engine_rpm\n2026-07-24 08:00:00,18,1400\n2026-07-24T08:00:05.5,21.6,\n", speeds, 9701},
		{"time,speed_kmh,engine_rpm\n08:00:00,18,1400\n8:00:05.5,21.6,\n", speeds, 0},
		{"time_s,speed_ms,engine_rpm\n28800,5,1400\n28805.5,6,\n", speeds, 0},
		{"time_s,speed_m_s,engine_rpm\n28800,5,1400\n28805.5,6,\n", speeds, 0},
		{"time_s\tspeed_mph\tengine_rpm\n28800\t11.18468146027201\t1400\n28805.5\t13.421617752326413\t\n", speeds, 0},
		{"\ufeffTime_s ; Speed_kmh;engine_rpm\r\n28800;18,0;1,4e3\r\n28805,5;21,6;\r\n", speeds, 0},
		{"# a remark\n\n\"time_s\",\"speed_kmh\",\"engine_rpm\"\n\"28800\",\"18\",\"1400\"\n\"28805.5\",21.6,\"\"\n\n", speeds, 0},
		{"note,time_s,lat,lon,ele\n\"a, \"\"b\"\"\",28800,39.5,-3,600\nx,28805.5,39.5001,-3,\n", places, 0},
	} {
		got, err := readText(c.text, 2)
		if err != nil {
			t.Errorf("%q: %v", c.text, told(t, err))
			continue
		}
		if len(got.points) != 2 || !samePoint(got.points[0], c.want[0]) || !samePoint(got.points[1], c.want[1]) || got.date != c.date {
			t.Errorf("%q: got %v, day %g, want %v, day %g", c.text, got.points, got.date, c.want, c.date)
		}
	}
	got, err := readText("time,speed_kmh\n23:59:50,3\n00:00:10,4\n23:00:00,5\n", 0)
	if err != nil || got.points[1].S != 86410 || got.points[2].S != 86400+23*3600 {
		t.Errorf("over midnight: got %+v, %v", got, err)
	}
	got, err = readText("# one\ntime_s,lat,lon,mood\n\n1,1,1,x\n2,1,1,y\n", 0)
	if err != nil || got.place(1) != "line 5" || len(got.ignored) != 1 || got.ignored[0] != "mood" {
		t.Errorf("got %+v, %v, want the second point in line 5 and mood ignored", got, err)
	}
	// The local day of the first record counts.
	got, err = readText("time,lat,lon\n2026-07-23T23:30:00Z,1,1\n2026-07-24T00:30:00Z,1,1\n", 2)
	if err != nil || got.date != 9701 || got.points[0].S != 5400 {
		t.Errorf("got %+v, %v, want 1:30 on day 9701", got, err)
	}
}

func TestTrackCSVRefused(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", "t has no records"},
		{"time_s,speed_kmh\n", "t has no records"},
		{"speed_kmh\n3\n", "t, line 1: has to name one column of times"},
		{"time,time_s,speed_kmh\n", "t, line 1: has to name one column of times"},
		{"time_s,ele\n1,2\n", "t, line 1: names neither a speed nor lat and lon in its header; needed are time or time_s, and"},
		{"time_s,lat\n1,2\n", "names neither a speed nor lat and lon"},
		{"time_s,speed\n1,2\n", "hint: a column called speed has no unit"},
		{"time_s,speed_kmh,speed_ms\n1,2,3\n", "names more than one column of speeds"},
		{"time_s,speed_kmh,Speed_kmh\n1,2,3\n", "has a column twice: Speed_kmh"},
		{"time_s,speed_kmh\n1\n", "t, line 2: has 1 cells, the header has 2"},
		{"time_s,speed_kmh\n1,2\n\nx,3\n", "t, line 4: time_s is x, allowed is 0 to 2592000 s since local midnight"},
		{"time_s,speed_kmh\n,3\n", "t, line 2: time_s is empty, allowed is"},
		{"time_s,speed_kmh\n1,NaN\n2,0x10\n3,1e999\n", "t, line 2: speed_kmh is NaN, allowed is a number of km/h\nt, line 3: speed_kmh is 0x10, allowed is a number of km/h\nt, line 4: speed_kmh is 1e999, allowed"},
		{"time_s,lat,lon\n1,95,3\n", "t, line 2: lat is 95, allowed is -90 to 90 degrees"},
		{"time,lat,lon\n28800,1,1\n", "time is 28800, allowed is a date with time such as"},
		{"time,lat,lon\n28800,1,1\n", "hint: seconds since midnight go into a column called time_s"},
		{"time,lat,lon\n08:00:00,1,1\n2026-07-24T08:00:00Z,1,1\n", "t, line 3: time is 2026-07-24T08:00:00Z, allowed"},
		{"time,lat,lon\n25:00:00,1,1\n", "time is 25:00:00"},
		{"time_s,speed_kmh\n\"1,2\n", "t, line 2: has a quotation mark"},
		{"time_s,speed_kmh\n1,\"2\"x\n", "t, line 2: has a quotation mark"},
		{"time_s,speed_kmh\n1,a\x1b[31m" + strings.Repeat("b", 100) + "\n", "speed_kmh is a?[31m" + strings.Repeat("b", 34) + "..."},
		{"time_s,speed_kmh\n1," + strings.Repeat("b", 1e5) + "\n", "t, line 2: is longer than 64 kB"},
	} {
		_, err := readText(c.text, 0)
		if got := told(t, err); !strings.Contains(got, c.want) {
			t.Errorf("%.80q: got %s; want %s", c.text, got, c.want)
		}
	}
	_, err := readText("time_s,speed_kmh\n"+strings.Repeat("x,y\n", 100), 0)
	if n := strings.Count(told(t, err), "\n") + 1; n != maxTrackTold {
		t.Errorf("%d problems told, want %d", n, maxTrackTold)
	}
}

const gpxHead = `<?xml version="1.0"?><gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>`
const gpxTail = `</trkseg></trk></gpx>`

func TestTrackGPXRefused(t *testing.T) {
	at := func(attributes, inner string) string { return "<trkpt " + attributes + ">" + inner + "</trkpt>" }
	good := at(`lat="1" lon="1"`, "<time>2026-07-24T08:00:00Z</time>")
	for _, c := range []struct{ text, want string }{
		{"<html></html>", "t, line 1: is XML, but no GPX: its root is called html"},
		{"<gpx></gpx>", "t has no track points"},
		{"<gpx>", "t, line 1: is no XML: unexpected EOF"},
		{"<gpx><trk>\n</gpx>", "t, line 2: is no XML"},
		{"<gpx><rte><rtept lat='1' lon='1'/></rte></gpx>", "t has a route of 1 points, but no track"},
		{gpxHead + at(`lat="1" lon="1"`, "") + at(`lat="1" lon="1"`, "") + gpxTail, "t has no times: a planned way is no recorded track"},
		{gpxHead + good + at(`lat="1" lon="1"`, "<ele>3</ele>") + gpxTail, "t, track point 2: has no time; of 2 points 1 have none"},
		{gpxHead + good + at(`lat="91" lon="1"`, "") + at(`lon="x"`, "") + gpxTail,
			"t, track point 2: lat is 91, allowed is -90 to 90 degrees\nt, track point 3: lat is empty, allowed is -90 to 90 degrees\nt, track point 3: lon is x, allowed is -180 to 180 degrees"},
		{gpxHead + at(`lat="1" lon="1"`, "<time>yesterday</time>") + gpxTail, "t, track point 1: time is yesterday, allowed is a date with time in UTC"},
		{gpxHead + at(`lat="1" lon="1"`, "<time>0001-01-01T00:00:00Z</time>") + gpxTail, "time is 0001-01-01T00:00:00Z, allowed"},
		{gpxHead + at(`lat="1" lon="1"`, "<ele>high</ele><time>2026-07-24T08:00:00Z</time>") + gpxTail, "t, track point 1: ele is high, allowed is a number"},
		{`<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><gpx>&b;</gpx>`, "t, line 1: declares a document type"},
		{"<gpx><name>&unknown;</name></gpx>", "is no XML: invalid character entity &unknown;"},
		{"<gpx>" + strings.Repeat("<a>", 100), "nests elements deeper than 32"},
		{"<gpx><name>" + strings.Repeat("a", 2<<20), "has a tag or a text of more than 1 MB"},
		{`<?xml version="1.0" encoding="UTF-16"?><gpx/>`, "is written in utf-16, allowed is UTF-8"},
	} {
		_, err := readText(c.text, 0)
		if got := told(t, err); !strings.Contains(got, c.want) {
			t.Errorf("%.120q: got %s; want %s", c.text, got, c.want)
		}
	}
}

func TestTrackGPXSpeeds(t *testing.T) {
	for _, c := range []struct {
		text       string
		kmh, rpm   float64
		ele, atSec float64
	}{
		{`<gpx xmlns="http://www.topografix.com/GPX/1/0"><trk><trkseg><trkpt lat="1" lon="1"><ele>9</ele><time>2026-07-24T08:00:01</time><speed>5</speed></trkpt></trkseg></trk></gpx>`, 18, math.NaN(), 9, 28801},
		{`<g:gpx xmlns:g="http://www.topografix.com/GPX/1/1" xmlns:x="urn:x/TrackPointExtension/v2"><g:trk><g:trkseg><g:trkpt lat="1" lon="1"><g:ele>9</g:ele><g:time>2026-07-24T08:00:01.000Z</g:time><g:extensions><x:TrackPointExtension><x:speed>5</x:speed></x:TrackPointExtension></g:extensions></g:trkpt></g:trkseg></g:trk></g:gpx>`, 18, math.NaN(), 9, 28801},
		{gpxHead + `<trkpt lat="1" lon="1"><extensions><speed_kmh> 18 </speed_kmh><engine_rpm>1400</engine_rpm><ele>7</ele></extensions><ele><![CDATA[9]]></ele><time>2026-07-24T10:00:01+02:00</time></trkpt>` + gpxTail, 18, 1400, 9, 28801},
		// A speed in nobody knows what is left alone.
		{`<?xml version="1.0" encoding="ISO-8859-1"?><gpx><trk><name>` + "\xe9" + `</name><trkseg><trkpt lat="1" lon="1"><ele>9</ele><time>2026-07-24T08:00:01Z</time><extensions><speed>5</speed></extensions></trkpt></trkseg></trk></gpx>`, math.NaN(), math.NaN(), 9, 28801},
	} {
		got, err := readText(c.text, 0)
		if err != nil {
			t.Errorf("%s: %s", c.text, told(t, err))
			continue
		}
		want := core.TrackPoint{S: c.atSec, LatDeg: 1, LonDeg: 1, EleM: c.ele, SpeedKmh: c.kmh, EngineRpm: c.rpm}
		if len(got.points) != 1 || !samePoint(got.points[0], want) || got.date != 9701 {
			t.Errorf("%s: got %+v, want %+v", c.text, got, want)
		}
	}
}

// An independent library's GPX, 1.0 and 1.1, is read as it was meant, and it
// reads ours alike (github.com/tkrajina/gpxgo).
func TestTrackGPXAgainstLibrary(t *testing.T) {
	rng := rand.New(rand.NewSource(3))
	for _, version := range []string{"1.0", "1.1"} {
		var g gpx.GPX
		var want []core.TrackPoint
		at := time.Date(2026, 7, 24, 5, 0, 0, 0, time.UTC)
		for n := range 400 {
			if n%100 == 0 {
				g.AppendTrack(&gpx.GPXTrack{Name: "a < b & c"})
				g.AppendSegment(&gpx.GPXTrackSegment{})
			}
			at = at.Add(time.Duration(1+rng.Intn(20)) * time.Second)
			p := core.TrackPoint{S: float64(at.Unix() - 1784851200 + 7200), LatDeg: math.Round(rng.Float64()*1e7) / 1e7, LonDeg: -math.Round(rng.Float64()*1e7) / 1e7, EleM: float64(rng.Intn(900)), SpeedKmh: math.NaN(), EngineRpm: math.NaN()}
			want = append(want, p)
			g.AppendPoint(&gpx.GPXPoint{Point: gpx.Point{Latitude: p.LatDeg, Longitude: p.LonDeg, Elevation: *gpx.NewNullableFloat64(p.EleM)}, Timestamp: at})
		}
		text, err := g.ToXml(gpx.ToXmlParams{Version: version, Indent: version == "1.1"})
		if err != nil {
			t.Fatal(err)
		}
		got, err := readText(string(text), 2)
		if err != nil {
			t.Fatalf("GPX %s: %s", version, told(t, err))
		}
		if len(got.points) != len(want) {
			t.Fatalf("GPX %s: %d points, want %d", version, len(got.points), len(want))
		}
		for i := range want {
			if !samePoint(got.points[i], want[i]) {
				t.Fatalf("GPX %s: point %d is %+v, want %+v", version, i, got.points[i], want[i])
			}
		}
	}
	file := filepath.Join("..", "testdata", "tracks", "demo.gpx")
	ref, err := gpx.ParseFile(file)
	if err != nil {
		t.Fatal(err)
	}
	got := demoTrack(t, "demo.gpx")
	i := 0
	for _, trk := range ref.Tracks {
		for _, seg := range trk.Segments {
			for _, p := range seg.Points {
				q := got.points[i]
				if q.LatDeg != p.Latitude || q.LonDeg != p.Longitude || q.EleM != p.Elevation.Value() || q.S != float64(p.Timestamp.Unix()-1784851200+7200) {
					t.Fatalf("point %d: got %+v, want %+v", i, q, p)
				}
				i++
			}
		}
	}
	if i != len(got.points) {
		t.Errorf("%d points, want %d", len(got.points), i)
	}
	// The library adds up every step, on a sphere: the jitter of the stops makes
	// its way a little longer.
	_, report, err := core.ResampleTrack(got.points)
	if err != nil {
		t.Fatal(err)
	}
	if km := ref.Length2D() / 1000; !(report.DistanceKm < km && report.DistanceKm > 0.94*km) {
		t.Errorf("got %.3f km, want 0.94 to 1 times %.3f", report.DistanceKm, km)
	} else {
		t.Logf("%.3f km, by the library %.3f", report.DistanceKm, km)
	}
}

func demoTrack(t *testing.T, name string) *recordedTrack {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "testdata", "tracks", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	track, err := readTrack(name, f, 2)
	if err != nil {
		t.Fatal(told(t, err))
	}
	return track
}

func TestTrackDemos(t *testing.T) {
	track := demoTrack(t, "demo.gpx")
	rows, report, err := core.ResampleTrack(track.points)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%+v", report)
	if rows[0].Minute != 460 || !report.FromPositions || !report.HasAltitude || report.Gaps != 1 || report.MaxKmh > 26 || report.Jumps > 0 {
		t.Errorf("demo.gpx: got %+v from minute %g", report, rows[0].Minute)
	}
	track = demoTrack(t, "demo.csv")
	rows, report, err = core.ResampleTrack(track.points)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%+v", report)
	if rows[0].Minute != 460 || report.FromPositions || !report.HasRpm || report.Minutes != 30 || report.Gaps != 0 || report.MaxKmh > 23 {
		t.Errorf("demo.csv: got %+v from minute %g", report, rows[0].Minute)
	}
}

// What the core refuses is told with its place in the file.
func TestTrackExplain(t *testing.T) {
	track, err := readText("# two hours back\ntime_s,speed_kmh\n9000,3\n1800,3\n", 0)
	if err != nil {
		t.Fatal(told(t, err))
	}
	_, _, err = core.ResampleTrack(track.points)
	if got, want := told(t, track.explain(err)), "t, line 4: record 2 of the track is 7200 s before"; !strings.HasPrefix(got, want) {
		t.Errorf("got %s, want %s", got, want)
	}
	if other := errors.New("x"); track.explain(other) != other {
		t.Error("an error of something else is changed")
	}
}

// endless gives a head, then a piece again and again.
type endless struct {
	head, piece string
	gave, at    int
}

func (e *endless) Read(p []byte) (int, error) {
	n := 0
	for n < len(p) {
		text := e.piece
		if e.gave < len(e.head) {
			text = e.head[e.gave:]
		} else {
			text = text[e.at:]
			e.at = (e.at + min(len(text), len(p)-n)) % len(e.piece)
		}
		k := copy(p[n:], text)
		n += k
		e.gave += k
	}
	return n, nil
}

// A file without end is given up at the limits, and memory stays bounded.
func TestTrackEndless(t *testing.T) {
	for _, c := range []struct {
		name, head, piece, want string
		most                    int // bytes read
	}{
		{"CSV records", "time_s,speed_kmh\n", "1,2\n", "line 1000002: has more than 1,000,000 records", 8 << 20},
		{"CSV blank lines", "time_s,speed_kmh\n", strings.Repeat(" ", 63<<10) + "\n", "is longer than 256 MB", 257 << 20},
		{"CSV without line ends", "time_s,speed_kmh\n", "1,2", "line 2: is longer than 64 kB", 1 << 20},
		{"CSV quotes", "time_s,speed_kmh\n\"", "a\n", "has a quotation mark", 1 << 20},
		{"GPX points", gpxHead, `<trkpt lat="1" lon="1"><time>2026-07-24T08:00:00Z</time></trkpt>`, "has more than 1,000,000 records", 80 << 20},
		{"GPX text", "<gpx><name>", "aaaaaaaa", "has a tag or a text of more than 1 MB", 2 << 20},
		{"GPX attributes", "<gpx ", `a="1" `, "has a tag or a text of more than 1 MB", 2 << 20},
	} {
		if testing.Short() && c.most > 50<<20 {
			continue
		}
		e := &endless{head: c.head, piece: c.piece}
		var before, after runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&before)
		_, err := readTrack("t", e, 0)
		runtime.GC()
		runtime.ReadMemStats(&after)
		if got := told(t, err); !strings.Contains(got, c.want) {
			t.Errorf("%s: got %s, want %s", c.name, got, c.want)
		}
		if e.gave > c.most {
			t.Errorf("%s: %d bytes read, want at most %d", c.name, e.gave, c.most)
		}
		if grown := int64(after.HeapSys) - int64(before.HeapSys); grown > 400<<20 {
			t.Errorf("%s: heap grown by %d MB", c.name, grown>>20)
		}
	}
}

// The limit of the whole holds for GPX made of small pieces, too.
func TestTrackGPXLength(t *testing.T) {
	r := trackReader{}
	in := &trackBytes{in: bufio.NewReader(&endless{head: "<gpx>", piece: "<!-- x -->"}), left: 1000}
	if err := r.readGPX(in); err == nil || !strings.Contains(err.(*trackError).message, "longer than 256 MB") {
		t.Errorf("got %v", err)
	}
}

// A reader that fails is no fault of the file.
func TestTrackReadError(t *testing.T) {
	broken := errors.New("device gone")
	for _, head := range []string{"time_s,speed_kmh\n1,2\n", gpxHead} {
		_, err := readTrack("t", io.MultiReader(strings.NewReader(head), failing{broken}), 0)
		if !errors.Is(err, broken) || !strings.HasPrefix(err.Error(), "read t: ") {
			t.Errorf("after %q: got %v, want the reader's error", head, err)
		}
	}
}

type failing struct{ err error }

func (f failing) Read([]byte) (int, error) { return 0, f.err }

// fuzzTrack: whatever is read is in range or refused as bad input, and what is
// read is resampled or refused.
func fuzzTrack(f *testing.F) {
	f.Fuzz(func(t *testing.T, text []byte) {
		track, err := readTrack("t", bytes.NewReader(text), 2)
		if err != nil {
			if msg := told(t, err); msg == "" || strings.ContainsAny(msg, "\x1b\x00") {
				t.Fatalf("refused with %q", msg)
			}
			return
		}
		for i, p := range track.points {
			if math.IsNaN(p.S) || math.IsInf(p.S, 0) || math.Abs(p.LatDeg) > 90 || math.Abs(p.LonDeg) > 180 || math.IsInf(p.SpeedKmh+p.EleM+p.EngineRpm, 0) {
				t.Fatalf("point %d: %+v", i, p)
			}
		}
		if _, _, err := core.ResampleTrack(track.points); err != nil {
			told(t, track.explain(err))
		}
	})
}

func FuzzGPX(f *testing.F) {
	f.Add([]byte(gpxHead + `<trkpt lat="39.5" lon="-3"><ele>600</ele><time>2026-07-24T08:00:00Z</time></trkpt><trkpt lat="39.6" lon="-3"><time>2026-07-24T08:30:00Z</time></trkpt>` + gpxTail))
	f.Add([]byte(`<gpx xmlns="http://www.topografix.com/GPX/1/0"><trkpt lat="1" lon="1"><time>2026-07-24T08:00:00Z</time><speed>5</speed></trkpt></gpx>`))
	f.Add([]byte(`<!DOCTYPE gpx [<!ENTITY a "b">]><gpx>&a;</gpx>`))
	fuzzTrack(f)
}

func FuzzTrackCSV(f *testing.F) {
	f.Add([]byte("time,lat,lon,ele\n2026-07-24T08:00:00Z,39.5,-3,600\n2026-07-24T08:00:10Z,39.501,-3,601\n"))
	f.Add([]byte("time_s;speed_kmh;engine_rpm\n1;2,5;800\n\"2\";3;\n"))
	f.Add([]byte("\ufefftime\tspeed_ms\n23:59:59\t1\n00:00:01\t2\n"))
	fuzzTrack(f)
}

func BenchmarkTrack(b *testing.B) {
	var text strings.Builder
	text.WriteString(gpxHead)
	for i := range 36000 {
		fmt.Fprintf(&text, "<trkpt lat=\"%.6f\" lon=\"-3\"><ele>600</ele><time>%s</time></trkpt>\n", 39.5+float64(i)*3e-5, time.Unix(1784851200+int64(i), 0).UTC().Format(time.RFC3339))
	}
	text.WriteString(gpxTail)
	for b.Loop() {
		track, err := readText(text.String(), 0)
		if err != nil {
			b.Fatal(err)
		}
		if _, _, err := core.ResampleTrack(track.points); err != nil {
			b.Fatal(err)
		}
	}
}
