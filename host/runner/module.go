package runner

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	build "spareamps/wasm/module"
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

// quickSum is enough to see damage, in a fifth of the time SHA-256 takes.
func quickSum(data []byte) string {
	return fmt.Sprintf("%08x-%d", crc32.Checksum(data, crc32.MakeTable(crc32.Castagnoli)), len(data))
}

// readRoomy is os.ReadFile into room.
func readRoomy(path string) ([]byte, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	info, err := file.Stat()
	if err != nil {
		return nil, err
	}
	data := room(int(min(info.Size(), 1<<30)))
	_, err = io.ReadFull(file, data)
	return data, err
}

// fromTree takes the tree's module from cacheDir or builds it there. Beside
// each module lies its SHA-256 with a quick sum, so that a damaged file is built
// again instead of being run.
func fromTree(ctx context.Context, root, cacheDir string) (module []byte, sha256hex string, err error) {
	if cacheDir == "" {
		if cacheDir, err = ownFolder(); err != nil {
			return nil, "", err
		}
	}
	key, err := sourceKey(root)
	if err != nil {
		return nil, "", fmt.Errorf("hash the sources: %w", err)
	}
	path := filepath.Join(cacheDir, key+".wasm")
	if module, err = readRoomy(path); err == nil {
		seal, err := os.ReadFile(path + ".sha256")
		if sum, check, ok := strings.Cut(strings.TrimSpace(string(seal)), " "); err == nil && ok && len(sum) == 64 && check == quickSum(module) {
			touch(path)
			return module, sum, nil
		}
	}
	if err := os.MkdirAll(cacheDir, 0o700); err != nil {
		return nil, "", fmt.Errorf("make the cache directory: %w", err)
	}
	if module, err = build.Build(ctx, root); err != nil {
		return nil, "", buildHint(err)
	}
	got := sum(module)
	// The module first: between the two a reader sees no sum or an old one, and
	// builds for itself.
	if err := errors.Join(replace(path, module), replace(path+".sha256", []byte(got+" "+quickSum(module)+"\n"))); err != nil {
		return nil, "", fmt.Errorf("keep the built module: %w", err)
	}
	prune(cacheDir, "*.wasm")
	return module, got, nil
}

// replace writes a file so that nobody ever sees half of it.
func replace(path string, data []byte) error {
	temporary, err := os.CreateTemp(filepath.Dir(path), filepath.Base(path)+"-*.tmp")
	if err != nil {
		return err
	}
	_, err = temporary.Write(data)
	if err = errors.Join(err, temporary.Close()); err == nil {
		err = os.Rename(temporary.Name(), path)
	}
	if err != nil {
		_ = os.Remove(temporary.Name())
	}
	return err
}

func buildHint(err error) error {
	switch {
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return err
	case errors.Is(err, exec.ErrNotFound):
		return &HintError{fmt.Errorf("the module is not built yet: %w", err), "install Go 1.26 or newer, or name a built module with --module"}
	}
	return &HintError{err, "see whether `go vet ./core ./wasm` passes"}
}
