package runner

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

// A question and a block that the core answers.
const (
	testRequest = `{"rig":{"alternator":{"rated_current_A":120,"idle_current_A":60,"pulley_ratio":2.6},"cable":{"area_mm2":25,"length_m":6,"fuse_A":80},` +
		`"charger":{"max_output_W":640,"step_W":20}},"moment":{"engine_rpm":1400,"speed_kmh":15,"ambient_C":36}}`
	shortRequest = `{"rig":{"alternator":{"rated_current_A":90}},"moment":{"engine_rpm":900,"ambient_C":20}}`
	testNames    = "moment.ambient_C\nmoment.engine_rpm\n\nceiling.input_A\nnominal.input_A"
)

// testModule is the tree's own module, from the usual cache: building it for
// every test would take longer than all tests.
func testModule(t testing.TB) []byte {
	t.Helper()
	module, _, err := Module(context.Background(), "")
	if err != nil {
		t.Fatal(err)
	}
	return module
}

// machineCode is shared by the tests of one run.
var machineCode string

// shared is one runner for all tests that need no options of their own.
var shared struct {
	sync.Once
	runner *Runner
	err    error
}

func TestMain(m *testing.M) {
	dir, err := os.MkdirTemp("", "spareamps-runner-test-")
	if err != nil {
		panic(err)
	}
	machineCode = dir
	code := m.Run()
	if shared.runner != nil {
		_ = shared.runner.Close(context.Background())
	}
	_ = os.RemoveAll(dir)
	os.Exit(code)
}

// testRunner is the shared runner, with two instances.
func testRunner(t testing.TB) *Runner {
	t.Helper()
	shared.Do(func() {
		shared.runner, shared.err = New(context.Background(), testModule(t), Options{CacheDir: machineCode, Instances: 2})
	})
	if shared.err != nil {
		t.Fatal(shared.err)
	}
	return shared.runner
}

func newRunner(t testing.TB, module []byte, options Options) *Runner {
	t.Helper()
	r, err := New(context.Background(), module, options)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = r.Close(context.Background()) })
	return r
}

func TestTrapCostsOneInstance(t *testing.T) {
	ctx := context.Background()
	r := newRunner(t, brokenModule(1<<16|3), Options{Instances: 1})
	count := func(want string) {
		t.Helper()
		if got, err := r.Quantity(ctx, nil); err != nil || string(got) != want {
			t.Fatalf("quantity: got %q, %v, want %q", got, err, want)
		}
	}
	count("1")
	count("11")
	if got, err := r.Ceiling(ctx, []byte("sound")); err != nil || string(got) != "sound" {
		t.Fatalf("ceiling: got %q, %v", got, err)
	}
	count("111")
	if _, err := r.Ceiling(ctx, []byte("seven!!")); err == nil || !strings.Contains(err.Error(), "unreachable") {
		t.Fatalf("a trap: got %v", err)
	}
	count("1")
	if _, err := r.About(ctx); err == nil || !strings.Contains(err.Error(), "outside its memory") {
		t.Fatalf("an answer from nowhere: got %v", err)
	}
	count("1")
	if err := r.Block(ctx, nil, []byte("a\n\n"), make([]float64, 13), make([]float64, 13), 13); err == nil || !strings.Contains(err.Error(), "out of bounds") {
		t.Fatalf("a load past the end: got %v", err)
	}
	count("1")
	stopped, cancel := context.WithCancel(ctx)
	cancel()
	if err := r.Block(stopped, nil, []byte("a\n\n"), make([]float64, 1), make([]float64, 1), 1); !errors.Is(err, context.Canceled) {
		t.Fatalf("a stopped block: got %v", err)
	}
	count("11")
}

func TestABIMismatch(t *testing.T) {
	for _, c := range []struct {
		abi  uint32
		want string
	}{
		{2 << 16, "speaks version 2.0"},
		{0<<16 | 9, "speaks version 0.9"},
		{1 << 16, "speaks version 1.0"},
		{1<<16 | 5, ""},
	} {
		r, err := New(context.Background(), brokenModule(c.abi), Options{})
		switch {
		case c.want == "" && err != nil:
			t.Errorf("version %#x: %v", c.abi, err)
		case c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)):
			t.Errorf("version %#x: got %v, want %q", c.abi, err, c.want)
		}
		var hint *HintError
		if c.want != "" && !errors.As(err, &hint) {
			t.Errorf("version %#x: no hint", c.abi)
		}
		if r != nil {
			_ = r.Close(context.Background())
		}
	}
}

func TestNotAModule(t *testing.T) {
	file := filepath.Join(t.TempDir(), "no.wasm")
	if err := os.WriteFile(file, []byte("#!/bin/sh\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	var hint *HintError
	if _, _, err := Module(context.Background(), file); !errors.As(err, &hint) {
		t.Errorf("a script: got %v, want an error with a hint", err)
	}
	if _, _, err := Module(context.Background(), file+"x"); !errors.Is(err, os.ErrNotExist) || !errors.As(err, &hint) {
		t.Errorf("no file: got %v, want not exist with a hint", err)
	}
	for name, module := range map[string][]byte{
		"cut short": testModule(t)[:1000], "empty": nil, "magic only": wasmMagic,
	} {
		if r, err := New(context.Background(), module, Options{CacheDir: t.TempDir()}); err == nil {
			t.Errorf("%s: loaded", name)
			_ = r.Close(context.Background())
		}
	}
}

func TestConcurrentCalls(t *testing.T) {
	r := testRunner(t)
	ctx := context.Background()
	want, err := r.Ceiling(ctx, []byte(testRequest))
	if err != nil {
		t.Fatal(err)
	}
	inputs, outputs := columns([]byte(testNames))
	const rows = 20
	in := make([]float64, rows*inputs)
	for k := range rows {
		in[k], in[rows+k] = 20+float64(k), 1000+50*float64(k)
	}
	wantOut := make([]float64, rows*outputs)
	if err := r.Block(ctx, []byte(testRequest), []byte(testNames), in, wantOut, rows); err != nil {
		t.Fatal(err)
	}
	var all sync.WaitGroup
	for g := range 8 {
		all.Go(func() {
			for k := range 4 {
				if (g+k)%2 == 0 {
					if got, err := r.Ceiling(ctx, []byte(testRequest)); err != nil || !bytes.Equal(got, want) {
						t.Errorf("ceiling: got %.80q, %v", got, err)
					}
					continue
				}
				out := make([]float64, rows*outputs)
				if err := r.Block(ctx, []byte(testRequest), []byte(testNames), in, out, rows); err != nil || !sameBits(out, wantOut) {
					t.Errorf("block: got %v, %v", out, err)
				}
			}
		})
	}
	all.Wait()
}

func sameBits(a, b []float64) bool {
	for k := range a {
		if math.Float64bits(a[k]) != math.Float64bits(b[k]) {
			return false
		}
	}
	return len(a) == len(b)
}

// A waiting call ends with its context; a closed runner says so.
func TestPoolEnds(t *testing.T) {
	r := newRunner(t, brokenModule(1<<16|3), Options{Instances: 1})
	held := <-r.slots
	ctx, cancel := context.WithTimeout(context.Background(), time.Millisecond)
	defer cancel()
	if _, err := r.Quantity(ctx, nil); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("no free instance: got %v", err)
	}
	r.slots <- held
	for range 2 {
		if err := r.Close(context.Background()); err != nil {
			t.Error(err)
		}
	}
	if _, err := r.Quantity(context.Background(), nil); !errors.Is(err, ErrClosed) {
		t.Errorf("closed: got %v", err)
	}
}

// The same rows in one block, in many, and one by one give the same bits: a
// row depends on nothing but itself.
func TestBlockSplitsAnyhow(t *testing.T) {
	r := testRunner(t)
	ctx := context.Background()
	inputs, outputs := columns([]byte(testNames))
	const rows = 50
	in := make([]float64, rows*inputs)
	for k := range rows {
		in[k], in[rows+k] = 45-float64(k), 700+float64(k*k)
	}
	whole := make([]float64, rows*outputs)
	if err := r.Block(ctx, []byte(testRequest), []byte(testNames), in, whole, rows); err != nil {
		t.Fatal(err)
	}
	for k := rows - 1; k >= 0; k-- {
		one, got, want := make([]float64, inputs), make([]float64, outputs), make([]float64, outputs)
		for c := range one {
			one[c] = in[c*rows+k]
		}
		for c := range want {
			want[c] = whole[c*rows+k]
		}
		if err := r.Block(ctx, []byte(testRequest), []byte(testNames), one, got, 1); err != nil {
			t.Fatal(err)
		}
		if !sameBits(got, want) {
			t.Errorf("row %d: got %v alone, %v in the block", k, got, want)
		}
	}
}

func TestBlockShapes(t *testing.T) {
	r := testRunner(t)
	ctx := context.Background()
	if err := r.Block(ctx, []byte(testRequest), []byte(testNames), make([]float64, 2), make([]float64, 2), 1); err == nil || !strings.Contains(err.Error(), "does not fit") {
		t.Errorf("out without status: got %v", err)
	}
	if err := r.Block(ctx, []byte(testRequest), []byte(testNames), nil, nil, -1); err == nil {
		t.Error("negative rows went through")
	}
	if err := r.Block(ctx, []byte(testRequest), []byte(testNames), nil, nil, 0); err != nil {
		t.Errorf("no rows: %v", err)
	}
	var refused *RefusedError
	if err := r.Block(ctx, []byte(`{"x"`), []byte(testNames), nil, nil, 0); !errors.As(err, &refused) {
		t.Errorf("no rows of a broken request: got %v, want it refused", err)
	}
}

func TestCancelBetweenChunks(t *testing.T) {
	r := testRunner(t)
	inputs, outputs := columns([]byte(testNames))
	rows := 2_000_000
	in, out := make([]float64, rows*inputs), make([]float64, rows*outputs)
	for k := range rows {
		in[k], in[rows+k] = 35, 1500
	}
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Millisecond)
	defer cancel()
	begun := time.Now()
	err := r.Block(ctx, []byte(testRequest), []byte(testNames), in, out, rows)
	if !errors.Is(err, context.DeadlineExceeded) {
		t.Fatalf("got %v after %v, want deadline exceeded", err, time.Since(begun))
	}
	if took := time.Since(begun); took > 2*time.Second {
		t.Errorf("ended %v after the deadline", took)
	}
}

// The interpreter and the compiler are two engines of one meaning.
func TestEnginesAgree(t *testing.T) {
	ctx := context.Background()
	compiled, interpreted := testRunner(t), newRunner(t, testModule(t), Options{Instances: 1, Interpreter: true})
	for _, request := range []string{testRequest, `{"moment":{"ambient_C":38}}`, `{`, shortRequest} {
		a, errA := compiled.Ceiling(ctx, []byte(request))
		b, errB := interpreted.Ceiling(ctx, []byte(request))
		if errA != nil || errB != nil || !bytes.Equal(a, b) {
			t.Errorf("%s: compiler %.200q (%v), interpreter %.200q (%v)", request, a, errA, b, errB)
		}
	}
}

func TestMachineCodeCache(t *testing.T) {
	ctx := context.Background()
	dir, module := t.TempDir(), brokenModule(1<<16|3) // small, so that compiling it many times takes no time
	start := func() *Runner {
		t.Helper()
		r, err := New(ctx, module, Options{CacheDir: dir, Instances: 1})
		if err != nil {
			t.Fatal(err)
		}
		if got, err := r.Quantity(ctx, nil); err != nil || string(got) != "1" {
			t.Fatalf("quantity: got %q, %v", got, err)
		}
		if err := r.Close(ctx); err != nil {
			t.Fatal(err)
		}
		return r
	}
	if start().CacheHit() {
		t.Error("a hit in an empty directory")
	}
	if !start().CacheHit() {
		t.Error("no hit at the second start")
	}

	var stored []string
	_ = filepath.WalkDir(dir, func(path string, entry os.DirEntry, err error) error {
		if err == nil && !entry.IsDir() && entry.Name() != sealName {
			stored = append(stored, path)
		}
		return err
	})
	if len(stored) != 1 {
		t.Fatalf("stored files: got %v, want one", stored)
	}
	whole, err := os.ReadFile(stored[0])
	if err != nil {
		t.Fatal(err)
	}
	damages := map[string][]byte{
		"empty":     nil,
		"cut short": whole[:len(whole)/2],
		"garbage":   bytes.Repeat([]byte("garbage "), 1000),
		"longer":    append(bytes.Clone(whole), 0),
	}
	for at := 0; at < len(whole); at += 1 + len(whole)/60 {
		damaged := bytes.Clone(whole)
		damaged[at] ^= 0x10
		damages[fmt.Sprintf("a bit of byte %d", at)] = damaged
	}
	for name, damaged := range damages {
		if err := os.WriteFile(stored[0], damaged, 0o600); err != nil {
			t.Fatal(err)
		}
		if start().CacheHit() {
			t.Errorf("%s: taken for whole", name)
		}
		if !start().CacheHit() {
			t.Errorf("%s: not mended", name)
		}
	}
	// A place where nothing can be kept costs time, not the answer.
	blocked := filepath.Join(dir, "file")
	if err := os.WriteFile(blocked, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	dir = blocked
	if start().CacheHit() {
		t.Error("a hit in a file")
	}
}

// In the middle of much code it is wazero's own sum that does not fit.
func TestDamagedMachineCode(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles the whole module twice; leave -short out")
	}
	dir, module := t.TempDir(), testModule(t)
	hit := func() bool {
		t.Helper()
		r := newRunner(t, module, Options{CacheDir: dir, Instances: 1})
		return r.CacheHit()
	}
	if hit() {
		t.Error("a hit in an empty directory")
	}
	files, err := filepath.Glob(filepath.Join(dir, "code-*", "wazero-*", "*"))
	if err != nil || len(files) != 1 {
		t.Fatalf("stored files: got %v, %v, want one", files, err)
	}
	stored, err := os.ReadFile(files[0])
	if err != nil {
		t.Fatal(err)
	}
	if len(stored) < 4*tableBytes {
		t.Fatalf("got %d bytes of machine code, want far more than the ends that we sum", len(stored))
	}
	stored[len(stored)/2] ^= 1
	if err := os.WriteFile(files[0], stored, 0o600); err != nil {
		t.Fatal(err)
	}
	if hit() {
		t.Error("damaged code taken for whole")
	}
	if !hit() {
		t.Error("not mended")
	}
}

// A memory cap below what a call needs ends that call, not the process.
func TestMemoryCap(t *testing.T) {
	ctx := context.Background()
	r := newRunner(t, testModule(t), Options{CacheDir: machineCode, MemoryPages: 16 << 4, Instances: 1}) // 16 MiB
	err := r.with(ctx, func(i *instance) error {
		_, err := i.alloc(60 << 20)
		return err
	})
	if err == nil {
		t.Error("60 MiB within 16 MiB")
	}
	if _, err := r.About(ctx); err != nil {
		t.Errorf("after it: %v", err)
	}
	if _, err := New(ctx, testModule(t), Options{MemoryPages: 1}); err == nil {
		t.Error("started within 64 KiB")
	}
}

func BenchmarkEmptyCall(b *testing.B) {
	r := newRaw(b, testRunner(b))
	for b.Loop() {
		r.must("abi_version")
	}
}

func BenchmarkInstance(b *testing.B) {
	r := testRunner(b)
	for b.Loop() {
		i, err := r.start()
		if err != nil {
			b.Fatal(err)
		}
		_ = i.close()
	}
}

func BenchmarkStartCached(b *testing.B) {
	module := testModule(b)
	testRunner(b)
	for b.Loop() {
		r, err := New(context.Background(), module, Options{CacheDir: machineCode, Instances: 1})
		if err != nil {
			b.Fatal(err)
		}
		_ = r.Close(context.Background())
	}
}

func BenchmarkStartCompiling(b *testing.B) {
	module := testModule(b)
	for b.Loop() {
		r, err := New(context.Background(), module, Options{Instances: 1})
		if err != nil {
			b.Fatal(err)
		}
		_ = r.Close(context.Background())
	}
}

func BenchmarkCeiling(b *testing.B) {
	r := testRunner(b)
	for b.Loop() {
		if _, err := r.Ceiling(context.Background(), []byte(testRequest)); err != nil {
			b.Fatal(err)
		}
	}
}
