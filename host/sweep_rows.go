package main

import (
	"encoding/json"
	"strconv"
)

// What a row's status is called.
const (
	statusOK = iota
	statusRange
	statusConflict
)

var statusNames = [...]string{statusOK: "ok", statusRange: "range", statusConflict: "conflict"}

// sweepRows are rows that are computed and written together.
type sweepRows struct {
	index    int64 // which group of the sweep
	from     int64 // number of the first
	n        int
	in       [][]float64 // by column
	steps    [][]int64   // by factor
	variants []int32
	out      [][]float64 // by output; of a name its code
	status   []uint8
	bytes    []byte // as written
	meta     []byte // of a Parquet row group
	summary  *sweepSummary
	scratch  []float64
	order    []int32
}

// A rowWriter writes rows in one format.
type rowWriter interface {
	begin() []byte                             // what stands before all rows
	rows(g *sweepRows) error                   // into g.bytes and g.meta
	end(metas [][]byte) []byte                 // what stands behind all rows
	place(meta []byte, at int64, n int) []byte // meta of a group that begins at a byte
}

// textWriter is what CSV and JSON Lines have in common.
type textWriter struct {
	points  *sweepPoints
	outputs []sweepOutput
}

func (w *textWriter) end([][]byte) []byte { return nil }

func (w *textWriter) place(meta []byte, _ int64, _ int) []byte { return meta }

// csvWriter writes comma separated values, a header first; a row that has no
// answer has empty results.
type csvWriter struct{ textWriter }

func (w *csvWriter) begin() []byte {
	var b []byte
	for i := range w.points.columns {
		b = append(append(b, w.points.columns[i].name()...), ',')
	}
	for i := range w.outputs {
		b = append(append(b, w.outputs[i].Path...), ',')
	}
	return append(b, "status\n"...)
}

func (w *csvWriter) rows(g *sweepRows) error {
	b := g.bytes[:0]
	for i := range g.n {
		for k, f := range w.points.factors {
			for j, c := range f.columns {
				if texts := f.texts[j]; len(texts) > 0 {
					b = append(b, quoted(texts[g.steps[k][i]])...)
				} else {
					b = append(b, quoted(w.points.columns[c].append(nil, g.in[c][i]))...)
				}
				b = append(b, ',')
			}
		}
		for _, c := range w.points.sampled {
			b = append(strconv.AppendFloat(b, g.in[c][i], 'g', -1, 64), ',')
		}
		for o := range w.outputs {
			if g.status[i] == statusOK {
				b = w.outputs[o].append(b, g.out[o][i])
			}
			b = append(b, ',')
		}
		b = append(append(b, statusNames[g.status[i]]...), '\n')
	}
	g.bytes = b
	return nil
}

// quoted puts a cell into quotes where it needs them (RFC 4180).
func quoted(cell []byte) []byte {
	plain := true
	for _, c := range cell {
		if c == ',' || c == '"' || c == '\n' || c == '\r' || c == '#' {
			plain = false
		}
	}
	if plain {
		return cell
	}
	q := []byte{'"'}
	for _, c := range cell {
		if c == '"' {
			q = append(q, '"')
		}
		q = append(q, c)
	}
	return append(q, '"')
}

// append writes a result.
func (o *sweepOutput) append(b []byte, v float64) []byte {
	if o.Codes != nil {
		return append(b, o.Codes[int(v)]...)
	}
	return strconv.AppendFloat(b, v, 'g', -1, 64)
}

// jsonWriter writes an object a line, its names those of the tables.
type jsonWriter struct {
	textWriter
	keys [][]byte // by column, then by output: what stands before its value
}

func newJSONWriter(w textWriter) *jsonWriter {
	j := &jsonWriter{textWriter: w}
	key := func(name string) {
		before := byte(',')
		if len(j.keys) == 0 {
			before = '{'
		}
		j.keys = append(j.keys, append(append([]byte{before}, jsonText(name)...), ':'))
	}
	for i := range w.points.columns {
		key(w.points.columns[i].name())
	}
	for i := range w.outputs {
		key(w.outputs[i].Path)
	}
	key("status")
	return j
}

func jsonText(s string) []byte {
	b, _ := json.Marshal(s)
	return b
}

func (w *jsonWriter) begin() []byte { return nil }

func (w *jsonWriter) rows(g *sweepRows) error {
	b := g.bytes[:0]
	for i := range g.n {
		for c := range w.points.columns {
			b = append(b, w.keys[c]...)
			if column := &w.points.columns[c]; column.names != nil {
				b = append(b, jsonText(column.names[int(g.in[c][i])])...)
			} else {
				b = strconv.AppendFloat(b, g.in[c][i], 'g', -1, 64)
			}
		}
		for o := range w.outputs {
			b = append(b, w.keys[len(w.points.columns)+o]...)
			switch {
			case g.status[i] != statusOK:
				b = append(b, "null"...)
			case w.outputs[o].Codes != nil:
				b = append(w.outputs[o].append(append(b, '"'), g.out[o][i]), '"')
			default:
				b = w.outputs[o].append(b, g.out[o][i])
			}
		}
		b = append(b, w.keys[len(w.keys)-1]...)
		b = append(append(append(b, '"'), statusNames[g.status[i]]...), "\"}\n"...)
	}
	g.bytes = b
	return nil
}
