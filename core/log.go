package core

import (
	"math"

	"spareamps/core/rig"
)

// A Log is what a logger's file says of a vehicle.
type Log struct {
	Rows   []rig.Observation // at most 1500, as the table of inputs takes them
	Report LogReport
}

// LogDefaults are conditions that a log does not tell and that were the same all
// along; NaN: not known. A column of the log goes before them.
type LogDefaults struct {
	EngineRpm     float64
	SpeedKmh      float64
	AmbientC      float64
	AltitudeM     float64
	VehicleLoadsW float64
	SettingW      float64

	// ChargerEfficiency makes a setting of a log's amps into the charger, where
	// it has no column of the setting itself; NaN or 0: the usual.
	ChargerEfficiency float64

	Track *LogTrack // goes before the speed and altitude above, behind a column of the log; nil: none
}

// NoLogDefaults knows nothing.
func NoLogDefaults() LogDefaults {
	none := math.NaN()
	return LogDefaults{none, none, none, none, none, none, none, nil}
}

// A LogReport says what was found in a log, what of it was not used, and why.
type LogReport struct {
	Lines      int // of text
	Rows       int // that were read
	Joined     int // of these, those of which the track told the speed or the altitude
	Headers    int
	BucketS    float64 // that the observations are means over; 0: there are none
	CoveredMin float64 // the sum of their minutes

	Columns []LogColumn
	Unknown []string // columns of no known name, the first 50 of them
	NoUnit  []string // columns that would be known if their unit stood behind
	Derived []string // setting_W, where it is worked out of amps and volts into the charger
	Assumed []string // conditions that neither log nor caller tells, at the table of inputs' default

	Refused []LogFault // rows: time, back, cells, quotes, long, before_header, too_many
	Unread  []LogFault // cells: number, range, below_air
	Untold  []LogFault // rows whose time is left out for a condition that was not told for a minute
	Breaks  []LogFault // where observations begin anew: gap, clock_back, untold
	Dropped int        // observations, the oldest, of a log too long or in too many pieces

	Problems []Problem // why there are no observations
}

// A LogColumn is a column that was used.
type LogColumn struct {
	Name  string // as the log has it
	Field string
}

// A LogFault counts what went wrong in one way.
type LogFault struct {
	Reason string
	Field  string // where it is of one column
	Count  int
	Line   int    // of the first
	Value  string // the first, where it is a cell's
}

const (
	logMaxRows   = 1_000_000
	logCarryS    = 60  // for which a condition that a row does not tell is as it was
	logGapS      = 300 // longer without row, or without a condition, begins anew
	logBackS     = 120 // a clock set back further is no correction; as in tracks
	logPreamble  = 200 // lines before the header
	logNoColumn  = 255
	logRefusals  = len(logRefusalNames)
	logBreakings = len(logBreakNames)
)

const (
	refusedTime = iota
	refusedBack
	refusedCells
	refusedQuotes
	refusedLong
	refusedBefore
	refusedMany
)

const (
	brokenGap = iota
	brokenClock
	brokenUntold
)

const (
	unreadNumber = iota
	unreadRange
	unreadBelowAir
)

var (
	logRefusalNames = [...]string{"time", "back", "cells", "quotes", "long", "before_header", "too_many"}
	logBreakNames   = [...]string{"gap", "clock_back", "untold"}
	logUnreadNames  = [...]string{"number", "range", "below_air"}
)

// A logRow is what is known at one time; NaN: not known.
type logRow struct {
	s      float64
	untold int // the condition that is missing; 0: none
	value  [logFields]float64
	from   int // of the time's cell in the text
	to     int
	form   byte
}

// A logReader reads a log.
type logReader struct {
	text       []byte
	line       int
	separator  byte
	columns    []uint8 // row of logColumns for each cell of a line
	need       int     // cells that a row has at least
	unit       [logFields]*logUnit
	least      [logFields]float64
	most       [logFields]float64
	constant   [logConditions]float64
	derives    bool // the setting from amps and volts
	infrared   bool // a column of a part's temperature says so
	charger    float64
	track      *LogTrack
	joins      logJoin
	headerText []byte // the header in force
	squeezed   []byte

	clock    logClock
	has      bool // a row before this
	prev     logRow
	last     [logFields]float64 // of conditions and charge, when last told
	lastAt   [logFields]float64
	untoldS  float64 // since the last interval that is known
	bareSoc  bool    // a charge without a unit
	largeSoc float64 // the largest of them
	buckets  logBuckets

	refused [logRefusals]LogFault
	unread  [len(logUnreadNames)][logFields]LogFault
	untold  [logConditions]LogFault
	breaks  [logBreakings]LogFault
	rep     *LogReport
}

// ReadLog reads a log, CSV behind a header that names columns with their units,
// see logColumns; cells are parted by comma, semicolon or tab, in the latter two
// a decimal comma is one. The header may come again, and change.
//
// A row holds until the next one, for five minutes at most. The rows are
// gathered into buckets of 10, 20, 30 s, 1, 2, 5, 10, 20, 30 min, 1, 2, 4 or
// 12 h, the shortest of which there are at most 1500. A bucket is the intervals
// that end in it: conditions, amps and volts are means over their time, those of
// which only some rows tell over the time of these; temperatures and the charge
// are those last read, in the last minute or the last row.
//
// A condition that a row does not tell is as before for a minute, then as in
// defaults; without one the time is left out if the log has a column for it or
// it is one that the table of inputs requires. What is left out of up to five
// minutes counts as like what follows. Longer, or a gap, or a clock set back by
// more than two minutes, and the next observation begins "warm".
//
// Parts' temperatures are those of a contact probe, or of an infrared thermometer
// where a column says so; those colder than the air outside are left out.
//
// Time and memory are linear in the text; the result passes the table of inputs.
// Checked: TestLog…, FuzzLog.
func ReadLog(text []byte, defaults LogDefaults) Log {
	var l Log
	r := logReader{text: text, rep: &l.Report, buckets: newLogBuckets(len(text)),
		constant: [logConditions]float64{math.NaN(), defaults.EngineRpm, defaults.SpeedKmh, defaults.AmbientC, defaults.AltitudeM, defaults.VehicleLoadsW, defaults.SettingW}}
	if r.charger = efficiencyDefault; read(defaults.ChargerEfficiency) {
		r.charger = defaults.ChargerEfficiency
	}
	r.track, r.joins.firstS = defaults.Track, math.NaN()
	r.forget()
	r.lines()
	r.collect()
	l.Report.Problems = append(l.Report.Problems, r.apart()...)
	if len(l.Report.Problems) > 0 {
		return l
	}
	l.Rows = r.observations()
	if len(l.Rows) == 0 {
		l.Report.Problems = r.whyNone()
	}
	return l
}

// lines takes the text apart.
func (r *logReader) lines() {
	t, pos := r.text, 0
	if len(t) >= 3 && string(t[:3]) == "\ufeff" {
		pos = 3
	}
	if len(t) >= 2 && (t[0] == 0xff && t[1] == 0xfe || t[0] == 0xfe && t[1] == 0xff) {
		r.rep.Problems = []Problem{plain("type", "log", "", "utf-8 text", "the log is utf-16 text; save it as csv in utf-8")}
		return
	}
	newline := byte('\n')
	if !hasByte(t, '\n') {
		newline = '\r'
	}
	for pos < len(t) {
		end := pos
		for end < len(t) && t[end] != newline {
			end++
		}
		r.line++
		stop := end
		if stop > pos && t[stop-1] == '\r' {
			stop--
		}
		r.oneLine(pos, stop)
		pos = end + 1
	}
	r.rep.Lines = r.line
	if r.rep.Headers == 0 {
		r.rep.Problems = []Problem{plain("missing", "time", "", logAllowed(logTime), "the log has no column of times in the first lines: its header has to name one")}
	}
}

func hasByte(text []byte, b byte) bool {
	for _, c := range text {
		if c == b {
			return true
		}
	}
	return false
}

// oneLine reads a line that lies at start to end of the text.
func (r *logReader) oneLine(start, end int) {
	line := r.text[start:end]
	switch {
	case blankLine(line) || line[0] == '#':
		return
	case r.rep.Headers == 0 && r.line > logPreamble:
		return
	case len(line) > logMaxLine:
		r.refuse(refusedLong)
		return
	case r.rep.Headers == 0:
		if !r.header(line) {
			r.refuse(refusedBefore)
		}
		return
	case r.rep.Rows == logMaxRows:
		r.refuse(refusedMany)
		return
	}
	var cells [logFields][2]int
	code := r.cells(start, end, &cells)
	if code < 0 {
		code = r.row(&cells)
	}
	if (code == refusedTime || code == refusedCells) && r.header(line) {
		return
	}
	if code >= 0 {
		r.refuse(code)
	}
}

func blankLine(line []byte) bool {
	for _, c := range line {
		if c != ' ' && c != '\t' && c != '\r' {
			return false
		}
	}
	return true
}

// cells finds the cells of a row by field; -1, or why it is none.
func (r *logReader) cells(start, end int, cells *[logFields][2]int) (refused int) {
	n := 0
	for i := start; i <= end; n++ {
		a, b, next, ok := logCell(r.text, i, end, r.separator)
		if !ok {
			return refusedQuotes
		}
		switch {
		case n >= len(r.columns):
			if b > a {
				return refusedCells
			}
		case r.columns[n] != logNoColumn:
			cells[r.columns[n]] = [2]int{a, b}
		}
		i = next
	}
	if n < r.need {
		return refusedCells
	}
	return -1
}
