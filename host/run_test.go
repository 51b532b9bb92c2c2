package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/spf13/cobra"

	"spareamps/core"
)

// A result is what a run in this process left.
type result struct {
	code     int
	out, err string
}

func runWith(t testing.TB, ctx context.Context, in io.Reader, env map[string]string, args ...string) result {
	t.Helper()
	var out, errs bytes.Buffer
	code := run(ctx, args, streams{in: in, out: &out, err: &errs, env: func(name string) string { return env[name] }})
	return result{code, out.String(), errs.String()}
}

func runArgs(t testing.TB, args ...string) result {
	t.Helper()
	return runWith(t, context.Background(), strings.NewReader(""), nil, args...)
}

func TestExitCodes(t *testing.T) {
	for _, c := range []struct {
		args string
		want int
	}{
		{"", exitOK},
		{"--help", exitOK},
		{"ceiling", exitOK},
		{"ceiling --help", exitOK},
		{"ceiling --cable-fuse-A 500", exitOK},
		{"ceiling --module run_test.go", exitFailed},
		{"ceiling -o no/such/directory", exitFailed},
		{"celing", exitUsage},
		{"ceiling --engin-rpm 3", exitUsage},
		{"ceiling rig.json", exitUsage},
		{"ceiling --json=perhaps", exitUsage},
		{"ceiling --rig", exitUsage},
		{"machine --json --csv", exitUsage},
		{"day", exitOK},
		{"day --house-soc 0.3 --csv", exitOK},
		{"day --svg no/such/directory.svg", exitFailed},
		{"day --track nowhere.gpx", exitBadInput},
		{"day --start 25:00", exitBadInput},
		{"day --json --csv", exitUsage},
		{"day day.json", exitUsage},
		{"day --inverter-rated-W 300 --strict", exitOutside},
		{"wiring", exitOK},
		{"wiring --source-V 14 --far-V 13.9", exitBadInput},
		{"wiring --source-V 13 --far-V 14 --far-A 30", exitBadInput},
		{"wiring --cable-area-mm2 25", exitBadInput},
		{"schema knitting", exitUsage},
		{"fields one two", exitUsage},
		{"completion csh", exitUsage},
		{"ceiling --engine-rpm -3", exitBadInput},
		{"ceiling --rig nowhere.json", exitBadInput},
		{"ceiling --rig run_test.go", exitBadInput},
		{"machine --bus-V x", exitBadInput},
		{"ceiling --cable-fuse-A 500 --strict", exitOutside},
	} {
		got := runArgs(t, strings.Fields(c.args)...)
		if got.code != c.want {
			t.Errorf("spareamps %s: got exit code %d, want %d\n%s", c.args, got.code, c.want, got.err)
		}
		if told := strings.Contains(got.err, "error: "); told != (got.code != exitOK) {
			t.Errorf("spareamps %s: exit code %d, but standard error is\n%s", c.args, got.code, got.err)
		}
	}
}

// Ctrl-C while waiting for standard input ends the run.
func TestInterrupted(t *testing.T) {
	waiting, end := io.Pipe()
	defer end.Close()
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	got := runWith(t, ctx, waiting, nil, "ceiling", "--rig", "-")
	if got.code != exitInterrupted || got.err != "error: interrupted\n" || got.out != "" {
		t.Errorf("got %+v, want exit code %d", got, exitInterrupted)
	}
}

// driveCSV is a logger's half an hour, made up: crawling, the charger at 300 W.
func driveCSV() string {
	var b strings.Builder
	b.WriteString("time_s,engine_rpm,speed_kmh,ambient_C,bus_V,core_C,setting_W\n")
	for s := 0; s <= 1800; s += 10 {
		fmt.Fprintf(&b, "%d,%d,15,31,13.9,%.1f,300\n", s, 1400+s%50, 84-44*math.Exp(-float64(s)/600))
	}
	return b.String()
}

// tripGPX is two minutes of a track, made up.
const tripGPX = `<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>
<trkpt lat="39.500" lon="-3.500"><ele>600</ele><time>2026-07-24T08:00:00Z</time></trkpt>
<trkpt lat="39.506" lon="-3.500"><ele>602</ele><time>2026-07-24T08:01:00Z</time></trkpt>
<trkpt lat="39.512" lon="-3.500"><ele>604</ele><time>2026-07-24T08:02:00Z</time></trkpt>
</trkseg></trk></gpx>`

// Every example of every help works; files they name are those of examples
// before them.
func TestExamples(t *testing.T) {
	dir := t.TempDir()
	inDir := func(arg string) string {
		switch filepath.Ext(arg) {
		case ".json", ".jsonl", ".csv", ".gpx", ".svg", ".png", ".html", ".parquet":
			return filepath.Join(dir, arg)
		}
		if strings.HasPrefix(arg, "_") {
			return filepath.Join(dir, arg)
		}
		return arg
	}
	if got := runArgs(t, "ceiling", "--print-request", "-o", filepath.Join(dir, "rig.json")); got.code != exitOK {
		t.Fatal(got.err)
	}
	for name, text := range map[string]string{
		"today.json": `[{"minutes":30,"engine_rpm":1400,"speed_kmh":15,"ambient_C":31,"setting_W":300,"core_C":84}]`,
		"drive.csv":  driveCSV(),
		"trip.csv":   "time,engine_rpm,ambient_C,core_C\n2026-07-24T08:00:00Z,1400,30,80\n2026-07-24T08:01:00Z,1400,30,81\n",
		"trip.gpx":   tripGPX,
	} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	var visit func(c *cobra.Command)
	visit = func(c *cobra.Command) {
		if !c.HasExample() {
			t.Errorf("%s has no example", c.CommandPath())
		}
		for _, line := range strings.Split(strings.ReplaceAll(c.Example, "\\\n", ""), "\n") {
			args := strings.Fields(line)
			if c.Name() == "serve" || c.Name() == "export" {
				break // the first runs until it is interrupted, both need Node: web/browser_test.go has them
			}
			for i := range args {
				args[i] = inDir(args[i])
			}
			if got := runArgs(t, args[1:]...); got.code != exitOK {
				t.Errorf("%s: exit code %d\n%s", line, got.code, got.err)
			}
		}
		help := runArgs(t, append(strings.Fields(c.CommandPath())[1:], "--help")...)
		if !strings.HasPrefix(help.out, "Examples\n") {
			t.Errorf("help of %s does not begin with examples:\n%.200s", c.CommandPath(), help.out)
		}
		for _, l := range strings.Split(help.out, "\n") {
			if width(l) > pageMost {
				t.Errorf("help of %s: line of %d columns: %s", c.CommandPath(), width(l), l)
			}
		}
		for _, sub := range c.Commands() {
			if sub.IsAvailableCommand() {
				visit(sub)
			}
		}
	}
	visit((&program{}).newRoot())
}

// Every input that is not in a list of a day is a flag of a command, once, and
// the flag sets it.
func TestFlagsOfTheTable(t *testing.T) {
	all := map[string]bool{}
	for _, command := range [][]string{core.ForCeiling, core.ForDay, core.ForWiring} {
		seen := map[string]string{}
		for _, f := range core.Fields() {
			if !hasFlag(f.Path, command) {
				continue
			}
			all[f.Path] = true
			if strings.Contains(f.Path, "[]") {
				continue
			}
			name := flagName(f.Path)
			if seen[name] != "" {
				t.Errorf("--%s is both %s and %s", name, seen[name], f.Path)
			}
			seen[name] = f.Path
			value := valueText(&f, f.Max)
			switch f.Kind {
			case core.Choice:
				value = f.Choices[len(f.Choices)-1]
			case core.Text:
				value = "words"
			}
			q := core.NewRequest()
			want := core.NewRequest()
			if err := want.Set(f.Path, value); err != nil {
				t.Fatal(err)
			}
			flags := newTableFlags(&cobra.Command{Use: "test"}, command...)
			for _, flag := range flags {
				if flag.name == name {
					flag.text, flag.given = value, true
				}
			}
			if problems := flags.lay(&q, map[string]string{}); len(problems) > 0 {
				t.Errorf("--%s %s: %v", name, value, problems)
			}
			if got, want := string(q.JSON()), string(want.JSON()); got != want {
				t.Errorf("--%s %s: got %s, want %s", name, value, got, want)
			}
			if got := flags.normalize(nil, strings.ToUpper(strings.ReplaceAll(name, "-", "_"))); string(got) != name {
				t.Errorf("--%s in capitals is %s", name, got)
			}
		}
	}
	for _, f := range core.Fields() {
		inFiles := strings.HasPrefix(f.Path, "day.") && strings.Contains(f.Path, "[]") || strings.HasPrefix(f.Path, "rig.observations") || strings.HasPrefix(f.Path, "rig.learned")
		if got, want := all[f.Path], !inFiles; got != want {
			t.Errorf("%s is a flag: %v, want %v", f.Path, got, want)
		}
	}
}

// What is no flag of a ceiling changes no ceiling; what is one is read.
func TestOfDay(t *testing.T) {
	demo := core.Demo()
	ask := func(q *core.Request) string {
		text, err := native{}.ceiling(context.Background(), q.JSON())
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	want := ask(&demo)
	for _, path := range ofDay {
		found := false
		for _, f := range core.Fields() {
			if !isWithin(f.Path, []string{path}) {
				continue
			}
			found = true
			for _, value := range append(f.Choices, valueText(&f, f.Min), valueText(&f, f.Max)) {
				q := core.Demo()
				if err := q.Set(f.Path, value); err == nil && ask(&q) != want {
					t.Errorf("%s = %s changes the ceiling, and is no flag of it", f.Path, value)
				}
			}
		}
		if !found {
			t.Errorf("there is no input %s", path)
		}
	}
}

// What a flag of points says, a file says the same.
func TestPointsFlag(t *testing.T) {
	got := runArgs(t, "ceiling", "--alternator-points", "2000:120, 6000:180", "--engine-rpm", "1500", "--ambient-C", "30", "--print-request")
	if got.code != exitOK || !strings.Contains(strings.Join(strings.Fields(got.out), ""), `"points":[{"speed_rpm":2000,"current_A":120},{"speed_rpm":6000,"current_A":180}]`) {
		t.Errorf("got %+v", got)
	}
	for _, points := range []string{"", "2000", "2000:120:3", "2000:120,,", ":", "a:b"} {
		got := runArgs(t, "machine", "--alternator-points", points)
		if got.code != exitBadInput || !strings.Contains(got.err, "--alternator-points") {
			t.Errorf("points %q: got %+v", points, got)
		}
	}
}

// Bold is for terminals that take it and people who want it.
func TestBold(t *testing.T) {
	for _, c := range []struct {
		terminal bool
		env      map[string]string
		args     string
		want     bool
	}{
		{true, nil, "ceiling", true},
		{true, map[string]string{"NO_COLOR": "1"}, "ceiling", false},
		{true, map[string]string{"TERM": "dumb"}, "ceiling", false},
		{true, nil, "ceiling -o " + filepath.Join(t.TempDir(), "x"), false},
		{false, nil, "ceiling", false},
	} {
		var out bytes.Buffer
		run(context.Background(), strings.Fields(c.args), streams{in: strings.NewReader(""), out: &out, err: io.Discard,
			env: func(name string) string { return c.env[name] }, terminal: c.terminal})
		if got := strings.Contains(out.String(), "\x1b["); got != c.want {
			t.Errorf("%+v: bold is %v", c, got)
		}
	}
}
