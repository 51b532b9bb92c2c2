package runner

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
)

// A HintError is an error a person can do something about.
type HintError struct {
	Err  error
	Hint string // one line, what to do
}

func (e *HintError) Error() string { return e.Err.Error() }
func (e *HintError) Unwrap() error { return e.Err }

// CacheDir is where built modules and their machine code are kept when nothing
// else is said; empty when the system names no cache directory.
func CacheDir() string {
	dir, err := os.UserCacheDir()
	if err != nil {
		return ""
	}
	return filepath.Join(dir, "spareamps")
}

// Module returns the module's bytes and their SHA-256. With a file name it
// reads that file; without one it takes the module that belongs to the source
// tree around the working directory or the program, building it if it is not
// in the cache yet.
func Module(ctx context.Context, file string) (module []byte, sha256hex string, err error) {
	if file != "" {
		module, err = os.ReadFile(file)
		if err != nil {
			return nil, "", &HintError{fmt.Errorf("read module: %w", err), "name a file built as wasm/ABI.md says, or leave --module out"}
		}
		if !bytes.HasPrefix(module, wasmMagic) {
			return nil, "", &HintError{fmt.Errorf("%s is not a WebAssembly module", file), "name a file built as wasm/ABI.md says, or leave --module out"}
		}
		return module, sum(module), nil
	}
	root, err := sourceTree(starts()...)
	if err != nil {
		return nil, "", &HintError{err, "run inside the source tree, or name a built module with --module"}
	}
	return fromTree(ctx, root, CacheDir())
}

var wasmMagic = []byte("\x00asm\x01\x00\x00\x00")

func sum(data []byte) string {
	s := sha256.Sum256(data)
	return hex.EncodeToString(s[:])
}

// fromTree takes the tree's module from cacheDir or builds it there. Beside
// each module lies its SHA-256, so that a damaged file is built again instead
// of being run.
func fromTree(ctx context.Context, root, cacheDir string) (module []byte, sha256hex string, err error) {
	if cacheDir == "" {
		cacheDir = filepath.Join(os.TempDir(), "spareamps")
	}
	key, err := sourceKey(root)
	if err != nil {
		return nil, "", fmt.Errorf("hash the sources: %w", err)
	}
	path := filepath.Join(cacheDir, key+".wasm")
	if module, err = os.ReadFile(path); err == nil {
		got := sum(module)
		want, err := os.ReadFile(path + ".sha256")
		if err == nil && strings.TrimSpace(string(want)) == got {
			touch(path)
			return module, got, nil
		}
	}
	if err := os.MkdirAll(cacheDir, 0o700); err != nil {
		return nil, "", fmt.Errorf("make the cache directory: %w", err)
	}
	// A directory of our own: two processes may build at the same time.
	work, err := os.MkdirTemp(cacheDir, "build-")
	if err != nil {
		return nil, "", fmt.Errorf("make the cache directory: %w", err)
	}
	defer os.RemoveAll(work)
	built := filepath.Join(work, "module.wasm")
	if err := Build(ctx, root, built); err != nil {
		return nil, "", err
	}
	if module, err = os.ReadFile(built); err != nil {
		return nil, "", err
	}
	got := sum(module)
	side := filepath.Join(work, "module.sha256")
	if err := os.WriteFile(side, []byte(got+"\n"), 0o600); err != nil {
		return nil, "", err
	}
	// The module first: between the two renames a reader sees no sum or an old
	// one, and builds for itself.
	if err := errors.Join(os.Rename(built, path), os.Rename(side, path+".sha256")); err != nil {
		return nil, "", fmt.Errorf("keep the built module: %w", err)
	}
	prune(cacheDir, "*.wasm")
	return module, got, nil
}

// Build builds the module of the source tree at root into file. The same
// sources and Go version give the same bytes wherever the tree lies.
func Build(ctx context.Context, root, file string) error {
	tool, err := exec.LookPath("go")
	if err != nil {
		return &HintError{errors.New("the go command is not on the path, and the module is not built yet"),
			"install Go 1.26 or newer, or name a built module with --module"}
	}
	absolute, err := filepath.Abs(file)
	if err != nil {
		return err
	}
	command := exec.CommandContext(ctx, tool, "build", "-buildmode=c-shared", "-trimpath", "-buildvcs=false",
		"-ldflags=-s -w", "-o", absolute, "./wasm")
	command.Dir = root
	// Whatever is set for other builds must not change these bytes.
	command.Env = append(os.Environ(), "GOOS=wasip1", "GOARCH=wasm", "CGO_ENABLED=0",
		"GOFLAGS=", "GOWORK=off", "GOWASM=", "GOEXPERIMENT=", "PWD="+root)
	var talk bytes.Buffer
	command.Stdout, command.Stderr = &talk, &talk
	if err := command.Run(); err != nil {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		return &HintError{fmt.Errorf("build the module: %w\n%s", err, bytes.TrimSpace(talk.Bytes())),
			"see whether `go vet ./core ./wasm` passes"}
	}
	return nil
}
