package module

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/imports/wasi_snapshot_preview1"
)

// linked is testdata/trials as it comes from the linker.
func linked(t testing.TB, flags ...string) []byte {
	t.Helper()
	file := filepath.Join(t.TempDir(), "trials.wasm")
	args := append([]string{"build", "-buildmode=c-shared", "-ldflags=-s -w", "-o", file}, flags...)
	command := exec.Command("go", append(args, "./testdata/trials")...)
	command.Env = append(os.Environ(), "GOOS=wasip1", "GOARCH=wasm", "GOFLAGS=", "GOWORK=off")
	if talk, err := command.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, talk)
	}
	built, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return built
}

// answers are what the trials say, one instance for all of them.
func answers(t testing.TB, module []byte) []string {
	t.Helper()
	ctx := context.Background()
	runtime := wazero.NewRuntime(ctx)
	defer runtime.Close(ctx)
	wasi_snapshot_preview1.MustInstantiate(ctx, runtime)
	instance, err := runtime.InstantiateWithConfig(ctx, module,
		wazero.NewModuleConfig().WithStartFunctions("_initialize").WithStderr(os.Stderr).WithSysWalltime().WithSysNanotime())
	if err != nil {
		t.Fatal(err)
	}
	count, err := instance.ExportedFunction("trials").Call(ctx)
	if err != nil {
		t.Fatal(err)
	}
	var list []string
	for k := range count[0] {
		packed, err := instance.ExportedFunction("trial").Call(ctx, k)
		if err != nil {
			t.Fatalf("trial %d: %v", k, err)
		}
		said, _ := instance.Memory().Read(uint32(packed[0]>>32), uint32(packed[0]))
		list = append(list, string(said))
	}
	return list
}

// Panics, recover in all its places, deep stacks and garbage are as before,
// inlined or not.
func TestWithoutNamesAllIsTheSame(t *testing.T) {
	for _, flags := range [][]string{{"-gcflags=runtime=-l"}, {}} {
		module := linked(t, flags...)
		without, err := DropNames(module)
		if err != nil {
			t.Fatal(err)
		}
		got, want := answers(t, without), answers(t, module)
		if !slices.Equal(got, want) {
			t.Errorf("%v:\n got %q\nwant %q", flags, got, want)
		}
		t.Logf("%v: %q", flags, got)
		if bytes.Contains(without, []byte("runtime.mallocgc\x00")) || !bytes.Contains(module, []byte("runtime.mallocgc\x00")) {
			t.Error("the names are still there")
		}
	}
}

// A crash still says what it was.
func TestWithoutNamesACrashSaysWhat(t *testing.T) {
	ctx := context.Background()
	module := linked(t)
	without, err := DropNames(module)
	if err != nil {
		t.Fatal(err)
	}
	const want = "fatal error: all goroutines are asleep - deadlock!"
	for name, module := range map[string][]byte{"with names": module, "without": without} {
		runtime := wazero.NewRuntimeWithConfig(ctx, wazero.NewRuntimeConfigInterpreter())
		defer runtime.Close(ctx)
		wasi_snapshot_preview1.MustInstantiate(ctx, runtime)
		var said bytes.Buffer
		instance, err := runtime.InstantiateWithConfig(ctx, module,
			wazero.NewModuleConfig().WithStartFunctions("_initialize").WithStderr(&said))
		if err != nil {
			t.Fatal(err)
		}
		_, err = instance.ExportedFunction("crash").Call(ctx)
		if err == nil {
			t.Errorf("%s: no error", name)
		}
		if !strings.HasPrefix(said.String(), want) {
			t.Errorf("%s: got %q, want %q and more", name, said.String(), want)
		}
	}
}

func TestDropNamesKeepsWhatItDoesNotKnow(t *testing.T) {
	module := linked(t)
	if _, err := DropNames(module); err != nil {
		t.Fatal(err)
	}
	if again, err := DropNames(module); err != nil {
		t.Errorf("the module given was changed: %v", err)
	} else if _, err := DropNames(again); err != nil {
		t.Errorf("what is dropped cannot be dropped again: %v", err)
	}
	joined, err := JoinData(module) // else a change would be of a segment's place
	if err != nil {
		t.Fatal(err)
	}
	header := bytes.Index(joined, headerMagic)
	if header < 0 {
		t.Fatal("no header")
	}
	word := func(k int) int { return int(binary.LittleEndian.Uint64(joined[header+8+8*k:])) }
	functions := header + word(7)
	first := functions + int(binary.LittleEndian.Uint32(joined[functions+4:]))
	for name, at := range map[string]int{
		"version":             bytes.Index(joined, []byte(knownVersion)),
		"magic":               header,
		"word size":           header + 7,
		"count of functions":  header + 8,
		"place of names":      header + 32,
		"place of units":      header + 40,
		"place of streams":    header + 56,
		"place of functions":  header + 64,
		"number":              functions + 1,
		"place of a function": functions + 6,
		"number again":        first + funcEntry,
		"name":                first + funcName + 3,
		"count of streams":    first + funcStreams + 1,
		"count of data":       first + funcData,
	} {
		broken := bytes.Clone(joined)
		broken[at] ^= 0x41
		if _, err := DropNames(broken); !errors.Is(err, ErrLayout) {
			t.Errorf("%s changed: got %v, want %v", name, err, ErrLayout)
		}
	}
	for _, length := range []int{0, 7, 9, len(joined) / 2, len(joined) - 1} {
		if _, err := DropNames(joined[:length]); err == nil {
			t.Errorf("cut at %d of %d: no error", length, len(joined))
		}
	}
}

func TestCut(t *testing.T) {
	m := make(image, 400)
	m[3], m[5], m[5+gap+1], m[200], m[399] = 1, 2, 3, 4, 5
	back, err := flatten(m.cut())
	if err != nil || !bytes.Equal(back, m) {
		t.Errorf("cut and put together again: %v, %v", back, err)
	}
	if got := len(m.cut()); got != 3 {
		t.Errorf("got %d segments, want 3", got)
	}
	if _, err := flatten([]segment{{1 << 31, []byte{1}}}); err != errFar {
		t.Errorf("got %v, want %v", err, errFar)
	}
}
