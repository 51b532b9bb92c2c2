package service

import (
	"encoding/binary"
	"math"
	"net/http"
	"strconv"
)

// A sweep is a header and where its numbers stand.
type sweep struct {
	header
	at int // of the first number in the body
}

// readBlock reads the header of a binary block. Its numbers are read when it
// is known that they may be.
func readBlock(body []byte) (*sweep, []float64, *problem) {
	if len(body) < 4 {
		return nil, nil, notBlock("shorter than the length of its header")
	}
	n := int64(binary.LittleEndian.Uint32(body))
	if n > int64(len(body))-4 {
		return nil, nil, notBlock("shorter than its header")
	}
	h := &sweep{at: (4 + int(n) + 7) &^ 7}
	if p := decode(body[4:4+n], &h.header); p != nil {
		return nil, nil, p
	}
	return h, nil, nil
}

// values reads the columns. A block without numbers may leave its padding out.
func (h *sweep) values(body []byte) ([]float64, *problem) {
	n := len(h.Inputs) * h.Rows // neither is large any more
	end := h.at + 8*n
	if n == 0 && len(body) <= h.at {
		return nil, nil
	}
	if len(body) != end {
		return nil, notBlock("of " + strconv.Itoa(len(body)) + " bytes, by its header it has " + strconv.Itoa(end))
	}
	in := make([]float64, n)
	for i := range in {
		in[i] = math.Float64frombits(binary.LittleEndian.Uint64(body[h.at+8*i:]))
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
