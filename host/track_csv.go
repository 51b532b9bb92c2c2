package main

import (
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"spareamps/core"
)

// trackColumns are the columns there are, by the names they go by.
var trackColumns = []struct {
	names []string
	unit  float64 // what a value is multiplied by
	least float64
	most  float64
	allow string
	value func(p *core.TrackPoint) *float64
}{
	{[]string{"time_s"}, 1, 0, 30 * 86400, "0 to 2592000 s since local midnight", func(p *core.TrackPoint) *float64 { return &p.S }},
	{[]string{"lat", "lat_deg", "latitude"}, 1, -90, 90, "-90 to 90 degrees", func(p *core.TrackPoint) *float64 { return &p.LatDeg }},
	{[]string{"lon", "lon_deg", "longitude"}, 1, -180, 180, "-180 to 180 degrees", func(p *core.TrackPoint) *float64 { return &p.LonDeg }},
	{[]string{"ele", "ele_m", "altitude_m"}, 1, -1e6, 1e6, "a number of m", func(p *core.TrackPoint) *float64 { return &p.EleM }},
	{[]string{"speed_kmh", "speed_km_h"}, 1, -1e6, 1e6, "a number of km/h", func(p *core.TrackPoint) *float64 { return &p.SpeedKmh }},
	{[]string{"speed_ms", "speed_m_s"}, 3.6, -1e6, 1e6, "a number of m/s", func(p *core.TrackPoint) *float64 { return &p.SpeedKmh }},
	{[]string{"speed_mph"}, 1.609344, -1e6, 1e6, "a number of mph", func(p *core.TrackPoint) *float64 { return &p.SpeedKmh }},
	{[]string{"engine_rpm"}, 1, -1e6, 1e6, "a number of rpm", func(p *core.TrackPoint) *float64 { return &p.EngineRpm }},
}

const noColumn, timeColumn = -1, -2

// readCSV reads the form that readTrack tells of.
func (t *trackReader) readCSV(in *trackBytes) error {
	var columns []int
	var separator byte
	clock := clockReader{}
	for line := 1; ; line++ {
		text, err := in.line()
		if err == io.EOF {
			break
		}
		where := "line " + itoa(line)
		if err != nil {
			if ended, ok := err.(*trackError); ok {
				return &trackError{where, ended.message}
			}
			return err
		}
		if strings.TrimSpace(text) == "" || text[0] == '#' {
			continue
		}
		if columns == nil {
			separator = separatorOf(text)
		}
		cells, ok := cellsOf(text, separator)
		switch {
		case !ok:
			err = t.tell(where, "points", "", "", "has a quotation mark that does not open or close a cell")
		case columns == nil:
			if columns = t.header(where, cells); columns == nil {
				return errTooManyTold
			}
		case len(cells) != len(columns):
			err = t.tell(where, "points", "", "", "has "+itoa(len(cells))+" cells, the header has "+itoa(len(columns)))
		default:
			err = t.record(line, cells, columns, separator, &clock)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// header tells the column of each cell; nil where a track is not told by them.
func (t *trackReader) header(where string, cells []string) []int {
	columns := make([]int, len(cells))
	var seen []int
	has := func(names ...string) bool {
		return slices.ContainsFunc(seen, func(c int) bool { return c >= 0 && slices.Contains(names, trackColumns[c].names[0]) })
	}
	told := len(t.problems)
	speeds := 0
	for i, cell := range cells {
		name := strings.ToLower(strings.TrimSpace(cell))
		columns[i] = noColumn
		if name == "time" {
			columns[i] = timeColumn
		}
		for c := range trackColumns {
			if slices.Contains(trackColumns[c].names, name) {
				columns[i] = c
			}
		}
		switch c := columns[i]; {
		case c == noColumn:
			t.ignored = append(t.ignored, shortText(cell))
			if name == "speed" || name == "rpm" {
				t.hints = append(t.hints, "a column called "+name+" has no unit or says not whose: call it speed_kmh, speed_ms, speed_mph or engine_rpm")
			}
		case slices.Contains(seen, c):
			t.tell(where, "points", cell, "", "has a column twice:")
		default:
			seen = append(seen, c)
			if strings.HasPrefix(name, "speed") {
				speeds++
			}
		}
	}
	const need = "time or time_s, and speed_kmh, speed_ms, speed_mph, or lat and lon"
	switch {
	case slices.Contains(seen, timeColumn) == has("time_s"):
		t.tell(where, "points", "", "", "has to name one column of times in its header: time or time_s")
	case speeds > 1:
		t.tell(where, "points", "", "", "names more than one column of speeds")
	case speeds == 0 && !(has("lat") && has("lon")):
		t.tell(where, "points", "", "", "names neither a speed nor lat and lon in its header; needed are "+need)
	}
	if len(t.problems) > told {
		return nil
	}
	t.hints = nil
	return columns
}

// record reads a line of cells.
func (t *trackReader) record(line int, cells []string, columns []int, separator byte, clock *clockReader) error {
	none := math.NaN()
	p := core.TrackPoint{S: none, LatDeg: none, LonDeg: none, EleM: none, SpeedKmh: none, EngineRpm: none}
	where, good := "line "+itoa(line), true
	for i, c := range columns {
		cell := strings.TrimSpace(cells[i])
		if c == noColumn || cell == "" && c != timeColumn && c != 0 {
			continue
		}
		if c == timeColumn {
			s, ok := clock.read(t, cell)
			if !ok {
				good = false
				if _, number := decimal(cell); number && len(t.hints) == 0 {
					t.hints = []string{"seconds since midnight go into a column called time_s"}
				}
				if err := t.tell(where, "points", orEmpty(cell), "a date with time such as 2026-07-24T08:00:00Z, or 08:00:00, as in the lines before", "time is"); err != nil {
					return err
				}
			}
			p.S = s
			continue
		}
		if separator != ',' && !strings.Contains(cell, ".") {
			cell = strings.Replace(cell, ",", ".", 1)
		}
		column := &trackColumns[c]
		v, ok := decimal(cell)
		if !ok || v < column.least || v > column.most {
			good = false
			if err := t.tell(where, "points", orEmpty(cells[i]), column.allow, column.names[0]+" is"); err != nil {
				return err
			}
		}
		*column.value(&p) = v * column.unit
	}
	if !good {
		return nil
	}
	return t.add(p, line)
}

func orEmpty(cell string) string {
	if strings.TrimSpace(cell) == "" {
		return "empty"
	}
	return cell
}

// A clockReader reads times that all have a date or all have none.
type clockReader struct {
	form byte    // 'd' with date, 'c' without, 0 before the first
	last float64 // s, without date
}

func (c *clockReader) read(t *trackReader, cell string) (s float64, ok bool) {
	if c.form != 'c' {
		if at, ok := instant(cell, t.offset); ok {
			c.form = 'd'
			return t.since(at), true
		}
	}
	if c.form != 'd' {
		if s, ok := clockSeconds(cell); ok {
			s += 86400 * math.Floor(c.last/86400)
			if c.form == 'c' && s < c.last-43200 { // a midnight passed, no clock set back
				s += 86400
			}
			c.form, c.last = 'c', s
			return s, true
		}
	}
	return 0, false
}

// clockSeconds reads 8:00, 08:00:00 and 08:00:00.5.
func clockSeconds(cell string) (float64, bool) {
	parts := strings.Split(cell, ":")
	if len(parts) < 2 || len(parts) > 3 {
		return 0, false
	}
	total := 0.0
	for i, most := range []float64{23, 59, 59.9999}[:len(parts)] {
		whole, _, fraction := strings.Cut(parts[i], ".")
		n, err := strconv.ParseUint(whole, 10, 8)
		v, ok := decimal(parts[i])
		if err != nil || !ok || float64(n) > most || v < 0 || fraction && i < 2 || len(whole) > 2 {
			return 0, false
		}
		total = total*60 + v
	}
	if len(parts) == 2 {
		total *= 60
	}
	return total, true
}

// separatorOf is what parts the cells of a header.
func separatorOf(header string) byte {
	for _, c := range []byte{'\t', ';'} {
		if strings.IndexByte(header, c) >= 0 {
			return c
		}
	}
	return ','
}

// cellsOf parts a line. A cell in quotation marks may hold the separator, and
// quotation marks doubled; it ends in the line it began in.
func cellsOf(line string, separator byte) (cells []string, ok bool) {
	for {
		rest, quoted := strings.CutPrefix(line, `"`)
		if !quoted {
			cell, more, found := strings.Cut(line, string(separator))
			if strings.Contains(cell, `"`) {
				return nil, false
			}
			cells = append(cells, cell)
			if !found {
				return cells, true
			}
			line = more
			continue
		}
		var cell strings.Builder
		for {
			part, more, found := strings.Cut(rest, `"`)
			if !found {
				return nil, false
			}
			cell.WriteString(part)
			if rest = more; !strings.HasPrefix(rest, `"`) {
				break
			}
			cell.WriteByte('"')
			rest = rest[1:]
		}
		cells = append(cells, cell.String())
		if rest == "" {
			return cells, true
		}
		if rest[0] != separator {
			return nil, false
		}
		line = rest[1:]
	}
}
