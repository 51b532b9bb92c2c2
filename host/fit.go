package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"spareamps/core"
	"spareamps/core/rig"
)

// fitFlags are those of fit beside the request's.
type fitFlags struct {
	observations string
	logs         []string
	track        string
	offset       float64 // of the clocks of logs and track to universal time; NaN: not told
	out          string
	svg          string
	trials       int
	seed         int64
}

func (p *program) newFit() *cobra.Command {
	request := requestFlags{part: "moment", sections: core.ForFit}
	var f fitFlags
	var backend backendFlags
	var strict, print bool
	c := &cobra.Command{
		Use:   "fit",
		Short: "learn from readings what the label does not tell, for a ceiling of this vehicle",
		Long: `Learns from what was read on the vehicle: a case temperature, clamp-meter amps
at an engine speed, volts at both ends of the lead, a logger's file. The ceiling
then spreads over what is still plausible, and is higher for most; lower where a
vehicle runs hotter than most. Volts of the starter battery, at rest and while
it starts the engine, propose what a day takes for it.

Without --rig it fits the demo's readings, which are made up. Observations are
those of the rig (rig.observations), then those of --observations FILE, an
object {"observations":[...]} or the list alone, then those of each --log FILE,
a CSV with units in its header. An infrared thermometer reads low on bare metal:
unless a row states surface painted or dull, or thermometer contact, the fit
takes the temperatures of its parts as too low and gives them little weight.
--track FILE, a GPX or CSV of the same drive, supplies by time the road speed
and altitude that a log lacks.
` + "`spareamps fields rig.observations`" + ` lists what may be read. --out FILE writes
the rig with what was learned, and the moment: ceiling --rig FILE, or day --rig
FILE --day DAY with a day from ` + "`spareamps day --print-request -o DAY`" + `.

--trials N draws N plausible vehicles, writes what each would show into the same
observations, fits them, and counts how often the claims hold.

Read on a parked vehicle with the engine off, or have somebody else drive.`,
		Example: `spareamps fit
spareamps fit --rig rig.json --observations today.json --out rig.json
spareamps fit --rig rig.json --log drive.csv --svg fit.svg --json
spareamps fit --rig rig.json --log trip.csv --track trip.gpx
spareamps fit --print-request -o rig.json
spareamps fit --trials 200`,
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error {
			if err := f.usage(c.Flags().Changed("utc-offset-h")); err != nil {
				return err
			}
			q, err := p.request(&request)
			if err != nil {
				return err
			}
			switch {
			case print:
				return p.indented(q.JSON())
			case f.trials > 0:
				return p.trials(&q, &f, request.json)
			}
			return p.fit(&q, &request, &f, &backend, strict)
		},
	}
	request.after = func(q *core.Request, bad *badInput) error {
		if !c.Flags().Changed("utc-offset-h") {
			f.offset = math.NaN()
		}
		return p.observed(q, &request, &f, bad)
	}
	request.add(c, core.ForFit...)
	c.Flags().StringVar(&f.observations, "observations", "", "readings from `FILE`, in JSON; - is standard input")
	c.Flags().StringArrayVar(&f.logs, "log", nil, "a logger's readings from `FILE`, CSV with units in its header; may be given again")
	c.Flags().StringVar(&f.track, "track", "", "road speed and altitude of the logs from `FILE`, a recorded track, GPX or CSV")
	c.Flags().Float64Var(&f.offset, "utc-offset-h", 0, "hours that the clock of --log and --track is ahead of universal time, where their times have no zone: `H`")
	c.Flags().StringVar(&f.out, "out", "", "write the rig with what was learned to `FILE`")
	c.Flags().StringVar(&f.svg, "svg", "", "a picture of the fit to `FILE` as well")
	c.Flags().IntVar(&f.trials, "trials", 0, "count the fit's claims over `N` drawn vehicles instead")
	c.Flags().Int64Var(&f.seed, "seed", 1, "of --trials")
	c.Flags().BoolVar(&request.json, "json", false, "the answer as one JSON object")
	c.Flags().BoolVar(&strict, "strict", false, "exit code 4 when the answer stands outside validity")
	c.Flags().BoolVar(&print, "print-request", false, "print the request that would be answered, as JSON")
	backend.add(c, "native", "native", "wasm")
	return c
}

// usage checks what flags say of each other.
func (f *fitFlags) usage(offset bool) error {
	standard := 0
	for _, name := range append([]string{f.observations, f.track}, f.logs...) {
		if name == "-" {
			standard++
		}
	}
	switch {
	case f.trials < 0:
		return &usageError{"--trials is " + strconv.Itoa(f.trials) + ", allowed is 0 or more", ""}
	case f.trials > 0 && f.out != "":
		return &usageError{"--out is of no use with --trials", "drawn vehicles tell nothing of yours; leave one of them out"}
	case f.trials > 0 && f.svg != "":
		return &usageError{"--svg is of no use with --trials", "leave one of them out"}
	case offset && f.track == "":
		return &usageError{"--utc-offset-h is of no use without --track", "it brings the clocks of log and track together"}
	case standard > 1:
		return &usageError{"standard input can be one file only", ""}
	}
	return nil
}

// observed lays observations from files over those of the rig; the demo rig
// gets the demo's.
func (p *program) observed(q *core.Request, r *requestFlags, f *fitFlags, bad *badInput) error {
	given := f.observations != "" || len(f.logs) > 0
	if r.rig == "" && !r.table.given(r.own...) && !given {
		*q = withDemo(*q)
	}
	text, err := p.text(f.observations, bad)
	if err != nil {
		return err
	}
	if text != nil {
		var more core.Request
		problems := problemsOf(more.Lay(asObservations(text), "rig"))
		for i := range problems {
			problems[i].Message = fileName(f.observations) + ": " + problems[i].Message
		}
		bad.problems = append(bad.problems, problems...)
		p.observe(q, more.Rig.Observations, fileName(f.observations))
	}
	track, err := p.trackOfLogs(f, bad)
	if err != nil {
		return err
	}
	for _, name := range f.logs {
		if err := p.logged(q, name, track, bad); err != nil {
			return err
		}
	}
	return nil
}

// trackOfLogs reads the track that is joined to the logs; nil: none.
func (p *program) trackOfLogs(f *fitFlags, bad *badInput) (*core.LogTrack, error) {
	if f.track == "" {
		return nil, nil
	}
	known := !math.IsNaN(f.offset)
	switch {
	case len(f.logs) == 0:
		return nil, &usageError{"--track is of no use without --log", "it tells a log the road speed by time"}
	case known && math.Abs(f.offset) > 14:
		return nil, &usageError{"--utc-offset-h is " + strconv.FormatFloat(f.offset, 'g', -1, 64) + ", allowed is -14 to 14", ""}
	}
	offset := 0.0
	if known {
		offset = f.offset
	}
	read, _, err := p.readTrackFile(f.track, offset, true)
	if err != nil {
		return nil, badTrack(bad, err)
	}
	rows, report, err := core.ResampleTrack(read.points)
	if err != nil {
		return nil, badTrack(bad, read.explain(err))
	}
	if read.date == 0 {
		message := fileName(f.track) + ": the track's times have no date: it cannot be joined to a log"
		bad.problems = append(bad.problems, core.Problem{Code: "track", Field: "points", Allowed: "a date with each time", Message: message})
		return nil, nil
	}
	p.note("%s: %s km in %s min of track", fileName(f.track), fixed(report.DistanceKm, 1), fixed(report.MovingMin+report.StandingMin, 0))
	return &core.LogTrack{Minutes: rows, HasAltitude: report.HasAltitude, MidnightS: (read.date+daysTo2000)*86400 - offset*3600, OffsetS: f.offset * 3600}, nil
}

const daysTo2000 = 10957 // from 1970-01-01

// observe adds observations of a file but for those that the rig has already:
// counted twice, one reading would weigh as two.
func (p *program) observe(q *core.Request, rows []rig.Observation, from string) {
	known := map[string]bool{} // by text, since what was not read is no number
	for _, o := range q.Rig.Observations {
		known[fmt.Sprint(o)] = true
	}
	twice := 0
	for _, o := range rows {
		if known[fmt.Sprint(o)] {
			twice++
			continue
		}
		q.Observe(o)
	}
	if twice > 0 {
		p.note("%s: observations that the rig has already, not counted again: %d", from, twice)
	}
}

// withDemo adds the demo's observations to a request about the demo rig.
func withDemo(q core.Request) core.Request {
	demo := core.DemoFit()
	for _, o := range demo.Rig.Observations {
		q.Observe(o)
	}
	return q
}

// asObservations puts a bare list into the object that the rig has it in, and
// takes a rig's out of a whole request.
func asObservations(text []byte) []byte {
	trimmed := bytes.TrimSpace(text)
	if bytes.HasPrefix(trimmed, []byte("[")) {
		return append(append([]byte(`{"observations":`), trimmed...), '}')
	}
	if hasKey(text, "rig") {
		return member(text, "rig")
	}
	return text
}

// logged adds the observations of a log. What the log does not tell is taken
// from the moment.
func (p *program) logged(q *core.Request, name string, track *core.LogTrack, bad *badInput) error {
	text, err := p.text(name, bad)
	if err != nil || text == nil {
		return err
	}
	same := core.NoLogDefaults()
	m := &q.Moment
	same.AmbientC, same.AltitudeM, same.SettingW, same.VehicleLoadsW = m.AmbientC, m.AltitudeM, m.SettingW, m.VehicleLoadsW
	same.ChargerEfficiency = q.Rig.Charger.Efficiency
	same.Track = track
	l := core.ReadLog(text, same)
	for _, problem := range l.Report.Problems {
		if problem.Allowed == core.LogNeedsOffset {
			bad.hints = append(bad.hints, "--utc-offset-h 2 is a clock of two hours ahead")
		}
		problem.Message = fileName(name) + ": " + problem.Message
		bad.problems = append(bad.problems, problem)
	}
	p.observe(q, l.Rows, fileName(name))
	p.noteLog(name, &l)
	return nil
}

// noteLog says what of a log was used and what was not.
func (p *program) noteLog(name string, l *core.Log) {
	r := &l.Report
	p.note("%s: %d rows, %s min in %d observations", fileName(name), r.Rows, fixed(r.CoveredMin, 0), len(l.Rows))
	if r.Joined > 0 {
		p.note("  road speed or altitude from the track: %d rows", r.Joined)
	}
	if len(r.Unknown) > 0 {
		p.note("  not used: %s", strings.Join(r.Unknown, ", "))
	}
	if len(r.Assumed) > 0 {
		p.note("  not in the log, so taken as usual: %s", strings.Join(r.Assumed, ", "))
	}
	if len(r.NoUnit) > 0 {
		p.note("  no unit behind the name, so not used: %s", strings.Join(r.NoUnit, ", "))
	}
	for _, list := range []struct {
		what   string
		faults []core.LogFault
	}{{"rows left out", r.Refused}, {"cells left out", r.Unread}, {"rows without a condition", r.Untold}, {"begun anew", r.Breaks}} {
		for _, fault := range list.faults {
			at := fault.Reason
			if fault.Field != "" {
				at += " of " + fault.Field
			}
			p.note("  %s: %d, %s, first in line %d", list.what, fault.Count, spaced(at), fault.Line)
		}
	}
	if r.Dropped > 0 {
		p.note("  the oldest %d observations left out: too many", r.Dropped)
	}
}

// fit asks an engine and prints what came of it.
func (p *program) fit(q *core.Request, r *requestFlags, f *fitFlags, b *backendFlags, strict bool) error {
	e, err := p.engine(b.backend, b.module)
	if err != nil {
		return err
	}
	defer e.close()
	told := p.newFitProgress()
	if _, ok := e.(native); ok {
		e = native{told.step}
	}
	text, a, err := p.asked(e.fit, q.JSON(), r, "confidence")
	told.end()
	if err != nil {
		return err
	}
	if f.svg != "" {
		if err := p.writePicture(f.svg, fitSVG(a)); err != nil {
			return err
		}
	}
	if f.out != "" {
		if a.text("keep") != "yes" {
			p.note("%s is not written: nothing was learned that may be relied on", f.out)
		} else if err := p.writeRig(q, text, r.page, f.out); err != nil {
			return err
		}
	}
	if r.json {
		if err := p.answerJSON(text, e); err != nil {
			return err
		}
	} else {
		g := p.newPage()
		g.learned(a)
	}
	return strictly(strict, a)
}

// writeRig writes the request with what was learned in its rig: whatever else
// the rig's file held, as a moment or what the page keeps there, stays beside it.
func (p *program) writeRig(q *core.Request, text, page []byte, file string) error {
	with := *q
	if err := with.Lay([]byte(`{"learned":`+string(member(text, "learned"))+`}`), "rig"); err != nil {
		return fmt.Errorf("take what was learned: %w", err)
	}
	whole := with.JSON()
	if page != nil {
		whole = fmt.Appendf(whole[:len(whole)-1], `,"page":%s}`, page)
	}
	var out bytes.Buffer
	if err := json.Indent(&out, whole, "", "  "); err != nil {
		return err
	}
	out.WriteByte('\n')
	if err := writeFile(file, out.Bytes()); err != nil {
		return fmt.Errorf("write the rig: %w", err)
	}
	p.note("rig with what was learned in %s", file)
	return nil
}
