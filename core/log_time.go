package core

import (
	"spareamps/core/calendar"
	"spareamps/core/detmath"
	"spareamps/core/jsontext"
)

// A logClock reads the times of a log: seconds, seconds or milliseconds since
// 1970, a date with time after ISO 8601, or a time of day, with or without its
// date beside it.
type logClock struct {
	day, last float64 // s, of times of day: the midnights passed; the last read
	form      byte    // of the last
	base      byte    // of the last, how it stands to universal time
}

// How a person is told a time: as the log has it, or, where that says little, as
// a date with time, universal or of the log.
const (
	logAsWritten = iota
	logUniversal
	logLocal
)

const (
	logEpochS   = 1e8  // seconds from which a number counts since 1970: three years of one drive are not likely
	logEpochMS  = 1e11 // from which it is milliseconds: 1973, or the year 5138 in seconds
	halfDayS    = 43200
	daySeconds  = 86400
	epochTo2000 = 10957 // days from 1970-01-01 to 2000-01-01
)

// read gives a time in seconds since some zero that does not change in a file.
func (c *logClock) read(cell, day []byte, comma bool, unit *logUnit) (s float64, ok bool) {
	c.form, c.base = logAsWritten, logUndated
	if v, ok := logNumber(cell, comma); ok {
		if v *= unit.factor; detmath.Abs(v) >= logEpochMS {
			v /= 1000
		}
		if v >= logEpochS {
			c.form, c.base = logUniversal, logZoned
		}
		return v, detmath.Abs(v) < logEpochMS
	}
	if len(cell) >= 16 && len(cell) <= 40 {
		if days, ok := logDate(cell[:10]); ok && (cell[10]|0x20 == 't' || cell[10] == ' ') {
			s, rest, ok := logTimeOfDay(cell[11:])
			zone, known := logZone(rest)
			if c.base = logZoned; len(rest) == 0 {
				c.base = logZoneless
			}
			return (days+epochTo2000)*daySeconds + s - zone, ok && known && s <= daySeconds+1
		}
	}
	s, rest, ok := logTimeOfDay(cell)
	if !ok || len(rest) > 0 {
		return 0, false
	}
	if len(day) > 0 {
		days, ok := logDate(day)
		c.form, c.base = logLocal, logZoneless
		return (days+epochTo2000)*daySeconds + s, ok && s <= daySeconds+1
	}
	if s < c.last-halfDayS { // a midnight passed: no clock is set back that far
		c.day += daySeconds
	}
	c.last = s
	return c.day + s, true
}

// logDate reads 2026-07-24, 2026/07/24 or 24.07.2026, in days since 2000. With
// other signs nobody knows which is the month.
func logDate(cell []byte) (days float64, ok bool) {
	if len(cell) != 10 {
		return 0, false
	}
	year, month, day := cell[:4], cell[5:7], cell[8:]
	switch {
	case cell[4] == '-' && cell[7] == '-', cell[4] == '/' && cell[7] == '/':
	case cell[2] == '.' && cell[5] == '.':
		year, month, day = cell[6:], cell[3:5], cell[:2]
	default:
		return 0, false
	}
	y, ok0 := logDigits(year)
	m, ok1 := logDigits(month)
	d, ok2 := logDigits(day)
	days, ok = calendar.Day(y, m, d)
	return days, ok && ok0 && ok1 && ok2
}

// logTimeOfDay reads 8:00, 08:00:00 or 08:00:00.5 and leaves what stands behind.
// Hours from 24 on are those of a stopwatch; a second 60 is a leap second.
func logTimeOfDay(cell []byte) (s float64, rest []byte, ok bool) {
	n := jsontext.Digits(cell, 0)
	hours, ok := logDigits(cell[:n])
	if !ok || n > 4 || len(cell) < n+3 || cell[n] != ':' {
		return 0, nil, false
	}
	minutes, ok := logDigits(cell[n+1 : n+3])
	if !ok || minutes > 59 {
		return 0, nil, false
	}
	s, rest = float64(hours*3600+minutes*60), cell[n+3:]
	if len(rest) == 0 || rest[0] != ':' {
		return s, rest, true
	}
	if len(rest) < 3 {
		return 0, nil, false
	}
	seconds, ok := logDigits(rest[1:3])
	if !ok || seconds > 60 {
		return 0, nil, false
	}
	s, rest = s+float64(seconds), rest[3:]
	if len(rest) > 1 && (rest[0] == '.' || rest[0] == ',') && jsontext.IsDigit(rest[1]) {
		n := jsontext.Digits(rest, 1)
		fraction, tenth := 0.0, 1.0
		for _, c := range rest[1:min(n, 16)] {
			fraction, tenth = fraction*10+float64(c-'0'), tenth*10
		}
		s, rest = s+fraction/tenth, rest[n:]
	}
	return s, rest, true
}

// logZone reads Z, +02:00, +0200 or +02 in seconds; nothing is local time, taken
// as it stands.
func logZone(text []byte) (s float64, ok bool) {
	switch {
	case len(text) == 0, len(text) == 1 && text[0]|0x20 == 'z':
		return 0, true
	case text[0] == ' ' && len(text) > 1:
		return logZone(text[1:])
	case text[0] != '+' && text[0] != '-':
		return 0, false
	}
	sign := 1.0
	if text[0] == '-' {
		sign = -1
	}
	text = text[1:]
	if len(text) == 5 && text[2] == ':' {
		text = []byte{text[0], text[1], text[3], text[4]}
	}
	n, ok := logDigits(text)
	switch len(text) {
	case 2:
		n *= 100
	case 4:
	default:
		return 0, false
	}
	return sign * float64(n/100*3600+n%100*60), ok && n <= 1800 && n%100 < 60
}

// logDigits reads at most nine digits, and nothing but digits.
func logDigits(text []byte) (n int, ok bool) {
	for _, c := range text {
		if !jsontext.IsDigit(c) {
			return 0, false
		}
		n = n*10 + int(c-'0')
	}
	return n, len(text) > 0 && len(text) < 10
}

// logWhen writes a time of a log for a person, in form; nothing where its field
// does not take that.
func logWhen(at *Field, cell []byte, s float64, form byte) string {
	if form == logAsWritten && len(cell) <= logMaxCell {
		if text, ok := at.takeText(cell); ok {
			return text
		}
	}
	if form == logAsWritten {
		return ""
	}
	days := detmath.Floor(s / daySeconds)
	y, m, d := calendar.Date(days - epochTo2000)
	n := int(s - days*daySeconds)
	dst := append([]byte(nil), byte('0'+y/1000), byte('0'+y/100%10))
	for i, part := range [...]int{y % 100, m, d, n / 3600, n / 60 % 60, n % 60} {
		if i > 0 {
			dst = append(dst, "-- ::"[i-1])
		}
		dst = calendar.AppendTwo(dst, part)
	}
	if form == logUniversal {
		dst = append(dst, 'Z')
	}
	return string(dst)
}
