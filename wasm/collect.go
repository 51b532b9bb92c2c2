//go:build wasip1

package main

import "runtime"

// garbageLimit is how much garbage may gather before the module collects it
// by itself, below the 4 MiB at which Go's own collector begins.
const garbageLimit = 2 << 20

// callGarbage is what a call is taken to leave behind beside its texts.
const callGarbage = 4 << 10

// collect counts n bytes of garbage to come and collects now and then.
//
// Go's collector works while goroutines wait, and in what it makes those that
// allocate do for it; this module's goroutine never waits, and that share is
// withheld as soon as collecting seems to take half of all time. Where the
// host's clock stands still or ticks only when looked at (wazero by default,
// edge runtimes, our own JavaScript) it does seem so, a collection once begun
// is then never finished, and memory grows without end. runtime.GC waits for
// its end, whatever the clock says. (That is why this package, otherwise all
// core, imports runtime.)
func collect(n int) {
	state.garbage += n
	if state.garbage >= garbageLimit {
		state.garbage = 0
		runtime.GC()
	}
}
