package main

import (
	"math"
	"slices"
	"strings"

	"spareamps/core"
)

// allUnknowns is the name of a spread that stands for those of all unknowns.
const allUnknowns = "unknowns"

// unknownSpreads puts the names of all unknowns where they are meant together.
func unknownSpreads(texts []string) (list []string) {
	for _, text := range texts {
		if text != allUnknowns {
			list = append(list, text)
			continue
		}
		for i := range core.Unknowns {
			list = append(list, core.UnknownPrefix+core.Unknowns[i].Name)
		}
	}
	return list
}

// isUnknown says whether a field is no input but the column of an unknown.
func isUnknown(f *core.Field) bool { return strings.HasPrefix(f.Path, core.UnknownPrefix) }

// unknownOf is the number of an unknown in the core's table.
func unknownOf(f *core.Field) int {
	return slices.IndexFunc(core.Unknowns[:], func(u core.Unknown) bool { return core.UnknownPrefix+u.Name == f.Path })
}

// sweepFields are what an axis may name, and inputs it may not.
func sweepFields() []core.Field { return append(core.Fields(), core.UnknownFields()...) }

// Names are compared in small letters, with one kind of joint.
func plainName(name string) string {
	return strings.ToLower(strings.NewReplacer(".", "-", "_", "-").Replace(name))
}

// namesOf are the names a field goes by: its path and its flag; the bare name of
// an unknown where no input of that kind could be meant.
func namesOf(f *core.Field) []string {
	if !isUnknown(f) {
		return []string{plainName(f.Path), plainName(flagName(f.Path))}
	}
	bare := strings.TrimPrefix(f.Path, core.UnknownPrefix)
	if unknownInputs[bare] != "" {
		return []string{plainName(f.Path)}
	}
	return []string{plainName(f.Path), plainName(bare)}
}

// An unknownDraw draws the unknowns of one rig that are sampled with spreads of
// their own. Where the rig learned of them they go together.
type unknownDraw struct {
	scatter *core.Scatter
	at      []int       // by spread: which unknown; -1 for an input
	root    [][]float64 // lower triangle, by spreads: Cholesky's factor of their covariance
}

// tie readies the draws of unknowns, for each rig.
func (s *sampler) tie(bases []core.Request) {
	if !slices.ContainsFunc(s.spreads, func(p *sweepSpread) bool { return isUnknown(p.field) }) {
		return
	}
	for rig := range bases {
		d := unknownDraw{scatter: bases[rig].Scatter(), root: make([][]float64, len(s.spreads))}
		for j, p := range s.spreads {
			d.at, d.root[j] = append(d.at, -1), make([]float64, j+1)
			if !isUnknown(p.field) {
				continue
			}
			u := unknownOf(p.field)
			if p.law != 'z' {
				if !p.stated {
					p.centre[rig] = d.scatter.Value(u, d.scatter.Mean[u])
				}
				continue
			}
			d.at[j] = u
			for k := range j + 1 {
				if d.at[k] < 0 {
					continue
				}
				sum := 0.0
				for m, f := range d.scatter.Factor[u] {
					sum += f * d.scatter.Factor[d.at[k]][m]
				}
				for m := range k {
					sum -= d.root[j][m] * d.root[k][m]
				}
				if k == j {
					d.root[j][j] = math.Sqrt(max(sum, 0))
				} else if d.root[k][k] > 0 {
					d.root[j][k] = sum / d.root[k][k]
				}
			}
		}
		s.unknowns = append(s.unknowns, d)
	}
}

// unknown draws spread j, an unknown's own, of sample i.
func (s *sampler) unknown(i int64, j, rig int) float64 {
	d := &s.unknowns[rig]
	z := d.scatter.Mean[d.at[j]]
	for k, r := range d.root[j] {
		if r != 0 {
			z += r * normal(s.even(i, k))
		}
	}
	return d.scatter.Value(d.at[j], z)
}
