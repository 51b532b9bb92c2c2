package module

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
)

// Build builds the module of the source tree at root and returns its bytes.
// Errors of the compiler come with its words; exec.ErrNotFound says that there
// is no go command.
//
// Where DropNames does not know the layout, names stay: the module is larger
// and answers the same.
func Build(ctx context.Context, root string) ([]byte, error) {
	named, err := BuildWithNames(ctx, root)
	if err != nil {
		return nil, err
	}
	built, err := DropNames(named)
	if errors.Is(err, ErrLayout) {
		return named, nil
	}
	return built, err
}

// BuildWithNames is Build without DropNames: a crash's traceback says which
// functions and lines it went through. Functions have the same numbers in both.
func BuildWithNames(ctx context.Context, root string) ([]byte, error) {
	tool, err := exec.LookPath("go")
	if err != nil {
		return nil, fmt.Errorf("look for the go command: %w", err)
	}
	root, err = filepath.Abs(root)
	if err != nil {
		return nil, err
	}
	work, err := os.MkdirTemp("", "spareamps-build-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(work)
	file := filepath.Join(work, "module.wasm")
	command := exec.CommandContext(ctx, tool, "build", "-buildmode=c-shared", "-trimpath", "-buildvcs=false",
		"-ldflags=-s -w", "-o", file, "./wasm")
	command.Dir = root
	// Whatever is set for other builds must not change these bytes.
	command.Env = append(os.Environ(), "GOOS=wasip1", "GOARCH=wasm", "CGO_ENABLED=0",
		"GOFLAGS=", "GOWORK=off", "GOWASM=", "GOEXPERIMENT=", "PWD="+root)
	var talk bytes.Buffer
	command.Stdout, command.Stderr = &talk, &talk
	if err := command.Run(); err != nil {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		return nil, fmt.Errorf("build the module: %w\n%s", err, bytes.TrimSpace(talk.Bytes()))
	}
	built, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	return Shorten(built)
}

// Shorten returns a module as it comes from Go's linker so that it packs smaller
// and runs faster: DirectJumps, FoldOffsets, KeepPointers and JoinData. It does the same.
func Shorten(module []byte) ([]byte, error) {
	for _, change := range [...]func([]byte) ([]byte, error){DirectJumps, FoldOffsets, KeepPointers, JoinData} {
		var err error
		if module, err = change(module); err != nil {
			return nil, err
		}
	}
	return module, nil
}
