package runner

import (
	"context"
	"os"
	"testing"
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

func TestMain(m *testing.M) {
	dir, err := os.MkdirTemp("", "spareamps-runner-test-")
	if err != nil {
		panic(err)
	}
	machineCode = dir
	code := m.Run()
	_ = os.RemoveAll(dir)
	os.Exit(code)
}

func testRunner(t testing.TB, options Options) *Runner {
	t.Helper()
	if options.CacheDir == "" {
		options.CacheDir = machineCode
	}
	r, err := New(context.Background(), testModule(t), options)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = r.Close(context.Background()) })
	return r
}

func TestSmoke(t *testing.T) {
	r := testRunner(t, Options{})
	ctx := context.Background()
	a, err := r.Ceiling(ctx, []byte(`{"x":1}`))
	t.Logf("%s %v", a, err)
	a, err = r.Ceiling(ctx, []byte(`panic`))
	t.Logf("%s %v", a, err)
	a, err = r.About(ctx)
	t.Logf("%s %v", a, err)
	in, out := make([]float64, 200), make([]float64, 300)
	for k := range in {
		in[k] = float64(k)
	}
	err = r.Block(ctx, []byte("{}"), []byte("a\nb\n\nc\nd"), in, out, 100)
	t.Log(out[99], out[199], out[299], err)
}
