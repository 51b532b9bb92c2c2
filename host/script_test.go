package main

import (
	"context"
	"flag"
	"os"
	"path/filepath"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"spareamps/host/runner"
)

var update = flag.Bool("update", false, "rewrite the goldens in testdata/script")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"spareamps": func() { os.Exit(fromSystem()) }})
}

// TestScripts runs the command line as a person does. $MODULE is the module;
// $REPO the source tree.
func TestScripts(t *testing.T) {
	if testing.Short() {
		t.Skip("starts the program many times: run without -short")
	}
	module, cache := moduleFile(t), t.TempDir()
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		UpdateScripts:       *update,
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(e *testscript.Env) error {
			root, err := filepath.Abs("..")
			e.Setenv("MODULE", module)
			e.Setenv("REPO", root)
			e.Setenv("HOME", cache)
			e.Setenv("XDG_CACHE_HOME", cache)
			e.Setenv("COLUMNS", "")
			return err
		},
	})
}

// moduleFile is the module of this source tree as a file.
func moduleFile(t testing.TB) string {
	t.Helper()
	module, _, err := runner.Module(context.Background(), "")
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "spareamps.wasm")
	if err := os.WriteFile(file, module, 0o600); err != nil {
		t.Fatal(err)
	}
	return file
}
