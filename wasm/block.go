//go:build wasip1

package main

import "spareamps/core"

// prepared is the last decoded block request. A sweep calls block thousands of
// times with the same request and names; decoding them each time would cost
// more than the short blocks themselves.
type prepared struct {
	request, names string // copies: the caller may change its buffers
	block          *core.Block
	ready          bool
}

func (p *prepared) is(request, names []byte) bool {
	return p.ready && p.request == string(request) && p.names == string(names)
}

// runBlock checks every range before anything is computed or written.
func runBlock(requestPtr, requestLen, namesPtr, namesLen, inPtr, outPtr uint32, rows int32) uint64 {
	request, problem := text("request", requestPtr, requestLen)
	if problem != nil {
		return give(problem)
	}
	names, problem := text("names", namesPtr, namesLen)
	if problem != nil {
		return give(problem)
	}
	if rows < 0 {
		return give(core.ErrorJSON("bad_pointer", "rows", "-"+decimal(uint64(-int64(rows))), "0 or more", "a block cannot have a negative number of rows"))
	}
	if !state.block.is(request, names) {
		b, problem := core.NewBlock(request, names)
		if problem != nil {
			return give(problem)
		}
		state.block = prepared{string(request), string(names), b, true}
	}
	b := state.block.block

	// rows < 2^31 and the columns are at most as many as the names have lines,
	// which are at most 2^20 bytes: no product passes 2^54.
	inBytes := uint64(rows) * uint64(b.Inputs()) * 8
	outBytes := uint64(rows) * uint64(b.Outputs()) * 8
	in, ok := state.buffers.floats(inPtr, inBytes)
	if !ok {
		return give(badPointer("in", inPtr, inBytes))
	}
	out, ok := state.buffers.floats(outPtr, outBytes)
	if !ok {
		return give(badPointer("out", outPtr, outBytes))
	}
	if overlap(outPtr, outBytes, inPtr, inBytes) ||
		overlap(outPtr, outBytes, requestPtr, uint64(requestLen)) ||
		overlap(outPtr, outBytes, namesPtr, uint64(namesLen)) {
		return give(core.ErrorJSON("bad_pointer", "out", decimal(uint64(outPtr))+"+"+decimal(outBytes),
			"apart from request, names and in", "the results would overwrite what they are computed from"))
	}
	if rows > 0 {
		b.Run(in, out, int(rows))
	}
	return 0
}

// overlap tells whether two ranges share a byte.
func overlap(a uint32, aBytes uint64, b uint32, bBytes uint64) bool {
	return aBytes > 0 && bBytes > 0 &&
		uint64(a) < uint64(b)+bBytes && uint64(b) < uint64(a)+aBytes
}
