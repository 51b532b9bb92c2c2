package main

import (
	"context"
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

// A sweepWorker computes rows of a variant, in columns as core.Block does.
type sweepWorker interface {
	block(ctx context.Context, id int32, v *sweepVariant, names []byte, in, out []float64, rows int) error
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

// A sweepOutput is an output that was chosen.
type sweepOutput struct{ core.Output }
