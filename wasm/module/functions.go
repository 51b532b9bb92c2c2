package module

import (
	"bytes"
	"encoding/binary"
	"slices"
)

// functions are the tables in which the runtime of Go 1.26 looks up functions.
// Layout: runtime/symtab.go (pcHeader, moduledata), runtime/runtime2.go
// (_func), cmd/link/internal/ld/pcln.go.
type functions struct {
	names   []byte   // of functions, each with a zero at its end
	units   []byte   // for each package's files, where their names are
	files   []byte   // names of files
	streams []byte   // what holds at each program counter; offset 0 is none
	data    []byte   // what holds for a whole function
	begins  []uint32 // where in data something begins, ascending
	table   []byte   // pairs of number and place of each function, then these
	all     []function
}

// function is a _func and the two lists of offsets behind it.
type function struct {
	fields  []byte
	streams offsets // by kind of stream; 0 where there is none
	data    offsets // by kind of data; noData where there is none
}

// offsets is a list of four-byte numbers.
type offsets []byte

func (o offsets) len() int            { return len(o) / 4 }
func (o offsets) at(k int) uint32     { return binary.LittleEndian.Uint32(o[4*k:]) }
func (o offsets) set(k int, v uint32) { binary.LittleEndian.PutUint32(o[4*k:], v) }

// Where the fields of a _func are.
const (
	funcEntry     = 0  // number of the function: its program counters divided by 65536
	funcName      = 4  // offset in names
	funcDeferred  = 12 // where it goes on to run deferred calls; 0: none
	funcFrame     = 16 // the stream of frame sizes
	funcFile      = 20 // the stream of files
	funcLine      = 24 // the stream of lines
	funcStreams   = 28 // how many other streams
	funcUnit      = 32 // offset in units
	funcStartLine = 36
	funcKind      = 40 // a byte: 0 for all but wrappers and some of the runtime's own
	funcData      = 43 // a byte: how many data
	funcBytes     = 44
)

// Kinds of streams and data, of internal/abi/symtab.go.
const (
	streamUnsafe  = 0 // where a signal may not preempt
	streamInlined = 2 // index in dataInlined
	streamLive    = 3 // index in dataLive
	streamKinds   = 5
	dataInlined   = 3 // tree of inlined calls
	dataArguments = 5 // where the arguments are, to print them
	dataLive      = 6 // which of them still hold what the caller gave
	dataKinds     = 8
	noData        = 1<<32 - 1
)

// firstFunction is the number of the module's first function, imports not
// counted.
const firstFunction = 0x1000

var headerMagic = []byte{0xf1, 0xff, 0xff, 0xff, 0, 0, 1, 8} // magic, two zeros, quantum, word size

// findFunctions finds the tables and checks what is in them. Its parts share
// memory with m.
func findFunctions(m image) (*functions, error) {
	var found *functions
	for from := 0; ; {
		k := bytes.Index(m[from:], headerMagic)
		if k < 0 {
			break
		}
		if f := readFunctions(m, uint64(from+k)); f != nil {
			if found != nil {
				return nil, ErrLayout // which of them?
			}
			found = f
		}
		from += k + 1
	}
	if found == nil {
		return nil, ErrLayout
	}
	return found, nil
}

// readFunctions reads the tables whose header is at an address, or returns nil
// if one is not there or anything is not as it should be.
func readFunctions(m image, header uint64) *functions {
	const words = 8
	if !m.holds(header, 8+8*words) {
		return nil
	}
	var h [words]uint64
	for k := range h {
		h[k] = m.word(header + 8 + 8*uint64(k))
	}
	// Where each part begins; each ends where the next begins.
	var at [7]uint64
	for k := range 5 {
		at[k] = header + h[3+k]
	}
	if at[0] != header+8+8*words {
		return nil
	}

	// The module data repeats them as slices and says where the others are.
	const functionsWord, tableWord, bucketsWord, firstWord, dataWord = 13, 16, 19, 20, 40
	module := bytes.Index(m, binary.LittleEndian.AppendUint64(binary.LittleEndian.AppendUint64(nil, header), at[0]))
	if module < 0 || !m.holds(uint64(module), 8*(dataWord+1)) {
		return nil
	}
	d := func(k int) uint64 { return m.word(uint64(module + 8*k)) }
	for k, length := range [...]uint64{at[1] - at[0], (at[2] - at[1]) / 4, at[3] - at[2], at[4] - at[3]} {
		if d(1+3*k) != at[k] || d(2+3*k) != length {
			return nil
		}
	}
	at[5], at[6] = d(dataWord), d(bucketsWord)
	if d(functionsWord) != at[4] || d(tableWord) != at[4] || d(tableWord+1) != h[0]+1 || d(firstWord) != firstFunction<<16 {
		return nil
	}
	for k := range at[:6] {
		if at[k] >= at[k+1] || at[k+1] > uint64(len(m)) {
			return nil
		}
	}
	part := func(k int) []byte { return m[at[k]:at[k+1]:at[k+1]] }
	f := &functions{names: part(0), units: part(1), files: part(2), streams: part(3), table: part(4), data: part(5)}
	if !f.read(h[0]) {
		return nil
	}
	return f
}

// read reads the table of functions.
func (f *functions) read(count uint64) bool {
	table := f.table
	if count == 0 || count >= uint64(len(table))/8 || len(f.names) == 0 || f.names[len(f.names)-1] != 0 {
		return false
	}
	pairs := offsets(table[:8*count])
	before := uint32(firstFunction - 1)
	for k := range int(count) {
		number, at := pairs.at(2*k), uint64(pairs.at(2*k+1))
		if number <= before || at < 8*count || at+funcBytes > uint64(len(table)) {
			return false
		}
		before = number
		var g function
		g.fields = table[at : at+funcBytes]
		streams, data := uint64(g.field(funcStreams)), uint64(g.fields[funcData])
		if g.field(funcEntry) != number || streams > streamKinds || data > dataKinds ||
			at+funcBytes+4*(streams+data) > uint64(len(table)) || uint64(g.field(funcName)) >= uint64(len(f.names)) {
			return false
		}
		lists := table[at+funcBytes:][:4*(streams+data)]
		g.streams, g.data = offsets(lists[:4*streams]), offsets(lists[4*streams:])
		for k := range g.data.len() {
			o := g.data.at(k)
			if o == noData {
				continue
			}
			if uint64(o) >= uint64(len(f.data)) {
				return false
			}
			f.begins = append(f.begins, o)
		}
		f.all = append(f.all, g)
	}
	slices.Sort(f.begins)
	f.begins = slices.Compact(f.begins)
	return true
}

func (f *function) field(at int) uint32       { return binary.LittleEndian.Uint32(f.fields[at:]) }
func (f *function) setField(at int, v uint32) { binary.LittleEndian.PutUint32(f.fields[at:], v) }

// name is that of a function, by its offset.
func (f *functions) name(at uint32) string {
	name, _, _ := bytes.Cut(f.names[at:], []byte{0})
	return string(name)
}

// datum is what begins at an offset in data and ends where the next begins.
func (f *functions) datum(at uint32) []byte {
	k, _ := slices.BinarySearch(f.begins, at+1)
	if k == len(f.begins) {
		return f.data[at:]
	}
	return f.data[at:f.begins[k]]
}

// stream returns the stream that begins at an offset, up to and with its end:
// pairs of numbers, until a pair that is not the first would begin with zero.
func (f *functions) stream(at uint32) ([]byte, bool) {
	if uint64(at) >= uint64(len(f.streams)) {
		return nil, false
	}
	r := reader{f.streams[at:]}
	for first := true; ; first = false {
		b, err := r.byte()
		if err != nil {
			return nil, false
		}
		if b == 0 && !first {
			return f.streams[at : len(f.streams)-len(r.rest)], true
		}
		if b >= 0x80 {
			if _, err = r.unsigned(); err != nil {
				return nil, false
			}
		}
		if _, err = r.unsigned(); err != nil {
			return nil, false
		}
	}
}
