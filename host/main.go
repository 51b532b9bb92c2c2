// Command spareamps answers at the prompt how hard a house battery may be
// charged from the alternator right now, and why.
//
// Answers come from package core, linked in, or from the same core as a
// WebAssembly module run by package runner: the words on the screen are made
// from the answer's JSON alone, so both print the same.
package main

import (
	"context"
	"os"
	"os/signal"
	"runtime/debug"
	"time"

	"golang.org/x/term"
)

func main() { os.Exit(fromSystem()) }

// endWithin is how long an interrupted run may take to end by itself.
const endWithin = 2 * time.Second

// fromSystem runs the command line of the process.
func fromSystem() int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	go func() {
		<-ctx.Done()
		stop()
		// What does not look at an interrupt, a pipe that nobody opens or a module
		// that never returns, does not outlive it. Files are written whole or not at
		// all.
		time.Sleep(endWithin)
		os.Exit(exitInterrupted)
	}()
	if os.Getenv("GOGC") == "" {
		// A run is short: collecting garbage would be a quarter of a start of
		// the module. The limit keeps long runs small.
		debug.SetGCPercent(-1)
		debug.SetMemoryLimit(256 << 20)
	}
	s := streams{in: os.Stdin, out: os.Stdout, err: os.Stderr, env: os.Getenv}
	if out := int(os.Stdout.Fd()); term.IsTerminal(out) {
		s.terminal = true
		if width, _, err := term.GetSize(out); err == nil {
			s.width = width
		}
	}
	return run(ctx, os.Args[1:], s)
}
