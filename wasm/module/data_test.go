package module

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/imports/wasi_snapshot_preview1"
)

// straight is a small module as it comes from the linker.
func straight(t testing.TB) []byte {
	t.Helper()
	dir := t.TempDir()
	for name, text := range map[string]string{
		"go.mod":  "module small\n\ngo 1.26.0\n",
		"main.go": "package main\n\nfunc main() {}\n",
	} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	command := exec.Command("go", "build", "-buildmode=c-shared", "-ldflags=-s -w", "-o", "small.wasm", ".")
	command.Dir = dir
	command.Env = append(os.Environ(), "GOOS=wasip1", "GOARCH=wasm", "GOFLAGS=", "GOWORK=off")
	if talk, err := command.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, talk)
	}
	built, err := os.ReadFile(filepath.Join(dir, "small.wasm"))
	if err != nil {
		t.Fatal(err)
	}
	return built
}

// Memory begins with the same contents, byte for byte.
func TestJoinedDataIsTheSame(t *testing.T) {
	ctx := context.Background()
	memory := func(module []byte) []byte {
		t.Helper()
		runtime := wazero.NewRuntimeWithConfig(ctx, wazero.NewRuntimeConfigInterpreter())
		defer runtime.Close(ctx)
		wasi_snapshot_preview1.MustInstantiate(ctx, runtime)
		instance, err := runtime.InstantiateWithConfig(ctx, module, wazero.NewModuleConfig().WithStartFunctions())
		if err != nil {
			t.Fatal(err)
		}
		view, _ := instance.Memory().Read(0, instance.Memory().Size())
		return bytes.Clone(view)
	}
	module := straight(t)
	joined, err := JoinData(module)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(memory(module), memory(joined)) {
		t.Error("memory begins with other contents")
	}
	if again, err := JoinData(joined); err != nil || !bytes.Equal(again, joined) {
		t.Errorf("joining twice is not joining once (%v)", err)
	}
	t.Logf("%d bytes, joined %d", len(module), len(joined))
}

func TestJoinDataRefuses(t *testing.T) {
	section := func(body ...byte) []byte {
		return append([]byte{0, 'a', 's', 'm', 1, 0, 0, 0, 11, byte(len(body))}, body...)
	}
	for name, c := range map[string]struct {
		module []byte
		want   error
	}{
		"nothing":         {nil, errShort},
		"no length":       {[]byte{0, 'a', 's', 'm', 1, 0, 0, 0, 11}, errShort},
		"length too long": {[]byte{0, 'a', 's', 'm', 1, 0, 0, 0, 11, 200, 1, 0}, errShort},
		"no segments":     {section(0), nil},
		"passive":         {section(1, 1, 1, 7), errSegment},
		"second memory":   {section(1, 2, 1, opI32Const, 0, opEnd, 1, 7), errSegment},
		"global address":  {section(1, 0, 0x23, 0, opEnd, 1, 7), errSegment},
		"cut":             {section(2, 0, opI32Const, 0, opEnd, 1, 7), errSegment},
		"overlap":         {section(2, 0, opI32Const, 4, opEnd, 2, 7, 7, 0, opI32Const, 5, opEnd, 1, 8), errOverlap},
		"too many":        {section(0xff, 0xff, 0x7f), errShort},
	} {
		if _, err := JoinData(c.module); err != c.want {
			t.Errorf("%s: got %v, want %v", name, err, c.want)
		}
	}
}

func TestJoinDataKeepsWideGaps(t *testing.T) {
	module := append([]byte{0, 'a', 's', 'm', 1, 0, 0, 0, 11, 21}, []byte{3,
		0, opI32Const, 0xc0, 0x01, opEnd, 1, 7, // at 192, out of order
		0, opI32Const, 0, opEnd, 1, 5,
		0, opI32Const, 3, opEnd, 1, 6}...)
	module[9] = byte(len(module) - 10)
	want := append([]byte{0, 'a', 's', 'm', 1, 0, 0, 0, 11, 17}, []byte{2,
		0, opI32Const, 0, opEnd, 4, 5, 0, 0, 6,
		0, opI32Const, 0xc0, 0x01, opEnd, 1, 7}...)
	want[9] = byte(len(want) - 10)
	if got, err := JoinData(module); err != nil || !bytes.Equal(got, want) {
		t.Errorf("got % x, %v, want % x", got, err, want)
	}
}
