package service

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"strconv"
)

// decode reads one JSON object and nothing else.
func decode(text []byte, into any) *problem {
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	err := d.Decode(into)
	if err == nil {
		if _, err = d.Token(); err == io.EOF {
			return nil
		}
		err = errors.New("something follows the object")
	}
	return refused(http.StatusBadRequest, "json", "", "", `{"request":{…},"inputs":[…],"outputs":[…],…}`, "not a sweep: "+shortened(err.Error()))
}

// shortened keeps a message from repeating much of what was sent.
func shortened(s string) string {
	if len(s) > 120 {
		s = s[:120] + "…"
	}
	return s
}

// readJSON reads a sweep as JSON, numbers and all.
func (s *Service) readJSON(body []byte) (*header, []float64, *problem) {
	var it struct {
		Request json.RawMessage `json:"request"`
		Inputs  []string        `json:"inputs"`
		Outputs []string        `json:"outputs"`
		Columns json.RawMessage `json:"columns"`
	}
	if p := decode(body, &it); p != nil {
		return nil, nil, p
	}
	in, columns, rows, message := numbers(it.Columns)
	switch {
	case message != "":
		return nil, nil, refused(http.StatusBadRequest, "json", "columns", "", "lists of numbers, one for each input", "columns: "+message)
	case columns != len(it.Inputs):
		return nil, nil, refused(http.StatusUnprocessableEntity, "bad_input", "columns", strconv.Itoa(columns), strconv.Itoa(len(it.Inputs)), "there are not as many columns as inputs")
	case columns == 0:
		rows = 1
	}
	h := &header{Request: it.Request, Inputs: it.Inputs, Outputs: it.Outputs, Rows: rows}
	return h, in, s.check(h)
}

// numbers reads [[1,2],[3,4]]. The text is valid JSON already.
func numbers(text []byte) (values []float64, columns, rows int, message string) {
	at := 0
	next := func() byte {
		for at < len(text) {
			switch c := text[at]; c {
			case ' ', '\t', '\r', '\n', ',':
				at++
			default:
				return c
			}
		}
		return 0
	}
	if len(text) == 0 {
		return nil, 0, 0, ""
	}
	if next() != '[' {
		return nil, 0, 0, "not a list"
	}
	for at++; next() != ']'; columns++ {
		if next() != '[' {
			return nil, 0, 0, "column " + strconv.Itoa(columns) + " is not a list"
		}
		n := 0
		for at++; next() != ']'; n++ {
			start := at
			for at < len(text) && (text[at] >= '0' && text[at] <= '9' || text[at] == '.' || text[at] == '-' || text[at] == '+' || text[at]|0x20 == 'e') {
				at++
			}
			v, err := strconv.ParseFloat(string(text[start:at]), 64)
			if err != nil {
				return nil, 0, 0, "row " + strconv.Itoa(n) + " of column " + strconv.Itoa(columns) + " is not a number that can be held"
			}
			values = append(values, v)
		}
		at++
		if columns > 0 && n != rows {
			return nil, 0, 0, "column " + strconv.Itoa(columns) + " has " + strconv.Itoa(n) + " rows, those before have " + strconv.Itoa(rows)
		}
		rows = n
	}
	return values, columns, rows, ""
}

// columnsText writes the answer as JSON; numbers are the shortest that read
// back to the same bits.
func columnsText(h *header, out []float64) []byte {
	names, _ := json.Marshal(h.Outputs)
	if h.Outputs == nil {
		names = []byte("[]")
	}
	text := append([]byte(`{"outputs":`), names...)
	text = append(text, `,"columns":[`...)
	for c := range h.Outputs {
		if c > 0 {
			text = append(text, ',')
		}
		text = appendColumn(text, out[c*h.Rows:(c+1)*h.Rows])
	}
	text = append(text, `],"status":`...)
	text = appendColumn(text, out[len(h.Outputs)*h.Rows:])
	return append(text, '}')
}

func appendColumn(text []byte, values []float64) []byte {
	text = append(text, '[')
	for i, v := range values {
		if i > 0 {
			text = append(text, ',')
		}
		text = strconv.AppendFloat(text, v, 'g', -1, 64)
	}
	return append(text, ']')
}
