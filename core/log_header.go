package core

import (
	"spareamps/core/jsontext"
	"strings"
)

// header reads a line as a header, if it names a column of times.
func (r *logReader) header(line []byte) bool {
	if r.rep.Headers > 0 && string(line) == string(r.headerText) {
		r.rep.Headers++
		return true
	}
	separator := logSeparator(line)
	isOne := false
	for i := 0; i <= len(line); {
		a, b, next, ok := logCell(line, i, len(line), separator)
		if !ok {
			return false
		}
		if !isOne && b > a && b-a <= logMaxCell {
			r.squeezed = squeeze(r.squeezed[:0], line[a:b])
			c, _, _ := logMatch(r.squeezed, logTime)
			isOne = c >= 0
		}
		i = next
	}
	if !isOne {
		return false
	}
	r.separator, r.columns, r.need = separator, r.columns[:0], 0
	r.unit = [logFields]*logUnit{}
	for i := 0; i <= len(line); {
		a, b, next, _ := logCell(line, i, len(line), separator)
		i = next
		field := uint8(logNoColumn)
		if b > a {
			r.need = len(r.columns) + 1
			field = r.name(line[a:b])
		}
		r.columns = append(r.columns, field)
	}
	r.rep.Headers++
	r.headerText = line
	r.derives = r.unit[logSettingW] == nil && r.unit[logChargerInputA] != nil && (r.unit[logChargerV] != nil || r.unit[logBusV] != nil)
	if r.derives {
		r.most[logSettingW] = logInput(logFieldNames[logSettingW]).Max
		noteName(&r.rep.Derived, logFieldNames[logSettingW])
	}
	for f := logEngineRpm; f < logConditions; f++ {
		if r.unit[f] == nil && r.constant[f] != r.constant[f] && f != logVehicleLoadsW && !(f == logSettingW && r.derives) && !r.tracked(f) {
			noteName(&r.rep.Assumed, logFieldNames[f])
		}
	}
	return true
}

// name takes a column of the header and returns its field.
func (r *logReader) name(cell []byte) uint8 {
	name := string(jsontext.Shown(cell, logShown))
	if len(cell) > logMaxCell {
		noteName(&r.rep.Unknown, name)
		return logNoColumn
	}
	r.squeezed = squeeze(r.squeezed[:0], cell)
	c, unit, needsUnit := logMatch(r.squeezed, -1)
	switch {
	case needsUnit && c < 0:
		noteName(&r.rep.NoUnit, name)
		return logNoColumn
	case c < 0 || r.unit[logColumns[c].field] != nil: // of two columns of one thing the first counts
		noteName(&r.rep.Unknown, name)
		return logNoColumn
	}
	f := logColumns[c].field
	r.unit[f] = unit
	r.infrared = r.infrared || strings.HasSuffix(logColumns[c].names[0], "_infrared")
	if f == logSoc {
		r.bareSoc = unit.names == nil
	}
	if f != logTime && f != logDay {
		r.least[f], r.most[f] = logRange(c)
	}
	for _, known := range r.rep.Columns {
		if known.Field == logFieldNames[f] && known.Name == name {
			return uint8(f)
		}
	}
	if len(r.rep.Columns) < logShown {
		r.rep.Columns = append(r.rep.Columns, LogColumn{name, logFieldNames[f]})
	}
	return uint8(f)
}

// noteName adds a name once, and not more of them than a person reads.
func noteName(names *[]string, name string) {
	if len(*names) >= logShown {
		return
	}
	for _, n := range *names {
		if n == name {
			return
		}
	}
	*names = append(*names, name)
}
