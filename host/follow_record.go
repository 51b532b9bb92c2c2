package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
)

// followFields are what a record may hold beside time and obd, with the range
// in which a value is believed: that of the table of inputs where it has one.
var followFields = []followField{
	{"engine_rpm", 0, 8000, "0 to 8000 rpm"},
	{"speed_kmh", 0, 200, "0 to 200 km/h"},
	{"ambient_C", -40, 60, "-40 to 60 °C"},
	{"bus_V", 0, 40, "0 to 40 V"},
	{"charger_A", 0, 500, "0 to 500 A"},
}

type followField struct {
	name        string
	least, most float64
	allow       string
}

// A record is what one line told.
type record struct {
	seconds float64 // since some midnight or 1970; NaN: not told
	values  map[string]float64
	odd     []string // what of it is not believed
}

// A recordReader reads lines: JSON objects, CSV behind a header, and bare
// responses of SAE J1979, in any mixture.
type recordReader struct {
	columns   []string // of CSV; nil before its header
	separator byte
	lastClock float64 // of a time without date
}

// read reads a line; nil without an error where it holds nothing.
func (r *recordReader) read(line string) (*record, error) {
	line = strings.TrimSpace(line)
	it := &record{seconds: math.NaN(), values: map[string]float64{}}
	switch {
	case line == "" || line[0] == '#' || line == ">":
		return nil, nil
	case line[0] == '{':
		var object map[string]any
		d := json.NewDecoder(strings.NewReader(line))
		d.UseNumber()
		if err := d.Decode(&object); err != nil {
			return nil, errors.New("not a JSON object")
		}
		for name, value := range object {
			if err := r.cell(it, name, value); err != nil {
				return nil, err
			}
		}
		return it, nil
	case isPIDs(line):
		return it, readPIDs(line, it.set)
	}
	if cells, ok := cellsOf(line, separatorOf(line)); ok && isHeader(cells) {
		r.separator, r.columns = separatorOf(line), nil
		for _, cell := range cells {
			r.columns = append(r.columns, strings.TrimSpace(cell))
		}
		return nil, nil
	}
	if r.columns == nil {
		return nil, errors.New("neither a JSON object, a response, nor a header of CSV")
	}
	cells, ok := cellsOf(line, r.separator)
	if !ok || len(cells) != len(r.columns) {
		return nil, fmt.Errorf("not the %d cells of the header", len(r.columns))
	}
	for i, cell := range cells {
		if cell = strings.TrimSpace(cell); cell != "" {
			if err := r.cell(it, r.columns[i], cell); err != nil {
				return nil, err
			}
		}
	}
	return it, nil
}

// isHeader tells whether cells are names, some of them known.
func isHeader(cells []string) bool {
	known := 0
	for _, cell := range cells {
		name := strings.TrimSpace(cell)
		if _, number := decimal(name); number {
			return false
		}
		if name == "obd" || slices.ContainsFunc(followFields, func(f followField) bool { return f.name == name }) {
			known++
		}
	}
	return known > 0
}

// cell takes one value of a record. Names it does not know are left alone; a
// null is a value that was not read.
func (r *recordReader) cell(it *record, name string, value any) error {
	text := ""
	switch value := value.(type) {
	case nil:
		return nil
	case string:
		text = value
	case json.Number:
		text = value.String()
	case []any:
		if name != "obd" {
			return fmt.Errorf("%s is a list", name)
		}
		for _, one := range value {
			if err := r.cell(it, name, one); err != nil {
				return err
			}
		}
		return nil
	default:
		text = fmt.Sprint(value)
	}
	if name == "time" || name == "time_s" {
		seconds, ok := r.time(text)
		if !ok {
			return fmt.Errorf("time is %s", shortText(text))
		}
		it.seconds = seconds
		return nil
	}
	if name == "obd" {
		return readPIDs(text, it.set)
	}
	for i := range followFields {
		if followFields[i].name != name {
			continue
		}
		if r.separator == ';' {
			text = strings.Replace(text, ",", ".", 1)
		}
		v, ok := decimal(text)
		if !ok {
			return fmt.Errorf("%s is %s, allowed is %s", name, shortText(text), followFields[i].allow)
		}
		it.set(name, v)
	}
	return nil
}

// set takes a value if it can be true.
func (it *record) set(name string, value float64) {
	for _, f := range followFields {
		if f.name == name && !(value >= f.least && value <= f.most) {
			it.odd = append(it.odd, name+" is "+number(value)+", allowed is "+f.allow)
			return
		}
	}
	it.values[name] = value
}

// time reads seconds, a date with time, or a time of day; the last passes
// midnight when it goes back by more than half a day.
func (r *recordReader) time(text string) (float64, bool) {
	if v, ok := decimal(text); ok {
		return v, math.Abs(v) < 1e11
	}
	if at, ok := instant(text, 0); ok {
		return float64(at.UnixMilli()) / 1000, true
	}
	s, ok := clockSeconds(text)
	if !ok {
		return 0, false
	}
	s += 86400 * math.Floor(r.lastClock/86400)
	if s < r.lastClock-43200 {
		s += 86400
	}
	r.lastClock = s
	return s, true
}

// clockOf is the time of day of seconds, as hh:mm:ss.
func clockOf(seconds float64) string {
	return time.Unix(int64(math.Floor(seconds)), 0).UTC().Format("15:04:05")
}
