package module

// Opcodes, as far as a name is of use.
const (
	opUnreachable  = 0x00
	opNop          = 0x01
	opBlock        = 0x02
	opLoop         = 0x03
	opIf           = 0x04
	opElse         = 0x05
	opEnd          = 0x0b
	opBr           = 0x0c
	opBrIf         = 0x0d
	opBrTable      = 0x0e
	opReturn       = 0x0f
	opCall         = 0x10
	opCallIndirect = 0x11
	opDrop         = 0x1a
	opSelect       = 0x1b
	opLocalGet     = 0x20
	opLocalSet     = 0x21
	opLocalTee     = 0x22
	opGlobalGet    = 0x23
	opGlobalSet    = 0x24
	opFirstLoad    = 0x28
	opI64Load      = 0x29
	opFirstStore   = 0x36
	opLastStore    = 0x3e
	opMemorySize   = 0x3f
	opMemoryGrow   = 0x40
	opI32Const     = 0x41
	opI64Const     = 0x42
	opF32Const     = 0x43
	opF64Const     = 0x44
	opI32Eqz       = 0x45
	opI32LeU       = 0x4d
	opI64Eqz       = 0x50
	opI32Add       = 0x6a
	opI32Sub       = 0x6b
	opI64Add       = 0x7c
	opI32WrapI64   = 0xa7
	opI64ExtendI32 = 0xad
	opLastNumeric  = 0xc4
	opPrefix       = 0xfc
)

// An instruction is one of a function's code.
type instruction struct {
	op    byte
	value int64    // the constant, or the first number behind the opcode
	table []uint64 // of opBrTable, the default last
	code  []byte
}

func (in *instruction) is(op byte, value int64) bool { return in.op == op && in.value == value }

// accesses tells whether it is a load or store.
func (in *instruction) accesses() bool { return in.op >= opFirstLoad && in.op <= opLastStore }

// offset is that of a load or store.
func (in *instruction) offset() (int64, bool) {
	r := reader{in.code[1:]}
	if _, err := r.unsigned(); err != nil { // alignment
		return 0, false
	}
	offset, err := r.unsigned()
	return int64(offset), err == nil
}

// instructions takes a function apart: the declarations of its locals, and its
// code. It is not ok where there is an instruction that Go does not write.
func instructions(body []byte) (head []byte, list []instruction, ok bool) {
	r := reader{body}
	groups, err := r.unsigned()
	for range groups {
		if err != nil {
			return nil, nil, false
		}
		if _, err = r.unsigned(); err == nil {
			_, err = r.byte()
		}
	}
	if err != nil {
		return nil, nil, false
	}
	head = body[:len(body)-len(r.rest)]
	for len(r.rest) > 0 {
		in, ok := r.instruction()
		if !ok {
			return nil, nil, false
		}
		list = append(list, in)
	}
	return head, list, true
}

// instruction reads one instruction.
func (r *reader) instruction() (in instruction, ok bool) {
	from := r.rest
	op, err := r.byte()
	if err != nil {
		return in, false
	}
	in.op = op
	numbers, bytes := 0, 0 // that follow
	switch {
	case op == opI32Const, op == opI64Const:
		in.value, err = r.signed()
	case op == opBrTable:
		n, err := r.unsigned()
		if err != nil || n >= uint64(len(r.rest)) {
			return in, false
		}
		for range n + 1 {
			depth, err := r.unsigned()
			if err != nil {
				return in, false
			}
			in.table = append(in.table, depth)
		}
	case op == opPrefix:
		n, err := r.unsigned()
		in.value = int64(n)
		switch {
		case err != nil:
			return in, false
		case n < 8: // conversions that saturate
		case n == 10: // copy of memory
			bytes = 2
		case n == 11: // filling
			bytes = 1
		default:
			return in, false
		}
	case op == opBr, op == opBrIf, op == opCall, op >= opLocalGet && op <= opGlobalSet:
		numbers = 1
	case op == opCallIndirect, op >= opFirstLoad && op <= opLastStore:
		numbers = 2
	case op == opBlock, op == opLoop, op == opIf, op == opMemorySize, op == opMemoryGrow:
		bytes = 1
	case op == opF32Const:
		bytes = 4
	case op == opF64Const:
		bytes = 8
	case op == opUnreachable, op == opNop, op == opElse, op == opEnd, op == opReturn, op == opDrop, op == opSelect,
		op >= opI32Eqz && op <= opLastNumeric:
	default:
		return in, false
	}
	for i := range numbers {
		var n uint64
		if err == nil {
			n, err = r.unsigned()
		}
		if i == 0 {
			in.value = int64(n)
		}
	}
	for range bytes {
		if err == nil {
			_, err = r.byte()
		}
	}
	in.code = from[:len(from)-len(r.rest)]
	return in, err == nil
}

// eachFunction returns the module with its functions changed, by their numbers.
// What is not ok, or has an instruction that Go does not write, stays as it is.
func eachFunction(module []byte, change func(head []byte, list []instruction, number uint32) ([]byte, bool)) ([]byte, error) {
	sections, err := readSections(module)
	if err != nil {
		return nil, err
	}
	for k, s := range sections {
		if s.id != codeSection {
			continue
		}
		var code bodies
		if err := code.read(s.body); err != nil {
			return nil, err
		}
		for n, body := range code.code {
			head, list, ok := instructions(body)
			if !ok {
				continue
			}
			if changed, ok := change(head, list, uint32(firstFunction+n)); ok {
				code.code[n] = changed
			}
		}
		sections[k].body = code.append(nil)
	}
	return appendSections(module[:headerBytes], sections), nil
}
