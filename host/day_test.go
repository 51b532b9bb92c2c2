package main

import (
	"bytes"
	"context"
	"encoding/json"
	"encoding/xml"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"spareamps/core"
	"spareamps/core/rig"
)

// drawDay draws a request about a day: the demo's with other figures, and some
// of its legs and loads.
func drawDay(t *rapid.T) core.Request {
	q := core.Demo()
	set := func(path, value string) {
		if err := q.Set(path, value); err != nil {
			t.Fatal(err)
		}
	}
	number := func(path string, least, most float64) {
		if rapid.Bool().Draw(t, path+" given") {
			set(path, number(rapid.Float64Range(least, most).Draw(t, path)))
		}
	}
	number("day.house_soc", 0, 1)
	number("day.starter_soc", 0.1, 1)
	number("day.min_C", -40, 19)
	number("day.max_C", 38, 55)
	number("day.cloud", 0, 1)
	number("day.want_soc", 0.05, 1)
	number("day.parked_W", 0, 60)
	number("day.vehicle_loads_W", 0, 1500)
	number("day.shortest_switch_min", 0, 120)
	number("rig.alternator.rated_current_A", 65, 300)
	number("rig.charger.max_output_W", 20, 3000)
	number("rig.charger.feed_W", 0, 600)
	number("rig.house_battery.capacity_Ah", 10, 600)
	if rapid.Bool().Draw(t, "setting") {
		number("day.setting_W", 10, 1000)
	}
	set("day.days", itoa(rapid.IntRange(1, 2).Draw(t, "days")))
	set("day.control", rapid.SampledFrom([]string{"by_hand", "automatic"}).Draw(t, "control"))
	set("day.series_min", itoa(rapid.SampledFrom([]int{0, 7, 30, 60}).Draw(t, "series")))
	set("rig.charger.stops_with_engine", rapid.SampledFrom([]string{"yes", "no"}).Draw(t, "stops"))
	var legs []rig.Leg
	for _, leg := range q.Day.Legs {
		if rapid.IntRange(0, 3).Draw(t, "leg") > 0 {
			legs = append(legs, leg)
		}
	}
	var loads []rig.Load
	for _, load := range q.Day.Loads {
		if rapid.Bool().Draw(t, "load") {
			loads = append(loads, load)
		}
	}
	q.Day.Legs, q.Day.Loads = legs, loads
	return q
}

// Native and module give the same bytes for any day.
func TestEnginesAgreeOnDays(t *testing.T) {
	p := &program{ctx: context.Background()}
	w, err := p.engine("wasm", "")
	if err != nil {
		t.Fatal(err)
	}
	defer w.close()
	agree := func(t rapid.TB, request []byte) {
		want, err := native{}.day(p.ctx, request)
		if err != nil {
			t.Fatal(err)
		}
		got, err := w.day(p.ctx, request)
		if err != nil {
			t.Fatal(err)
		}
		if bytes.HasPrefix(want, []byte(`{"error"`)) {
			t.Fatalf("refused: %s\n%s", want, request)
		}
		if d := cmp.Diff(string(want), string(got)); d != "" {
			t.Fatalf("native (-) and module (+) differ for %s:\n%s", request, d)
		}
	}
	demo := core.Demo()
	agree(t, demo.JSON())
	rapid.Check(t, func(t *rapid.T) {
		q := drawDay(t)
		agree(t, q.JSON())
	})
}

// Any plan prints within the page, in words that are whole, the answer first.
func TestDayFitsThePage(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := drawDay(t)
		if err := q.Set("day.series_min", "10"); err != nil {
			t.Fatal(err)
		}
		text, err := native{}.day(context.Background(), q.JSON())
		if err != nil {
			t.Fatal(err)
		}
		a, err := readAnswer(text)
		if err != nil {
			t.Fatal(err)
		}
		var out bytes.Buffer
		g := page{to: &out, width: rapid.SampledFrom([]int{pageMost, pageLeast, 71}).Draw(t, "width"), ascii: rapid.Bool().Draw(t, "ascii")}
		g.day(a, q.Day.Days)
		lines := strings.Split(out.String(), "\n")
		for _, l := range lines {
			if width(l) > g.width {
				t.Fatalf("%d columns in a page of %d: %s\n%s", width(l), g.width, l, q.JSON())
			}
			for _, odd := range []string{"NaN", "Inf", "null", "<nil>", "e+", "  W ", "-0 ", "?"} {
				if strings.Contains(l, odd) {
					t.Fatalf("%q in %q of %s", odd, l, q.JSON())
				}
			}
		}
		if first := lines[0]; !strings.Contains(first, "harger") && !strings.HasPrefix(first, "Tried") {
			t.Fatalf("begins with %q", first)
		}
		if picture, err := pictureOf(a); err != nil || xml.Unmarshal(picture, new(struct{ XMLName xml.Name })) != nil {
			t.Fatalf("the picture of %s: %v", q.JSON(), err)
		}
	})
}

// The plan for a person is not longer than a hand's breadth before the strips,
// and the series has a row for each minute.
func TestDayCSV(t *testing.T) {
	got := runArgs(t, "day", "--csv", "-q")
	lines := strings.Split(strings.TrimSuffix(got.out, "\n"), "\n")
	if got.code != exitOK || len(lines) != 1441 {
		t.Fatalf("exit code %d, %d lines, want a header and 1440\n%s", got.code, len(lines), got.err)
	}
	if want := "at,at_min,house_soc,starter_soc,starter_V,charge_W,"; !strings.HasPrefix(lines[0], want) {
		t.Errorf("got header %s, want %s...", lines[0], want)
	}
	for _, l := range lines {
		if strings.Count(l, ",") != strings.Count(lines[0], ",") {
			t.Fatalf("%s: not as many cells as the header", l)
		}
	}
	if lines[1440][:11] != "06:00,1800," {
		t.Errorf("the last line is %s", lines[1440])
	}
}

// A track's rows are the minutes it has, and its day what it says of it.
func TestTrackBecomesADay(t *testing.T) {
	for _, c := range []struct {
		name, start, date string
		rows              int
		offset            any
	}{
		{"demo.gpx", "05:00", "2026-07-24", 89, 0.0},
		{"demo.csv", "07:00", "", 30, nil},
	} {
		got := runArgs(t, "day", "--track", "../testdata/tracks/"+c.name, "--print-request")
		var q struct {
			Day struct {
				Start, Date string
				Offset      any `json:"utc_offset_h"`
				Legs, Track []map[string]any
			}
		}
		if got.code != exitOK || json.Unmarshal([]byte(got.out), &q) != nil {
			t.Fatalf("%s: exit code %d\n%s", c.name, got.code, got.err)
		}
		if q.Day.Start != c.start || q.Day.Date != c.date || q.Day.Offset != c.offset || len(q.Day.Legs) != 0 || len(q.Day.Track) != c.rows {
			t.Errorf("%s: got start %s, date %q, offset %v, %d legs, %d rows; want %v", c.name, q.Day.Start, q.Day.Date, q.Day.Offset, len(q.Day.Legs), len(q.Day.Track), c)
		}
		if again := runWith(t, context.Background(), strings.NewReader(got.out), nil, "day", "--day", "-"); again.code != exitOK {
			t.Errorf("%s: its request is refused: %s", c.name, again.err)
		}
	}
}

// A file of 2 GB is refused at once, by its size where that is known, and
// leaves nothing behind.
func TestHugeFiles(t *testing.T) {
	dir := t.TempDir()
	huge, picture, out := filepath.Join(dir, "huge"), filepath.Join(dir, "day.svg"), filepath.Join(dir, "day.txt")
	f, err := os.Create(huge)
	if err != nil {
		t.Fatal(err)
	}
	if err := f.Truncate(2 << 30); err != nil { // takes no room
		t.Fatal(err)
	}
	f.Close()
	for _, args := range [][]string{{"--track", huge}, {"--day", huge}, {"--rig", huge}} {
		got := runArgs(t, append(args, "day", "--svg", picture, "-o", out)...)
		if got.code != exitBadInput || !strings.Contains(got.err, "error: ") || len(got.err) > 1000 {
			t.Errorf("%v: exit code %d\n%.1000s", args, got.code, got.err)
		}
	}
	got := runWith(t, context.Background(), io.LimitReader(manyX{}, 2<<30), nil, "day", "--track", "-")
	if got.code != exitBadInput || !strings.Contains(got.err, "the most that is read") {
		t.Errorf("2 GB of standard input: exit code %d\n%.1000s", got.code, got.err)
	}
	left, err := os.ReadDir(dir)
	if err != nil || len(left) != 1 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

type manyX struct{}

func (manyX) Read(b []byte) (int, error) {
	for i := range b {
		b[i] = 'x'
	}
	return len(b), nil
}
