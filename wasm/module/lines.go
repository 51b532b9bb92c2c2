package module

import (
	"bytes"
	"encoding/binary"
)

// The layout of the tables Go's linker writes for its runtime (internal/abi and
// runtime/symtab.go of Go 1.20 to 1.26), for 64-bit words in order of the
// machine, which for wasm is little-endian.
const (
	headerBytes = 8 + 8*8 // magic, two zeros, quantum, word size; then eight words
	funcBytes   = 44      // of a function's record before its two lists of offsets

	funcPCSP, funcPCFile, funcPCLine, funcPCDataCount = 16, 20, 24, 28
)

var tableMagic = []byte{0xf1, 0xff, 0xff, 0xff, 0, 0, 1, 8}

// dropLines makes the table of source files and lines in data, if it is there,
// compress to nothing, and reports whether it was.
//
// It names the line of each instruction, for the trace that Go's runtime
// prints when it breaks off. That is a tenth of the compressed module, and the
// only reader of the trace, who embeds the module, sees it in three lines cut
// short. Functions keep their names in it; in place of the line stands what
// the runtime writes for code without any ("?:0"). The other tables in the
// same place, of stack sizes and live pointers, stay: the collector needs them.
//
// Whatever is not exactly as expected leaves the data as they are: another Go
// version may give a larger module, not a broken one.
func dropLines(data []byte) bool {
	at := bytes.Index(data, tableMagic)
	if at < 0 || len(data)-at < headerBytes {
		return false
	}
	t := data[at:]
	word := func(k int) uint64 { return binary.LittleEndian.Uint64(t[8+8*k:]) }
	count, pctabAt, funcsAt := word(0), word(6), word(7)
	if pctabAt < headerBytes || funcsAt < pctabAt || funcsAt > uint64(len(t)) || count > uint64(len(t)) {
		return false
	}
	pctab, funcs := t[pctabAt:funcsAt], t[funcsAt:]
	records, ok := functions(funcs, int(count))
	if !ok {
		return false
	}

	// A table that two uses share is written once: what is kept is marked
	// before anything is taken away.
	keep, drop := make([]bool, len(pctab)), make([]bool, len(pctab))
	for _, f := range records {
		for k, marks := range map[int][]bool{funcPCSP: keep, funcPCFile: drop, funcPCLine: drop} {
			ok = ok && mark(pctab, binary.LittleEndian.Uint32(f[k:]), marks)
		}
		for k := range binary.LittleEndian.Uint32(f[funcPCDataCount:]) {
			ok = ok && mark(pctab, binary.LittleEndian.Uint32(f[funcBytes+4*k:]), keep)
		}
	}
	if !ok {
		return false
	}
	for k := range pctab {
		if drop[k] && !keep[k] {
			pctab[k] = 0
		}
	}
	for _, f := range records {
		clear(f[funcPCFile : funcPCLine+4]) // 0: no table
	}
	return true
}

// functions returns the record of each function. The list before them holds a
// pair for each, entry and place of its record, in order of entries.
func functions(funcs []byte, count int) ([][]byte, bool) {
	records := make([][]byte, 0, count)
	if len(funcs) < 8*count+4 {
		return nil, false
	}
	last := int64(-1)
	for k := range count {
		entry, at := binary.LittleEndian.Uint32(funcs[8*k:]), binary.LittleEndian.Uint32(funcs[8*k+4:])
		if int64(entry) <= last || uint64(at)+funcBytes > uint64(len(funcs)) || binary.LittleEndian.Uint32(funcs[at:]) != entry {
			return nil, false
		}
		last = int64(entry)
		f := funcs[at:]
		if n := binary.LittleEndian.Uint32(f[funcPCDataCount:]); n > 64 || funcBytes+4*int(n) > len(f) {
			return nil, false
		}
		records = append(records, f)
	}
	return records, true
}

// mark marks the table that begins at offset: pairs of numbers, in seven bits
// a byte, until a pair would begin with zero that is not the first.
func mark(pctab []byte, offset uint32, marks []bool) bool {
	if offset == 0 {
		return true // no table
	}
	at := uint64(offset)
	number := func() bool {
		for at < uint64(len(pctab)) {
			at++
			if pctab[at-1] < 0x80 {
				return true
			}
		}
		return false
	}
	for first := true; ; first = false {
		if at >= uint64(len(pctab)) {
			return false
		}
		if pctab[at] == 0 && !first {
			break
		}
		if !number() || !number() {
			return false
		}
	}
	for k := uint64(offset); k <= at; k++ {
		marks[k] = true
	}
	return true
}
