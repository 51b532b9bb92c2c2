package module

import (
	"maps"
	"slices"
)

// KeepPointers returns the module with pointers that are read from the stack
// once where that is enough. Go reads a function's arguments anew from its stack
// at every use; an engine cannot know that a pointer read twice is the same one,
// and checks each use of it against the end of memory. Here the address is kept
// in a local of its own, from one call to the next, for as long as nothing is
// stored in its place.
//
// A function that takes the address of anything on its stack, or does anything
// else with it than to load and store, stays as it is, since what it stores
// elsewhere may then be stored there; so does one that is not as Go's compiler
// writes it.
func KeepPointers(module []byte) ([]byte, error) {
	return eachFunction(module, func(head []byte, list []instruction, _ uint32) ([]byte, bool) {
		if !ownStack(list) {
			return nil, false
		}
		return keepPointers(head, list)
	})
}

// stackLocal is the local in which Go keeps the address of its stack, the global
// of which is stackGlobal.
const (
	stackGlobal = 0
	stackLocal  = 1
)

// ownStack tells whether a function keeps that local, and reads and writes its
// stack by that alone.
func ownStack(list []instruction) bool {
	if len(list) < 2 || !list[0].is(opGlobalGet, stackGlobal) || !list[1].is(opLocalSet, stackLocal) {
		return false
	}
	for k := range list[:len(list)-1] {
		if list[k].is(opLocalGet, stackLocal) && list[k+1].op == opI64ExtendI32 {
			return false
		}
	}
	return true
}

// kept says of each place on the stack, by its offset, which reading of the
// pointer there is at hand.
type kept map[int64]int

// A path is a block, loop or if that is open, with what is kept at its begin
// and on all ways to its end.
type path struct {
	op            byte
	before, after kept
	reached       bool
}

// readings are those of one function. Readings that meet at some place are one.
type readings struct {
	same []int // another that is one with it; itself
	used []bool
}

func (r *readings) add() int {
	r.same, r.used = append(r.same, len(r.same)), append(r.used, false)
	return len(r.same) - 1
}

func (r *readings) find(n int) int {
	for r.same[n] != n {
		n = r.same[n]
	}
	return n
}

// meet returns what is kept whichever of two ways was taken.
func (r *readings) meet(a, b kept) kept {
	both := kept{}
	for offset, n := range a {
		if m, ok := b[offset]; ok {
			n, m = r.find(n), r.find(m)
			r.same[m] = n
			r.used[n] = r.used[n] || r.used[m]
			both[offset] = n
		}
	}
	return both
}

func keepPointers(head []byte, list []instruction) ([]byte, bool) {
	var (
		r       readings
		now     = kept{}
		reached = true
		open    = []path{{op: opBlock}}
		reading = make([]int, len(list)) // by instruction: 1 and more makes a reading, below 0 uses one
		stored  = map[int]int64{}        // by instruction that stores on the stack: where
		uses    = map[int64]int{}
	)
	to := func(depth uint64) bool {
		if depth >= uint64(len(open)) {
			return false
		}
		p := &open[len(open)-1-int(depth)]
		switch {
		case !reached || p.op == opLoop:
		case p.reached:
			p.after = r.meet(p.after, now)
		default:
			p.after, p.reached = maps.Clone(now), true
		}
		return true
	}
	for k := range list {
		in := &list[k]
		ok := true
		if offset, on := stored[k]; on {
			for at := range now {
				if at > offset-8 && at < offset+8 {
					delete(now, at)
				}
			}
		}
		switch in.op {
		case opBlock, opIf:
			open = append(open, path{op: in.op, before: maps.Clone(now)})
		case opLoop:
			now = kept{} // nothing is known of those who come back
			open = append(open, path{op: opLoop})
		case opElse, opEnd:
			p := &open[len(open)-1]
			if p.op == opLoop {
				break
			}
			ok = to(0)
			if in.op == opElse {
				now, reached, p.op = maps.Clone(p.before), true, opElse
				break
			}
			if p.op == opIf { // and the way past it
				now, reached = p.before, true
				ok = ok && to(0)
			}
			now, reached = p.after, p.reached
		case opBr:
			ok, reached = to(uint64(in.value)), false
		case opBrIf:
			ok = to(uint64(in.value))
		case opBrTable:
			for _, depth := range in.table {
				ok = ok && to(depth)
			}
			reached = false
		case opReturn, opUnreachable:
			reached = false
		case opCall, opCallIndirect, opPrefix, opMemoryGrow:
			now = kept{}
		case opLocalSet, opLocalTee:
			if in.value == stackLocal {
				now = kept{}
			}
		case opLocalGet:
			if in.value != stackLocal {
				break
			}
			user, first := takerOf(list[k+1:])
			if ok = user >= 0 && first; !ok {
				break
			}
			user += k + 1
			if op := list[user].op; !list[user].accesses() {
				ok = op == opI32LeU || (op == opI32Add || op == opI32Sub) && user+1 < len(list) && list[user+1].is(opLocalTee, stackLocal)
				break // a look at how much stack is left; another frame
			}
			offset, known := list[user].offset()
			switch {
			case !known:
				ok = false
			case list[user].op >= opFirstStore:
				stored[user] = offset
			case reached && user == k+1 && list[user].op == opI64Load && k+2 < len(list) && list[k+2].op == opI32WrapI64:
				if n, at := now[offset]; at {
					reading[k] = -1 - n
					r.used[r.find(n)] = true
					uses[offset]++
				} else {
					now[offset] = r.add()
					reading[k] = 1 + now[offset]
				}
			}
		}
		if now == nil {
			now = kept{}
		}
		if !ok {
			return nil, false
		}
		if in.op == opEnd {
			if open = open[:len(open)-1]; len(open) == 0 && k != len(list)-1 {
				return nil, false
			}
		}
	}
	if len(uses) == 0 {
		return nil, false
	}

	// Those used most have locals of their own, behind the others.
	offsets := slices.SortedFunc(maps.Keys(uses), func(a, b int64) int {
		if d := uses[b] - uses[a]; d != 0 {
			return d
		}
		return int(a - b)
	})
	offsets = offsets[:min(len(offsets), mostKept)]
	out, first, ok := moreLocals(head, len(offsets))
	if !ok {
		return nil, false
	}
	for k := 0; k < len(list); k++ {
		if reading[k] == 0 {
			out = append(out, list[k].code...)
			continue
		}
		offset, _ := list[k+1].offset()
		local := slices.Index(offsets, offset)
		switch n := reading[k]; {
		case local < 0:
			out = append(out, list[k].code...)
			continue
		case n < 0:
			out = appendUnsigned(append(out, opLocalGet), first+uint64(local))
		default:
			out = append(append(append(out, list[k].code...), list[k+1].code...), list[k+2].code...)
			if r.used[r.find(n-1)] {
				out = appendUnsigned(append(out, opLocalTee), first+uint64(local))
			}
		}
		k += 2
	}
	return out, true
}

// mostKept bounds the pointers of a function that are kept.
const mostKept = 12

// moreLocals declares so many locals of 32 bits more and returns the number of
// the first, in a function with one parameter.
func moreLocals(head []byte, more int) (out []byte, first uint64, ok bool) {
	r := reader{head}
	groups, err := r.unsigned()
	if err != nil {
		return nil, 0, false
	}
	declared := r.rest
	first = 1
	for range groups {
		n, err := r.unsigned()
		if err != nil {
			return nil, 0, false
		}
		if _, err = r.byte(); err != nil {
			return nil, 0, false
		}
		first += n
	}
	const i32 = 0x7f
	out = append(appendUnsigned(nil, groups+1), declared...)
	return append(appendUnsigned(out, uint64(more)), i32), first, true
}
