package runner

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
)

// moduleLine is the first line of the go.mod that marks our source tree.
const moduleLine = "module spareamps"

// ErrNoSource says that neither the working directory nor the program lies in
// a source tree to build the module from.
var ErrNoSource = errors.New("no source tree to build the module from")

// sourceTree walks up from each start until it meets our go.mod.
func sourceTree(starts ...string) (string, error) {
	for _, start := range starts {
		for dir := start; dir != ""; dir = filepath.Dir(dir) {
			text, err := os.ReadFile(filepath.Join(dir, "go.mod"))
			if err == nil {
				first, _, _ := strings.Cut(string(text), "\n")
				if strings.TrimSpace(first) == moduleLine {
					return dir, nil
				}
			}
			if dir == filepath.Dir(dir) {
				break
			}
		}
	}
	return "", ErrNoSource
}

// starts are the places from which sourceTree looks: where the person is, then
// where the program is.
func starts() []string {
	var from []string
	if dir, err := os.Getwd(); err == nil {
		from = append(from, dir)
	}
	if program, err := os.Executable(); err == nil {
		if real, err := filepath.EvalSymlinks(program); err == nil {
			program = real
		}
		from = append(from, filepath.Dir(program))
	}
	return from
}

// sourceDirs are the packages the module's bytes come from: the two it is made
// of, and the one that builds it.
var sourceDirs = [...]string{"core", "wasm", "wasm/module"}

// sourceKey hashes everything the module's bytes depend on: those packages,
// go.mod, and the Go version (that of this program, since asking the go
// command would cost more than the rest of a start).
func sourceKey(root string) (string, error) {
	sum := sha256.New()
	fmt.Fprintf(sum, "%s\n", runtime.Version())
	add := func(name string) error {
		text, err := os.ReadFile(filepath.Join(root, filepath.FromSlash(name)))
		fmt.Fprintf(sum, "%s %d\n", name, len(text))
		sum.Write(text)
		return err
	}
	if err := add("go.mod"); err != nil {
		return "", err
	}
	for _, dir := range sourceDirs {
		entries, err := os.ReadDir(filepath.Join(root, filepath.FromSlash(dir))) // sorted by name
		if err != nil {
			return "", err
		}
		for _, entry := range entries {
			name := entry.Name()
			if entry.IsDir() || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
				continue
			}
			if err := add(dir + "/" + name); err != nil {
				return "", err
			}
		}
	}
	return hex.EncodeToString(sum.Sum(nil))[:32], nil
}
