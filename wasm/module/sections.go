package module

import "bytes"

const headerBytes = 8 // magic and version

// Ids of sections.
const (
	importSection = 2
	codeSection   = 10
	dataSection   = 11
)

type section struct {
	id   byte
	body []byte
}

func readSections(module []byte) ([]section, error) {
	if len(module) < headerBytes {
		return nil, errShort
	}
	var sections []section
	r := reader{module[headerBytes:]}
	for len(r.rest) > 0 {
		id, err := r.byte()
		if err != nil {
			return nil, err
		}
		body, err := r.sized()
		if err != nil {
			return nil, err
		}
		sections = append(sections, section{id, body})
	}
	return sections, nil
}

func appendSections(header []byte, sections []section) []byte {
	module := append([]byte(nil), header...)
	for _, s := range sections {
		module = appendUnsigned(append(module, s.id), uint64(len(s.body)))
		module = append(module, s.body...)
	}
	return module
}

// bodies are the functions of a module, as their code.
type bodies struct {
	imported uint32 // functions that are imported, and numbered before the others
	code     [][]byte
}

func (b *bodies) readImports(body []byte) error {
	r := reader{body}
	count, err := r.unsigned()
	if err != nil {
		return err
	}
	for range count {
		_, _ = r.sized() // module
		_, _ = r.sized() // name
		kind, err := r.byte()
		if err != nil {
			return err
		}
		if kind != 0 {
			return ErrLayout // Go imports functions only
		}
		if _, err = r.unsigned(); err != nil { // type
			return err
		}
		b.imported++
	}
	return nil
}

func (b *bodies) read(body []byte) error {
	r := reader{body}
	count, err := r.unsigned()
	if err != nil || count > uint64(len(body)) {
		return errShort
	}
	b.code = make([][]byte, count)
	for k := range b.code {
		if b.code[k], err = r.sized(); err != nil {
			return err
		}
	}
	return nil
}

func (b *bodies) append(dst []byte) []byte {
	dst = appendUnsigned(dst, uint64(len(b.code)))
	for _, body := range b.code {
		dst = append(appendUnsigned(dst, uint64(len(body))), body...)
	}
	return dst
}

// mayCall tells whether the bytes of a call of function to are in the body of
// function from. They may be there for another reason; they cannot be missing.
func (b *bodies) mayCall(from, to uint32) bool {
	callee := b.imported + to
	for _, call := range [...][]byte{
		appendSigned([]byte{opCall}, int64(callee)), // Go's linker writes the index signed
		appendUnsigned([]byte{opCall}, uint64(callee)),
	} {
		if bytes.Contains(b.code[from], call) {
			return true
		}
	}
	return false
}
