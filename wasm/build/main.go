// Command build builds the module into a file:
//
//	go run ./wasm/build [-o spareamps.wasm]
//
// It is run from the root of the source tree.
package main

import (
	"context"
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
	if err := flags.Parse(args); err != nil || flags.NArg() > 0 {
		return 2
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	built, err := module.Build(ctx, ".")
	if err == nil {
		err = os.WriteFile(*file, built, 0o644)
	}
	if err != nil {
		fmt.Fprintln(talk, "error:", err)
		return 1
	}
	return 0
}
