package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"spareamps/core"
)

// What a track may take. Nothing of a file is kept but its points.
const (
	maxTrackPoints = 1_000_000
	maxTrackBytes  = 256 << 20
	maxTrackLine   = 64 << 10 // bytes
	maxTrackTold   = 10       // problems; whoever has ten does not read an eleventh
)

// A recordedTrack is a track file's content.
type recordedTrack struct {
	name    string
	points  []core.TrackPoint
	date    float64  // local date of the first record in days since 2000-01-01, as core.Date; 0: the times tell none
	lines   []int32  // of CSV: the line of each point
	ignored []string // of CSV: columns that mean nothing to us
}

// readTrack reads a recorded track, GPX 1.0 and 1.1 or CSV, whichever the
// content is. Times with a zone (all of GPX: it has UTC) become local by the
// offset to UTC. What is wrong comes back as *badInput.
//
// CSV has units in its header: time (2026-07-24T08:00:00Z, without the zone
// local; or 08:00:00, local) or time_s (seconds since local midnight), and
// speed_kmh, speed_ms or speed_mph, or lat and lon, also ele and engine_rpm.
// Commas, semicolons or tabs part the cells; without commas between cells there
// may be commas in numbers. Lines that begin with # are skipped.
func readTrack(name string, r io.Reader, utcOffsetH float64) (*recordedTrack, error) {
	t := &trackReader{recordedTrack: recordedTrack{name: name}, offset: time.Duration(utcOffsetH * float64(time.Hour))}
	in := &trackBytes{in: bufio.NewReaderSize(r, maxTrackLine), left: maxTrackBytes}
	if mark, _ := in.in.Peek(3); string(mark) == "\ufeff" {
		in.in.Discard(3)
	}
	start, _ := in.in.Peek(512)
	var err error
	if strings.HasPrefix(strings.TrimLeft(string(start), " \t\r\n"), "<") {
		err = t.readGPX(in)
	} else {
		err = t.readCSV(in)
	}
	var ended *trackError
	switch {
	case err == nil || err == errTooManyTold:
	case errors.As(err, &ended):
		t.tell(ended.where, "points", "", "", ended.message)
	default:
		return nil, fmt.Errorf("read %s: %w", fileName(name), err)
	}
	if len(t.problems) == 0 && len(t.points) == 0 {
		t.tell("", "points", "", "", "has no records")
	}
	if len(t.problems) > 0 {
		return nil, &badInput{problems: t.problems, hints: t.hints}
	}
	return &t.recordedTrack, nil
}

// place says where a point stands in the file.
func (t *recordedTrack) place(i int) string {
	if i < len(t.lines) {
		return "line " + itoa(int(t.lines[i]))
	}
	return "track point " + itoa(i+1)
}

// explain names the file and the place in it of what the core found wrong.
func (t *recordedTrack) explain(err error) error {
	var wrong *core.InputError
	if !errors.As(err, &wrong) {
		return err
	}
	bad := &badInput{}
	for _, p := range wrong.Problems {
		where := fileName(t.name)
		if n, ok := strings.CutPrefix(p.Field, "points["); ok {
			n, _, _ = strings.Cut(n, "]")
			if i, err := strconv.Atoi(n); err == nil {
				where += ", " + t.place(i)
			}
		}
		p.Message = where + ": " + p.Message
		bad.problems = append(bad.problems, p)
	}
	return bad
}

// A trackReader is a track being read.
type trackReader struct {
	recordedTrack
	offset   time.Duration
	midnight time.Time // of the first record, where its time has a date
	problems []core.Problem
	hints    []string
}

// A trackError is the end of reading for a reason that is the file's.
type trackError struct{ where, message string }

func (e *trackError) Error() string { return e.message }

var (
	errTooManyTold = &trackError{}
	errTrackBytes  = &trackError{"", "is longer than 256 MB, the most that is read"}
	errTrackPart   = &trackError{"", "is longer than 64 kB, the most that is read of a line"}
)

// tell notes a problem; the error it returns ends the reading when there are
// enough.
func (t *trackReader) tell(where, field, value, allowed, message string) error {
	at := fileName(t.name)
	if where != "" {
		at += ", " + where + ":"
	}
	value = shortText(value)
	if value != "" {
		message += " " + value
	}
	if value != "" && allowed != "" {
		message += ", allowed is " + allowed
	}
	t.problems = append(t.problems, core.Problem{Code: "track", Field: field, Value: value, Allowed: allowed, Message: at + " " + message})
	if len(t.problems) >= maxTrackTold {
		return errTooManyTold
	}
	return nil
}

// shortText makes a cell fit to repeat.
func shortText(s string) string {
	s = strings.ToValidUTF8(s, "?")
	if n := []rune(s); len(n) > 40 {
		s = string(n[:40]) + "..."
	}
	return plainText(strings.ReplaceAll(s, "\n", " "))
}

// add takes a record; line is 0 where there are none.
func (t *trackReader) add(p core.TrackPoint, line int) error {
	where := ""
	if line > 0 {
		where = "line " + itoa(line)
	}
	if len(t.points) == maxTrackPoints {
		return &trackError{where, "has more than 1,000,000 records, the most that is read"}
	}
	t.points = append(t.points, p)
	if line > 0 {
		t.lines = append(t.lines, int32(line))
	}
	return nil
}

// since returns the seconds of an instant since the first record's local midnight.
func (t *trackReader) since(at time.Time) float64 {
	at = at.UTC().Add(t.offset)
	if t.midnight.IsZero() {
		t.midnight = at.Truncate(24 * time.Hour)
		t.date = float64(t.midnight.Unix()/86400 - 10957)
	}
	return float64(at.Unix()-t.midnight.Unix()) + float64(at.Nanosecond())*1e-9
}

// instant reads a date with time. Without a zone it is taken as in the given
// one. Years are those of day.date.
func instant(s string, zone time.Duration) (time.Time, bool) {
	s = strings.TrimSpace(s)
	if len(s) > 10 && s[10] == ' ' {
		s = s[:10] + "T" + s[11:]
	}
	at, err := time.Parse(time.RFC3339, s)
	if err != nil {
		at, err = time.Parse("2006-01-02T15:04:05", s)
		at = at.Add(-zone)
	}
	return at, err == nil && at.Year() > 1950 && at.Year() < 2099
}

// decimal reads what people write for a number: neither NaN, infinity nor
// hexadecimal.
func decimal(s string) (float64, bool) {
	s = strings.TrimSpace(s)
	if strings.Trim(s, "0123456789.+-eE") != "" {
		return 0, false
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil && !math.IsInf(v, 0)
}

// trackBytes reads bytes up to a limit for the whole and one for a part.
type trackBytes struct {
	in         *bufio.Reader
	left, part int
	failed     error // why no more can be read
}

// ReadByte makes a trackBytes what an XML decoder reads from without a buffer
// of its own.
func (b *trackBytes) ReadByte() (byte, error) {
	switch {
	case b.left == 0:
		return 0, errTrackBytes
	case b.part == 0:
		return 0, errTrackPart
	}
	c, err := b.in.ReadByte()
	if err == nil {
		b.left--
		b.part--
	} else if err != io.EOF {
		b.failed = err
	}
	return c, err
}

func (b *trackBytes) Read(p []byte) (int, error) {
	if len(p) == 0 {
		return 0, nil
	}
	c, err := b.ReadByte()
	if err != nil {
		return 0, err
	}
	p[0] = c
	return 1, nil
}

// line reads a line without its end.
func (b *trackBytes) line() (string, error) {
	if b.left <= 0 {
		return "", errTrackBytes
	}
	text, err := b.in.ReadSlice('\n')
	b.left -= len(text)
	switch {
	case err == bufio.ErrBufferFull:
		return "", errTrackPart
	case err == io.EOF && len(text) > 0:
		err = nil
	}
	return strings.TrimRight(string(text), "\r\n"), err
}
