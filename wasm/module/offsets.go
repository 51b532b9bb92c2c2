package module

// FoldOffsets returns the module with what is added to an address put into the
// loads and stores that use it. Go adds where it copies or clears what is on its
// stack, eight bytes at a time; an engine checks each sum against the end of
// memory, and of one address only the farthest offset.
//
// A function that is not as Go's compiler writes it stays as it is.
func FoldOffsets(module []byte) ([]byte, error) {
	return eachFunction(module, func(body []byte, _ uint32) ([]byte, bool) {
		head, list, ok := instructions(body)
		if !ok {
			return nil, false
		}
		out := append([]byte(nil), head...)
		for _, in := range foldOffsets(list) {
			out = append(out, in.code...)
		}
		return out, true
	})
}

// mostFold is above what is added to an address to reach into what lies there.
const mostFold = 1 << 20

func foldOffsets(list []instruction) []instruction {
	is := func(k int, op byte) bool { return k < len(list) && list[k].op == op }
	var out []instruction
	more := make([]uint64, len(list)) // for the offset of a load or store
	for k := 0; k < len(list); k++ {
		in := list[k]
		if more[k] > 0 {
			r := reader{in.code[1:]}
			align, _ := r.unsigned()
			offset, _ := r.unsigned()
			in.code = appendUnsigned(appendUnsigned([]byte{in.op}, align), offset+more[k])
		}
		// An address of 32 bits is extended to be added to; a pointer is of 64 bits.
		at := k
		if in.op == opI64ExtendI32 {
			at++
		}
		if is(at, opI64Const) && is(at+1, opI64Add) && is(at+2, opI32WrapI64) && list[at].value > 0 && list[at].value < mostFold {
			if user := userOf(list[at+3:]); user >= 0 {
				more[at+3+user] = uint64(list[at].value)
				if at == k {
					out = append(out, list[at+2])
				}
				k = at + 2
				continue
			}
		}
		out = append(out, in)
	}
	return out
}

// userOf returns the load or store whose address lies on the stack before a list
// of instructions; −1 where that is something else, or behind a branch.
func userOf(list []instruction) int {
	above := 0 // values on the stack above the address
	for k := range list {
		takes, gives, ok := list[k].values()
		if !ok {
			return -1
		}
		if above -= takes; above < 0 {
			if op := list[k].op; above == -1 && op >= opFirstLoad && op <= opLastStore {
				return k
			}
			return -1
		}
		above += gives
	}
	return -1
}

// values tells how many values an instruction takes from the stack and how many
// it puts there; not ok where it is a branch, a call or one that Go does not use.
func (in *instruction) values() (takes, gives int, ok bool) {
	switch op := in.op; {
	case op == opLocalGet, op == opGlobalGet, op == opI32Const, op == opI64Const, op == opF32Const, op == opF64Const:
		return 0, 1, true
	case op == opLocalSet, op == opDrop:
		return 1, 0, true
	case op >= opFirstStore && op <= opLastStore:
		return 2, 0, true
	case op >= opFirstLoad && op < opFirstStore, op == opLocalTee,
		op == opI32Eqz, op == opI64Eqz, op >= 0x67 && op <= 0x69, op >= 0x79 && op <= 0x7b, // counts of bits
		op >= 0x8b && op <= 0x91, op >= 0x99 && op <= 0x9f, // of one float
		op >= opI32WrapI64 && op <= opLastNumeric, op == opPrefix && in.value < 8: // conversions
		return 1, 1, true
	case op > opI32Eqz && op < opI32WrapI64:
		return 2, 1, true
	}
	return 0, 0, false
}
