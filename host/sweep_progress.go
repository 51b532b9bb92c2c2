package main

import (
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"golang.org/x/term"
)

// A sweepProgress tells on a terminal how far a sweep is.
type sweepProgress struct {
	to     io.Writer // nil: no terminal
	total  int64
	before int64 // done by a run before
	start  time.Time
	last   time.Time
	wide   int
}

const progressEvery = 250 * time.Millisecond

// progressTo is standard error where that is a terminal.
func (p *program) progressTo() io.Writer {
	f, ok := p.err.(*os.File)
	if p.quiet || !ok || !term.IsTerminal(int(f.Fd())) || p.env("TERM") == "dumb" {
		return nil
	}
	return f
}

func (g *sweepProgress) tell(done int64, now time.Time) {
	if g.to == nil || now.Sub(g.last) < progressEvery {
		return
	}
	g.last = now
	g.put(progressLine(done, g.before, g.total, now.Sub(g.start)))
}

func (g *sweepProgress) put(line string) {
	pad := max(0, g.wide-width(line))
	g.wide = width(line)
	fmt.Fprint(g.to, "\r"+line+strings.Repeat(" ", pad))
}

// end takes the line away.
func (g *sweepProgress) end() {
	if g.to != nil && g.wide > 0 {
		g.put("")
		fmt.Fprint(g.to, "\r")
	}
}

// progressLine says the share done, the rate of this run and the time left.
func progressLine(done, before, total int64, took time.Duration) string {
	line := fmt.Sprintf("%5.1f %%  %s of %s points", 100*float64(done)/float64(max(total, 1)), grouped(done), grouped(total))
	if rate := float64(done-before) / took.Seconds(); done > before && took > 0 {
		line += fmt.Sprintf("  %s/s  %s left", grouped(int64(rate)), roughly(time.Duration(float64(total-done)/rate*1e9)))
	}
	return line
}

// roughly is a time in the two largest units that say something.
func roughly(d time.Duration) string {
	switch s := int64(d.Seconds() + 0.5); {
	case s < 120:
		return fmt.Sprintf("%d s", s)
	case s < 2*3600:
		return fmt.Sprintf("%d min", (s+30)/60)
	case s < 48*3600:
		return fmt.Sprintf("%d h %02d min", s/3600, s%3600/60)
	default:
		return fmt.Sprintf("%d d %d h", s/86400, s%86400/3600)
	}
}
