// Package bundle puts the worker together: the service as WebAssembly for a
// JavaScript host, the glue, Go's own support script, and settings to run or
// deploy it.
package bundle

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	"spareamps/wasm/module"
)

const (
	Wasm = "spareamps_edge.wasm" // the service in a bundle
	Page = "public"              // the folder for a page beside it, if there is to be one
)

// files are copied from the folder of the worker as they stand.
var files = []string{"worker.mjs", "spareamps.capnp", "wrangler.jsonc"}

// Write writes a bundle into dir, which it makes; a page that is there already
// stays. Root is that of the source tree. Nothing but Go is needed; tags are for
// tests.
func Write(ctx context.Context, root, dir string, tags ...string) error {
	if err := os.MkdirAll(filepath.Join(dir, Page), 0o755); err != nil {
		return err
	}
	dir, err := filepath.Abs(dir)
	if err != nil {
		return err
	}
	build := exec.CommandContext(ctx, "go", "build", "-trimpath", "-buildvcs=false", "-ldflags=-s -w",
		"-tags="+strings.Join(tags, ","), "-o", filepath.Join(dir, Wasm), "./wasm/edge/worker")
	build.Dir = root
	// Whatever is set for other builds must not change this one.
	build.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm", "CGO_ENABLED=0",
		"GOFLAGS=", "GOWORK=off", "GOWASM=", "GOEXPERIMENT=")
	if _, err := output(build); err != nil {
		return fmt.Errorf("build the worker: %w", err)
	}
	if err := shorten(filepath.Join(dir, Wasm)); err != nil {
		return fmt.Errorf("shorten the worker: %w", err)
	}
	// The script has to be that of the toolchain that built the module.
	env := exec.CommandContext(ctx, "go", "env", "GOROOT")
	env.Dir = root
	goroot, err := output(env)
	if err != nil {
		return fmt.Errorf("ask for Go's root: %w", err)
	}
	if err := copyFile(filepath.Join(strings.TrimSpace(goroot), "lib", "wasm", "wasm_exec.js"), dir); err != nil {
		return err
	}
	for _, name := range files {
		if err := copyFile(filepath.Join(root, "wasm", "edge", "worker", name), dir); err != nil {
			return err
		}
	}
	return nil
}

func shorten(file string) error {
	built, err := os.ReadFile(file)
	if err != nil {
		return err
	}
	if built, err = module.Shorten(built); err != nil {
		return err
	}
	return os.WriteFile(file, built, 0o644)
}

func copyFile(from, dir string) error {
	data, err := os.ReadFile(from)
	if err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(dir, filepath.Base(from)), data, 0o644)
}

// output runs a command; its error holds what the command complained of.
func output(c *exec.Cmd) (string, error) {
	out, err := c.Output()
	if e := (*exec.ExitError)(nil); errors.As(err, &e) {
		return "", fmt.Errorf("%w: %s", err, strings.TrimSpace(string(e.Stderr)))
	}
	return string(out), err
}
