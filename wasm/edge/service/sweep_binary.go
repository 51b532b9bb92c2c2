package service

import (
	"bytes"
	"encoding/binary"
	"math"
	"net/http"
	"strconv"
)

// A seen is the text of a header that was found good, and what it says: blocks
// of one sweep mostly differ in their numbers alone.
type seen struct {
	text []byte
	header
}

// readBlock reads a block in binary form.
func (s *Service) readBlock(body []byte) (*header, []float64, *problem) {
	if len(body) < 4 {
		return nil, nil, notBlock("shorter than the length of its header")
	}
	n := int64(binary.LittleEndian.Uint32(body))
	if n > int64(len(body))-4 {
		return nil, nil, notBlock("shorter than its header")
	}
	text := body[4 : 4+n]
	last := s.last.Load()
	if last == nil || !bytes.Equal(last.text, text) {
		last = &seen{text: text}
		p := decode(text, &last.header)
		if p == nil {
			p = s.check(&last.header)
		}
		if p != nil {
			return nil, nil, p
		}
		last.text = bytes.Clone(text) // and not the whole body
		s.last.Store(last)
	}
	in, p := values(body, (4+int(n)+7)&^7, len(last.Inputs)*last.Rows)
	return &last.header, in, p
}

// values reads n numbers from at on. A block without numbers may leave its
// padding out.
func values(body []byte, at, n int) ([]float64, *problem) {
	end := at + 8*n
	if n == 0 && len(body) <= at {
		return nil, nil
	}
	if len(body) != end {
		return nil, notBlock("of " + strconv.Itoa(len(body)) + " bytes, by its header it has " + strconv.Itoa(end))
	}
	in := make([]float64, n)
	for i := range in {
		in[i] = math.Float64frombits(binary.LittleEndian.Uint64(body[at+8*i:]))
	}
	return in, nil
}

// blockText writes the columns of an answer.
func blockText(out []float64) []byte {
	text := make([]byte, 8*len(out))
	for i, v := range out {
		binary.LittleEndian.PutUint64(text[8*i:], math.Float64bits(v))
	}
	return text
}

func notBlock(what string) *problem {
	return refused(http.StatusBadRequest, "block", "", "", "length, header, padding, columns", "the block is "+what)
}
