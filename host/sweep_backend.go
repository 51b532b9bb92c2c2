package main

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"

	"spareamps/core"
	"spareamps/host/runner"
)

// A sweepBackend computes rows; one worker serves one goroutine.
type sweepBackend interface {
	worker() sweepWorker
	batch(dear bool) int // rows of one call
	jobs(wanted int) int // calls at a time
	provenance(ctx context.Context) (provenance, error)
	close()
}

// A sweepWorker computes rows of a variant, in columns as core.Block does,
// and answers whole requests.
type sweepWorker interface {
	block(ctx context.Context, id int32, v *sweepVariant, names []byte, in, out []float64, rows int) error
	ceiling(ctx context.Context, request []byte) ([]byte, error)
}

// sweepBackend makes the backend of a name.
func (p *program) sweepBackend(f *sweepFlags, name string, jobs int) (sweepBackend, error) {
	switch name {
	case "native":
		return nativeSweep{}, nil
	case "wasm":
		module, hash, err := runner.Module(p.ctx, f.backend.module)
		if err != nil {
			return nil, err
		}
		r, err := runner.New(p.ctx, module, runner.Options{CacheDir: runner.CacheDir(), Instances: jobs})
		if err != nil {
			return nil, err
		}
		return &wasmSweep{wasm{r, hash}}, nil
	}
	return newEdgeSweep(f.edge, f.jobs)
}

// nativeSweep is the core linked in.
type nativeSweep struct{ native }

func (nativeSweep) worker() sweepWorker { return &nativeWorker{blocks: map[int32]*core.Block{}} }

func (nativeSweep) jobs(wanted int) int { return wanted }

// batch is so small that an interrupt is heard at once.
func (nativeSweep) batch(dear bool) int {
	if dear {
		return 16
	}
	return 2048
}

// mostBlocks bounds the prepared blocks a worker keeps, of some 100 kB each.
const mostBlocks = 64

type nativeWorker struct {
	native
	blocks map[int32]*core.Block
	order  []int32 // oldest first
}

func (w *nativeWorker) block(ctx context.Context, id int32, v *sweepVariant, names []byte, in, out []float64, rows int) (err error) {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	b := w.blocks[id]
	if b == nil {
		var problem []byte
		if b, problem = core.NewBlock(v.request, names); problem != nil {
			return blockRefused(problem)
		}
		if len(w.order) == mostBlocks {
			delete(w.blocks, w.order[0])
			w.order = slices.Delete(w.order, 0, 1)
		}
		w.blocks[id], w.order = b, append(w.order, id)
	}
	defer func() {
		if fault := recover(); fault != nil {
			err = fmt.Errorf("a fault of this program: %v", fault)
		}
	}()
	b.Run(in, out, rows)
	return nil
}

// blockRefused is the error of what a backend refuses though the core linked
// in took it.
func blockRefused(text []byte) error {
	if bad := refused(text); bad != nil && len(bad.problems) > 0 {
		return fmt.Errorf("the backend refuses the block: %s", bad.problems[0].Message)
	}
	return fmt.Errorf("the backend refuses the block: %.200s", text)
}

// wasmSweep is the module in a pool of instances, one for each worker.
type wasmSweep struct{ wasm }

func (w *wasmSweep) worker() sweepWorker { return w }

func (w *wasmSweep) jobs(wanted int) int { return wanted }

func (w *wasmSweep) batch(dear bool) int {
	if dear {
		return 64
	}
	return 1 << 16
}

func (w *wasmSweep) block(ctx context.Context, _ int32, v *sweepVariant, names []byte, in, out []float64, rows int) error {
	err := w.runner.Block(ctx, v.request, names, in, out, rows)
	if bad, ok := err.(*runner.RefusedError); ok {
		return blockRefused(bad.JSON)
	}
	return err
}

// sweepOutput is an output that was chosen.
type sweepOutput struct {
	core.Output
	codes []string // of a text: what its numbers mean
}

// outputCodes are the texts an output can be, where they are a fixed list.
func outputCodes(path string) (codes []string) {
	switch path {
	case "advice.because":
		return []string{"now", "after_idle"}
	case "costliest_unknown.unknown":
		for _, u := range core.Unknowns {
			codes = append(codes, u.Name)
		}
	case "ceiling.limit", "nominal.limit", "after_idle.limit":
		for _, l := range core.Limits {
			codes = append(codes, l.Name)
		}
	}
	return codes
}

// A sweepAsker reads texts from whole answers, row by row: columns of a block
// are numbers.
type sweepAsker struct {
	points  *sweepPoints
	outputs []sweepOutput
	columns []int // of outputs, those that are texts
}

// ask answers one row and puts the codes of its texts into out.
func (a *sweepAsker) ask(ctx context.Context, w sweepWorker, v *sweepVariant, in [][]float64, row int, out [][]float64) error {
	q := v.query
	for _, c := range a.points.numbers {
		if err := q.Set(a.points.columns[c].field.Path, number(in[c][row])); err != nil {
			return err
		}
	}
	text, err := w.ceiling(ctx, q.JSON())
	if err != nil {
		return err
	}
	var answer answer
	if err := json.Unmarshal(text, &answer.value); err != nil {
		return fmt.Errorf("read an answer: %w", err)
	}
	if bad := refused(text); bad != nil {
		return blockRefused(text)
	}
	for _, c := range a.columns {
		o := &a.outputs[c]
		code := slices.Index(o.codes, answer.text(o.Path))
		if code < 0 {
			return fmt.Errorf("the answer's %s is %q, which is not in the table", o.Path, answer.text(o.Path))
		}
		out[c][row] = float64(code)
	}
	return nil
}
