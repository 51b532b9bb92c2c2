package service

import (
	"bytes"
	"encoding/json"
	"net/http"
	"strconv"
	"strings"

	"spareamps/core"
	"spareamps/wasm/edge/schema"
)

// BlockType is the media type of a block of columns; see the package comment.
const BlockType = schema.BlockType

// A header is what a sweep says beside its numbers.
type header struct {
	Request json.RawMessage `json:"request"`
	Inputs  []string        `json:"inputs"`
	Outputs []string        `json:"outputs"`
	Rows    int             `json:"rows"`
}

// names are the names of columns as the core takes them.
func (h *header) names() []byte {
	return []byte(strings.Join(h.Inputs, "\n") + "\n\n" + strings.Join(h.Outputs, "\n"))
}

// prepared is the last block of a rig and its columns: who sweeps asks for the
// same one many times.
type prepared struct {
	request, names []byte
	block          *core.Block
}

// pointsAtOnce are computed between two looks at the clock, in points.
const pointsAtOnce = 2000

func (s *Service) sweep(r *http.Request) (reply, *problem) {
	kind, p := mediaType(r, jsonType, BlockType)
	if p != nil {
		return reply{}, p
	}
	body, p := s.body(r, s.MaxBody)
	if p != nil {
		return reply{}, p
	}
	read := s.readJSON
	if kind == BlockType {
		read = s.readBlock
	}
	h, in, p := read(body)
	if p != nil {
		return reply{}, p
	}
	out, p := s.compute(r, h, in)
	if p != nil {
		return reply{}, p
	}
	if kind == BlockType {
		return reply{kind: BlockType, body: blockText(out)}, nil
	}
	return reply{kind: jsonType, body: columnsText(h, out)}, nil
}

// check refuses what would cost too much, or could not be meant.
func (s *Service) check(h *header) *problem {
	for _, path := range append(h.Inputs[:len(h.Inputs):len(h.Inputs)], h.Outputs...) {
		if path == "" || strings.ContainsAny(path, "\r\n") {
			return refused(http.StatusUnprocessableEntity, "bad_input", "inputs and outputs", "", "paths of the tables in /v1/about", "the name of a column is empty or has a line break")
		}
	}
	if len(h.Request) == 0 {
		return refused(http.StatusBadRequest, "json", "request", "", "an object", "request is missing")
	}
	if len(h.Request) > maxText {
		return tooLarge(maxText)
	}
	if h.Rows < 0 {
		return refused(http.StatusUnprocessableEntity, "bad_input", "rows", strconv.Itoa(h.Rows), "0 or more", "rows is negative")
	}
	columns := max(len(h.Inputs), len(h.Outputs)+1)
	most := min(s.MaxPoints/Points(h.Inputs, h.Outputs, 1), maxValues/columns)
	if h.Rows > most {
		return refused(http.StatusRequestEntityTooLarge, "too_many_points", "rows", strconv.Itoa(h.Rows), "at most "+strconv.Itoa(most), "more rows of such columns than one request may have: send them in parts")
	}
	return nil
}

// compute runs a block in parts, as long as there is time and somebody waits.
func (s *Service) compute(r *http.Request, h *header, in []float64) ([]float64, *problem) {
	ctx, done, p := s.turn(r)
	if p != nil {
		return nil, p
	}
	defer done()
	names := h.names()
	held := s.blocks.Get().(*prepared)
	if held.block == nil || !bytes.Equal(held.request, h.Request) || !bytes.Equal(held.names, names) {
		block, text := core.NewBlock(h.Request, names)
		if text != nil {
			s.blocks.Put(held)
			return nil, ofCore(text)
		}
		*held = prepared{bytes.Clone(h.Request), names, block}
	}
	inputs, outputs := held.block.Inputs(), held.block.Outputs()
	part := max(1, pointsAtOnce/Points(h.Inputs, h.Outputs, 1))
	out := make([]float64, outputs*h.Rows)
	if h.Rows <= part {
		held.block.Run(in, out, h.Rows)
		s.blocks.Put(held) // not by defer: after a panic it is not used again
		return out, nil
	}
	partIn, partOut := make([]float64, inputs*part), make([]float64, outputs*part)
	for from := 0; from < h.Rows; from += part {
		if ctx.Err() != nil {
			s.blocks.Put(held)
			return nil, &problem{Status: http.StatusUnprocessableEntity, Code: "time", Detail: "computing takes longer than one request may: send the rows in parts"}
		}
		n := min(part, h.Rows-from)
		for c := range inputs {
			copy(partIn[c*n:(c+1)*n], in[c*h.Rows+from:])
		}
		held.block.Run(partIn, partOut, n)
		for c := range outputs {
			copy(out[c*h.Rows+from:c*h.Rows+from+n], partOut[c*n:])
		}
	}
	s.blocks.Put(held)
	return out, nil
}
