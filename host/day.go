package main

import (
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"spareamps/core"
)

func (p *program) newDay() *cobra.Command {
	request := requestFlags{part: "day", sections: core.ForDay}
	var backend backendFlags
	var strict, print, csv bool
	var svg string
	c := &cobra.Command{
		Use:   "day",
		Short: "the gentlest setting that fills the house battery by tonight",
		Long: `Plans a day or several: the gentlest setting that fills the house battery by
camp and stays below the ceiling all along, when to change the charger over and
what forgetting that brings, the night, and whether the engine starts.

Without --rig, --day and an alternator in flags it plans the demo day. With
--rig or an alternator nothing comes from the demo; with --day nothing from the
demo's day. --day FILE holds the object under "day", or a whole request
{"rig":{...},"day":{...}}; flags go over files.

--track FILE puts a recorded track, GPX or CSV, in the place of the legs. A CSV
has units in its header: time or time_s, then speed_kmh or lat,lon, and
engine_rpm, ele if recorded. Where the day does not say otherwise, the track
gives date, place, start and number of days.

--csv prints the series by minutes (or by --series-min): the names of the
columns are those of the answer and end in their units, fractions have none.
Where it comes from is told by --json alone.`,
		Example: `spareamps day
spareamps day --house-soc 0.3 --max-C 41
spareamps day --print-request -o day.json
spareamps day --day day.json --svg day.svg
spareamps day --day day.json --csv --series-min 5 -o day.csv
spareamps day --rig day.json --setting-W 300 --json`,
		Args: noArguments,
		RunE: func(*cobra.Command, []string) error {
			q, err := p.request(&request)
			if err != nil {
				return err
			}
			if print {
				return p.indented(q.JSON())
			}
			return p.day(&q, &request, &backend, csv, svg, strict)
		},
	}
	request.after = func(q *core.Request, bad *badInput) error { return p.followTrack(q, &request, bad) }
	request.add(c, core.ForDay...)
	c.Flags().StringVar(&request.track, "track", "", "recorded track instead of legs, from `FILE`, GPX or CSV")
	c.Flags().BoolVar(&request.json, "json", false, "the answer as one JSON object")
	c.Flags().BoolVar(&csv, "csv", false, "the series as CSV")
	c.Flags().StringVar(&svg, "svg", "", "a picture of the day to `FILE` as well")
	c.Flags().BoolVar(&strict, "strict", false, "exit code 4 when the answer stands outside validity")
	c.Flags().BoolVar(&print, "print-request", false, "print the request that would be answered, as JSON")
	c.MarkFlagsMutuallyExclusive("json", "csv")
	backend.add(c, "native", "native", "wasm")
	return c
}

// day asks an engine for a plan and prints it.
func (p *program) day(q *core.Request, f *requestFlags, b *backendFlags, csv bool, svg string, strict bool) error {
	e, err := p.engine(b.backend, b.module)
	if err != nil {
		return err
	}
	defer e.close()
	days := q.Day.Days
	ask := func(seriesMin float64) ([]byte, answer, error) {
		request := *q
		if seriesMin > 0 && request.Day.SeriesMin == 0 {
			if err := request.Set("day.series_min", number(seriesMin)); err != nil {
				return nil, answer{}, err
			}
		}
		return p.asked(e.day, request.JSON(), f, "setting.output_W")
	}
	if svg != "" {
		_, a, err := ask(1)
		if err != nil {
			return err
		}
		if err := p.picture(a, svg); err != nil {
			return err
		}
	}
	var a answer
	var text []byte
	switch {
	case f.json:
		if text, a, err = ask(0); err == nil {
			err = p.answerJSON(text, e)
		}
	case csv:
		if _, a, err = ask(1); err == nil {
			p.seriesCSV(a)
		}
	default:
		if _, a, err = ask(stripMinutes(days)); err == nil {
			g := p.newPage()
			g.day(a, days)
		}
	}
	if err != nil {
		return err
	}
	return strictly(strict, a)
}

// stripMinutes is the step of the series that the strips are drawn from.
func stripMinutes(days float64) float64 {
	if days > stripDays {
		return 0
	}
	return 10
}

// seriesCSV prints the series of an answer for a table, in the order of the
// table of outputs.
func (p *program) seriesCSV(a answer) {
	var columns [][]answer
	for _, o := range core.DayOutputs() {
		name, isColumn := seriesColumn(o.Path)
		if !isColumn {
			continue
		}
		if len(columns) > 0 {
			p.data.WriteByte(',')
		}
		p.data.WriteString(name)
		columns = append(columns, a.rows("series."+name))
	}
	p.data.WriteByte('\n')
	for row := range columns[0] {
		for c, column := range columns {
			if c > 0 {
				p.data.WriteByte(',')
			}
			if row >= len(column) {
				continue
			}
			switch v := column[row].value.(type) {
			case string:
				p.data.WriteString(v)
			case float64:
				p.data.WriteString(strconv.FormatFloat(v, 'f', -1, 64))
			}
		}
		p.data.WriteByte('\n')
	}
}

// seriesColumn is the name of a column of the series, for its path in the table
// of outputs.
func seriesColumn(path string) (name string, ok bool) {
	name, inSeries := strings.CutPrefix(path, "series.")
	name, isList := strings.CutSuffix(name, "[]")
	return name, inSeries && isList
}
