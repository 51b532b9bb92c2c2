package main

import (
	"context"
	"encoding/json"
	"fmt"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"

	"spareamps/core"
	"spareamps/host/runner"
)

// An engine computes answers: the core linked in, or the module.
type engine interface {
	ceiling(ctx context.Context, request []byte) ([]byte, error)
	day(ctx context.Context, request []byte) ([]byte, error)
	fit(ctx context.Context, request []byte) ([]byte, error)
	quantity(ctx context.Context, question []byte) ([]byte, error)
	provenance(ctx context.Context) (provenance, error)
	close()
}

// A provenance says what computed an answer.
type provenance struct {
	Version      string  `json:"version"`
	ABI          string  `json:"abi"`
	Backend      string  `json:"backend"`
	ModuleSHA256 *string `json:"module_sha256"`
	Go           string  `json:"go"`
	Platform     string  `json:"platform"`
	Revision     string  `json:"revision,omitempty"`
}

// backendFlags say which engine is to be used.
type backendFlags struct{ backend, module string }

func (f *backendFlags) add(c *cobra.Command, otherwise string, names ...string) {
	c.Flags().StringVar(&f.backend, "backend", otherwise, "what computes: a `NAME`, "+joinOr(names))
	c.Flags().StringVar(&f.module, "module", "", "module from `FILE` instead of the one built from source; means --backend wasm")
	_ = c.RegisterFlagCompletionFunc("backend", func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return names, cobra.ShellCompDirectiveNoFileComp
	})
	before := c.PreRunE
	c.PreRunE = func(c *cobra.Command, args []string) error {
		if f.module != "" && !c.Flags().Changed("backend") {
			f.backend = "wasm"
		}
		known := false
		for _, name := range names {
			known = known || name == f.backend
		}
		switch {
		case !known:
			return &usageError{fmt.Sprintf("--backend is %q, allowed is %s", f.backend, joinOr(names)), ""}
		case f.module != "" && f.backend == "native":
			return &usageError{"--module is of no use with --backend native", "leave one of them out"}
		case before != nil:
			return before(c, args)
		}
		return nil
	}
}

// engine makes the engine of a name. The native one neither builds nor reads
// a module.
func (p *program) engine(name, module string) (engine, error) {
	if name == "native" {
		return native{}, nil
	}
	runner.RoomyHeap()
	bytes, hash, err := runner.Module(p.ctx, module)
	if err != nil {
		return nil, err
	}
	r, err := runner.New(p.ctx, bytes, runner.Options{CacheDir: runner.CacheDir(), Instances: 1})
	if err != nil {
		return nil, err
	}
	return &wasm{r, hash}, nil
}

// native is the core linked into this program. told, where there is one, is
// called at the steps of a fit.
type native struct{ told func(step int) }

func (native) ceiling(_ context.Context, request []byte) (answer []byte, err error) {
	defer caught(&answer)
	return core.CeilingJSON(request), nil
}

func (native) day(_ context.Context, request []byte) (answer []byte, err error) {
	defer caught(&answer)
	return core.DayJSON(request), nil
}

func (n native) fit(ctx context.Context, request []byte) (answer []byte, err error) {
	defer caught(&answer)
	answer = new(core.Advisor).FitToldJSON(request, func(step int) bool {
		if n.told != nil {
			n.told(step)
		}
		return ctx.Err() == nil
	})
	return answer, ctx.Err()
}

// caught turns a panic of the core into an error object, as the module does.
func caught(answer *[]byte) {
	if fault := recover(); fault != nil {
		*answer = core.ErrorJSON("internal", "", "", "", fmt.Sprint(fault))
	}
}

func (native) quantity(_ context.Context, question []byte) ([]byte, error) {
	return core.QuantityJSON(question), nil
}

func (native) provenance(context.Context) (provenance, error) {
	return ours(core.Version, "native", core.ABIMajor, core.ABIMinor), nil
}

func (native) close() {}

// wasm is the module in the runner.
type wasm struct {
	runner *runner.Runner
	hash   string
}

func (w *wasm) ceiling(ctx context.Context, request []byte) ([]byte, error) {
	return w.runner.Ceiling(ctx, request)
}

func (w *wasm) day(ctx context.Context, request []byte) ([]byte, error) {
	return w.runner.Day(ctx, request)
}

func (w *wasm) fit(ctx context.Context, request []byte) ([]byte, error) {
	return w.runner.Fit(ctx, request)
}

func (w *wasm) quantity(ctx context.Context, question []byte) ([]byte, error) {
	return w.runner.Quantity(ctx, question)
}

func (w *wasm) provenance(ctx context.Context) (provenance, error) {
	about, err := w.runner.About(ctx)
	if err != nil {
		return provenance{}, err
	}
	var version string
	if err := json.Unmarshal(member(about, "version"), &version); err != nil {
		return provenance{}, fmt.Errorf("the module does not say its version: %w", err)
	}
	major, minor := w.runner.ABI()
	v := ours(version, "wasm", major, minor)
	v.ModuleSHA256 = &w.hash
	return v, nil
}

func (w *wasm) close() { _ = w.runner.Close(context.Background()) }

// ours is what this program knows of itself.
func ours(version, backend string, major, minor int) provenance {
	v := provenance{Version: version, ABI: fmt.Sprintf("%d.%d", major, minor), Backend: backend,
		Go: runtime.Version(), Platform: runtime.GOOS + "/" + runtime.GOARCH}
	if info, ok := debug.ReadBuildInfo(); ok {
		for _, s := range info.Settings {
			if s.Key == "vcs.revision" {
				v.Revision = s.Value
			}
		}
	}
	return v
}

func joinOr(names []string) string {
	s := names[0]
	for i, name := range names[1:] {
		if i == len(names)-2 {
			s += " or " + name
		} else {
			s += ", " + name
		}
	}
	return s
}
