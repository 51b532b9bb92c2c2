package runner

import (
	"context"
	"fmt"
	"sync"

	"spareamps/core"
)

// An Engine answers requests, in JSON as wasm/ABI.md describes them. There are
// two, and they give the same bytes: Native, the core linked into this program,
// and *Runner, the module in a sandbox. Both are safe for concurrent use.
//
// An error object is an answer; errors are for what kept an engine from
// answering at all, and of Block for what it refused (*RefusedError).
type Engine interface {
	Ceiling(ctx context.Context, request []byte) (answer []byte, err error)
	Day(ctx context.Context, request []byte) (answer []byte, err error)
	Fit(ctx context.Context, request []byte) (answer []byte, err error)
	Log(ctx context.Context, log, conditions []byte) (answer []byte, err error)
	Quantity(ctx context.Context, request []byte) (answer []byte, err error)
	About(ctx context.Context) (answer []byte, err error)
	Block(ctx context.Context, request, names []byte, in, out []float64, rows int) error
	Close(ctx context.Context) error
}

var (
	_ Engine = (*Runner)(nil)
	_ Engine = (*Native)(nil)
)

// Native is the core linked in. The zero value is ready; Close does nothing.
type Native struct {
	advisors sync.Pool // of *core.Advisor: two megabytes each
}

// Ceiling answers about a moment.
func (n *Native) Ceiling(ctx context.Context, request []byte) ([]byte, error) {
	return n.ask(ctx, (*core.Advisor).CeilingJSON, request)
}

// Day plans a day.
func (n *Native) Day(ctx context.Context, request []byte) ([]byte, error) {
	return n.ask(ctx, (*core.Advisor).DayJSON, request)
}

// Fit learns from a rig's observations.
func (n *Native) Fit(ctx context.Context, request []byte) ([]byte, error) {
	return n.ask(ctx, (*core.Advisor).FitJSON, request)
}

// Log reads a logger's file.
func (n *Native) Log(ctx context.Context, log, conditions []byte) (answer []byte, err error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	defer caught(&answer)
	return core.LogTextJSON(log, conditions), nil
}

// Quantity computes one named quantity.
func (n *Native) Quantity(ctx context.Context, request []byte) (answer []byte, err error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	defer caught(&answer)
	return core.QuantityJSON(request), nil
}

// About returns version and tables.
func (n *Native) About(ctx context.Context) ([]byte, error) { return core.AboutJSON(), ctx.Err() }

// Close is there for the interface.
func (n *Native) Close(context.Context) error { return nil }

// ask puts a question to an advisor. One that broke off is not used again.
func (n *Native) ask(ctx context.Context, question func(*core.Advisor, []byte) []byte, request []byte) (answer []byte, err error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	defer caught(&answer)
	d, ok := n.advisors.Get().(*core.Advisor)
	if !ok {
		d = new(core.Advisor)
	}
	answer = append([]byte(nil), question(d, request)...)
	n.advisors.Put(d)
	return answer, nil
}

// caught turns a panic of the core into an error object, as the module does.
func caught(answer *[]byte) {
	if fault := recover(); fault != nil {
		*answer = core.ErrorJSON("internal", "", "", "", fmt.Sprint(fault))
	}
}

// nativeChunkRows is how many rows may still be computed after a block's
// context ended: at most 50 ms of them.
const nativeChunkRows = 64

// Block is Runner.Block without a module.
func (n *Native) Block(ctx context.Context, request, names []byte, in, out []float64, rows int) (err error) {
	inputs, outputs := columns(names)
	if rows < 0 || len(in) != inputs*rows || len(out) != outputs*rows {
		return misfit(rows, inputs, outputs, len(in), len(out))
	}
	defer func() {
		if fault := recover(); fault != nil {
			err = &RefusedError{core.ErrorJSON("internal", "", "", "", fmt.Sprint(fault))}
		}
	}()
	block, refused := core.NewBlock(request, names)
	if refused != nil {
		return &RefusedError{refused}
	}
	chunk := min(nativeChunkRows, max(rows, 1))
	part, result := make([]float64, inputs*chunk), make([]float64, outputs*chunk)
	for from := 0; from < rows; from += chunk {
		if err := ctx.Err(); err != nil {
			return err
		}
		k := min(chunk, rows-from)
		for c := range inputs {
			copy(part[c*k:(c+1)*k], in[c*rows+from:])
		}
		block.Run(part[:inputs*k], result[:outputs*k], k)
		for c := range outputs {
			copy(out[c*rows+from:c*rows+from+k], result[c*k:])
		}
	}
	return ctx.Err()
}

func misfit(rows, inputs, outputs, in, out int) error {
	return fmt.Errorf("a block of %d rows with %d inputs and %d outputs does not fit slices of %d and %d", rows, inputs, outputs, in, out)
}
