package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"
)

// A sweepRun computes the points of a sweep, group by group, and writes them
// in their order.
type sweepRun struct {
	points      *sweepPoints
	outputs     []sweepOutput
	names       []byte // of the block's columns
	backend     sweepBackend
	jobs        int
	batch       int
	groupRows   int64
	first, last int64 // groups to compute: first up to, without, last
	writer      rowWriter
}

// Rows of a group: about a 64th of the sweep, so that shards come out even,
// but neither too few to be worth a row group nor more than memory and an
// interrupt should wait for. It depends on nothing but what is asked.
const (
	groupsWanted                = 64
	quickLeast, quickMost int64 = 1024, 1 << 14
	dearLeast, dearMost   int64 = 64, 4096
)

func groupRowsOf(points int64, dear bool) int64 {
	least, most := quickLeast, quickMost
	if dear {
		least, most = dearLeast, dearMost
	}
	n := least
	for n < most && n*groupsWanted < points {
		n *= 2
	}
	return n
}

// groups is the number of groups of a sweep.
func (r *sweepRun) groups() int64 { return (r.points.n + r.groupRows - 1) / r.groupRows }

// rowsIn counts the rows of groups.
func (r *sweepRun) rowsIn(first, last int64) int64 {
	return min(last*r.groupRows, r.points.n) - min(first*r.groupRows, r.points.n)
}

// newRows makes room for a group, in memory that is used again and again.
func (r *sweepRun) newRows() *sweepRows {
	n := int(min(r.groupRows, r.points.n))
	columns := func(k int) [][]float64 {
		list := make([][]float64, k)
		for i := range list {
			list[i] = make([]float64, n)
		}
		return list
	}
	batch := min(r.batch, n)
	g := &sweepRows{in: columns(len(r.points.columns)), out: columns(len(r.outputs)), variants: make([]int32, n), status: make([]uint8, n),
		summary: newSweepSummary(r.outputs), scratch: make([]float64, batch*(len(r.points.numbers)+len(r.outputs)+1)), order: make([]int32, n)}
	for range r.points.factors {
		g.steps = append(g.steps, make([]int64, n))
	}
	return g
}

// set says which group it is.
func (r *sweepRun) set(g *sweepRows, index int64) {
	g.index, g.from = index, index*r.groupRows
	g.n = int(min(r.groupRows, r.points.n-g.from))
}

// run computes and writes groups from..last.
func (r *sweepRun) run(ctx context.Context, from int64, sink *sweepSink, progress *sweepProgress) error {
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	free, todo, done := make(chan *sweepRows, r.jobs+2), make(chan *sweepRows), make(chan *sweepRows, r.jobs+2)
	for range r.jobs + 2 {
		free <- nil // room is made when it is needed
	}
	go func() { // hands out groups in their order
		defer close(todo)
		for index := from; index < r.last; index++ {
			select {
			case g := <-free:
				if g == nil {
					g = r.newRows()
				}
				r.set(g, index)
				select {
				case todo <- g:
				case <-ctx.Done():
					return
				}
			case <-ctx.Done():
				return
			}
		}
	}()
	var workers sync.WaitGroup
	for range r.jobs {
		workers.Go(func() {
			w := r.backend.worker()
			for g := range todo {
				err := r.compute(ctx, w, g)
				if err == nil {
					g.summary.take(g)
					err = r.writer.rows(g)
				}
				if err != nil {
					cancel(err)
					return
				}
				done <- g
			}
		})
	}
	go func() { workers.Wait(); close(done) }()

	waiting := map[int64]*sweepRows{}
	next := from
	var failed error
	for g := range done {
		waiting[g.index] = g
		for failed == nil && waiting[next] != nil {
			g := waiting[next]
			delete(waiting, next)
			next++
			if failed = sink.write(g); failed != nil {
				cancel(failed)
			}
			free <- g
			progress.tell(sink.rows, time.Now())
		}
	}
	if failed != nil {
		return sink.failed(failed)
	}
	if next < r.last {
		err := context.Cause(ctx)
		return errors.Join(err, sink.save())
	}
	return nil
}

// compute answers the rows of a group.
func (r *sweepRun) compute(ctx context.Context, w sweepWorker, g *sweepRows) error {
	r.points.fill(g.from, g.n, g.in, g.steps, g.variants)
	order := g.order[:g.n]
	mixed := false
	for i := range order {
		order[i] = int32(i)
		mixed = mixed || g.variants[i] != g.variants[0]
	}
	if mixed { // rows of one variant together: preparing one takes long
		slices.SortStableFunc(order, func(a, b int32) int { return int(g.variants[a]) - int(g.variants[b]) })
	}
	for len(order) > 0 {
		id := g.variants[order[0]]
		n := 1
		for n < len(order) && n < r.batch && g.variants[order[n]] == id {
			n++
		}
		if err := r.some(ctx, w, g, id, order[:n]); err != nil {
			return err
		}
		order = order[n:]
	}
	return nil
}

// some answers rows of one variant.
func (r *sweepRun) some(ctx context.Context, w sweepWorker, g *sweepRows, id int32, rows []int32) error {
	v := &r.points.variants[id]
	if v.conflict {
		for _, i := range rows {
			g.status[i] = statusConflict
		}
		return ctx.Err()
	}
	n, ins := len(rows), len(r.points.numbers)
	in, out := g.scratch[:ins*n], g.scratch[ins*n:][:(len(r.outputs)+1)*n]
	for k, c := range r.points.numbers {
		to, column := in[k*n:(k+1)*n], g.in[c]
		for j, i := range rows {
			to[j] = column[i]
		}
	}
	if err := w.block(ctx, id, v, r.names, in, out, n); err != nil {
		return err
	}
	for k, column := range g.out {
		codes := r.outputs[k].Codes
		for j, i := range rows {
			v := out[k*n+j]
			if v-v != 0 {
				return fmt.Errorf("the backend answers %v for %s", v, r.outputs[k].Path)
			}
			if codes != nil && !(v >= 0 && v < float64(len(codes)) && v == float64(int(v))) {
				return fmt.Errorf("the backend answers %v for %s, which has %d names", v, r.outputs[k].Path, len(codes))
			}
			column[i] = v
		}
	}
	for j, i := range rows {
		switch status := out[len(r.outputs)*n+j]; {
		case status == 0:
			g.status[i] = statusOK
		case int(status) <= ins:
			g.status[i] = statusRange
		default:
			g.status[i] = statusConflict
		}
	}
	return nil
}
