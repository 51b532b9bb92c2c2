package main

import (
	"fmt"
	"time"
)

// A fitProgress tells on a terminal how far a fit is that takes long.
type fitProgress struct{ sweepProgress }

// patience is how long a fit may take before its progress is told.
const patience = time.Second

func (p *program) newFitProgress() *fitProgress {
	return &fitProgress{sweepProgress{to: p.progressTo(), start: time.Now()}}
}

// due says whether it is time to tell.
func (g *fitProgress) due(now time.Time) bool {
	if g.to == nil || now.Sub(g.start) < patience || now.Sub(g.last) < progressEvery {
		return false
	}
	g.last = now
	return true
}

// step tells that a fit is at a step of its search; how many there will be
// nobody knows.
func (g *fitProgress) step(n int) {
	if now := time.Now(); g.due(now) {
		g.put(fmt.Sprintf("fitting: step %d, %s", n, roughly(now.Sub(g.start))))
	}
}

// vehicles tells how many of the trials are done.
func (g *fitProgress) vehicles(done, of int) {
	if now := time.Now(); done > 0 && g.due(now) {
		took := now.Sub(g.start)
		g.put(fmt.Sprintf("%5.1f %%  %s of %s vehicles  %s left", 100*float64(done)/float64(of), grouped(int64(done)), grouped(int64(of)),
			roughly(time.Duration(float64(took)/float64(done)*float64(of-done)))))
	}
}
