package core

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"spareamps/core/jsontext"
	"spareamps/core/rig"
)

// takenByInputs puts a log's observations into the demo's rig and reads that
// back: what the table of inputs refuses is a fault of the reader.
func takenByInputs(t failer, l *Log) {
	if len(l.Rows) > 1500 {
		t.Fatalf("%d observations", len(l.Rows))
	}
	if (len(l.Rows) == 0) != (len(l.Report.Problems) > 0) {
		t.Fatalf("%d observations and problems %+v", len(l.Rows), l.Report.Problems)
	}
	for _, p := range l.Report.Problems {
		if p.Code == "" || p.Field == "" || p.Allowed == "" || p.Message == "" {
			t.Fatalf("bad problem %+v", p)
		}
	}
	covered := 0.0
	for i := range l.Rows {
		o := &l.Rows[i]
		covered += o.Minutes
		if !(o.Minutes > 0) {
			t.Fatalf("observation %d lasted %v min", i, o.Minutes)
		}
		for f := range observationFields {
			k := &observationFields[f]
			if k.IsText() || !within(k.Path, "rig.observations[]") {
				continue
			}
			q := Request{}
			q.Rig.Observations = l.Rows
			v := *k.num(&q, i)
			if left := v == 0 || v != v; k.take(v) != "" && !(k.Need == Optional && left) {
				t.Fatalf("observation %d: %s is %v, allowed is %s", i, k.Path, v, k.allowed())
			}
		}
	}
	if math.Abs(covered-l.Report.CoveredMin) > 1e-9*(1+covered) {
		t.Fatalf("%v min, the observations sum to %v", l.Report.CoveredMin, covered)
	}
	q := Request{}
	q.Rig.Observations = l.Rows
	if ps := q.checkObservations(); len(ps) > 0 {
		t.Fatalf("conflicts %+v", ps)
	}
}

func readLog(t failer, text string, defaults LogDefaults) Log {
	l := ReadLog([]byte(text), defaults)
	takenByInputs(t, &l)
	return l
}

// canalDay is a log of the demo's drive along canal tracks, one row a second,
// 36 °C, the charger at 500 W, with temperatures that rise evenly. Invented.
func canalDay(n int) (rows []canalRow) {
	for s := range n {
		x := float64(s)
		rows = append(rows, canalRow{
			s: 28800 + x, rpm: 1400 + float64(s*37%101), kmh: 8 + float64(s*13%18), ambientC: 36 + math.Round(10*math.Sin(x/500))/10,
			outputA: 58 + float64(s%3), busV: 13.8, inletC: 50 + math.Round(x/60)/2, caseC: 70 + math.Round(x/60), settingW: 500, soc: 0.4 + math.Round(x/100)/1000,
		})
	}
	return rows
}

type canalRow struct {
	s, rpm, kmh, ambientC, outputA, busV, inletC, caseC, settingW, soc float64
}

// A shape is a way in which loggers write.
type logShape struct {
	name      string
	header    []string
	separator string
	end       string
	comma     bool
	before    string
	row       func(r *canalRow) []string
}

func num(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

func fahrenheit(c float64) string { return num(c*9/5 + 32) }

func plainRow(r *canalRow) []string {
	return []string{num(r.s), num(r.rpm), num(r.kmh), num(r.ambientC), num(r.outputA), num(r.busV), num(r.inletC), num(r.caseC), num(r.settingW), num(r.soc)}
}

func withTime(at func(s float64) string) func(r *canalRow) []string {
	return func(r *canalRow) []string { return append([]string{at(r.s)}, plainRow(r)[1:]...) }
}

var plainHeader = []string{"time_s", "engine_rpm", "speed_kmh", "ambient_C", "output_A", "bus_V", "inlet_C", "case_C", "charger_W", "soc"}

func timeHeader(name string) []string { return append([]string{name}, plainHeader[1:]...) }

// local is 2026-07-24 at a time of day, written by the standard library.
func local(layout string, zone *time.Location) func(s float64) string {
	return func(s float64) string {
		return time.Date(2026, 7, 24, 0, 0, 0, int(math.Round(s*1e3))*1e6, time.UTC).In(zone).Format(layout)
	}
}

var logShapes = []logShape{
	{name: "plain", header: plainHeader, row: plainRow},
	{name: "byte order mark, CRLF", header: plainHeader, row: plainRow, before: "\ufeff", end: "\r\n"},
	{name: "CR", header: plainHeader, row: plainRow, end: "\r"},
	{name: "semicolons", header: plainHeader, row: plainRow, separator: ";", comma: true},
	{name: "tabs", header: plainHeader, row: plainRow, separator: "\t", comma: true},
	{name: "time of day", header: timeHeader("Time"), row: withTime(local("15:04:05", time.UTC))},
	{name: "date", header: timeHeader("timestamp"), row: withTime(local("2006-01-02 15:04:05", time.UTC))},
	{name: "date with zone", header: timeHeader("Date Time"), row: withTime(local(time.RFC3339Nano, time.FixedZone("", 7200)))},
	{name: "date with zone without colon", header: timeHeader("date_time"), row: withTime(local("2006-01-02T15:04:05.000-0700", time.FixedZone("", -12600)))},
	{name: "date beside time", header: append([]string{"Date"}, timeHeader("Time")...),
		row: func(r *canalRow) []string {
			return append([]string{"24.07.2026"}, withTime(local("15:04:05", time.UTC))(r)...)
		}},
	{name: "since 1970", header: timeHeader("epoch"), row: withTime(func(s float64) string { return num(s + 1784851200) })},
	{name: "milliseconds since 1970", header: timeHeader("time"), row: withTime(func(s float64) string { return num(1000 * (s + 1784851200)) })},
	{name: "milliseconds", header: timeHeader("elapsed (ms)"), row: withTime(func(s float64) string { return num(1000 * s) })},
	{name: "brackets and degrees", row: plainRow,
		header: []string{"Time [s]", "Engine Speed (1/min)", "Speed (km/h)", "Ambient (°C)", "Alternator Output (A)", "Bus [V]", "Inlet Temperature (\xb0C)", "Case °C", "Charger Output (W)", "SoC"}},
	{name: "parameters of SAE J1979", row: plainRow,
		header: []string{"time", "0x0C", "0x0D", "0x46", "output_A", "0x42", "inlet_C", "case_C", "setting_W", "soc"}},
	{name: "their names", row: plainRow,
		header: []string{"time", "Engine RPM", "Vehicle speed", "Ambient air temperature", "output_A", "Control module voltage", "inlet_C", "case_C", "setting_W", "soc"}},
	{name: "fahrenheit, mph, percent, kW, mV", header: []string{"time_s", "rpm", "speed_mph", "ambient_F", "output_A", "bus_mV", "inlet °F", "case (F)", "charger kW", "soc %"},
		row: func(r *canalRow) []string {
			return []string{num(r.s), num(r.rpm), num(r.kmh / 1.609344), fahrenheit(r.ambientC), num(r.outputA), num(1000 * r.busV), fahrenheit(r.inletC), fahrenheit(r.caseC), num(r.settingW / 1000), num(100 * r.soc)}
		}},
	{name: "m/s, charge of 0 to 100", header: []string{"time_s", "rpm", "speed m/s", "ambient_C", "output_A", "bus_V", "inlet_C", "case_C", "charger_W", "SoC"},
		row: func(r *canalRow) []string {
			out := plainRow(r)
			out[2], out[9] = num(r.kmh/3.6), num(100*r.soc)
			return out
		}},
	{name: "quotes, remarks, unknown columns, separator behind", before: "# canal log\n\n",
		header: append(slices.Clone(plainHeader), "mood", "note, \"\"free\"\"", ""),
		row: func(r *canalRow) []string {
			out := plainRow(r)
			for i := range out {
				out[i] = `"` + out[i] + `" `
			}
			return append(out, "fair", `gate 3, ""left""`, "")
		}},
}

func (s *logShape) write(rows []canalRow) string {
	var b strings.Builder
	b.WriteString(s.before)
	separator, end := s.separator, s.end
	if separator == "" {
		separator = ","
	}
	if end == "" {
		end = "\n"
	}
	line := func(cells []string, decimals bool) {
		for i, c := range cells {
			if i > 0 {
				b.WriteString(separator)
			}
			if decimals && s.comma {
				c = strings.Replace(c, ".", ",", 1)
			}
			if strings.Contains(c, `""`) {
				c = `"` + c + `"`
			}
			b.WriteString(c)
		}
		b.WriteString(end)
	}
	line(s.header, false)
	for i := range rows {
		line(s.row(&rows[i]), true)
	}
	return b.String()
}

var sameObservations = cmp.Options{cmpopts.EquateApprox(1e-9, 1e-9), cmpopts.EquateNaNs(), cmpopts.IgnoreFields(rig.Observation{}, "At")}

// Every way of writing a log gives the same observations.
func TestLogShapes(t *testing.T) {
	rows := canalDay(601)
	var want []rig.Observation
	for _, s := range logShapes {
		l := readLog(t, s.write(rows), NoLogDefaults())
		if l.Report.Rows != 601 || l.Report.BucketS != 10 || len(l.Rows) != 60 || len(l.Report.Refused)+len(l.Report.Unread)+len(l.Report.Breaks) > 0 {
			t.Errorf("%s: %d rows, %d observations of %v s, want 601, 60 of 10: %+v", s.name, l.Report.Rows, len(l.Rows), l.Report.BucketS, l.Report)
			continue
		}
		if want == nil {
			want = l.Rows
		}
		if d := cmp.Diff(want, l.Rows, sameObservations); d != "" {
			t.Errorf("%s: not as %s\n%s", s.name, logShapes[0].name, d)
		}
		if l.Rows[1].At == "" {
			t.Errorf("%s: no time", s.name)
		}
	}
	// The first bucket by hand: rows 0 to 9 hold for its ten seconds, the
	// temperatures are those of row 10.
	rpm, kmh, output := 0.0, 0.0, 0.0
	for _, r := range rows[:10] {
		rpm, kmh, output = rpm+r.rpm/10, kmh+r.kmh/10, output+r.outputA/10
	}
	first := rig.Observation{Begins: "warm", Minutes: 1.0 / 6, EngineRpm: rpm, SpeedKmh: kmh, AmbientC: want[0].AmbientC, SettingW: 500, EverythingOn: "no", Thermometer: "contact",
		OutputA: output, BusV: 13.8, InletC: rows[10].inletC, CaseC: rows[10].caseC, CoreC: math.NaN(), PlatesC: math.NaN(), StartSoc: 0.4, EndSoc: rows[10].soc}
	if d := cmp.Diff(first, want[0], sameObservations); d != "" {
		t.Errorf("the first observation (-want +got)\n%s", d)
	}
	if want[1].Begins != "before" {
		t.Errorf("the second begins %s", want[1].Begins)
	}
	for name, at := range map[string]string{"time of day": "08:00:10", "date beside time": "2026-07-24 08:00:10", "since 1970": "2026-07-24 08:00:10Z", "date with zone": "2026-07-24T10:00:10+02:00", "plain": "28810"} {
		i := slices.IndexFunc(logShapes, func(s logShape) bool { return s.name == name })
		if l := ReadLog([]byte(logShapes[i].write(rows)), NoLogDefaults()); l.Rows[0].At != at {
			t.Errorf("%s: at %q, want %q", name, l.Rows[0].At, at)
		}
	}
}

// What is not used is told, with the line of the first.
func TestLogReports(t *testing.T) {
	const header = "time_s,engine_rpm,ambient_C,inlet_C,mood,speed\n"
	l := readLog(t, "exported by hand\nunits: SI\n"+header+
		"0,1400,36,50,a,1\n"+ // line 4
		"1,fast,36,51,a,1\n"+
		"2,1400,36,-127,a,1\n"+
		"noon,1400,36,52,a,1\n"+
		"3,1400,36\n"+
		"4,1400,36,53,a,1,2\n"+
		"5,1400,36,54,\"a,1\n"+
		"6,1400,36,55,a,1,\n"+
		"5.5,1400,36,55,a,1\n"+
		"# a remark\n"+
		header+
		"7,9999,36,n/a,a,1\n"+
		"8,1400,36,1e999,a,1\n"+
		"9,1400,36,0x10,a,1\n"+
		"10,1400,36,57,a,1", NoLogDefaults())
	want := LogReport{Lines: 18, Rows: 8, Headers: 2, BucketS: 10, CoveredMin: 1.0 / 6,
		Columns: []LogColumn{{"time_s", "time"}, {"engine_rpm", "engine_rpm"}, {"ambient_C", "ambient_C"}, {"inlet_C", "inlet_C"}},
		Unknown: []string{"mood"}, NoUnit: []string{"speed"}, Assumed: []string{"speed_kmh", "altitude_m", "setting_W"},
		Refused: []LogFault{{Reason: "time", Count: 1, Line: 7}, {Reason: "back", Count: 1, Line: 12}, {Reason: "cells", Count: 2, Line: 8}, {Reason: "quotes", Count: 1, Line: 10}, {Reason: "before_header", Count: 2, Line: 1}},
		Unread: []LogFault{{Reason: "number", Field: "engine_rpm", Count: 1, Line: 5, Value: "fast"}, {Reason: "number", Field: "inlet_C", Count: 1, Line: 17, Value: "0x10"},
			{Reason: "range", Field: "engine_rpm", Count: 1, Line: 15, Value: "9999"}, {Reason: "range", Field: "inlet_C", Count: 2, Line: 6, Value: "-127"}}}
	if d := cmp.Diff(want, l.Report, cmpopts.EquateApprox(0, 1e-12)); d != "" {
		t.Errorf("report (-want +got)\n%s", d)
	}
	if len(l.Rows) != 1 || l.Rows[0].InletC != 57 || math.Abs(l.Rows[0].EngineRpm-1400) > 1e-9 {
		t.Errorf("got %+v", l.Rows)
	}
}

// A log that gives nothing says why.
func TestLogRefused(t *testing.T) {
	none := NoLogDefaults()
	air := none
	air.AmbientC = 36
	for _, c := range []struct {
		text     string
		defaults LogDefaults
		field    string
		says     string
	}{
		{"", none, "time", "time_s"},
		{"engine_rpm,ambient_C\n1400,36\n", none, "time", "date_time"},
		{"\x00\xff\xfe\n,,,\n\"\"\"\n", none, "time", "time"},
		{strings.Repeat("x\n", 300) + "time_s,engine_rpm,ambient_C\n0,1,2\n1,1,2\n", none, "time", "first lines"},
		{"time_s,engine_rpm,\"ambient_C\n0,1400,36\n10,1400,36\n", none, "time", "first lines"},
		{"\xff\xfet\x00i\x00", none, "log", "utf-16"},
		{"time_s,ambient_C\n0,36\n10,36\n", none, "engine_rpm", "engine_rpm, "},
		{"time_s,engine_rpm\n0,1400\n10,1400\n", none, "ambient_C", "ambient_F"},
		{"time_s,engine_rpm\n0,1400\n", air, "log", "two rows"},
		{"time_s,engine_rpm\n0,1400\n400,1400\n", air, "log", "five minutes"},
		{"time_s,engine_rpm\n0,\n40,\n", air, "log", "engine_rpm"},
	} {
		l := readLog(t, c.text, c.defaults)
		if ps := l.Report.Problems; len(ps) != 1 || ps[0].Field != c.field || !strings.Contains(ps[0].Allowed+" "+ps[0].Message, c.says) {
			t.Errorf("%.40q: got %+v, want a problem of %s that says %s", c.text, ps, c.field, c.says)
		}
		if text := LogJSON([]byte(c.text), c.defaults); !json.Valid(text) || !strings.HasPrefix(string(text), `{"error":`) {
			t.Errorf("%.40q: %s", c.text, text)
		}
	}
}

func TestLogNumbers(t *testing.T) {
	for _, c := range []struct {
		text  string
		comma bool
		want  float64
		ok    bool
	}{
		{"13.84", false, 13.84, true}, {"13,84", true, 13.84, true}, {"13,84", false, 0, false}, {"1.234,5", true, 0, false},
		{"-0.5", false, -0.5, true}, {"+7", false, 7, true}, {".5", false, 0.5, true}, {"5.", false, 5, true}, {".", false, 0, false}, {"-", false, 0, false},
		{"1e3", false, 1000, true}, {"1,5E-1", true, 0.15, true}, {"1e", false, 0, false}, {"1e+", false, 0, false}, {"1e5x", false, 0, false}, {"0x10", false, 0, false},
		{"123456789012345678901234567890", false, 123456789012345678901234567890, true}, {"1e999", false, math.Inf(1), true}, {"NaN", false, 0, false}, {"Inf", false, 0, false},
		{"1_000", false, 0, false}, {"12 V", false, 0, false}, {strings.Repeat("1", 65), false, 0, false}, {"0.1234567890123456789", false, 0.1234567890123456789, true},
	} {
		if got, ok := logNumber([]byte(c.text), c.comma); got != c.want || ok != c.ok {
			t.Errorf("%s: got %v, %v, want %v, %v", c.text, got, ok, c.want, c.ok)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64().Draw(t, "v")
		for _, form := range []byte("efg") {
			text := strconv.FormatFloat(v, form, rapid.IntRange(-1, 17).Draw(t, "digits"), 64)
			want, _ := strconv.ParseFloat(text, 64)
			if got, ok := logNumber([]byte(text), false); len(text) <= logMaxCell && (!ok || got != want) {
				t.Fatalf("%s: got %v, strconv %v", text, got, want)
			}
		}
	})
}

func TestLogTimes(t *testing.T) {
	for _, c := range []struct {
		text string
		want float64
		ok   bool
	}{
		{"28810", 28810, true}, {"28810.5", 28810.5, true}, {"08:00:10", 28810, true}, {"8:00", 28800, true}, {"08:00:10.25", 28810.25, true}, {"08:00:10,25", 28810.25, true}, {"27:00:00", 97200, true},
		{"2026-07-24T08:00:00Z", 1784880000, true}, {"2026-07-24 08:00:00", 1784880000, true}, {"2026-07-24 08:00", 1784880000, true}, {"2026-07-24T10:00:00+02:00", 1784880000, true},
		{"2026-07-24T04:30:00.5-0330", 1784880000.5, true}, {"2026-07-24t08:00:00z", 1784880000, true}, {"2026-07-24T10:00:00 +02", 1784880000, true}, {"1784880000000", 1784880000, true}, {"1784880000", 1784880000, true},
		{"2024-02-29T00:00:00Z", 1709164800, true}, {"29.02.2024 00:00:00", 1709164800, true}, {"2024/02/29 00:00", 1709164800, true}, {"02/29/2024 00:00:00", 0, false}, {"2016-12-31T23:59:60Z", 1483228800, true}, {"2026-02-29T00:00:00Z", 0, false}, {"2026-07-24", 0, false}, {"2026-07-24T8:00:00:00Z", 0, false}, {"2026-13-24T08:00:00Z", 0, false}, {"2026-07-24T08:00:00+2", 0, false},
		{"2026-07-24T25:00:00Z", 0, false}, {"08:60:00", 0, false}, {"08:00:61", 0, false}, {"08:00:1", 0, false}, {"8", 8, true}, {"noon", 0, false}, {"", 0, false}, {":", 0, false}, {"08:00:10 PM", 0, false}, {"1e15", 0, false}, {"1e999", 0, false},
	} {
		got, ok := new(logClock).read([]byte(c.text), nil, false, &logBare[0])
		if ok != c.ok || ok && got != c.want {
			t.Errorf("%s: got %v, %v, want %v, %v", c.text, got, ok, c.want, c.ok)
		}
	}
	var clock logClock
	for _, c := range []struct {
		text string
		want float64
	}{{"23:59:50", 86390}, {"00:00:05", 86405}, {"02:59:59", 97199}, {"02:00:00", 93600}, {"23:00:00", 169200}, {"00:00:00", 172800}} {
		if got, ok := clock.read([]byte(c.text), nil, false, &logBare[0]); !ok || got != c.want {
			t.Errorf("%s: got %v, want %v", c.text, got, c.want)
		}
	}
}

// The clock of a vehicle is set back, stands still, and leaps.
func TestLogClock(t *testing.T) {
	text := func(times ...string) string {
		return "time,engine_rpm,ambient_C\n" + strings.Join(times, ",1400,36\n") + ",1400,36\n"
	}
	for _, c := range []struct {
		name    string
		text    string
		begins  string // w, b for each observation
		minutes float64
		refused int
		breaks  []LogFault
	}{
		{"an hour back, as clocks are at the end of summer", text("02:59:40", "02:59:50", "02:00:00", "02:00:10", "02:00:20"), "wwb", 0.5, 0, []LogFault{{Reason: "clock_back", Count: 1, Line: 4}}},
		{"an hour on", text("01:59:40", "01:59:50", "03:00:00", "03:00:10"), "ww", 1.0 / 3, 0, []LogFault{{Reason: "gap", Count: 1, Line: 4}}},
		{"set right by a minute", text("08:01:00", "08:01:10", "08:00:15", "08:01:05", "08:01:20"), "wb", 1.0 / 3, 2, nil},
		{"midnight", text("23:59:50", "00:00:00", "00:00:10"), "wb", 1.0 / 3, 0, nil},
		{"five minutes without row", text("08:00:00", "08:05:00", "08:05:10"), "wb", 5 + 1.0/6, 0, nil},
		{"more", text("08:00:00", "08:00:10", "08:05:11", "08:05:21"), "ww", 1.0 / 3, 0, []LogFault{{Reason: "gap", Count: 1, Line: 4}}},
		{"times told twice", text("08:00:00", "08:00:00", "08:00:10", "08:00:10", "08:00:20"), "wb", 1.0 / 3, 0, nil},
		{"two minutes later, but the day after", "date;time;engine_rpm;ambient_C\n2026-07-24;09:00:00;1400;36\n2026-07-24;09:00:10;1400;36\n2026-07-25;09:02:00;1400;36\n2026-07-25;09:02:10;1400;36\n2026-07-26;noon;1400;36\n07/27/2026;09:02:10;1400;36\n", "ww", 1.0 / 3, 2,
			[]LogFault{{Reason: "gap", Count: 1, Line: 4}}},
		{"a leap there and back", text("2026-07-24T08:00:00Z", "2026-07-24T08:00:10Z", "2080-01-06T00:00:00Z", "2026-07-24T08:00:20Z", "2026-07-24T08:00:30Z"), "ww", 1.0 / 3, 0,
			[]LogFault{{Reason: "gap", Count: 1, Line: 4}, {Reason: "clock_back", Count: 1, Line: 5}}},
	} {
		l := readLog(t, c.text, NoLogDefaults())
		begins := ""
		for _, o := range l.Rows {
			begins += o.Begins[:1]
		}
		refused := 0
		for _, f := range l.Report.Refused {
			refused += f.Count
		}
		if begins != c.begins || math.Abs(l.Report.CoveredMin-c.minutes) > 1e-9 || refused != c.refused || cmp.Diff(c.breaks, l.Report.Breaks) != "" {
			t.Errorf("%s: begins %s, %v min, %d refused, %+v; want %s, %v, %d, %+v", c.name, begins, l.Report.CoveredMin, refused, l.Report.Breaks, c.begins, c.minutes, c.refused, c.breaks)
		}
	}
}

// A condition carries on for a minute; then a constant stands in, or the time is
// left out.
func TestLogCarries(t *testing.T) {
	var b strings.Builder
	b.WriteString("time_s,engine_rpm,ambient_C,setting_W\n")
	for s := 0; s <= 1200; s += 10 {
		ambient := "36"
		if s >= 200 && s < 400 || s >= 600 && s < 1000 {
			ambient = ""
		}
		fmt.Fprintf(&b, "%d,1400,%s,500\n", s, ambient)
	}
	l := readLog(t, b.String(), NoLogDefaults())
	// Told last at 190 s, known up to 250, so that rows 260 to 390 are left out;
	// likewise 660 to 990, which is more than five minutes.
	if want := []LogFault{{Reason: "untold", Field: "ambient_C", Count: 14 + 34, Line: 28}}; cmp.Diff(want, l.Report.Untold) != "" {
		t.Errorf("untold %+v, want %+v", l.Report.Untold, want)
	}
	if want := []LogFault{{Reason: "untold", Count: 1, Line: 103}}; cmp.Diff(want, l.Report.Breaks) != "" {
		t.Errorf("breaks %+v, want %+v", l.Report.Breaks, want)
	}
	if want := (1200.0 - 340) / 60; math.Abs(l.Report.CoveredMin-want) > 1e-9 {
		t.Errorf("%v min, want %v", l.Report.CoveredMin, want)
	}
	i := slices.IndexFunc(l.Rows, func(o rig.Observation) bool { return o.Minutes > 1 })
	if i != 26 || math.Abs(l.Rows[i].Minutes-150.0/60) > 1e-9 {
		t.Errorf("the time left out counts with observation %d, want 26 of 2.5 min", i)
	}
	constant := NoLogDefaults()
	constant.AmbientC, constant.AltitudeM, constant.SpeedKmh = 30, 600, 15
	l = readLog(t, b.String(), constant)
	if len(l.Report.Untold) != 0 || len(l.Rows) != 120 || l.Rows[30].AmbientC != 30 || l.Rows[10].AmbientC != 36 || l.Rows[0].AltitudeM != 600 || l.Rows[0].SpeedKmh != 15 || len(l.Report.Assumed) != 0 {
		t.Errorf("with constants: %d observations, %+v", len(l.Rows), l.Report)
	}
}

// What does not go together in the table of inputs is not told.
func TestLogGoesTogether(t *testing.T) {
	l := readLog(t, "time_s,engine_rpm,ambient_C,bus_V,charger_V,charger_A,charger_W,soc\n0,1400,36,13.2,13.9,40,0,\n10,1400,36,13.2,13.9,40,0,0.5\n20,8000,60,3,,0.01,1,0.6\n25,8000,60,,,,,\n", NoLogDefaults())
	want := []rig.Observation{
		{Begins: "warm", Minutes: 1.0 / 6, EngineRpm: 1400, AmbientC: 36, BusV: 13.2, EndSoc: 0},
		{Begins: "before", Minutes: 1.0 / 6, EngineRpm: 1400, AmbientC: 36, BusV: 13.2, StartSoc: 0.5, EndSoc: 0.6},
		{Begins: "before", Minutes: 5.0 / 60, EngineRpm: 8000, AmbientC: 60, SettingW: 1, StartSoc: 0.6},
	}
	for i := range want {
		o := &want[i]
		o.EverythingOn, o.InletC, o.CaseC, o.CoreC, o.PlatesC = "no", math.NaN(), math.NaN(), math.NaN(), math.NaN()
	}
	if d := cmp.Diff(want, l.Rows, sameObservations); d != "" {
		t.Errorf("(-want +got)\n%s", d)
	}
}

// Amps into the charger tell its setting where nothing else in the log does: 40 A
// at 13 V and an efficiency of 0.9 are 468 W; while the amps are not told for more
// than a minute the constant holds, or the time is left out.
func TestLogDerivesSetting(t *testing.T) {
	var b strings.Builder
	b.WriteString("time_s,engine_rpm,ambient_C,bus_V,charger_A\n")
	for s := 0; s <= 300; s += 10 {
		fmt.Fprintf(&b, "%d,1400,36,13,%s\n", s, []string{"40", ""}[s/200])
	}
	l := readLog(t, b.String(), NoLogDefaults())
	if o := l.Rows[25]; len(l.Rows) != 26 || o.ChargerInputA != 0 || math.Abs(o.SettingW-468) > 1e-9 || cmp.Diff([]string{"setting_W"}, l.Report.Derived) != "" || slices.Contains(l.Report.Assumed, "setting_W") {
		t.Errorf("%d observations, the last %+v; %+v", len(l.Rows), o, l.Report)
	}
	constant := NoLogDefaults()
	constant.SettingW, constant.ChargerEfficiency = 100, 0.8
	l = readLog(t, b.String(), constant)
	if len(l.Rows) != 30 || math.Abs(l.Rows[0].SettingW-416) > 1e-9 || l.Rows[29].SettingW != 100 {
		t.Errorf("%d observations: %v, then %v W; want 416, then 100", len(l.Rows), l.Rows[0].SettingW, l.Rows[29].SettingW)
	}
	l = readLog(t, "time_s,engine_rpm,ambient_C,bus_V,charger_A\n0,1400,36,13,-0.2\n10,1400,36,13,0\n", NoLogDefaults())
	if l.Rows[0].SettingW != 0 || len(l.Report.Untold) != 0 {
		t.Errorf("a clamp that reads a little below zero: %+v", l)
	}
}

// drawLog draws n rows that hold for a second to most seconds, with a share of
// their cells left out.
func drawLog(seed int64, n, most int, blanks float64) (names []string, rows [][]float64) {
	names = []string{"time_s", "engine_rpm", "ambient_C", "speed_kmh", "output_A", "case_C"}
	random := rand.New(rand.NewSource(seed))
	s := 0
	for range n {
		row := []float64{float64(s), float64(random.Intn(32000)) / 4, float64(random.Intn(400))/10 + 10, float64(random.Intn(200)), float64(random.Intn(1000)) + 1, float64(random.Intn(200))}
		for i := 1; i < len(row); i++ {
			if random.Float64() < blanks {
				row[i] = math.NaN()
			}
		}
		rows = append(rows, row)
		s += 1 + random.Intn(most)
	}
	return names, rows
}

func writeLog(names []string, rows [][]float64, order []int) string {
	var b strings.Builder
	for i, c := range order {
		b.WriteString([]string{"", ","}[min(i, 1)] + names[c])
	}
	for _, row := range rows {
		b.WriteByte('\n')
		for i, c := range order {
			b.WriteString([]string{"", ","}[min(i, 1)])
			if v := row[c]; v == v {
				b.WriteString(num(v))
			}
		}
	}
	return b.String()
}

// A log reads back as the means of its rows, reckoned here in a plainer way;
// columns in another order change nothing.
func TestLogMeans(t *testing.T) {
	order := []int{0, 1, 2, 3, 4, 5}
	rapid.Check(t, func(t *rapid.T) {
		names, rows := drawLog(rapid.Int64().Draw(t, "seed"), rapid.IntRange(2, 400).Draw(t, "rows"),
			rapid.SampledFrom([]int{1, 7, 60, 300}).Draw(t, "most"), rapid.SampledFrom([]float64{0, 0.1, 0.5, 0.9}).Draw(t, "blanks"))
		l := readLog(t, writeLog(names, rows, order), NoLogDefaults())
		meansAgree(t, rows, &l)
		other := readLog(t, writeLog(names, rows, rapid.Permutation(order).Draw(t, "order")), NoLogDefaults())
		if d := cmp.Diff(l.Rows, other.Rows, cmpopts.EquateNaNs()); d != "" {
			t.Fatalf("another order of columns\n%s", d)
		}
	})
	// Long ones, whose buckets grow while they are read.
	for _, c := range []struct {
		rows, most int
		wantS      float64
	}{{8000, 5, 20}, {9000, 7, 30}, {60_000, 2, 120}, {100_000, 7, 300}, {50_000, 60, 1200}} {
		names, rows := drawLog(int64(c.rows), c.rows, c.most, 0.1)
		l := readLog(t, writeLog(names, rows, order), NoLogDefaults())
		if l.Report.BucketS != c.wantS {
			t.Errorf("%d rows in %v s: buckets of %v s, want %v", c.rows, rows[c.rows-1][0], l.Report.BucketS, c.wantS)
		}
		meansAgree(t, rows, &l)
	}
}

func meansAgree(t failer, rows [][]float64, l *Log) {
	want := plainBuckets(rows, l.Report.BucketS)
	if len(l.Rows) == 0 && len(want) == 0 {
		return
	}
	if d := cmp.Diff(want, l.Rows, sameObservations); d != "" {
		t.Fatalf("%d rows in buckets of %v s (-want +got)\n%s", len(rows), l.Report.BucketS, d)
	}
}

// plainBuckets works out the observations of rows [s, rpm, ambient, speed,
// output, case], one interval after the other.
func plainBuckets(rows [][]float64, lengthS float64) (out []rig.Observation) {
	if lengthS == 0 {
		lengthS = 10
	}
	// told is a condition at row i: its own, or the last within a minute.
	told := func(i, c int) float64 {
		for j := i; j >= 0 && rows[i][0]-rows[j][0] <= 60; j-- {
			if v := rows[j][c]; v == v {
				return v
			}
		}
		return math.NaN()
	}
	start, waits, bucket := math.NaN(), 0.0, -1
	var intervals [][]float64 // dt, rpm, ambient, speed, output
	var o rig.Observation
	caseAt := 0.0
	flush := func(end float64) {
		if len(intervals) == 0 {
			return
		}
		mean := func(c int) float64 {
			sum, weight := 0.0, 0.0
			for _, n := range intervals {
				if v := n[c]; v == v {
					sum, weight = sum+n[0]*v, weight+n[0]
				}
			}
			if weight == 0 {
				return 0
			}
			return sum / weight
		}
		o.EngineRpm, o.AmbientC, o.SpeedKmh, o.OutputA = mean(1), mean(2), mean(3), mean(4)
		if end-caseAt > 60 || o.CaseC < o.AmbientC {
			o.CaseC = math.NaN()
		}
		if o.CaseC == o.CaseC {
			o.Thermometer = "contact"
		}
		out = append(out, o)
		intervals = nil
	}
	end := 0.0
	for i := 0; i+1 < len(rows); i++ {
		dt := rows[i+1][0] - rows[i][0]
		n := []float64{dt, told(i, 1), told(i, 2), told(i, 3), rows[i][4]}
		if n[1] != n[1] || n[2] != n[2] || n[3] != n[3] {
			waits += dt
			continue
		}
		begins := "before"
		if start != start || waits > 300 {
			flush(end)
			start, waits, bucket, begins = rows[i][0], 0, -1, "warm" // what was untold before is not counted
		}
		if b := int(math.Ceil((rows[i+1][0]-start)/lengthS)) - 1; b != bucket {
			flush(end)
			bucket = b
			o = rig.Observation{Begins: begins, EverythingOn: "no", InletC: math.NaN(), CaseC: math.NaN(), CoreC: math.NaN(), PlatesC: math.NaN()}
		}
		o.Minutes += (dt + waits) / 60
		waits, end = 0, rows[i+1][0]
		intervals = append(intervals, n)
		if v := rows[i+1][5]; v == v && !(v < told(i+1, 2)) {
			o.CaseC, caseAt = v, end
		}
	}
	flush(end)
	return out
}

// secondRows is a log of one row a second, with n of them.
func secondRows(n int) []byte {
	b := []byte("time_s,engine_rpm,speed_kmh,ambient_C,output_A,bus_V,inlet_C,case_C,charger_W,soc\n")
	for s := range n {
		b = strconv.AppendInt(b, int64(s), 10)
		for _, v := range [...]float64{1400 + float64(s*37%101), 8 + float64(s*13%18), 36.5, 58.25, 13.84, 52.5, float64(700+s%100) / 10, 500, 0.437} {
			b = append(b, ',')
			b = strconv.AppendFloat(b, v, 'f', -1, 64)
		}
		b = append(b, '\n')
	}
	return b
}

// The shortest buckets that are few enough, whatever length the log has.
func TestLogLengths(t *testing.T) {
	const header = "time_s,engine_rpm,ambient_C\n"
	text, ends := []byte(header), []int{len(header)}
	for s := range 1_000_100 {
		text = append(strconv.AppendInt(text, int64(s), 10), ",1400,36\n"...)
		ends = append(ends, len(text))
	}
	for _, c := range []struct {
		rows  int
		wantS float64
	}{{2, 10}, {15_001, 10}, {15_002, 20}, {30_002, 30}, {45_002, 60}, {86_400, 60}, {90_002, 120}, {180_002, 300}, {450_001, 300}, {450_002, 600}, {1_000_100, 1200}} {
		l := ReadLog(text[:ends[c.rows]], NoLogDefaults())
		takenByInputs(t, &l)
		rows := min(c.rows, 1_000_000)
		if want := int(math.Ceil(float64(rows-1) / c.wantS)); l.Report.BucketS != c.wantS || len(l.Rows) != want || l.Report.Rows != rows {
			t.Errorf("%d rows: %d observations of %v s of %d rows, want %d of %v", c.rows, len(l.Rows), l.Report.BucketS, l.Report.Rows, want, c.wantS)
		}
		if over := c.rows - rows; over > 0 && (len(l.Report.Refused) != 1 || l.Report.Refused[0] != LogFault{Reason: "too_many", Count: over, Line: 1_000_002}) {
			t.Errorf("%d rows too many: %+v", over, l.Report.Refused)
		}
	}
}

// A log in more pieces than there may be observations keeps the last of them.
func TestLogPieces(t *testing.T) {
	const pieces = 9000
	b := []byte("time_s,engine_rpm,ambient_C\n")
	for i := range pieces {
		b = fmt.Appendf(b, "%d,1400,36\n%d,%d,36\n", i*1000, i*1000+5, 1400)
	}
	l := ReadLog(b, NoLogDefaults())
	takenByInputs(t, &l)
	if len(l.Rows) != 1500 || l.Report.Dropped != pieces-1500 || l.Rows[1499].At != num((pieces-1)*1000+5) || l.Report.Breaks[0].Count != pieces-1 {
		t.Errorf("%d observations, %d dropped, the last at %s", len(l.Rows), l.Report.Dropped, l.Rows[len(l.Rows)-1].At)
	}
}

// Huge fields and lines are no rows, and cost no more than their length.
func TestLogHuge(t *testing.T) {
	x := strings.Repeat("9", 1<<20)
	l := readLog(t, "time_s,engine_rpm,ambient_C,"+strings.Repeat("y", 1000)+"\n0,1400,36,\n"+x+",1,1,1\n1,1400,36,"+x[:60000]+"\n2,"+x[:100]+",36,\n\""+x+"\n10,1400,36,\n", NoLogDefaults())
	want := []LogFault{{Reason: "long", Count: 2, Line: 3}}
	if cmp.Diff(want, l.Report.Refused) != "" || len(l.Rows) != 1 || l.Report.Rows != 4 || len(l.Report.Unread) != 1 || len(l.Report.Unread[0].Value) > 60 || len(l.Report.Unknown[0]) > 60 {
		t.Errorf("%d observations, %+v", len(l.Rows), l.Report)
	}
	l = readLog(t, "time_s,engine_rpm,ambient_C"+strings.Repeat(",a", 20000)+"\n0,1,2"+strings.Repeat(",b", 20000)+"\n1,1,2"+strings.Repeat(",b", 20000), NoLogDefaults())
	if len(l.Rows) != 1 {
		t.Errorf("many columns: %+v", l.Report)
	}
}

// Time goes with length, and memory hardly.
func TestLogAllocates(t *testing.T) {
	text := secondRows(20_000)
	if n := testing.AllocsPerRun(3, func() { ReadLog(text, NoLogDefaults()) }); n > 2200 {
		t.Errorf("%v allocations for 20,000 rows, want at most 2,200: 1,000 observations have a time each", n)
	}
}

// The JSON of a log is what the table of inputs reads.
func TestLogJSON(t *testing.T) {
	text := []byte(logShapes[0].write(canalDay(601)))
	var got struct {
		Observations json.RawMessage
		Report       map[string]any
	}
	out := LogJSON(text, NoLogDefaults())
	if err := json.Unmarshal(out, &got); err != nil {
		t.Fatalf("%v: %.300s", err, out)
	}
	var q Request
	if ps := inputs.read([]byte(`{"rig":{"observations":`+string(got.Observations)+`}}`), &q, ""); len(ps) > 0 {
		t.Fatalf("refused: %+v", ps)
	}
	if d := cmp.Diff(ReadLog(text, NoLogDefaults()).Rows, q.Rig.Observations, cmpopts.EquateNaNs()); d != "" {
		t.Errorf("(-read +from JSON)\n%s", d)
	}
	if got.Report["bucket_s"] != 10.0 || got.Report["rows"] != 601.0 {
		t.Errorf("report %v", got.Report)
	}
}

// Names of the table are each their own: none is hidden by one above it.
func TestLogNames(t *testing.T) {
	for c := range logColumns {
		k := &logColumns[c]
		for _, name := range k.names {
			for u := range k.units {
				units := k.units[u].names
				if units == nil {
					units = []string{""}
				}
				for _, unit := range units {
					squeezed := squeeze(nil, []byte(name+" ("+unit+")"))
					got, how, _ := logMatch(squeezed, -1)
					if got < 0 || logColumns[got].field != k.field || how.factor != k.units[u].factor || how.shift != k.units[u].shift {
						t.Errorf("%s in %s is read as row %d of the table, want %d", name, unit, got, c)
					}
				}
			}
		}
	}
	for f := logEngineRpm; f < logSoc; f++ { // the charge and the date are none
		if path := "rig.observations[]." + logFieldNames[f]; inputs.fields[inputs.mustIndex(path)].Path != path {
			t.Errorf("%s is no input", path)
		}
	}
}

// FuzzLog: any text gives observations that the table of inputs takes, or says
// why there are none. Seeds: testdata/fuzz/FuzzLog, and each shape.
func FuzzLog(f *testing.F) {
	for _, s := range logShapes {
		f.Add([]byte(s.write(canalDay(13))), false)
	}
	f.Fuzz(func(t *testing.T, text []byte, constants bool) {
		defaults := NoLogDefaults()
		if constants {
			defaults = LogDefaults{EngineRpm: 1400, SpeedKmh: 15, AmbientC: 36, AltitudeM: 600, VehicleLoadsW: 200, SettingW: 500, ChargerEfficiency: 0.9}
		}
		l := ReadLog(text, defaults)
		takenByInputs(t, &l)
		if !json.Valid(LogJSON(text, defaults)) {
			t.Fatal("not json")
		}
		r := &l.Report
		for _, list := range [][]LogFault{r.Refused, r.Unread, r.Untold, r.Breaks} {
			for _, f := range list {
				if f.Reason == "" || f.Count < 1 || f.Line < 1 || f.Line > r.Lines || len(f.Value) > jsontext.MaxShown {
					t.Fatalf("bad fault %+v", f)
				}
			}
		}
	})
}

// The seeds are read as they stand, too.
func TestLogSeeds(t *testing.T) {
	seeds, _ := filepath.Glob("testdata/fuzz/FuzzLog/*")
	if len(seeds) < 5 {
		t.Fatalf("%d seeds", len(seeds))
	}
	for _, s := range seeds {
		if text, err := os.ReadFile(s); err != nil || len(text) > 4096 {
			t.Errorf("%s: %v, %d bytes", s, err, len(text))
		}
	}
}

func BenchmarkReadLog(b *testing.B) {
	for _, rows := range []int{86_400, 864_000} {
		b.Run(strconv.Itoa(rows), func(b *testing.B) {
			text := secondRows(rows)
			b.SetBytes(int64(len(text)))
			b.ReportAllocs()
			for b.Loop() {
				if l := ReadLog(text, NoLogDefaults()); len(l.Rows) == 0 {
					b.Fatal(l.Report)
				}
			}
			b.ReportMetric(b.Elapsed().Seconds()*1000/float64(b.N), "ms/log")
		})
	}
}
