package main

import (
	"context"
	"fmt"
	"math"
)

// verify computes stretches of points, spread evenly over the sweep, with two
// backends. It returns how many it compared and the largest difference
// relative to the larger of a result and 1.
func (r *sweepRun) verify(ctx context.Context, other sweepBackend, dear bool, tolerance float64) (rows int, most float64, err error) {
	long, wanted := int64(100), int64(20)
	if dear {
		long, wanted = 10, 10
	}
	mine, theirs := *r, *r
	theirs.backend = other
	for _, x := range []*sweepRun{&mine, &theirs} {
		x.groupRows, x.batch = long, int(long)
	}
	a, b := mine.newRows(), theirs.newRows()
	one, two := mine.backend.worker(), other.worker()
	stretches := mine.groups()
	wanted = min(wanted, stretches)
	for k := range wanted {
		mine.set(a, int64(float64(k)*float64(stretches)/float64(wanted)))
		theirs.set(b, a.index)
		if err := mine.compute(ctx, one, a); err != nil {
			return rows, most, err
		}
		if err := theirs.compute(ctx, two, b); err != nil {
			return rows, most, err
		}
		for i := range a.n {
			by, differ := r.difference(a, b, i, tolerance)
			most = max(most, by)
			if rows++; differ != "" {
				return rows, most, fmt.Errorf("the backends differ at%s: %s, beyond the tolerance of %v", r.where(a, i), differ, tolerance)
			}
		}
	}
	return rows, most, nil
}

// difference compares a row of two backends.
func (r *sweepRun) difference(a, b *sweepRows, i int, tolerance float64) (most float64, differ string) {
	if a.status[i] != b.status[i] {
		return 0, fmt.Sprintf("status %s and %s", statusNames[a.status[i]], statusNames[b.status[i]])
	}
	if a.status[i] != statusOK {
		return 0, ""
	}
	for c := range r.outputs {
		x, y := a.out[c][i], b.out[c][i]
		if math.Float64bits(x+0) == math.Float64bits(y+0) {
			continue
		}
		by := math.Abs(x-y) / max(1, math.Abs(x), math.Abs(y))
		most = max(most, by)
		if differ == "" && (!(by <= tolerance) || r.outputs[c].Codes != nil) {
			differ = fmt.Sprintf("%s is %s and %s", r.outputs[c].Path, r.outputs[c].append(nil, x), r.outputs[c].append(nil, y))
		}
	}
	return most, differ
}

// where names the point of a row.
func (r *sweepRun) where(g *sweepRows, i int) (s string) {
	for c := range r.points.columns {
		s += fmt.Sprintf(" %s=%s", r.points.columns[c].name(), r.points.columns[c].append(nil, g.in[c][i]))
	}
	return s
}
