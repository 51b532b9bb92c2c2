// Command build builds the module into a file:
//
//	go run ./wasm/build [-o spareamps.wasm] [-keep-names]
//
// It is run from the root of the source tree.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"

	"spareamps/wasm/module"
)

func main() { os.Exit(run(os.Args[1:], os.Stderr)) }

func run(args []string, talk io.Writer) int {
	flags := flag.NewFlagSet("build", flag.ContinueOnError)
	flags.SetOutput(talk)
	file := flags.String("o", "spareamps.wasm", "the `file` to write")
	keep := flags.Bool("keep-names", false, "keep the names and lines of functions, which a crash's traceback shows")
	if err := flags.Parse(args); err != nil || flags.NArg() > 0 {
		return 2
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	built, err := module.BuildWithNames(ctx, ".")
	if err == nil && !*keep {
		built, err = without(built, talk)
	}
	if err == nil {
		err = os.WriteFile(*file, built, 0o644)
	}
	if err != nil {
		fmt.Fprintln(talk, "error:", err)
		return 1
	}
	return 0
}

// without drops the names, and says so where it cannot.
func without(named []byte, talk io.Writer) ([]byte, error) {
	built, err := module.DropNames(named)
	if errors.Is(err, module.ErrLayout) {
		fmt.Fprintln(talk, "note: names stay in the module, which is a sixth larger for it:", err)
		return named, nil
	}
	return built, err
}
