package main

import "math"

// What keeps advice from flapping. It falls at once, and then a little further
// than it must; it rises only to what would have been good for a while.
const (
	steadyMargin  = 0.05 // share of what is allowed that is not advised; engineering estimate
	steadySeconds = 60.0 // for so long more has to be allowed; engineering estimate
	steadyShare   = 0.10 // and by so much more than is advised; engineering estimate
	steadyLeastW  = 20.0 // at least
)

// A steady turns what is allowed into advice that can be followed by hand.
type steady struct {
	stepW  float64
	advice float64
	begun  bool
	since  float64 // s, when more began to be allowed; NaN: it is not
	least  float64 // of what would have been advised since
}

// next takes what is allowed at a time and tells whether advice changes.
func (d *steady) next(seconds, allowedW float64) (changed bool) {
	step := math.Max(d.stepW, 1)
	aim := math.Floor(allowedW*(1-steadyMargin)/step+1e-9) * step
	switch {
	case !d.begun:
		d.begun, d.advice, d.since = true, aim, math.NaN()
		return true
	case allowedW < d.advice:
		d.advice, d.since = aim, math.NaN()
		return true
	case aim < d.advice+math.Max(steadyShare*d.advice, math.Max(steadyLeastW, step)):
		d.since = math.NaN()
		return false
	case !(seconds >= d.since): // it begins, or the clock was set back
		d.since, d.least = seconds, aim
		return false
	}
	d.least = math.Min(d.least, aim)
	if seconds-d.since < steadySeconds {
		return false
	}
	d.advice, d.since = d.least, math.NaN()
	return true
}
