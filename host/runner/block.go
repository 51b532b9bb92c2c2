package runner

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"time"
)

const (
	firstChunkRows = 16      // unknown cost: begin small
	maxChunkRows   = 1 << 16 // 0.5 MiB a column
	maxChunkBytes  = 16 << 20
	chunkTime      = 30 * time.Millisecond // so long may a cancelled block still run
)

// held is what an instance keeps between the chunks of one block and from one
// block to the next, so that a sweep allocates once.
type held struct {
	request, names       []byte
	requestPtr, namesPtr uint32
	inPtr, outPtr        uint32
	inBytes, outBytes    int
}

// Block computes many moments of one rig at a time. names are input paths one
// a line, an empty line, then output paths one a line; in and out hold columns
// one after the other, column c of row i at c*rows+i. out has one column more
// than names has outputs: the status, 0 where the row is good. A limit or
// another name is its index in the output's codes.
//
// When ctx ends in between, out is good as far as it was written and the
// context's error is returned. What the module refuses comes as *RefusedError.
func (r *Runner) Block(ctx context.Context, request, names []byte, in, out []float64, rows int) error {
	inputs, outputs := columns(names)
	if rows < 0 || len(in) != inputs*rows || len(out) != outputs*rows {
		return misfit(rows, inputs, outputs, len(in), len(out))
	}
	return r.with(ctx, func(i *instance) error {
		if err := i.hold(request, names); err != nil {
			return err
		}
		limit := min(maxChunkRows, maxChunkBytes/8/max(1, inputs, outputs))
		chunk := min(firstChunkRows, limit)
		for from := 0; from < rows || from == 0; {
			if err := ctx.Err(); err != nil {
				return err
			}
			n := min(chunk, rows-from)
			begun := time.Now()
			if err := i.chunk(in, out, rows, from, n, inputs, outputs); err != nil {
				return err
			}
			from += max(n, 1)
			chunk = nextChunk(n, time.Since(begun), limit)
		}
		return nil
	})
}

// columns counts the columns names ask for, the status among the outputs.
func columns(names []byte) (inputs, outputs int) {
	ins, outs, _ := bytes.Cut(names, []byte("\n\n"))
	return lines(ins), lines(outs) + 1
}

// lines counts those that are not empty.
func lines(text []byte) (n int) {
	for line := range bytes.SplitSeq(text, []byte("\n")) {
		if len(line) > 0 {
			n++
		}
	}
	return n
}

// nextChunk is the number of rows that should take chunkTime, at most four
// times as many as before: the first rows of a block may be cheap ones.
func nextChunk(n int, took time.Duration, limit int) int {
	want := 4 * n
	if took > 0 {
		want = min(want, int(float64(n)*float64(chunkTime)/float64(took)))
	}
	return min(max(want, 1), limit)
}

// hold puts request and names into the module unless they are there already.
func (i *instance) hold(request, names []byte) error {
	h := &i.held
	if h.namesPtr != 0 && bytes.Equal(h.request, request) && bytes.Equal(h.names, names) {
		return nil
	}
	for _, ptr := range []*uint32{&h.requestPtr, &h.namesPtr} {
		if err := i.free(*ptr); err != nil {
			return err
		}
		*ptr = 0
	}
	h.request, h.names = bytes.Clone(request), bytes.Clone(names)
	var err error
	if h.requestPtr, err = i.put(request); err != nil {
		return err
	}
	h.namesPtr, err = i.put(names)
	return err
}

// room makes *ptr at least n bytes.
func (i *instance) room(ptr *uint32, have *int, n int) (err error) {
	if n <= *have {
		return nil
	}
	if err := i.free(*ptr); err != nil {
		return err
	}
	*ptr, *have = 0, 0
	if *ptr, err = i.alloc(n); err == nil {
		*have = n
	}
	return err
}

// chunk computes rows from..from+n of a block of rows.
func (i *instance) chunk(in, out []float64, rows, from, n, inputs, outputs int) error {
	h := &i.held
	inBytes, outBytes := 8*n*inputs, 8*n*outputs
	if err := i.room(&h.inPtr, &h.inBytes, inBytes); err != nil {
		return err
	}
	if err := i.room(&h.outPtr, &h.outBytes, outBytes); err != nil {
		return err
	}
	if inBytes > 0 {
		view, ok := i.memory.Read(h.inPtr, uint32(inBytes))
		if !ok {
			return fmt.Errorf("the module gave memory it does not have: %d+%d", h.inPtr, inBytes)
		}
		for c := range inputs {
			to := view[8*n*c : 8*n*(c+1)]
			for k, v := range in[c*rows+from : c*rows+from+n] {
				binary.LittleEndian.PutUint64(to[8*k:], math.Float64bits(v))
			}
		}
	}
	packed, err := i.call("block", uint64(h.requestPtr), uint64(len(h.request)), uint64(h.namesPtr), uint64(len(h.names)),
		uint64(h.inPtr), uint64(h.outPtr), uint64(uint32(n)))
	if err != nil {
		return err
	}
	if packed != 0 {
		text, err := i.answer(packed)
		if err != nil {
			return err
		}
		return &RefusedError{text}
	}
	if outBytes > 0 {
		view, ok := i.memory.Read(h.outPtr, uint32(outBytes))
		if !ok {
			return fmt.Errorf("the module gave memory it does not have: %d+%d", h.outPtr, outBytes)
		}
		for c := range outputs {
			data := view[8*n*c : 8*n*(c+1)]
			to := out[c*rows+from : c*rows+from+n]
			for k := range to {
				to[k] = math.Float64frombits(binary.LittleEndian.Uint64(data[8*k:]))
			}
		}
	}
	return nil
}
