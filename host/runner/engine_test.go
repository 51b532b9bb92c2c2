package runner_test

import (
	"context"
	"errors"
	"math"
	"slices"
	"sync"
	"testing"

	"spareamps/core"
	"spareamps/host/runner"
)

// Both engines give the same bytes, from many goroutines at a time.
func TestEnginesOfOneInterface(t *testing.T) {
	ctx := context.Background()
	r, err := sandboxed(ctx)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close(ctx)
	n := new(runner.Native)
	demo := core.Demo()
	var group sync.WaitGroup
	for range 3 {
		group.Add(1)
		go func() {
			defer group.Done()
			for _, c := range []struct {
				name string
				ask  func(runner.Engine, context.Context, []byte) ([]byte, error)
				text string
			}{
				{"ceiling", runner.Engine.Ceiling, string(demo.JSON())},
				{"ceiling", runner.Engine.Ceiling, `{`},
				{"day", runner.Engine.Day, string(demo.JSON())},
				{"quantity", runner.Engine.Quantity, `{"quantity":"copper_ratio","args":[105]}`},
				{"log", func(e runner.Engine, ctx context.Context, text []byte) ([]byte, error) {
					return e.Log(ctx, text, []byte(`{"ambient_C":36}`))
				}, "time_s;engine_rpm;output_A;bus_V\n0;1400;60,5;13,8\n90;1400;61;13,81\n"},
				{"log", func(e runner.Engine, ctx context.Context, text []byte) ([]byte, error) { return e.Log(ctx, text, nil) }, ""},
				{"about", func(e runner.Engine, ctx context.Context, _ []byte) ([]byte, error) { return e.About(ctx) }, ""},
			} {
				want, err := c.ask(n, ctx, []byte(c.text))
				got, err2 := c.ask(r, ctx, []byte(c.text))
				if err != nil || err2 != nil || string(got) != string(want) {
					t.Errorf("%s %.60s: native %.100s %v, module %.100s %v", c.name, c.text, want, err, got, err2)
				}
			}
		}()
	}
	group.Wait()

	const rows = 150
	in := make([]float64, 2*rows)
	for i := range rows {
		in[i], in[rows+i] = float64(800+20*i), float64(i%70)-5 // °C above 60: refused
	}
	names := []byte("moment.engine_rpm\nmoment.ambient_C\n\nceiling.output_W\nnominal.input_A")
	out := [2][]float64{make([]float64, 3*rows), make([]float64, 3*rows)}
	for i, e := range []runner.Engine{n, r} {
		if err := e.Block(ctx, demo.JSON(), names, in, out[i], rows); err != nil {
			t.Fatal(err)
		}
	}
	if !slices.EqualFunc(out[0], out[1], func(a, b float64) bool { return math.Float64bits(a) == math.Float64bits(b) }) {
		t.Errorf("blocks differ:\n%v\n%v", out[0], out[1])
	}
}

// A native block refuses, checks and gives up as the sandboxed one does.
func TestNativeBlock(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	n := new(runner.Native)
	demo := core.Demo()
	if err := n.Block(ctx, demo.JSON(), []byte("\n\nnominal.input_A"), nil, make([]float64, 3), 1); err == nil {
		t.Error("took a block that does not fit its slices")
	}
	if err := n.Block(ctx, demo.JSON(), []byte("\n\nnominal.input_A"), nil, nil, 0); err != nil {
		t.Errorf("no rows: %v", err)
	}
	var refused *runner.RefusedError
	if err := n.Block(ctx, []byte(`{}`), []byte("\n\nnominal.input_A"), nil, make([]float64, 2), 1); !errors.As(err, &refused) {
		t.Errorf("got %v, want a RefusedError", err)
	}
	cancel()
	if err := n.Block(ctx, demo.JSON(), []byte("\n\nnominal.input_A"), nil, make([]float64, 2), 1); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v, want %v", err, context.Canceled)
	}
	if _, err := n.Ceiling(ctx, demo.JSON()); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v, want %v", err, context.Canceled)
	}
}
