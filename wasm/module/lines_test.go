package module

import (
	"bytes"
	"context"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/imports/wasi_snapshot_preview1"
)

// The linker of the Go version in use writes the table as we read it. When this
// fails after an upgrade, compare lines.go with runtime/symtab.go.
func TestLinesAreFound(t *testing.T) {
	found := 0
	if _, err := rewrite(straight(t), func(segments []segment) []segment {
		for _, s := range join(segments) {
			if dropLines(s.data) {
				found++
			}
		}
		return segments
	}); err != nil || found != 1 {
		t.Errorf("got %d tables of lines (%v), want 1", found, err)
	}
}

const crashing = `package main

import "runtime"

type node struct {
	next *node
	data [100]byte
}

//go:noinline
func grow(depth int, last *node) *node {
	if depth == 0 {
		runtime.GC()
		return last
	}
	return grow(depth-1, &node{next: last})
}

//go:noinline
func recovered() (s string) {
	defer func() { s = recover().(error).Error() }()
	var list []int
	return string(rune(list[len(list)]))
}

//go:noinline
func outer(f func()) { f() }

func main() {
	for range 50 {
		n := 0
		for p := grow(1000, nil); p != nil; p = p.next {
			n++
		}
		if n != 1000 {
			panic("collected what was alive")
		}
	}
	println(recovered())
	outer(func() { panic("the end") })
}
`

// Collecting, growing stacks, recovering and breaking off work as before; the
// trace keeps the functions and loses the lines.
func TestProgramsRunWithoutLines(t *testing.T) {
	dir := t.TempDir()
	for name, text := range map[string]string{"go.mod": "module crashing\n\ngo 1.26.0\n", "main.go": crashing} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	command := exec.Command("go", "build", "-trimpath", "-ldflags=-s -w", "-o", "crashing.wasm", ".")
	command.Dir = dir
	command.Env = append(os.Environ(), "GOOS=wasip1", "GOARCH=wasm", "GOFLAGS=", "GOWORK=off")
	if talk, err := command.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, talk)
	}
	built, err := os.ReadFile(filepath.Join(dir, "crashing.wasm"))
	if err != nil {
		t.Fatal(err)
	}
	packed, err := Pack(built)
	if err != nil {
		t.Fatal(err)
	}
	said := func(module []byte) string {
		ctx := context.Background()
		runtime := wazero.NewRuntimeWithConfig(ctx, wazero.NewRuntimeConfigInterpreter())
		defer runtime.Close(ctx)
		wasi_snapshot_preview1.MustInstantiate(ctx, runtime)
		var talk bytes.Buffer
		_, err := runtime.InstantiateWithConfig(ctx, module, wazero.NewModuleConfig().WithStderr(&talk))
		if err == nil {
			t.Error("the program did not break off")
		}
		return talk.String()
	}
	before, after := said(built), said(packed)
	for _, want := range []string{"index out of range [0] with length 0", "panic: the end", "main.outer", "main.main"} {
		if !strings.Contains(before, want) || !strings.Contains(after, want) {
			t.Errorf("want %q in both traces:\n%s\n%s", want, before, after)
		}
	}
	if !strings.Contains(before, "main.go:") || strings.Contains(after, "main.go:") {
		t.Errorf("lines: want them before and not after:\n%s\n%s", before, after)
	}
}

// Damaged tables are left alone or changed within bounds, never a panic.
func TestDropLinesOfDamagedTables(t *testing.T) {
	var table []byte
	if _, err := rewrite(straight(t), func(segments []segment) []segment {
		for _, s := range join(segments) {
			if at := bytes.Index(s.data, tableMagic); at >= 0 {
				table = s.data[at:]
			}
		}
		return segments
	}); err != nil || table == nil {
		t.Fatal("no table")
	}
	random := rand.New(rand.NewPCG(3, 4))
	damaged := make([]byte, len(table))
	for range 300 {
		copy(damaged, table)
		n := len(table)
		if random.IntN(4) == 0 {
			n = random.IntN(len(table))
		}
		for range 1 + random.IntN(3) {
			if random.IntN(2) == 0 {
				damaged[random.IntN(headerBytes)] ^= byte(1 << random.IntN(8))
			} else {
				damaged[random.IntN(len(damaged))] = byte(random.Uint32())
			}
		}
		dropLines(damaged[:n])
	}
}
