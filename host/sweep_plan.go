package main

import (
	"fmt"
	"slices"
	"strings"

	"spareamps/core"
)

// sweepPlan reads axes, cases, spreads and rigs into points.
func (p *program) sweepPlan(f *sweepFlags) (*sweepPoints, []sweepOutput, error) {
	bad := &badInput{code: "bad_input"}
	var groups [][]*sweepAxis
	for _, text := range f.axes {
		a, problems := axisOf(text)
		if bad.problems = append(bad.problems, problems...); a != nil {
			groups = append(groups, []*sweepAxis{a})
		}
	}
	if f.cases != "" {
		cases, problems, err := p.casesOf(f.cases)
		if err != nil {
			return nil, nil, err
		}
		if bad.problems = append(bad.problems, problems...); len(problems) == 0 {
			groups = append(groups, cases.axes)
		}
		if cases != nil && len(cases.ignored) > 0 {
			p.note("%s: left out %s: not inputs", fileName(f.cases), strings.Join(cases.ignored, ", "))
		}
	}
	var spreads []*sweepSpread
	for _, text := range unknownSpreads(f.spreads) {
		s, problem := spreadOf(text)
		if problem != nil {
			bad.problems = append(bad.problems, *problem)
			continue
		}
		spreads = append(spreads, s)
	}
	var outputs []sweepOutput
	for _, path := range f.out {
		o, problem := sweepOutputOf(strings.TrimSpace(path))
		if problem != nil {
			bad.problems = append(bad.problems, *problem)
		} else if slices.ContainsFunc(outputs, func(x sweepOutput) bool { return x.Path == o.Path }) {
			return nil, nil, &usageError{"--out names " + o.Path + " twice", ""}
		}
		outputs = append(outputs, o)
	}
	if len(bad.problems) > 0 {
		bad.hints = append(bad.hints, "`spareamps fields` and `spareamps outputs` list the names there are")
		return nil, nil, bad
	}
	groups, err := zipped(groups, f.zips)
	if err != nil {
		return nil, nil, err
	}
	var draws *sampler
	if f.samples > 0 {
		draws = newSampler(spreads, f.samples, f.sampling == "random", f.seed)
	}
	rigs := f.rigs
	if len(rigs) == 0 {
		rigs = []string{""}
	}
	points, err := newSweepPoints(rigs, groups, draws)
	if err != nil {
		return nil, nil, err
	}
	bases, err := p.sweepBases(f, rigs, groups, spreads)
	if err != nil {
		return nil, nil, err
	}
	if draws != nil {
		draws.tie(bases)
	}
	paths := make([]string, len(outputs))
	for i := range outputs {
		paths[i] = outputs[i].Path
	}
	if bad := points.makeVariants(bases, paths...); bad != nil {
		return nil, nil, bad
	}
	return points, outputs, nil
}

// sweepBases are the requests of the rigs, axes at their first values.
func (p *program) sweepBases(f *sweepFlags, rigs []string, groups [][]*sweepAxis, spreads []*sweepSpread) (bases []core.Request, err error) {
	for i, rig := range rigs {
		q := f.request
		q.rig = rig
		var about error
		q.after = func(r *core.Request, bad *badInput) error {
			// Values that do not go together are rows that say so, not an
			// error, as long as others do.
			var problems []core.Problem
			for i := range baseTries {
				problems = layAxes(r, groups, i)
				if len(problems) > 0 || !onlyConflicts(r.Check(core.ForCeiling...)) {
					break
				}
				if i == baseTries-1 {
					problems = layAxes(r, groups, 0)
				}
			}
			bad.problems = append(bad.problems, problems...)
			for _, s := range spreads {
				if !s.about(r) {
					return &usageError{"the spread of " + s.field.Path + " has nothing to lie about: the rig does not state it", "state it, or give the spread a centre"}
				}
				if isUnknown(s.field) {
					continue
				}
				bad.problems = append(bad.problems, problemsOf(r.Set(s.field.Path, number(min(max(s.middle(), s.field.Min), s.field.Max))))...)
			}
			return about
		}
		quiet := p.quiet
		p.quiet = quiet || i > 0 // the note on the demo once
		base, err := p.request(&q)
		p.quiet = quiet
		if err != nil {
			if bad, ok := err.(*badInput); ok && len(rigs) > 1 {
				for k := range bad.problems {
					if !strings.Contains(bad.problems[k].Message, rig) {
						bad.problems[k].Message = rig + ": " + bad.problems[k].Message
					}
				}
			}
			return nil, err
		}
		bases = append(bases, base)
	}
	return bases, nil
}

// baseTries are the places along its axes at which a rig's parts are looked at
// for whether they go together.
const baseTries = 64

// layAxes puts values of all axes into a request: those at a place between the
// first, 0, and the last, baseTries-1.
func layAxes(r *core.Request, groups [][]*sweepAxis, place int) (problems []core.Problem) {
	for _, group := range groups {
		for _, a := range group {
			if isUnknown(a.field) {
				continue
			}
			at := place * (len(a.values) - 1) / (baseTries - 1)
			alternative(r, a.field.Path)
			problems = append(problems, problemsOf(r.Set(a.field.Path, fieldText(a.field, a.values[at])))...)
		}
	}
	return problems
}

// onlyConflicts says whether all that is wrong is that values do not go
// together.
func onlyConflicts(err error) bool {
	problems := problemsOf(err)
	return len(problems) > 0 && !slices.ContainsFunc(problems, func(p core.Problem) bool { return p.Code != "conflict" })
}

// zipped joins axes that are named together, where the first of them stands.
func zipped(groups [][]*sweepAxis, zips []string) ([][]*sweepAxis, error) {
	for _, zip := range zips {
		var joined []*sweepAxis
		at := len(groups)
		for _, name := range strings.Split(zip, ",") {
			field, problem := sweepField(strings.TrimSpace(name))
			if problem != nil {
				return nil, &usageError{"--zip: " + problem.Message, ""}
			}
			k := slices.IndexFunc(groups, func(g []*sweepAxis) bool { return len(g) == 1 && g[0].field.Path == field.Path })
			if k < 0 {
				return nil, &usageError{"--zip names " + name + ", which is no --axis, or is named twice", ""}
			}
			if len(joined) > 0 && len(joined[0].values) != len(groups[k][0].values) {
				return nil, &usageError{fmt.Sprintf("--zip %s: %d and %d values", zip, len(joined[0].values), len(groups[k][0].values)), "axes that step together have as many values each"}
			}
			joined, at = append(joined, groups[k][0]), min(at, k)
			groups[k] = nil
		}
		if len(joined) < 2 {
			return nil, &usageError{"--zip is " + zip + ", allowed is two or more axes", ""}
		}
		groups[at] = joined
		groups = slices.DeleteFunc(groups, func(g []*sweepAxis) bool { return g == nil })
	}
	return groups, nil
}
