package module

// FoldOffsets returns the module with what is added to an address put into the
// loads and stores that use it. Go adds where it copies or clears what is on its
// stack, eight bytes at a time; an engine checks each sum against the end of
// memory, and of one address only the farthest offset.
//
// A function that is not as Go's compiler writes it stays as it is.
func FoldOffsets(module []byte) ([]byte, error) {
	return eachFunction(module, func(head []byte, list []instruction, _ uint32) ([]byte, bool) {
		out := append([]byte(nil), head...)
		for _, in := range foldOffsets(list) {
			out = append(out, in.code...)
		}
		return out, true
	})
}

// What is added to an address to reach into what lies there is below these: the
// stack's frames are small, and from dataBegin on a constant may be an address
// itself, to which an index is added.
const (
	mostFrame = 1 << 20
	dataBegin = 12288
)

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
		at, most := k, int64(dataBegin)
		if in.op == opI64ExtendI32 {
			at, most = k+1, mostFrame
		}
		if is(at, opI64Const) && is(at+1, opI64Add) && is(at+2, opI32WrapI64) && list[at].value > 0 && list[at].value < most {
			user := userOf(list[at+3:])
			if user >= 0 {
				if offset, ok := list[at+3+user].offset(); !ok || offset >= mostFrame {
					user = -1
				}
			}
			if user >= 0 {
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

// takerOf returns the instruction that takes the value on top of the stack before
// a list of them, and whether it is the first of what it takes; −1 where a branch
// or a call comes before.
func takerOf(list []instruction) (k int, first bool) {
	above := 0 // values on the stack above it
	for k := range list {
		takes, gives, ok := list[k].values()
		if !ok {
			return -1, false
		}
		if above -= takes; above < 0 {
			return k, above == -1
		}
		above += gives
	}
	return -1, false
}

// userOf returns the load or store whose address lies on the stack before a list
// of instructions; −1 where that is something else.
func userOf(list []instruction) int {
	k, first := takerOf(list)
	if k < 0 || !first || !list[k].accesses() {
		return -1
	}
	return k
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
	case op == opSelect:
		return 3, 1, true
	}
	return 0, 0, false
}
