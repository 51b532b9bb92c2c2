package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"image/png"
	"math"
	"math/rand"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/parquet-go/parquet-go"
	"pgregory.net/rapid"

	"spareamps/core"
	"spareamps/wasm/edge/service"
)

// sweepOf runs a sweep in this process and returns what it wrote.
func sweepOf(t testing.TB, args ...string) string {
	t.Helper()
	got := runArgs(t, append([]string{"sweep", "-q"}, args...)...)
	if got.code != exitOK {
		t.Fatalf("sweep %s: exit code %d\n%s", args, got.code, got.err)
	}
	return got.out
}

// drawSweep draws the flags of a sweep of some thousand points.
func drawSweep(t *rapid.T) (args []string) {
	axes := []string{
		"ambient-C=-10:50/" + strconv.Itoa(rapid.IntRange(2, 40).Draw(t, "ambients")),
		"engine-rpm=600:4000/" + strconv.Itoa(rapid.IntRange(2, 30).Draw(t, "speeds")),
		"cable-length-m=1:16*2", "alternator-insulation-class=all", "alternator-test-V=13,27", "house-soc=0.1,0.95",
	}
	for _, i := range rapid.SliceOfNDistinct(rapid.IntRange(0, len(axes)-1), 1, 3, rapid.ID).Draw(t, "axes") {
		args = append(args, "--axis", axes[i])
	}
	if rapid.Bool().Draw(t, "samples") {
		args = append(args, "--spread", "speed-kmh=0..30", "--spread", "vehicle_loads", "--samples", strconv.Itoa(rapid.IntRange(1, 4).Draw(t, "n")),
			"--sampling", rapid.SampledFrom([]string{"even", "random"}).Draw(t, "sampling"))
	}
	return append(args, "--out", "nominal.output_W,nominal.input_A")
}

// Every row is the answer of Ceiling, to the bit, and rows stand in the order
// that the axes say.
func TestSweepIsCeiling(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		args := drawSweep(r)
		args[len(args)-1] = "nominal.output_W,nominal.input_A"
		rows, err := csv.NewReader(strings.NewReader(sweepOf(t, args...))).ReadAll()
		if err != nil {
			r.Fatal(err)
		}
		names := rows[0]
		inputs := len(names) - 3
		for range 4 {
			row := rows[rapid.IntRange(1, len(rows)-1).Draw(r, "row")]
			q := core.Demo()
			conflict := false
			for c := range inputs {
				if err := q.Set(names[c], row[c]); err != nil {
					r.Fatal(err)
				}
			}
			a, err := core.Ceiling(&q)
			conflict = err != nil
			if conflict != (row[inputs+2] == "conflict") {
				r.Fatalf("%v: Ceiling says %v", row, err)
			}
			if conflict {
				continue
			}
			want := []string{number(a.Nominal.OutputW), number(a.Nominal.InputA), "ok"}
			if diff := cmp.Diff(want, row[inputs:]); diff != "" {
				r.Fatalf("%v: %s", row, diff)
			}
		}
	})
}

// However many work on it, and by whatever backend, the bytes are the same:
// native, the module, and services at the edge.
func TestSweepBackends(t *testing.T) {
	module := moduleFile(t)
	s := service.New(service.Options{})
	handler := httptest.NewServer(s)
	defer handler.Close()
	for _, c := range [][]string{
		{"--axis", "ambient-C=0:50/60", "--axis", "engine-rpm=700:3000/50", "--out", "nominal.input_A,nominal.output_W"},
		{"--axis", "ambient-C=0:50/5", "--axis", "alternator-insulation-class=all", "--out", "advice.output_W,temperatures_C.stator_winding"},
		{"--axis", "alternator-insulation-class=all", "--out", "nominal.input_A"},
		{"--axis", "ambient-C=0:50/5", "--out", "ceiling.limit,ceiling.input_A,advice.because,costliest_unknown.unknown"},
		{"--spread", "unknowns", "--spread", "ambient-C=30~3", "--samples", "3000", "--out", "nominal.input_A,nominal.limit"},
		{"--axis", "unknown.air_film=0.7:1.3/4", "--axis", "unknown.bus_voltage=-0.4:0.4/3", "--axis", "cable-length-m=3,6", "--out", "ceiling.input_A,nominal.output_W,costliest_unknown.unknown"},
	} {
		want := sweepOf(t, append(c, "--jobs", "1")...)
		for _, other := range [][]string{{"--jobs", "5"}, {"--module", module}, {"--module", module, "--jobs", "3"}, {"--edge", handler.URL}, {"--edge", handler.URL + "," + handler.URL, "--jobs", "3"}} {
			if got := sweepOf(t, append(slices.Clone(c), other...)...); got != want {
				t.Errorf("sweep %v: with %v other bytes", c, other)
			}
		}
	}
}

// A difference between backends is found, and told with its point.
func TestVerifyFinds(t *testing.T) {
	points, err := newSweepPoints([]string{""}, [][]*sweepAxis{{mustAxis(t, "ambient-C=20:40/50")}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if bad := points.makeVariants([]core.Request{core.Demo()}); bad != nil {
		t.Fatal(bad.problems)
	}
	o, _ := sweepOutputOf("nominal.input_A")
	r, dear := newSweepRun(points, []sweepOutput{o})
	r.backend = nativeSweep{}
	if rows, most, err := r.verify(context.Background(), nativeSweep{}, dear, 0); err != nil || rows != 50 || most != 0 {
		t.Errorf("got %d rows, %v, %v", rows, most, err)
	}
	off := offSweep{by: 1e-9}
	if _, _, err := r.verify(context.Background(), off, dear, 0); err == nil || !strings.Contains(err.Error(), "moment.ambient_C=20") {
		t.Errorf("got %v", err)
	}
	if _, most, err := r.verify(context.Background(), off, dear, 1e-8); err != nil || most == 0 {
		t.Errorf("within tolerance: got %v, %v", most, err)
	}
}

func mustAxis(t testing.TB, text string) *sweepAxis {
	t.Helper()
	a, problems := axisOf(text)
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	return a
}

// offSweep is a backend that is a little wrong.
type offSweep struct {
	nativeSweep
	by float64
}

func (o offSweep) worker() sweepWorker { return offWorker{o.nativeSweep.worker(), o.by} }

type offWorker struct {
	sweepWorker
	by float64
}

func (w offWorker) block(ctx context.Context, id int32, v *sweepVariant, names []byte, in, out []float64, rows int) error {
	err := w.sweepWorker.block(ctx, id, v, names, in, out, rows)
	for i := range rows {
		out[i] *= 1 + w.by
	}
	return err
}

// Shards put together are the whole, in every format and number of parts.
func TestShardsAreTheWhole(t *testing.T) {
	dir := t.TempDir()
	rapid.Check(t, func(r *rapid.T) {
		args := drawSweep(r)
		format := rapid.SampledFrom(sweepFormats).Draw(r, "format")
		n := rapid.IntRange(1, 5).Draw(r, "n")
		whole := filepath.Join(dir, "whole."+format)
		sweepOf(t, append(args, "-o", whole)...)
		merge := []string{"merge", "-q"}
		for _, i := range rapid.Permutation(seq(n)).Draw(r, "order") {
			part := filepath.Join(dir, fmt.Sprintf("part%d.%s", i, format))
			sweepOf(t, append(args, "-o", part, "--shard", fmt.Sprintf("%d/%d", i, n))...)
			merge = append(merge, part)
		}
		merged := filepath.Join(dir, "merged."+format)
		if got := runArgs(t, append(merge, "-o", merged)...); got.code != exitOK {
			r.Fatal(got.err)
		}
		if !bytes.Equal(mustRead(t, whole), mustRead(t, merged)) {
			r.Fatalf("sweep %v: %d parts are not the whole", args, n)
		}
	})
}

func seq(n int) (list []int) {
	for i := range n {
		list = append(list, i)
	}
	return list
}

func mustRead(t testing.TB, name string) []byte {
	t.Helper()
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// A run that is killed at random moments, again and again, comes to the bytes
// of one that is not.
func TestResumeAfterKill(t *testing.T) {
	if testing.Short() {
		t.Skip("starts the program many times: run without -short")
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewSource(time.Now().UnixNano()))
	for _, format := range sweepFormats {
		dir := t.TempDir()
		args := []string{"sweep", "-q", "--axis", "engine-rpm=700:3000/900", "--axis", "ambient-C=0:50/500", "--out", "nominal.input_A,nominal.output_W", "--jobs", "2"}
		whole, killed := filepath.Join(dir, "whole."+format), filepath.Join(dir, "killed."+format)
		sweepOf(t, append(args[2:], "-o", whole)...)
		kills, kept := 0, int64(0)
		for ended := false; !ended; {
			c := exec.Command(self)
			c.Args = append([]string{"spareamps"}, append(args, "-o", killed, "--resume")...)
			if err := c.Start(); err != nil {
				t.Fatal(err)
			}
			done := make(chan error, 1)
			go func() { done <- c.Wait() }()
			// Longer each time, so that it ends on a busy machine too.
			wait := time.Duration(rng.Intn(300)+50*kills) * time.Millisecond
			select {
			case err := <-done:
				if ended = err == nil; err != nil {
					t.Fatalf("%s: %v", format, err)
				}
			case <-time.After(wait):
				_ = c.Process.Kill()
				ended = <-done == nil // it was quicker
				kills++
				if info, err := os.Stat(killed + ".part"); err == nil {
					kept = max(kept, info.Size())
				}
			}
		}
		if !bytes.Equal(mustRead(t, whole), mustRead(t, killed)) {
			t.Errorf("%s: after %d kills other bytes", format, kills)
		}
		t.Logf("%s: %d kills, %d bytes kept by the last", format, kills, kept)
		if left, _ := filepath.Glob(killed + ".*"); len(left) > 0 {
			t.Errorf("%s: left behind %v", format, left)
		}
	}
}

// Cut anywhere, state and rows included, a part is gone on with to the same
// bytes.
func TestResumeFromAnyState(t *testing.T) {
	dir := t.TempDir()
	args := []string{"--axis", "engine-rpm=700:3000/40", "--axis", "ambient-C=0:50/500", "--out", "nominal.output_W"}
	for _, format := range sweepFormats {
		sweepOf(t, append(args, "-o", filepath.Join(dir, "whole."+format))...)
	}
	rapid.Check(t, func(r *rapid.T) {
		format := rapid.SampledFrom(sweepFormats).Draw(r, "format")
		whole, file := filepath.Join(dir, "whole."+format), filepath.Join(dir, "file."+format)
		// What a run leaves: rows, and a state that tells of some of them.
		left := leavings(t, args, format, file, rapid.IntRange(0, 19).Draw(r, "groups"))
		cut := rapid.IntRange(0, left).Draw(r, "lost of the state's last line")
		state := mustRead(t, file+".part.state")
		if err := os.WriteFile(file+".part.state", state[:len(state)-cut], 0o644); err != nil {
			r.Fatal(err)
		}
		sweepOf(t, append(args, "-o", file, "--resume")...)
		if !bytes.Equal(mustRead(t, whole), mustRead(t, file)) {
			r.Fatalf("%s: other bytes", format)
		}
	})
}

// leavings makes the part of a run that ended behind some groups, torn bytes
// behind them, and returns the length of the state's last line.
func leavings(t testing.TB, args []string, format, file string, groups int) int {
	t.Helper()
	var left int
	f := &sweepFlags{request: requestFlags{command: "sweep", part: "moment", sections: core.ForCeiling, own: leading}, format: format}
	for i := 0; i < len(args); i += 2 {
		if args[i] == "--axis" {
			f.axes = append(f.axes, args[i+1])
		} else {
			f.out = strings.Split(args[i+1], ",")
		}
	}
	p := &program{ctx: context.Background(), quiet: true, streams: streams{in: strings.NewReader(""), out: &bytes.Buffer{}, err: &bytes.Buffer{}, env: func(string) string { return "" }}}
	f.backend.backend, f.sampling = "native", "even"
	points, outputs, err := p.sweepPlan(f)
	if err != nil {
		t.Fatal(err)
	}
	run, dear := newSweepRun(points, outputs)
	if err := p.attach(f, run, dear); err != nil {
		t.Fatal(err)
	}
	from, _ := run.backend.provenance(p.ctx)
	s, err := p.sweepSink(f, run, file, points.key(format, f.out, from), nil, from)
	if err != nil {
		t.Fatal(err)
	}
	defer s.close()
	run.last = min(int64(groups), run.groups()-1)
	before, _ := s.state.Seek(0, 1)
	if err := run.run(p.ctx, 0, s, &sweepProgress{}); err != nil {
		t.Fatal(err)
	}
	if err := s.save(); err != nil {
		t.Fatal(err)
	}
	after, _ := s.state.Seek(0, 1)
	left = int(after - before)
	if _, err := s.data.WriteString("torn"); err != nil {
		t.Fatal(err)
	}
	return left
}

// A Parquet file has its units, its provenance and the values of the CSV.
func TestParquetIsCSV(t *testing.T) {
	dir := t.TempDir()
	args := []string{"--axis", "alternator-test-V=13,27", "--axis", "ambient-C=0:50/300", "--axis", "alternator-insulation-class=all", "--spread", "speed-kmh=0..30", "--samples", "3",
		"--out", "nominal.output_W,nominal.input_A"}
	rows, err := csv.NewReader(strings.NewReader(sweepOf(t, args...))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(dir, "sweep.parquet")
	sweepOf(t, append(args, "-o", name)...)
	text := mustRead(t, name)
	file, err := parquet.OpenFile(bytes.NewReader(text), int64(len(text)))
	if err != nil {
		t.Fatal(err)
	}
	units, _ := file.Lookup("units")
	if want := `{"rig.alternator.test_V":"V","moment.ambient_C":"°C","rig.alternator.insulation_class":"","moment.speed_kmh":"km/h","nominal.output_W":"W","nominal.input_A":"A","status":""}`; units != want {
		t.Errorf("units are %s, want %s", units, want)
	}
	if from, _ := file.Lookup("provenance"); !strings.Contains(from, `"version":"`+core.Version+`"`) {
		t.Errorf("provenance is %s", from)
	}
	if file.NumRows() != int64(len(rows)-1) || len(file.RowGroups()) < 2 {
		t.Fatalf("%d rows in %d groups, want %d", file.NumRows(), len(file.RowGroups()), len(rows)-1)
	}
	reader := parquet.NewReader(file)
	defer reader.Close()
	buffer := make([]parquet.Row, 500)
	for at := 1; at < len(rows); {
		n, err := reader.ReadRows(buffer)
		for _, row := range buffer[:n] {
			for c, v := range row {
				got := v.String()
				if v.Kind() == parquet.Double {
					got = number(v.Double())
				}
				if v.IsNull() {
					got = ""
				}
				if got != rows[at][c] {
					t.Fatalf("row %d, %s: got %q, want %q", at, rows[0][c], got, rows[at][c])
				}
			}
			at++
		}
		if n == 0 {
			t.Fatal(err)
		}
	}
}

// JSON Lines have the values of the CSV.
func TestJSONLinesAreCSV(t *testing.T) {
	args := []string{"--axis", "ambient-C=0:50/9", "--axis", "alternator-test-V=13,27", "--axis", "alternator-insulation-class=B,F", "--out", "nominal.output_W,nominal.limit"}
	rows, _ := csv.NewReader(strings.NewReader(sweepOf(t, args...))).ReadAll()
	lines := strings.Split(strings.TrimSpace(sweepOf(t, append(args, "--format", "jsonl")...)), "\n")
	if len(lines) != len(rows)-1 {
		t.Fatalf("%d lines, want %d", len(lines), len(rows)-1)
	}
	for i, line := range lines {
		var object map[string]any
		if err := json.Unmarshal([]byte(line), &object); err != nil {
			t.Fatal(err)
		}
		for c, name := range rows[0] {
			got := fmt.Sprint(object[name])
			if object[name] == nil {
				got = ""
			}
			if got != rows[i+1][c] {
				t.Errorf("line %d, %s: got %s, want %s", i+1, name, got, rows[i+1][c])
			}
		}
	}
}

// A code that is none, as a service may send, is an error and no name.
func TestSweepRefusesWrongCodes(t *testing.T) {
	points, err := newSweepPoints([]string{""}, [][]*sweepAxis{{mustAxis(t, "ambient-C=20:40/50")}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if bad := points.makeVariants([]core.Request{core.Demo()}); bad != nil {
		t.Fatal(bad.problems)
	}
	o, _ := sweepOutputOf("nominal.limit")
	for _, c := range []struct {
		code float64
		ok   bool
	}{{0, true}, {float64(len(o.Codes) - 1), true}, {float64(len(o.Codes)), false}, {-1, false}, {0.5, false}, {math.NaN(), false}, {math.Inf(1), false}} {
		r, _ := newSweepRun(points, []sweepOutput{o})
		r.batch = 50
		g := r.newRows()
		r.set(g, 0)
		err := r.compute(context.Background(), sameWorker(c.code), g)
		if (err == nil) != c.ok || err != nil && !strings.Contains(err.Error(), "nominal.limit") {
			t.Errorf("code %v: got %v", c.code, err)
		}
	}
	// Nor is a number taken that is none.
	o, _ = sweepOutputOf("nominal.input_A")
	for _, v := range []float64{math.NaN(), math.Inf(-1)} {
		r, _ := newSweepRun(points, []sweepOutput{o})
		r.batch = 50
		g := r.newRows()
		r.set(g, 0)
		if err := r.compute(context.Background(), sameWorker(v), g); err == nil || !strings.Contains(err.Error(), "nominal.input_A") {
			t.Errorf("%v: got %v", v, err)
		}
	}
}

// sameWorker answers its own number in every row of one output.
type sameWorker float64

func (w sameWorker) block(_ context.Context, _ int32, _ *sweepVariant, _ []byte, _, out []float64, rows int) error {
	for i := range rows {
		out[i], out[rows+i] = float64(w), 0
	}
	return nil
}

// A point takes no memory, whatever the format writes.
func TestSweepTakesNoMemory(t *testing.T) {
	points, err := newSweepPoints([]string{""}, [][]*sweepAxis{{mustAxis(t, "ambient-C=20:40/50")}, {mustAxis(t, "engine-rpm=700:3000/100")}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if bad := points.makeVariants([]core.Request{core.Demo()}); bad != nil {
		t.Fatal(bad.problems)
	}
	o, _ := sweepOutputOf("nominal.input_A")
	r, dear := newSweepRun(points, []sweepOutput{o})
	r.backend = nativeSweep{}
	r.batch = r.backend.batch(dear)
	w, g := r.backend.worker(), r.newRows()
	for _, writer := range []rowWriter{&csvWriter{textWriter{points, r.outputs}}, newJSONWriter(textWriter{points, r.outputs})} {
		once := func() {
			r.set(g, 1)
			if err := r.compute(context.Background(), w, g); err != nil {
				t.Fatal(err)
			}
			g.summary.take(g)
			if err := writer.rows(g); err != nil {
				t.Fatal(err)
			}
		}
		once()
		if n := testing.AllocsPerRun(5, once); n > float64(g.n)/50 {
			t.Errorf("%T: %v allocations for %d points", writer, n, g.n)
		}
	}
}

// Even samples fill a spread more evenly than chance: means and deviations lie
// within what 1/N and 1/√N promise.
func TestSampler(t *testing.T) {
	ambient, _ := spreadOf("ambient-C=30~2")
	speed, _ := spreadOf("speed-kmh=10..20")
	loads, _ := spreadOf("vehicle-loads-W=400*0.2")
	spreads := []*sweepSpread{ambient, speed, loads}
	q := core.Demo()
	for _, s := range spreads {
		if !s.about(&q) {
			t.Fatal(s.field.Path)
		}
	}
	const n = 4000
	for _, c := range []struct {
		random bool
		seed   uint64
		share  float64 // of a standard deviation that a mean may be off
	}{{false, 0, 0.005}, {false, 7, 0.005}, {true, 0, 0.07}, {true, 7, 0.07}} {
		s := newSampler(spreads, n, c.random, c.seed)
		var sum, squares [3]float64
		for i := range int64(n) {
			for j := range spreads {
				v := s.value(i, j, 0)
				if j == 2 {
					v = math.Log(v / 400)
				}
				sum[j] += v
				squares[j] += v * v
			}
		}
		for j, want := range []struct{ mean, sd float64 }{{30, 2}, {15, 10 / math.Sqrt(12)}, {0, 0.2}} {
			mean := sum[j] / n
			sd := math.Sqrt(squares[j]/n - mean*mean)
			if math.Abs(mean-want.mean) > c.share*want.sd || math.Abs(sd/want.sd-1) > 3*c.share {
				t.Errorf("%+v, spread %d: mean %v, deviation %v, want %v, %v", c, j, mean, sd, want.mean, want.sd)
			}
		}
	}
}

// Even samples know a mean and a low quantile better than chance, in one
// dimension as in 14, where sequences may run along a line.
func TestEvenSamples(t *testing.T) {
	const n, seeds = 2048, 12
	for _, d := range []int{1, 3, 8, 14} {
		spreads := make([]*sweepSpread, d)
		off := func(random bool) (mean, share float64) {
			for seed := range uint64(seeds) {
				s := newSampler(spreads, n, random, seed)
				sum, below := 0.0, 0.0
				for i := range int64(n) {
					x := 0.0
					for j := range d {
						x += normal(s.even(i, j)) / math.Sqrt(float64(d))
					}
					if sum += x; x < -1.6448536269514722 {
						below++
					}
				}
				mean += sum * sum / n / n / seeds
				share += (below/n - 0.05) * (below/n - 0.05) / seeds
			}
			return math.Sqrt(mean), math.Sqrt(share)
		}
		mean, share := off(false)
		byChance, shareByChance := off(true)
		t.Logf("%2d spreads: mean off by %.4f, by chance %.4f; share below by %.4f, %.4f", d, mean, byChance, share, shareByChance)
		if mean > byChance/2 || share > 0.8*shareByChance {
			t.Errorf("%d spreads: mean off by %.4f, share by %.4f; want half and 0.8 of chance's %.4f and %.4f", d, mean, share, byChance, shareByChance)
		}
	}
	if s := newSampler(make([]*sweepSpread, 14), 1, false, 0); s.even(0, 0) != 0.5 || s.even(0, 13) != 0.5 {
		t.Error("the first sample is not the middle")
	}
}

// An unknown is sampled about the value that is assumed, as wide as the table
// says; as wide as is left, where the rig states it.
func TestUnknownSpreads(t *testing.T) {
	for name := range unknownInputs {
		i := slices.IndexFunc(core.Unknowns[:], func(u core.Unknown) bool { return u.Name == name })
		s, problem := spreadOf(name)
		if i < 0 || problem != nil {
			t.Fatalf("%s: %v", name, problem)
		}
		u := &core.Unknowns[i]
		if u.Input != s.field.Path {
			t.Errorf("%s: sets %s, the table says %s", name, s.field.Path, u.Input)
		}
		bare, stated := core.NewRequest(), core.NewRequest()
		for _, q := range []*core.Request{&bare, &stated} {
			if err := q.Set("rig.alternator.rated_current_A", "120"); err != nil {
				t.Fatal(err)
			}
		}
		usual, ok := bare.Usual(u.Input)
		if !ok {
			usual = s.field.Default
		}
		if err := stated.Set(u.Input, number(usual*1.01)); err != nil {
			t.Fatal(err)
		}
		if !s.about(&bare) || !s.about(&stated) {
			t.Fatalf("%s: nothing to lie about", name)
		}
		if diff := cmp.Diff([]float64{u.Spread, u.Known, usual}, []float64{s.wide[0], s.wide[1], s.centre[0]}); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
	}
}

// A sketch's quantiles are those of the numbers within 0.4 %, and do not
// depend on how the numbers came.
func TestSketch(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		v := rapid.SliceOfN(rapid.Float64Range(-1e6, 1e6), 1, 300).Draw(r, "v")
		one, a, b := newSketch(), newSketch(), newSketch()
		for i, x := range v {
			one.add(x, 1)
			if i%3 == 0 {
				a.add(x, 1)
			} else {
				b.add(x, 1)
			}
		}
		b.merge(a)
		if diff := cmp.Diff(one, b); diff != "" {
			r.Fatal(diff)
		}
		slices.Sort(v)
		shares := []float64{0, 0.05, 0.5, 0.95, 1}
		for i, got := range one.quantiles(shares...) {
			want := v[max(int(math.Ceil(shares[i]*float64(len(v))))-1, 0)]
			if math.Abs(got-want) > math.Abs(want)/256+1e-300 {
				r.Fatalf("quantile %v: got %v, want %v", shares[i], got, want)
			}
		}
	})
}

// A picture has the axes and their units, and the limits where they bind.
func TestPictures(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "map.svg")
	sweepOf(t, "--axis", "engine-rpm=700:3000/30", "--axis", "ambient-C=0:50/30", "--out", "nominal.output_W", "--plot", name)
	text := string(mustRead(t, name))
	for _, want := range []string{">engine, rpm<", ">ambient, °C<", ">stator winding<", ">house battery<", ">charger output<", "Nominal output, W", " W<"} {
		if !strings.Contains(text, want) {
			t.Errorf("the map lacks %q", want)
		}
	}
	server := httptest.NewServer(service.New(service.Options{}))
	defer server.Close()
	name = filepath.Join(dir, "edge.svg")
	sweepOf(t, "--axis", "engine-rpm=700:3000/30", "--axis", "ambient-C=0:50/30", "--out", "nominal.output_W", "--plot", name, "--edge", server.URL)
	if string(mustRead(t, name)) != text {
		t.Error("a service's picture is another one")
	}
	name = filepath.Join(dir, "lines.png")
	sweepOf(t, "--axis", "engine-rpm=700:3000/30", "--axis", "alternator-insulation-class=F,H", "--out", "ceiling.output_W", "--plot", name)
	picture, err := png.Decode(bytes.NewReader(mustRead(t, name)))
	if err != nil {
		t.Fatal(err)
	}
	if size := picture.Bounds(); size.Dx() < 1000 {
		t.Errorf("the picture is %v", size)
	}
}

func TestProgressLine(t *testing.T) {
	for _, c := range []struct {
		done, before, total int64
		took                time.Duration
		want                string
	}{
		{0, 0, 1000, 0, "  0.0 %  0 of 1,000 points"},
		{250_000, 0, 1_000_000, time.Second, " 25.0 %  250,000 of 1,000,000 points  250,000/s  3 s left"},
		{600, 500, 1000, 10 * time.Second, " 60.0 %  600 of 1,000 points  10/s  40 s left"},
		{1, 0, 1_000_000, time.Second, "  0.0 %  1 of 1,000,000 points  1/s  11 d 13 h left"},
	} {
		if got := progressLine(c.done, c.before, c.total, c.took); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
	var b bytes.Buffer
	p := &sweepProgress{to: &b, total: 100, start: time.Unix(0, 0)}
	p.tell(50, time.Unix(2, 0))
	p.tell(51, time.Unix(2, 1))
	p.end()
	if got := b.String(); !strings.HasPrefix(got, "\r 50.0 %") || strings.Contains(got, "51") || !strings.HasSuffix(got, "\r") {
		t.Errorf("got %q", got)
	}
}

// Groups depend on the number of points alone, and are few and not too long.
func TestGroupRows(t *testing.T) {
	for _, c := range []struct {
		points int64
		dear   bool
		want   int64
	}{{10, false, 1024}, {100_000, false, 2048}, {10_000_000, false, 16384}, {100_000_000, false, 16384}, {10, true, 64}, {100_000, true, 2048}, {10_000_000, true, 4096}} {
		if got := groupRowsOf(c.points, c.dear); got != c.want {
			t.Errorf("%d points, %v: got %d, want %d", c.points, c.dear, got, c.want)
		}
	}
}
