package core

import (
	"strings"

	"spareamps/core/calendar"
	"spareamps/core/jsontext"
)

// timeForms say how a Clock and a Date are written.
var timeForms = [...]string{Clock: "a time of day such as 06:30", Date: "a date such as 2026-07-24"}

// unset is what an Optional Clock holds where it was not given: midnight is a
// time like any other.
const unset = -1

// IsText says whether a field's value is text; else it is a number, of a Clock
// in minutes since midnight, of a Date in days since 2000-01-01.
func (f *Field) IsText() bool { return f.Kind == Choice || f.Kind == Text }

// readTime reads the text of a Clock or a Date.
func (f *Field) readTime(s []byte) (v float64, code string) {
	parts := strings.Split(string(s), []string{Clock: ":", Date: "-"}[f.Kind])
	var n [3]int
	ok := len(parts) == 2 && f.Kind == Clock || len(parts) == 3 && f.Kind == Date
	for i, p := range parts {
		if !ok || len(p) != 2 && (i > 0 || f.Kind == Clock && len(p) != 1) && !(i == 0 && f.Kind == Date && len(p) == 4) {
			return 0, "type"
		}
		for j := range len(p) {
			if !jsontext.IsDigit(p[j]) {
				return 0, "type"
			}
			n[i] = n[i]*10 + int(p[j]-'0')
		}
	}
	if !ok {
		return 0, "type"
	}
	if f.Kind == Clock {
		if n[1] > 59 {
			return 0, "range"
		}
		v = float64(n[0]*60 + n[1])
	} else if v, ok = calendar.Day(n[0], n[1], n[2]); !ok {
		return 0, "range"
	}
	return v, f.take(v)
}

// appendTime writes a Clock or a Date.
func (f *Field) appendTime(dst []byte, v float64) []byte {
	if f.Kind == Date {
		y, m, d := calendar.Date(v)
		dst = append(dst, byte('0'+y/1000), byte('0'+y/100%10))
		return calendar.AppendTwo(append(calendar.AppendTwo(append(calendar.AppendTwo(dst, y%100), '-'), m), '-'), d)
	}
	return calendar.AppendClock(dst, v)
}

// appendValue writes a number as the field has it in JSON.
func (f *Field) appendValue(dst []byte, v float64) []byte {
	if f.Kind == Clock || f.Kind == Date {
		return append(f.appendTime(append(dst, '"'), v), '"')
	}
	return jsontext.AppendNumber(dst, v)
}

// takeText cleans a text of a Text field; ok is false where it is empty or too
// long, or holds what moves a terminal's cursor.
func (f *Field) takeText(s []byte) (text string, ok bool) {
	text = strings.TrimSpace(string(s))
	return text, text != "" && len(text) <= int(f.Max) && string(jsontext.Shown([]byte(text), jsontext.MaxShown)) == text
}
