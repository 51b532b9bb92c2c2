package main

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
	"reflect"

	"github.com/parquet-go/parquet-go"
	"github.com/parquet-go/parquet-go/encoding/thrift"
	"github.com/parquet-go/parquet-go/format"

	"spareamps/core"
)

// parquetWriter writes each group of rows as a row group. A row group is made
// by itself, as the only one of a file in memory, and then put behind those
// before it: so that groups are made side by side, and a part of a file can be
// gone on with or be joined to others, with the same bytes as in one go.
type parquetWriter struct {
	points  *sweepPoints
	outputs []sweepOutput
	schema  *parquet.Schema
	meta    map[string]string // of the file
	shard   *sweepShard       // stands in the file's metadata
}

const parquetMagic = "PAR1"

// dictionaryMost is how many values of an axis are worth a dictionary.
const dictionaryMost = 1024

func newParquetWriter(p *sweepPoints, outputs []sweepOutput, meta map[string]string, shard *sweepShard) *parquetWriter {
	w := &parquetWriter{points: p, outputs: outputs, meta: meta, shard: shard}
	var fields []reflect.StructField
	add := func(name string, kind reflect.Type, tags string) {
		fields = append(fields, reflect.StructField{Name: "F" + itoa(len(fields)), Type: kind,
			Tag: reflect.StructTag(fmt.Sprintf(`parquet:"%s,snappy%s"`, name, tags))})
	}
	number, text := reflect.TypeFor[float64](), reflect.TypeFor[string]()
	for i := range p.columns {
		switch c := &p.columns[i]; {
		case c.names != nil:
			add(c.name(), text, ",dict")
		case w.repeats(i):
			add(c.name(), number, ",dict")
		default:
			add(c.name(), number, "")
		}
	}
	for i := range outputs {
		if outputs[i].Codes != nil {
			add(outputs[i].Path, text, ",optional,dict")
		} else {
			add(outputs[i].Path, number, ",optional")
		}
	}
	add("status", text, ",dict")
	w.schema = parquet.SchemaOf(reflect.New(reflect.StructOf(fields)).Interface())
	return w
}

// repeats says whether a column has few values.
func (w *parquetWriter) repeats(column int) bool {
	for _, f := range w.points.factors {
		for _, c := range f.columns {
			if c == column {
				return f.n <= dictionaryMost
			}
		}
	}
	return false
}

// sweepMeta is what a Parquet file says of itself: units, and where the
// results come from.
func sweepMeta(p *sweepPoints, outputs []sweepOutput, from provenance) map[string]string {
	var units, meanings object
	add := func(name, unit, meaning string) {
		units, meanings = append(units, pair{name, unit}), append(meanings, pair{name, meaning})
	}
	for i := range p.columns {
		if f := p.columns[i].field; f != nil {
			add(f.Path, f.Unit, f.Meaning)
		}
	}
	for _, o := range outputs {
		add(o.Path, o.Unit, o.Meaning)
	}
	add("status", "", "ok, or why a row has no results: conflict or range")
	text := func(v any) string { b, _ := json.Marshal(v); return string(b) }
	meta := map[string]string{"units": text(units), "meanings": text(meanings), "provenance": text(from)}
	var requests []json.RawMessage
	for i := range p.variants {
		if len(requests) == 0 || p.variants[i].rig != p.variants[i-1].rig {
			requests = append(requests, p.variants[i].request)
		}
	}
	meta["requests"] = text(requests)
	return meta
}

// A parquetMaker makes a row group.
type parquetMaker struct {
	buffer bytes.Buffer
	//lint:ignore SA1019 the generic one takes Go structs; these columns are known only when the axes are
	w      *parquet.Writer
	values []parquet.Value
}

func (w *parquetWriter) newMaker() *parquetMaker {
	m := &parquetMaker{values: make([]parquet.Value, 1024)}
	m.w = parquet.NewWriter(&m.buffer, w.schema, parquet.CreatedBy("spareamps", core.Version, "parquet"),
		parquet.PageBufferSize(1<<20), parquet.WriteBufferSize(0), parquet.DataPageStatistics(false))
	return m
}

func (w *parquetWriter) begin() []byte { return []byte(parquetMagic) }

func (w *parquetWriter) rows(g *sweepRows) error {
	m := w.newMaker() // one that is reset loses the names of its columns
	columns := m.w.ColumnWriters()
	write := func(c int, value func(i int) parquet.Value) error {
		for from := 0; from < g.n; from += len(m.values) {
			n := min(len(m.values), g.n-from)
			for i := range n {
				m.values[i] = value(from + i)
			}
			if _, err := columns[c].WriteRowValues(m.values[:n]); err != nil {
				return err
			}
		}
		return nil
	}
	var err error
	c := 0
	for i := range w.points.columns {
		in := g.in[i]
		if names := valuesOf(w.points.columns[i].names, 0, c); names != nil {
			err = write(c, func(i int) parquet.Value { return names[int(in[i])] })
		} else {
			err = write(c, func(i int) parquet.Value { return parquet.DoubleValue(in[i]).Level(0, 0, c) })
		}
		if err != nil {
			return err
		}
		c++
	}
	for o := range w.outputs {
		out, codes := g.out[o], valuesOf(w.outputs[o].Codes, 1, c)
		err = write(c, func(i int) parquet.Value {
			switch {
			case g.status[i] != statusOK:
				return parquet.NullValue().Level(0, 0, c)
			case codes != nil:
				return codes[int(out[i])]
			}
			return parquet.DoubleValue(out[i]).Level(0, 1, c)
		})
		if err != nil {
			return err
		}
		c++
	}
	names := valuesOf(statusNames[:], 0, c)
	if err := write(c, func(i int) parquet.Value { return names[g.status[i]] }); err != nil {
		return err
	}
	if err := m.w.Close(); err != nil {
		return err
	}
	file, err := footerOf(m.buffer.Bytes())
	if err != nil {
		return err
	}
	if len(file.RowGroups) != 1 {
		return fmt.Errorf("%d row groups of one", len(file.RowGroups))
	}
	group := &file.RowGroups[0]
	end := int64(len(parquetMagic))
	for i := range group.Columns {
		c := &group.Columns[i]
		at := c.MetaData.DataPageOffset
		if d := c.MetaData.DictionaryPageOffset; d > 0 && d < at {
			at = d
		}
		end = max(end, at+c.MetaData.TotalCompressedSize)
		// The page index stands behind all row groups; ours have none.
		c.ColumnIndexOffset, c.ColumnIndexLength, c.OffsetIndexOffset, c.OffsetIndexLength = 0, 0, 0, 0
	}
	g.bytes = append(g.bytes[:0], m.buffer.Bytes()[len(parquetMagic):end]...)
	g.meta, err = thrift.Marshal(new(thrift.CompactProtocol), group)
	return err
}

func valuesOf(names []string, level, column int) (values []parquet.Value) {
	for _, name := range names {
		values = append(values, parquet.ByteArrayValue([]byte(name)).Level(0, level, column))
	}
	return values
}

// footerOf reads the footer at the end of a Parquet file.
func footerOf(file []byte) (*format.FileMetaData, error) {
	n := len(file)
	if n < 12 || string(file[n-4:]) != parquetMagic {
		return nil, fmt.Errorf("no Parquet file")
	}
	size := int(binary.LittleEndian.Uint32(file[n-8:]))
	if size > n-12 {
		return nil, fmt.Errorf("no Parquet file")
	}
	var meta format.FileMetaData
	err := thrift.Unmarshal(new(thrift.CompactProtocol), file[n-8-size:n-8], &meta)
	return &meta, err
}

// place moves a row group, made as the first of a file, to where it stands.
func (w *parquetWriter) place(text []byte, at int64, n int) []byte { return placed(text, at, n) }

func placed(text []byte, at int64, n int) []byte {
	var group format.RowGroup
	if err := thrift.Unmarshal(new(thrift.CompactProtocol), text, &group); err != nil {
		panic("host: " + err.Error()) // ours
	}
	by := at - int64(len(parquetMagic))
	for i := range group.Columns {
		c := &group.Columns[i]
		c.MetaData.DataPageOffset += by
		if c.MetaData.DictionaryPageOffset > 0 {
			c.MetaData.DictionaryPageOffset += by
		}
		if c.FileOffset > 0 {
			c.FileOffset += by
		}
	}
	if group.FileOffset > 0 {
		group.FileOffset += by
	}
	group.Ordinal = int16(min(n, math.MaxInt16))
	text, err := thrift.Marshal(new(thrift.CompactProtocol), &group)
	if err != nil {
		panic("host: " + err.Error())
	}
	return text
}

func (w *parquetWriter) end(groups [][]byte) []byte {
	m := w.newMaker()
	if err := m.w.Close(); err != nil { // an empty file: schema, column orders
		panic("host: " + err.Error())
	}
	file, err := footerOf(m.buffer.Bytes())
	if err != nil {
		panic("host: " + err.Error())
	}
	for _, key := range []string{"provenance", "requests", "units", "meanings"} {
		file.KeyValueMetadata = append(file.KeyValueMetadata, format.KeyValue{Key: key, Value: w.meta[key]})
	}
	if w.shard != nil {
		text, _ := json.Marshal(w.shard)
		file.KeyValueMetadata = append(file.KeyValueMetadata, format.KeyValue{Key: shardKey, Value: string(text)})
	}
	return footer(file, groups)
}

// footer writes the end of a file with row groups.
func footer(file *format.FileMetaData, groups [][]byte) []byte {
	file.RowGroups, file.NumRows = nil, 0
	for _, text := range groups {
		var group format.RowGroup
		if err := thrift.Unmarshal(new(thrift.CompactProtocol), text, &group); err != nil {
			panic("host: " + err.Error())
		}
		file.RowGroups = append(file.RowGroups, group)
		file.NumRows += group.NumRows
	}
	text, err := thrift.Marshal(new(thrift.CompactProtocol), file)
	if err != nil {
		panic("host: " + err.Error())
	}
	text = binary.LittleEndian.AppendUint32(text, uint32(len(text)))
	return append(text, parquetMagic...)
}
