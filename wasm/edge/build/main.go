// Command build puts the worker of the edge into a folder, with settings for
// wrangler and for workerd:
//
//	go run ./wasm/edge/build [-o dist/edge]
//
// It is run from the root of the source tree and needs Go alone.
package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"

	"spareamps/wasm/edge/bundle"
)

func main() { os.Exit(run(os.Args[1:], os.Stderr)) }

func run(args []string, talk io.Writer) int {
	flags := flag.NewFlagSet("build", flag.ContinueOnError)
	flags.SetOutput(talk)
	dir := flags.String("o", "dist/edge", "the `folder` to write")
	if err := flags.Parse(args); err != nil || flags.NArg() > 0 {
		return 2
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := bundle.Write(ctx, ".", *dir); err != nil {
		fmt.Fprintln(talk, "error:", err)
		return 1
	}
	return 0
}
