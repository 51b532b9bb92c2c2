package runner

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"sync"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
)

// The version of the binary interface this package speaks. A module of the
// same major version and at least this minor version is accepted.
const (
	abiMajor = 1
	abiMinor = 3
)

// Options say how to run the module. The zero value is a good choice.
type Options struct {
	CacheDir    string // where machine code is kept between runs; empty: nowhere
	MemoryPages uint32 // most memory one instance may take, in pages of 64 KiB; 0: 4096 (256 MiB)
	Instances   int    // most instances at a time, hence calls at a time; 0: one for each processor Go uses
	Interpreter bool   // interpret instead of compiling to machine code: starts at once, runs many times slower
}

// A Runner answers requests with the module. It is safe for concurrent use.
type Runner struct {
	runtime  wazero.Runtime
	compiled wazero.CompiledModule
	cache    api.Closer // of machine code; nil without one
	abi      uint32
	cacheHit bool
	slots    chan *instance // nil: a place that has no instance yet
	closing  sync.Once
}

// ErrClosed is returned by calls on a closed Runner.
var ErrClosed = errors.New("the runner is closed")

// New compiles the module, starts one instance and checks that it speaks our
// version of the binary interface.
func New(ctx context.Context, module []byte, options Options) (*Runner, error) {
	if options.MemoryPages == 0 {
		options.MemoryPages = 4096
	}
	if options.Instances <= 0 {
		options.Instances = runtime.GOMAXPROCS(0)
	}
	// Compiles where wazero has a compiler for this machine, else interprets.
	config := wazero.NewRuntimeConfig()
	if options.Interpreter {
		config = wazero.NewRuntimeConfigInterpreter()
		options.CacheDir = "" // only machine code is stored
	}
	config = config.WithMemoryLimitPages(options.MemoryPages)
	r, err := compile(ctx, module, config, options.CacheDir)
	if err != nil {
		return nil, err
	}
	r.slots = make(chan *instance, options.Instances)
	if err := instantiateSystem(ctx, r.runtime); err != nil {
		return nil, errors.Join(err, r.unload(ctx))
	}
	first, err := r.start()
	if err != nil {
		return nil, errors.Join(err, r.unload(ctx))
	}
	r.abi = first.abi
	r.slots <- first
	for i := 1; i < options.Instances; i++ {
		r.slots <- nil
	}
	return r, nil
}

// ABI returns the version of the binary interface the module speaks.
func (r *Runner) ABI() (major, minor int) { return int(r.abi >> 16), int(r.abi & 0xffff) }

// CacheHit tells whether the machine code came from the disk.
func (r *Runner) CacheHit() bool { return r.cacheHit }

// Close waits for running calls, then frees everything. Calls that come later
// get ErrClosed.
func (r *Runner) Close(ctx context.Context) (err error) {
	r.closing.Do(func() {
		for range cap(r.slots) {
			<-r.slots
		}
		close(r.slots)
		err = r.unload(ctx)
	})
	return err
}

func (r *Runner) unload(ctx context.Context) error {
	err := r.runtime.Close(ctx)
	if r.cache != nil {
		err = errors.Join(err, r.cache.Close(ctx))
	}
	return err
}

// Ceiling answers a request as JSON, with JSON; an error object is an answer.
// The error is for what kept the module from answering at all.
func (r *Runner) Ceiling(ctx context.Context, request []byte) (answer []byte, err error) {
	return r.text(ctx, "ceiling", request)
}

// Day plans a day as Ceiling answers about a moment.
func (r *Runner) Day(ctx context.Context, request []byte) (answer []byte, err error) {
	return r.text(ctx, "day", request)
}

// Fit learns from a rig's observations as Ceiling answers about a moment.
func (r *Runner) Fit(ctx context.Context, request []byte) (answer []byte, err error) {
	return r.text(ctx, "fit", request)
}

// Log reads a logger's file, under conditions in JSON that it does not tell.
func (r *Runner) Log(ctx context.Context, log, conditions []byte) (answer []byte, err error) {
	err = r.with(ctx, func(i *instance) error {
		logPtr, err := i.put(log)
		if err != nil {
			return err
		}
		conditionsPtr, err := i.put(conditions)
		if err != nil {
			return err
		}
		packed, err := i.call("log", uint64(logPtr), uint64(len(log)), uint64(conditionsPtr), uint64(len(conditions)))
		if err != nil {
			return err
		}
		if answer, err = i.answer(packed); err != nil {
			return err
		}
		return errors.Join(i.free(logPtr), i.free(conditionsPtr))
	})
	return answer, err
}

// Quantity computes one named quantity: {"quantity":…,"args":[…]}.
func (r *Runner) Quantity(ctx context.Context, request []byte) (answer []byte, err error) {
	return r.text(ctx, "quantity", request)
}

// About returns the module's version and its tables of inputs and outputs.
func (r *Runner) About(ctx context.Context) (answer []byte, err error) {
	err = r.with(ctx, func(i *instance) error {
		packed, err := i.call("about")
		if err != nil {
			return err
		}
		answer, err = i.answer(packed)
		return err
	})
	return answer, err
}

func (r *Runner) text(ctx context.Context, export string, request []byte) (answer []byte, err error) {
	err = r.with(ctx, func(i *instance) error {
		ptr, err := i.put(request)
		if err != nil {
			return err
		}
		packed, err := i.call(export, uint64(ptr), uint64(len(request)))
		if err != nil {
			return err
		}
		if answer, err = i.answer(packed); err != nil {
			return err
		}
		return i.free(ptr)
	})
	return answer, err
}

// with runs work on an instance nobody else uses meanwhile. An instance whose
// call failed may be in any state and is thrown away.
func (r *Runner) with(ctx context.Context, work func(*instance) error) error {
	var i *instance
	select {
	case slot, open := <-r.slots:
		if !open {
			return ErrClosed
		}
		i = slot
	case <-ctx.Done():
		return ctx.Err()
	}
	healthy := false
	defer func() {
		if !healthy {
			if i != nil {
				_ = i.close()
			}
			i = nil
		}
		r.slots <- i
	}()
	if i == nil {
		fresh, err := r.start()
		if err != nil {
			return err
		}
		i = fresh
	}
	err := work(i)
	var refused *RefusedError
	healthy = err == nil || errors.As(err, &refused) || errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded)
	return err
}

// A RefusedError is the module's own error object: a request it understood to
// be wrong.
type RefusedError struct {
	JSON []byte // {"error":{"code":…,"problems":[…]}}
}

func (e *RefusedError) Error() string { return fmt.Sprintf("the module refused: %s", e.JSON) }
