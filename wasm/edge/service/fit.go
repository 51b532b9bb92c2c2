package service

import (
	"math"
	"net/http"
	"strconv"

	"spareamps/core"
	"spareamps/core/rig"
)

// MaxSteps is the default of Options: a day's log by the minute. The costliest
// readings found for so many steps take some 5 s natively and twice that in
// WebAssembly; a log's take a twentieth of it.
const MaxSteps = 6000

// What a row of observations costs a fit, in steps of the transient model: one
// that begins warm or cold is brought to rest first, and starts with short
// steps. After restMinutes the core takes a running machine as settled; with the
// engine off it follows all the minutes, by shorter and cheaper steps.
const (
	rowSteps    = 3
	freshSteps  = 10
	stepMinutes = 5
	restMinutes = 180
)

// Steps weighs observations by what a fit of them costs, which is the same for
// each step but for a factor of how soon the search settles.
func Steps(rows []rig.Observation) int {
	n := 0
	for i := range rows {
		r := &rows[i]
		if r.Begins == "before" {
			n += rowSteps
		} else {
			n += freshSteps
		}
		minutes := r.Minutes
		if r.EngineRpm > 0 {
			minutes = min(minutes, restMinutes)
		}
		n += int(math.Ceil(minutes / stepMinutes))
	}
	return n
}

func (s *Service) fit(r *http.Request) (reply, *problem) {
	return s.ask(r, func(a *core.Advisor, request []byte) []byte {
		q, err := core.Decode(request)
		if err != nil {
			return core.ErrorObject(err)
		}
		if n := Steps(q.Rig.Observations); n > s.MaxSteps {
			return core.ErrorJSON("too_many_steps", "rig.observations", strconv.Itoa(n), "at most "+strconv.Itoa(s.MaxSteps),
				"more steps of the model than one fit may take: a row counts 3, or 10 if it begins warm or cold, and 1 for every 5 of its minutes, with the engine on up to 180 of them; gather a log in fewer, longer rows")
		}
		answer, err := a.Fit(&q)
		if err != nil {
			return core.ErrorObject(err)
		}
		return answer.FitJSON()
	})
}
