package main

import (
	"fmt"
	"io"
	"os"
	"runtime"
	"runtime/debug"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"spareamps/core"
	"spareamps/host/runner"
)

// sweepFlags say which points are computed, by what, and where they go.
type sweepFlags struct {
	request   requestFlags
	rigs      []string
	axes      []string
	zips      []string
	cases     string
	spreads   []string
	samples   int64
	sampling  string
	seed      uint64
	out       []string
	format    string
	backend   backendFlags
	edge      []string
	jobs      int
	verify    bool
	tolerance float64
	plot      string
	resume    bool
	shard     string
}

var sweepFormats = []string{"csv", "jsonl", "parquet"}

func (p *program) newSweep() *cobra.Command {
	f := &sweepFlags{request: requestFlags{command: "sweep", part: "moment", sections: core.ForCeiling, own: leading}}
	c := &cobra.Command{
		Use:   "sweep",
		Short: "ceilings by the million: axes, cases, samples",
		Long: `Computes outputs of the ceiling for every combination of the values of its axes
and writes a row each, in an order that does not depend on how many work on it.

An axis is NAME=VALUES: the name of an input or its flag; values separated by
commas, each a value or a range.

  ambient-C=20,30,40             a list; of choices also all
  ambient-C=20:45:5              from:to:step
  engine-rpm=700:3000/24         from:to/count, evenly
  cable-length-m=0.5:16*2        from:to*factor, each so many times the last
  cable-length-m=0.5:20*/9       from:to*/count, in even ratios

Axes are crossed, the first being the slowest; --zip a,b makes axes step
together. --cases takes rows of values from a file, CSV or Parquet, its columns
named like axes, with the unit in brackets where it is another one: speed_kmh,
"ambient_C [°F]". Several --rig are compared. What no axis states is as in
` + "`spareamps ceiling`" + `: the demo, or --rig, and flags.

--samples draws so many times from spreads: ambient-C=30..40 (evenly),
ambient-C=36~2 or =~2 (normal, about 36 or the rig's own value, deviation 2),
vehicle-loads-W=*0.2 (its logarithm normal), or the name of an unknown, one of
what no label tells, with its own spread; unknowns alone means all of them.
Draws beyond an input's range are put at its end.

An unknown is also an axis, as unknown.NAME: the factor by which it differs from
the likeliest, or volts added. Results under nominal are then those of such a
vehicle; for those with confidence it is known. vehicle_loads, pulley_ratio,
bus_voltage and charger_efficiency are sampled as the inputs that set them.

Outputs are those of ` + "`spareamps outputs`" + ` that are neither lists nor free
text. nominal.input_A and its like, of the likeliest vehicle, take some
microseconds a point; those with confidence a third of a millisecond.

The file gets its name when it is whole: until then it is FILE.part, and
--resume goes on with that after Ctrl-C, a full disk or a lost machine, to the
same bytes. --shard i/n computes part i (from 0) of n; ` + "`spareamps merge`" + ` puts
the parts together, as in a job array:

  spareamps sweep ... --shard $SLURM_ARRAY_TASK_ID/16 --resume \
      -o part$SLURM_ARRAY_TASK_ID.parquet

--plot draws lines over one axis, or a map over two, with the regions in which
each limit binds, to a file named .svg or .png.`,
		Example: `spareamps sweep --axis ambient-C=20:45:5 --axis engine-rpm=800,1400,2000
spareamps sweep --axis engine-rpm=700:3000/200 --axis ambient-C=0:50/100 \
    --out nominal.input_A,nominal.output_W -o map.csv
spareamps sweep --cases map.csv --out nominal.output_W --format jsonl
spareamps sweep --spread ambient-C=~2 --spread pulley_ratio --samples 1000 \
    --out nominal.output_W
spareamps sweep --spread unknowns --samples 10000 --out nominal.input_A \
    -o all.csv
spareamps sweep --axis unknown.air_film=0.7:1.4/15 --out nominal.input_A
spareamps sweep --rig rig.json --axis alternator-insulation-class=all \
    --axis cable-length-m=2:16*2 --out ceiling.output_W,ceiling.limit`,
		Args: noArguments,
		RunE: func(*cobra.Command, []string) error { return p.sweep(f) },
	}
	g := c.Flags()
	g.StringArrayVar(&f.axes, "axis", nil, "sweep an input over values, `NAME=VALUES`; repeat for more")
	g.StringArrayVar(&f.zips, "zip", nil, "axes that step together, `NAME,NAME`")
	g.StringVar(&f.cases, "cases", "", "rows of values from `FILE`, CSV or Parquet; - is standard input")
	g.StringArrayVar(&f.spreads, "spread", nil, "an input that scatters, `NAME=SPREAD`; repeat for more")
	g.Int64Var(&f.samples, "samples", 0, "draw `N` times from the spreads, for every combination of axes")
	g.StringVar(&f.sampling, "sampling", "even", "how to draw: a `NAME`, even (low discrepancy) or random")
	g.Uint64Var(&f.seed, "seed", 0, "draw other samples for another `N`")
	g.StringSliceVar(&f.out, "out", []string{"ceiling.output_W", "ceiling.input_A"}, "outputs, a `LIST` of names")
	g.StringVar(&f.format, "format", "", "csv, jsonl or parquet; else by the `NAME` of the file, or csv")
	g.StringArrayVar(&f.rigs, "rig", nil, "rig or whole request from `FILE`, in JSON; repeat to compare several")
	g.StringVar(&f.request.file, "moment", "", "moment from `FILE`, in JSON; - is standard input")
	f.backend.add(c, "native", "native", "wasm", "edge")
	g.StringSliceVar(&f.edge, "edge", nil, "services to compute, `URL,...`; means --backend edge")
	g.IntVar(&f.jobs, "jobs", 0, "compute on `N` threads, or with N calls; else one a processor")
	g.BoolVar(&f.verify, "verify", false, "compute a sample by another backend too, and fail where they differ")
	g.Float64Var(&f.tolerance, "tolerance", defaultTolerance(), "relative difference that --verify allows, a `NUMBER`")
	g.StringVar(&f.plot, "plot", "", "draw the first output to `FILE`, .svg or .png")
	g.BoolVar(&f.resume, "resume", false, "go on with what an earlier run left")
	g.StringVar(&f.shard, "shard", "", "compute one part only, `I/N` with I from 0")
	f.request.table = newTableFlags(c, core.ForCeiling...)
	complete := func(name string, list func() []string) {
		_ = c.RegisterFlagCompletionFunc(name, func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return list(), cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveNoSpace
		})
	}
	complete("axis", func() (names []string) {
		for _, x := range sweepFields() {
			if sweepable(&x) {
				names = append(names, flagName(x.Path)+"=")
			}
		}
		return names
	})
	complete("spread", func() []string {
		names := []string{allUnknowns}
		for i := range core.Unknowns {
			names = append(names, core.Unknowns[i].Name)
		}
		return names
	})
	complete("out", func() (names []string) {
		for _, o := range core.Outputs() {
			if _, problem := sweepOutputOf(o.Path); problem == nil {
				names = append(names, o.Path)
			}
		}
		return names
	})
	complete("format", func() []string { return sweepFormats })
	complete("sampling", func() []string { return []string{"even", "random"} })
	return c
}

// sweep runs the command.
func (p *program) sweep(f *sweepFlags) error {
	file := p.outFile
	if file == "-" {
		file = ""
	}
	p.outFile = "" // written here, row by row
	if err := f.usage(file); err != nil {
		return err
	}
	shard, of, err := shardOf(f.shard)
	if err != nil {
		return err
	}
	points, outputs, err := p.sweepPlan(f)
	if err != nil {
		return err
	}
	var picture *sweepPicture
	if f.plot != "" {
		if picture, err = plotPlan(points, outputs); err != nil {
			return err
		}
	}
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(100) // a long run is not to grow to the limit of a short one
	}
	run, dear := newSweepRun(points, outputs)
	if err := p.attach(f, run, dear); err != nil {
		return err
	}
	defer run.backend.close()
	from, err := run.backend.provenance(p.ctx)
	if err != nil {
		return err
	}
	if f.verify {
		if err := p.verifySweep(f, run, dear); err != nil {
			return err
		}
	}
	run.first, run.last = run.groups()*shard/of, run.groups()*(shard+1)/of
	key := points.key(f.format, f.out, from)
	var part *sweepShard
	if f.shard != "" {
		part = &sweepShard{Shard: shard, Of: of, Sweep: key, Rows: run.rowsIn(run.first, run.last), Format: f.format}
	}
	sink, err := p.sweepSink(f, run, file, key, part, from)
	if err != nil {
		return err
	}
	defer sink.close()
	if err := p.runSweep(f, run, sink); err != nil {
		return err
	}
	if picture != nil {
		return p.plotSweep(f, run, picture)
	}
	return nil
}

// newSweepRun makes a run over all points. dear says that a point takes more
// than microseconds.
func newSweepRun(points *sweepPoints, outputs []sweepOutput) (r *sweepRun, dear bool) {
	r = &sweepRun{points: points, outputs: outputs}
	var columns []string
	for i := range outputs {
		columns = append(columns, outputs[i].Path)
		dear = dear || !strings.HasPrefix(outputs[i].Path, "nominal.")
	}
	r.names = points.names(columns)
	r.groupRows = groupRowsOf(points.n, dear)
	r.last = r.groups()
	return r, dear
}

// attach gives a run its backend.
func (p *program) attach(f *sweepFlags, r *sweepRun, dear bool) (err error) {
	jobs := f.jobs
	if jobs == 0 {
		jobs = runtime.GOMAXPROCS(0)
	}
	if r.backend, err = p.sweepBackend(f, f.backend.backend, jobs); err != nil {
		return err
	}
	r.jobs = int(min(int64(r.backend.jobs(jobs)), r.groups()))
	r.batch = r.backend.batch(dear)
	return nil
}

// verifySweep compares the backend with another.
func (p *program) verifySweep(f *sweepFlags, r *sweepRun, dear bool) error {
	name := "native"
	if f.backend.backend == "native" {
		name = "wasm"
	}
	other, err := p.sweepBackend(f, name, 1)
	if err != nil {
		return err
	}
	defer other.close()
	rows, most, err := r.verify(p.ctx, other, dear, f.tolerance)
	if err != nil {
		return err
	}
	p.note("%s and %s agree at %s points, largest difference %v", f.backend.backend, name, grouped(int64(rows)), most)
	return nil
}

// sweepSink opens what the rows go to.
func (p *program) sweepSink(f *sweepFlags, r *sweepRun, file, key string, part *sweepShard, from provenance) (*sweepSink, error) {
	text := textWriter{r.points, r.outputs}
	switch f.format {
	case "csv":
		r.writer = &csvWriter{text}
	case "jsonl":
		r.writer = newJSONWriter(text)
	default:
		r.writer = newParquetWriter(r.points, r.outputs, sweepMeta(r.points, r.outputs, from), part)
	}
	head := r.writer.begin()
	if part != nil {
		key += fmt.Sprintf(" %d/%d", part.Shard, part.Of)
		if f.format != "parquet" {
			head = append(part.line(), head...)
		}
	}
	s := &sweepSink{name: file, writer: r.writer, head: head, key: key, summary: newSweepSummary(r.outputs)}
	quietSignals()
	if file == "" {
		s.stream = p.out
	} else if info, err := os.Stat(file); err == nil && !info.Mode().IsRegular() {
		stream, err := os.OpenFile(file, os.O_WRONLY, 0)
		if err != nil {
			return nil, fmt.Errorf("write the output: %w", err)
		}
		s.stream, s.data = stream, stream
	}
	if err := s.open(f.resume && s.stream == nil); err != nil {
		s.close()
		return nil, err
	}
	return s, nil
}

// runSweep computes, writes, and says what came of it.
func (p *program) runSweep(f *sweepFlags, r *sweepRun, s *sweepSink) error {
	total := r.rowsIn(r.first, r.last)
	before := s.rows
	if before > 0 {
		p.note("goes on behind %s of %s points", grouped(before), grouped(total))
	}
	progress := &sweepProgress{to: p.progressTo(), total: total, before: before, start: time.Now()}
	err := r.run(p.ctx, r.first+s.groups, s, progress)
	progress.end()
	if err == nil {
		if err = s.finish(); err != nil {
			err = s.failed(err)
		}
	}
	if err != nil {
		if p.ctx.Err() != nil && s.stream == nil {
			p.note("%s of %s points are in %s; the same command with --resume goes on", grouped(s.sure), grouped(total), s.part())
		}
		return err
	}
	if !p.quiet {
		var to io.Writer = p.err
		took := time.Since(progress.start)
		s.summary.print(to, r.outputs)
		if done := total - before; done > 0 {
			fmt.Fprintf(to, "%.2f s, %s points/s, %s\n", took.Seconds(), grouped(int64(float64(done)/took.Seconds())), f.backend.backend)
		}
	}
	return nil
}

// hinted is an error with a hint.
func hinted(err error, hint string) error { return &runner.HintError{Err: err, Hint: hint} }
