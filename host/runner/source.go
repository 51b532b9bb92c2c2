package runner

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"sort"
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

// sourceKey hashes everything the module's bytes depend on: the two packages
// it is made of, go.mod, and the Go version (that of this program, since
// asking the go command would cost more than the rest of a start).
func sourceKey(root string) (string, error) {
	files := []string{"go.mod"}
	for _, dir := range []string{"core", "wasm"} {
		err := filepath.WalkDir(filepath.Join(root, dir), func(path string, entry fs.DirEntry, err error) error {
			if err != nil {
				return err
			}
			name := entry.Name()
			if entry.IsDir() {
				if name == "testdata" || name == "node_modules" {
					return fs.SkipDir
				}
				return nil
			}
			if strings.HasSuffix(name, ".go") && !strings.HasSuffix(name, "_test.go") {
				relative, err := filepath.Rel(root, path)
				if err != nil {
					return err
				}
				files = append(files, filepath.ToSlash(relative))
			}
			return nil
		})
		if err != nil {
			return "", err
		}
	}
	sort.Strings(files)
	sum := sha256.New()
	fmt.Fprintf(sum, "%s\n", runtime.Version())
	for _, name := range files {
		text, err := os.ReadFile(filepath.Join(root, filepath.FromSlash(name)))
		if err != nil {
			return "", err
		}
		fmt.Fprintf(sum, "%s %d\n", name, len(text))
		sum.Write(text)
	}
	return hex.EncodeToString(sum.Sum(nil))[:32], nil
}
