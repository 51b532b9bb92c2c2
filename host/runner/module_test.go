package runner

import (
	"bytes"
	"context"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

// tinyTree is a source tree with the least the build needs.
func tinyTree(t *testing.T) string {
	t.Helper()
	root := t.TempDir()
	for name, text := range map[string]string{
		"go.mod":            moduleLine + "\n\ngo 1.26.0\n",
		"core/core.go":      "package core\n\nfunc Answer() uint32 { return 42 }\n",
		"core/core_test.go": "package core\n",
		"wasm/module/a.go":  "package module\n",
		"wasm/main.go":      "package main\n\nimport \"spareamps/core\"\n\n//go:wasmexport answer\nfunc answer() uint32 { return core.Answer() }\n\nfunc main() {}\n",
	} {
		write(t, filepath.Join(root, name), text)
	}
	return root
}

func write(t *testing.T, path, text string) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}

func TestModuleIsBuiltOnce(t *testing.T) {
	ctx, root, cache := context.Background(), tinyTree(t), filepath.Join(t.TempDir(), "new", "cache")
	path := os.Getenv("PATH")
	var all sync.WaitGroup
	sums := make([]string, 3)
	for k := range sums { // at the same time, as two terminals would
		all.Go(func() {
			var err error
			if _, sums[k], err = fromTree(ctx, root, cache); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	first, want, err := fromTree(ctx, root, cache)
	if err != nil {
		t.Fatal(err)
	}
	for _, got := range sums {
		if got != want {
			t.Errorf("built at the same time: got %s, want %s", got, want)
		}
	}

	t.Setenv("PATH", "") // from here on only the cache can answer
	again, got, err := fromTree(ctx, root, cache)
	if err != nil || got != want || !bytes.Equal(again, first) {
		t.Errorf("from the cache: got %s, %v, want %s", got, err, want)
	}
	write(t, filepath.Join(root, "core", "core_test.go"), "package core // other tests\n")
	if _, _, err := fromTree(ctx, root, cache); err != nil {
		t.Errorf("a changed test asks for a build: %v", err)
	}
	source := filepath.Join(root, "core", "core.go")
	old, _ := os.ReadFile(source)
	write(t, source, string(old)+"\n// changed\n")
	var hint *HintError
	if _, _, err := fromTree(ctx, root, cache); !errors.As(err, &hint) || !errors.Is(err, exec.ErrNotFound) {
		t.Errorf("changed source without the go command: got %v, want an error with a hint", err)
	}
	write(t, source, string(old))

	key, err := sourceKey(root)
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(cache, key+".wasm")
	for name, damage := range map[string]func(){
		"module cut short": func() { write(t, file, string(first[:1000])) },
		"module changed":   func() { write(t, file, string(first[:len(first)-1])+"?") },
		"sum changed":      func() { write(t, file+".sha256", "0000\n") },
		"sum gone":         func() { _ = os.Remove(file + ".sha256") },
		"module gone":      func() { _ = os.Remove(file) },
	} {
		damage()
		t.Setenv("PATH", "")
		if _, _, err := fromTree(ctx, root, cache); err == nil {
			t.Errorf("%s: taken from the cache", name)
		}
		t.Setenv("PATH", path)
		if _, got, err := fromTree(ctx, root, cache); err != nil || got != want {
			t.Errorf("%s: got %s, %v, want it built again", name, got, err)
		}
	}
	entries, _ := os.ReadDir(cache)
	if len(entries) != 2 {
		t.Errorf("left in the cache: %v, want the module and its sum", entries)
	}
}

func TestPrune(t *testing.T) {
	dir := t.TempDir()
	for k := range keepNewest + 3 {
		name := filepath.Join(dir, string(rune('a'+k))+".wasm")
		write(t, name, "")
		write(t, name+".sha256", "")
		then := time.Now().Add(-time.Duration(k+1) * time.Hour)
		_ = os.Chtimes(name, then, then)
	}
	write(t, filepath.Join(dir, "other"), "")
	touch(filepath.Join(dir, string(rune('a'+keepNewest+2))+".wasm")) // the oldest, used again
	prune(dir, "*.wasm")
	left, _ := filepath.Glob(filepath.Join(dir, "*.wasm"))
	all, _ := os.ReadDir(dir)
	if len(left) != keepNewest || len(all) != 2*keepNewest+1 {
		t.Errorf("left: %v", all)
	}
	if filepath.Base(left[len(left)-1]) != "i.wasm" || filepath.Base(left[len(left)-2]) != "e.wasm" {
		t.Errorf("left: %v, want the newest and the one used again", left)
	}
}

func TestBuildErrorIsShown(t *testing.T) {
	root := tinyTree(t)
	write(t, filepath.Join(root, "core", "core.go"), "package core\n\nfunc Answer() uint32 { return nothing }\n")
	_, _, err := fromTree(context.Background(), root, t.TempDir())
	var hint *HintError
	if !errors.As(err, &hint) || !strings.Contains(err.Error(), "undefined: nothing") {
		t.Errorf("got %v, want the compiler's words and a hint", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, _, err := fromTree(ctx, root, t.TempDir()); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: got %v", err)
	}
}

func TestSourceTree(t *testing.T) {
	root := tinyTree(t)
	inside := filepath.Join(root, "wasm", "testdata")
	other := t.TempDir()
	write(t, filepath.Join(other, "go.mod"), "module another\n")
	write(t, filepath.Join(root, "nested", "go.mod"), "module spareamps/nested\n")
	for _, c := range []struct {
		from []string
		want string
	}{
		{[]string{root}, root},
		{[]string{inside}, root},
		{[]string{filepath.Join(root, "nested")}, root},
		{[]string{other, inside}, root},
		{[]string{other}, ""},
		{nil, ""},
	} {
		got, err := sourceTree(c.from...)
		if got != c.want || (c.want == "") != errors.Is(err, ErrNoSource) {
			t.Errorf("from %v: got %q, %v, want %q", c.from, got, err, c.want)
		}
	}
}

// The key of the sources is made at every start with the module.
func BenchmarkSourceKey(b *testing.B) {
	root, err := sourceTree(starts()...)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := sourceKey(root); err != nil {
			b.Fatal(err)
		}
	}
}
