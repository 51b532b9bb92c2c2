package module

import (
	"bytes"
	"errors"
	"slices"
)

const (
	noResult   = 0x40 // type of a block
	placeLocal = 0    // the local in which Go keeps the number of the place to go on at
)

// DirectJumps returns the module with jumps that go straight to their places.
//
// WebAssembly has no jump, only ways out of blocks. So Go's compiler begins each
// function with a block for every place a jump may go to, all within a loop. It
// jumps by noting the number of the place and going back to the loop's begin,
// where a table of all places leads out of as many blocks. To an engine any
// place then may come after any other, whatever is at hand has to be brought
// along on every jump, and every branch is one by a table.
//
// A jump ahead needs none of that: its place is behind a block that is still
// open, so the way out of that block leads there. Those back, which are the
// ends of loops, stay, and the place that a function begins with is asked for
// before the table is. Numbers that the table is not asked for any more lead
// where those beyond its end do, which traps, so that an engine sees who comes
// from where.
//
// A function that is not as Go's compiler writes it stays as it is.
func DirectJumps(module []byte) ([]byte, error) {
	sections, err := readSections(module)
	if err != nil {
		return nil, err
	}
	var segments []segment
	for _, s := range sections {
		if s.id == dataSection {
			if segments, err = readSegments(s.body); err != nil {
				return nil, err
			}
		}
	}
	resumed, err := resumedPlaces(segments)
	if err != nil && !errors.Is(err, ErrLayout) {
		return nil, err
	}
	return eachFunction(module, func(head []byte, list []instruction, number uint32) ([]byte, bool) {
		from, known := resumed[number]
		return directJumps(head, list, number, from, known)
	})
}

// resumedPlaces returns by the number of a function the number of the place at
// which it goes on to run its deferred calls; 0 where there are none.
//
// Other than there and at its begin a function goes on only where a call
// returns to, since a program counter is kept nowhere else; but for goexit,
// which is assembly without a jump and so stays as it is.
func resumedPlaces(segments []segment) (map[uint32]uint32, error) {
	m, err := flatten(segments)
	if err != nil {
		return nil, err
	}
	if !bytes.Contains(m, []byte(knownVersion)) {
		return nil, ErrLayout
	}
	f, err := findFunctions(m)
	if err != nil {
		return nil, err
	}
	places := map[uint32]uint32{}
	for k := range f.all {
		g := &f.all[k]
		places[g.field(funcEntry)] = g.field(funcDeferred)
	}
	return places, nil
}

// A frame is a block, loop or if that is open.
type frame struct {
	op    byte
	begin int // number of the instruction
}

// directJumps does so in one function. Numbers not asked for stay in its table
// where it is not known at which place it may be resumed.
func directJumps(head []byte, list []instruction, number, resumed uint32, known bool) ([]byte, bool) {
	out := slices.Clone(head)
	var (
		open   []frame
		places []frame  // the blocks out of which places are reached, innermost first
		loop   int      // depth in open of the loop around them
		table  []uint64 // the place of each number; the last also of all beyond
		asked  []bool   // numbers that the table is asked for
		at     int      // of the table in out

		back   = map[int]bool{}  // branches of jumps back
		closed = map[frame]int{} // where a block's end is
	)
	is := func(k int, op byte, value int64) bool {
		return k >= 0 && k < len(list) && list[k].op == op && list[k].value == value
	}
	// jump tells what number the jump at an instruction goes to, so many blocks
	// deeper than those open, as Go writes it.
	jump := func(k, deeper int) (n int, ok bool) {
		if table == nil || k >= len(list) || list[k].op != opI32Const || list[k].value < 0 ||
			!is(k+1, opLocalSet, placeLocal) || !is(k+2, opBr, int64(len(open)+deeper-1-loop)) {
			return 0, false
		}
		return min(int(list[k].value), len(table)-1), true
	}
	// ahead appends the way to a place ahead.
	ahead := func(op byte, n int) bool {
		depth := slices.Index(open, places[table[n]])
		if depth < 0 {
			return false
		}
		out = appendUnsigned(append(out, op), uint64(len(open)-1-depth))
		return true
	}
	for k := 0; k < len(list); k++ {
		in := &list[k]
		if in.op == opIf && is(k+4, opEnd, 0) {
			if n, ok := jump(k+1, 1); ok && ahead(opBrIf, n) {
				k += 4
				continue
			}
		}
		if n, ok := jump(k, 0); ok {
			if ahead(opBr, n) {
				k += 2
				continue
			}
			asked[n], back[k+2] = true, true
		}
		switch in.op {
		case opBlock, opLoop, opIf:
			open = append(open, frame{in.op, k})
		case opEnd:
			if len(open) > 0 {
				closed[open[len(open)-1]] = k
				open = open[:len(open)-1]
			}
		case opBr, opBrIf:
			if table != nil && len(open)-1-int(in.value) == loop && !back[k] {
				return nil, false // a jump of another form
			}
		case opLocalTee:
			if in.value == placeLocal {
				return nil, false
			}
		case opLocalGet:
			// Else it is of use to calls alone, between a set and a get.
			if in.value == placeLocal && !is(k-2, opLocalSet, placeLocal) && !(k+1 < len(list) && list[k+1].op == opBrTable) &&
				!(is(k+1, opI32Eqz, 0) && is(k+3, opLocalGet, placeLocal)) {
				return nil, false
			}
		case opBrTable:
			if table != nil || !is(k-1, opLocalGet, placeLocal) {
				return nil, false
			}
			for n := len(open) - 1; n >= 0 && open[n].op == opBlock; n-- {
				places = append(places, open[n])
			}
			if loop = len(open) - 1 - len(places); loop < 0 || open[loop].op != opLoop {
				return nil, false
			}
			for _, place := range in.table {
				if place >= uint64(len(places)) {
					return nil, false
				}
			}
			table, asked = in.table, make([]bool, len(in.table))
			if !is(k-2, opBrIf, int64(table[0])) {
				// Most often a function is at its begin.
				out = append(appendUnsigned(append(out, opI32Eqz, opBrIf), table[0]), opLocalGet, placeLocal)
			}
			at = len(out)
			continue // written at the end
		}
		out = append(out, in.code...)
	}
	if table == nil {
		return nil, false
	}
	beyond := len(table) - 1
	if known && endsInTrap(list[closed[places[table[beyond]]]:]) {
		returns := []uint32{0, 1, resumed}
		for k := range list {
			if in := &list[k]; in.op == opI64Const && in.value>>16 == int64(number) {
				returns = append(returns, uint32(in.value&0xffff))
			}
		}
		for _, n := range returns {
			asked[min(int(n), beyond)] = true
		}
		for n := range asked {
			if !asked[n] {
				table[n] = table[beyond]
			}
		}
		for beyond > 0 && table[beyond-1] == table[beyond] {
			beyond--
			table[beyond] = table[beyond+1]
		}
	}
	text := appendUnsigned([]byte{opBrTable}, uint64(beyond))
	for _, place := range table[:beyond+1] {
		text = appendUnsigned(text, place)
	}
	return slices.Insert(out, at, text...), true
}

// endsInTrap tells whether code that begins with ends of blocks then traps.
func endsInTrap(list []instruction) bool {
	for _, in := range list {
		if in.op != opEnd && in.op != opNop {
			return in.op == opUnreachable
		}
	}
	return false
}
