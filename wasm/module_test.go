package main

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/tetratelabs/wazero"

	"spareamps/wasm/module"
)

var built struct {
	sync.Once
	file string
	err  error
}

// moduleFile is the module, built once for all tests of this package.
func moduleFile(t testing.TB) string {
	t.Helper()
	built.Do(func() {
		dir, err := os.MkdirTemp("", "spareamps-module-test-")
		if err != nil {
			built.err = err
			return
		}
		root, _ := filepath.Abs("..")
		built.file = filepath.Join(dir, "spareamps.wasm")
		data, err := module.Build(context.Background(), root)
		if err == nil {
			err = os.WriteFile(built.file, data, 0o600)
		}
		built.err = err
	})
	if built.err != nil {
		t.Fatal(built.err)
	}
	return built.file
}

func TestMain(m *testing.M) {
	code := m.Run()
	if built.file != "" {
		_ = os.RemoveAll(filepath.Dir(built.file))
	}
	os.Exit(code)
}

func moduleBytes(t testing.TB) []byte {
	t.Helper()
	data, err := os.ReadFile(moduleFile(t))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func TestSize(t *testing.T) {
	const most = 760_000
	data := moduleBytes(t)
	var packed bytes.Buffer
	w, _ := gzip.NewWriterLevel(&packed, gzip.BestCompression)
	_, _ = w.Write(data)
	_ = w.Close()
	t.Logf("module: %d bytes, %d after gzip -9", len(data), packed.Len())
	if packed.Len() > most {
		t.Errorf("got %d bytes after gzip -9, want at most %d", packed.Len(), most)
	}
}

// ABI.md lists what the module exports and imports: no more, no less.
func TestExportsAndImports(t *testing.T) {
	ctx := context.Background()
	runtime := wazero.NewRuntimeWithConfig(ctx, wazero.NewRuntimeConfigInterpreter())
	defer runtime.Close(ctx)
	compiled, err := runtime.CompileModule(ctx, moduleBytes(t))
	if err != nil {
		t.Fatal(err)
	}
	doc, err := os.ReadFile("ABI.md")
	if err != nil {
		t.Fatal(err)
	}
	quoted := regexp.MustCompile("`([a-z_]+)`")

	exports := []string{"memory"}
	for name := range compiled.ExportedFunctions() {
		exports = append(exports, name)
	}
	var documented []string
	for _, row := range regexp.MustCompile("(?m)^\\| `[a-z_]+` \\|.*\\| 1\\.[0-9]+ \\|$").FindAllString(string(doc), -1) {
		documented = append(documented, quoted.FindStringSubmatch(row)[1])
	}
	slices.Sort(exports)
	slices.Sort(documented)
	if !slices.Equal(exports, documented) {
		t.Errorf("exports: got %v, ABI.md has %v", exports, documented)
	}

	var imports []string
	for _, function := range compiled.ImportedFunctions() {
		from, name, _ := function.Import()
		if from != "wasi_snapshot_preview1" {
			t.Errorf("imports %s of %s", name, from)
		}
		imports = append(imports, name)
	}
	slices.Sort(imports)
	line := regexp.MustCompile("(?m)^What the module imports,.*$").FindString(string(doc))
	var listed []string
	for _, match := range quoted.FindAllStringSubmatch(line, -1) {
		listed = append(listed, match[1])
	}
	slices.Sort(listed)
	listed = slices.DeleteFunc(listed, func(s string) bool { return s == "wasi_snapshot_preview1" })
	if !slices.Equal(imports, listed) {
		t.Errorf("imports: got %v, ABI.md has %v", imports, listed)
	}
}

// The size and the determinism of the module hang on what it is made of.
func TestPackagesOfTheModule(t *testing.T) {
	list := func(args ...string) []string {
		t.Helper()
		command := exec.Command("go", append([]string{"list"}, args...)...)
		command.Dir = ".."
		command.Env = append(os.Environ(), "GOOS=wasip1", "GOARCH=wasm")
		out, err := command.Output()
		if err != nil {
			t.Fatalf("%v: %v", command, err)
		}
		return strings.Fields(string(out))
	}
	imports := func(name string) []string { return list("-f", `{{join .Imports "\n"}}`, name) }
	for _, name := range imports("./wasm") {
		if name != "spareamps/core" && name != "unsafe" && name != "runtime" { // runtime: see collect.go
			t.Errorf("wasm imports %s", name)
		}
	}
	forbidden := []string{"fmt", "encoding/json", "reflect", "time", "os", "net", "math/rand", "math/rand/v2", "unsafe"}
	for _, room := range list("./core/...") {
		if strings.Contains(room, "/internal/") {
			continue // of tests alone
		}
		for _, name := range list("-f", `{{join .Imports "\n"}}`, room) {
			if slices.Contains(forbidden, name) || strings.Contains(name, ".") || strings.HasPrefix(name, "spareamps/") && !strings.HasPrefix(name, "spareamps/core/") {
				t.Errorf("%s imports %s", room, name)
			}
		}
	}
	// reflect and what needs it never come in by way of others either.
	for _, name := range list("-deps", "./wasm") {
		if slices.Contains([]string{"fmt", "encoding/json", "reflect", "time", "os", "net"}, name) {
			t.Errorf("the module contains %s", name)
		}
	}
}

func TestReproducible(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the module a second time; leave -short out")
	}
	here, _ := filepath.Abs("..")
	there := filepath.Join(t.TempDir(), "another", "place")
	for _, part := range []string{"core", "wasm"} {
		if err := os.CopyFS(filepath.Join(there, part), os.DirFS(filepath.Join(here, part))); err != nil {
			t.Fatal(err)
		}
	}
	for _, name := range []string{"go.mod", "go.sum"} {
		data, err := os.ReadFile(filepath.Join(here, name))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(there, name), data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	second, err := module.Build(context.Background(), there)
	if err != nil {
		t.Fatal(err)
	}
	got, want := sha256.Sum256(second), sha256.Sum256(moduleBytes(t))
	t.Logf("sha-256 %x", want)
	if got != want {
		t.Errorf("built in %s: got %x, want %x", there, got, want)
	}
}
