package module

import (
	"bytes"
	"errors"
	"iter"
	"slices"
	"strings"
)

// ErrLayout says that a module is not laid out as by Go 1.26, so that nothing
// can safely be taken out of its tables.
var ErrLayout = errors.New("the tables of functions are not those of Go 1.26")

// knownVersion is in every module whose layout we know. The kinds of streams
// and data are renumbered between Go versions, and the tables do not tell.
const knownVersion = "go1.26."

// DropNames returns the module without what only traces of a crash, profiles
// and preemption by signals read: names, files and lines of functions, where
// their arguments are, what was inlined into them. In its place are zeros,
// which cost nothing after compression. The functions that would read it, or
// that never run, are emptied; see unused.go.
//
// What the runtime reads while a program runs is kept: frame sizes, maps of
// pointers, stack objects, deferred calls. So is what little it asks of the rest:
//
//   - whether a name begins with "runtime." (such goroutines are the runtime's
//     own);
//   - the names of functions that call panicwrap, which takes them apart;
//   - what is inlined into functions that call gorecover, and into wrappers:
//     recover counts frames.
func DropNames(module []byte) ([]byte, error) {
	sections, err := readSections(module)
	if err != nil {
		return nil, err
	}
	var m image
	var code bodies
	dataAt, codeAt := -1, -1
	for k, s := range sections {
		switch s.id {
		case importSection:
			err = code.readImports(s.body)
		case codeSection:
			err = code.read(s.body)
			codeAt = k
		case dataSection:
			var segments []segment
			if segments, err = readSegments(s.body); err == nil {
				m, err = flatten(segments)
			}
			dataAt = k
		}
		if err != nil {
			return nil, err
		}
	}
	if dataAt < 0 || codeAt < 0 || !bytes.Contains(m, []byte(knownVersion)) {
		return nil, ErrLayout
	}
	f, err := findFunctions(m)
	if err != nil {
		return nil, err
	}
	if last := f.all[len(f.all)-1].field(funcEntry); int(last) >= firstFunction+len(code.code) {
		return nil, ErrLayout
	}
	inlined := f.inlined(&code)
	f.empty(&code) // while they have names
	if !f.dropStreams(inlined) || !f.dropData(inlined) || !f.dropNames(&code) || !f.pack() {
		return nil, ErrLayout
	}
	sections[dataAt].body = appendSegments(nil, m.cut())
	sections[codeAt].body = code.append(nil)
	return appendSections(module[:headerBytes], sections), nil
}

// callers tells for each function whether it may call the one of that name.
func (f *functions) callers(code *bodies, name string) []bool {
	may := make([]bool, len(f.all))
	for k := range f.all {
		if f.name(f.all[k].field(funcName)) != name {
			continue
		}
		callee := f.all[k].field(funcEntry) - firstFunction
		for k := range f.all {
			may[k] = may[k] || code.mayCall(f.all[k].field(funcEntry)-firstFunction, callee)
		}
	}
	return may
}

// dropNames leaves of the names what is asked for.
func (f *functions) dropNames(code *bodies) bool {
	const own = "runtime."
	taken := f.callers(code, "runtime.panicwrap")
	kept := append([]byte{0}, own+"\x00"...) // offset 0 is no name
	for k := range f.all {
		g := &f.all[k]
		name := f.name(g.field(funcName))
		switch {
		case taken[k], strings.HasPrefix(name, "reflect."): // two of reflect's own are known by name
			g.setField(funcName, uint32(len(kept)))
			kept = append(append(kept, name...), 0)
		case strings.HasPrefix(name, own):
			g.setField(funcName, 1)
		default:
			g.setField(funcName, 0)
		}
		g.setField(funcUnit, 0)
		g.setField(funcStartLine, 0)
	}
	if len(kept) > len(f.names) {
		return false
	}
	clear(f.names[copy(f.names, kept):])
	clear(f.units)
	clear(f.files)
	return true
}

// dropStreams leaves the streams that are read, closely packed: small offsets
// that grow slowly take less after compression.
func (f *functions) dropStreams(inlined []bool) bool {
	packed := []byte{0} // offset 0 is no stream
	moved := map[uint32]uint32{0: 0}
	ok := true
	move := func(at uint32) uint32 {
		to, done := moved[at]
		if !done {
			stream, complete := f.stream(at)
			ok = ok && complete
			to = uint32(len(packed))
			moved[at], packed = to, append(packed, stream...)
		}
		return to
	}
	for k := range f.all {
		g := &f.all[k]
		g.setField(funcFile, 0)
		g.setField(funcLine, 0)
		g.setField(funcFrame, move(g.field(funcFrame)))
		length := 0 // of the list, without what is missing at its end
		for kind := range g.streams.len() {
			at := g.streams.at(kind)
			if kind == streamUnsafe || kind == streamLive || kind == streamInlined && !inlined[k] {
				at = 0
			}
			if at = move(at); at != 0 {
				length = kind + 1
			}
			g.streams.set(kind, at)
		}
		g.streams = g.streams[:4*length]
	}
	return ok && refill(f.streams, packed)
}

// refill writes the new contents of a table, if they are not longer.
func refill(table, packed []byte) bool {
	if len(packed) > len(table) {
		return false
	}
	clear(table[copy(table, packed):])
	return true
}

// An inlined call: kind as in a _func, name, program counter, first line.
const (
	callKind      = 0
	callName      = 4
	callStartLine = 12
	callBytes     = 16
)

// inlined tells whose inlined calls are kept.
func (f *functions) inlined(code *bodies) []bool {
	kept := f.callers(code, "runtime.gorecover")
	for k := range f.all {
		g := &f.all[k]
		kept[k] = kept[k] || g.fields[funcKind] != 0
		for call := range f.calls(g) {
			kept[k] = kept[k] || call[callKind] != 0
		}
	}
	return kept
}

// calls are the calls inlined into a function.
func (f *functions) calls(g *function) iter.Seq[[]byte] {
	if g.data.len() <= dataInlined || g.data.at(dataInlined) == noData {
		return func(func([]byte) bool) {}
	}
	datum := f.datum(g.data.at(dataInlined))
	return slices.Chunk(datum[:len(datum)/callBytes*callBytes], callBytes)
}

// dropData leaves the data that are read, closely packed.
func (f *functions) dropData(inlined []bool) bool {
	var packed []byte
	moved := map[uint32]uint32{noData: noData}
	move := func(at uint32) uint32 {
		to, done := moved[at]
		if !done {
			align := uint32(8) // of it now, which is at least what it needs
			for at%align != 0 {
				align /= 2
			}
			for uint32(len(packed))%align != 0 {
				packed = append(packed, 0)
			}
			to = uint32(len(packed))
			moved[at], packed = to, append(packed, f.datum(at)...)
		}
		return to
	}
	for k := range f.all {
		g := &f.all[k]
		if inlined[k] {
			for call := range f.calls(g) {
				clear(call[callName:][:4])
				clear(call[callStartLine:][:4])
			}
		}
		length := 0
		for kind := range g.data.len() {
			at := g.data.at(kind)
			if kind == dataArguments || kind == dataLive || kind == dataInlined && !inlined[k] {
				at = noData
			}
			if at = move(at); at != noData {
				length = kind + 1
			}
			g.data.set(kind, at)
		}
		g.data = g.data[:4*length]
	}
	return refill(f.data, packed)
}

// pack writes the table of functions anew, with the lists as they are now.
func (f *functions) pack() bool {
	head := 8*len(f.all) + 4 // pairs of number and place, and where the last ends
	packed := append([]byte(nil), f.table[:head]...)
	for k := range f.all {
		g := &f.all[k]
		for len(packed)%8 != 0 {
			packed = append(packed, 0)
		}
		offsets(packed).set(2*k+1, uint32(len(packed)))
		g.setField(funcStreams, uint32(g.streams.len()))
		g.fields[funcData] = byte(g.data.len())
		packed = append(append(append(packed, g.fields...), g.streams...), g.data...)
	}
	return refill(f.table, packed)
}
