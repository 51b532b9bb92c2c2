package main

import (
	"encoding/json"
	"maps"
	"math/rand"
	"slices"
	"strconv"
	"strings"

	"spareamps/core"
)

// trials counts the fit's claims over drawn vehicles and prints the table.
func (p *program) trials(q *core.Request, f *fitFlags, asJSON bool) error {
	rng := rand.New(rand.NewSource(f.seed))
	names := core.FitTrialParameters()
	var c core.FitTrials
	advisor := new(core.Advisor)
	told := p.newFitProgress()
	defer told.end()
	for range f.trials {
		told.vehicles(c.Vehicles, f.trials)
		if err := p.ctx.Err(); err != nil {
			return err
		}
		t, err := advisor.TryFit(*q, rng.NormFloat64)
		if err != nil {
			return &badInput{problems: problemsOf(err), json: asJSON}
		}
		c.Add(&t)
	}
	told.end()
	gains := c.GainsA
	slices.Sort(gains)
	n := float64(f.trials)
	at := func(share float64) float64 { return gains[min(int(share*n), len(gains)-1)] }
	if asJSON {
		shares := map[string]float64{}
		for i, name := range names {
			shares[name] = float64(c.Held[i]) / n
		}
		text, err := json.Marshal(map[string]any{"vehicles": f.trials, "seed": f.seed, "held_90": shares, "safe": float64(c.Safe) / n, "safe_by_label": float64(c.SafeBefore) / n,
			"gain_A": map[string]float64{"tenth": at(0.1), "median": at(0.5), "nine_tenths": at(0.9)}, "verdicts": c.Verdicts})
		if err != nil {
			return err
		}
		return p.indented(text)
	}
	g := p.newPage()
	g.strong(strconv.Itoa(f.trials) + " vehicles drawn from what is plausible, each with readings as it would show them.")
	g.para("", "The ceiling at "+percent(q.Confidence)+" confidence is safe for "+percent1(float64(c.Safe)/n)+" of them after the fit, by the label alone for "+percent1(float64(c.SafeBefore)/n)+".")
	g.para("", "The fit raises it by "+fixed(at(0.5), 1)+" A in the median vehicle; a tenth gets less than "+fixed(at(0.1), 1)+" A, a tenth more than "+fixed(at(0.9), 1)+" A.")
	g.head("How many of the truths an interval of 90 % holds")
	for i, name := range names {
		g.line("  " + left(spaced(name), 22) + right(percent1(float64(c.Held[i])/n), 8))
	}
	list := []string{}
	for _, v := range slices.Sorted(maps.Keys(c.Verdicts)) {
		list = append(list, spaced(v)+" "+strconv.Itoa(c.Verdicts[v]))
	}
	g.para("", "Verdicts: "+strings.Join(list, ", ")+".")
	return nil
}

func percent1(share float64) string { return fixed(100*share, 1) + " %" }
