package main

import (
	"bytes"
	"fmt"
	"image/color"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"

	"spareamps/core"
)

// What a picture shows at most: more is no clearer.
const (
	plotAlong  = 240 // points of a line
	plotAcross = 72  // cells of a map, each way
	plotSeries = 8   // lines
)

// A sweepPicture is what a picture shows: an output over one axis, in series,
// or over two.
type sweepPicture struct {
	x, y   *sweepFactor // y nil: lines
	series []*sweepFactor
	points *sweepPoints
	output sweepOutput
	limit  sweepOutput
	z      []float64 // by point; not a number where there is no answer
	binds  []int     // by point; -1 where there is none
}

// plotFormat is that of a picture's file; "" for none.
func plotFormat(name string) string {
	for _, format := range []string{"svg", "png"} {
		if strings.HasSuffix(strings.ToLower(name), "."+format) {
			return format
		}
	}
	return ""
}

// plotPlan chooses what a picture of a sweep shows.
func plotPlan(points *sweepPoints, outputs []sweepOutput) (*sweepPicture, error) {
	s := &sweepPicture{}
	at := slices.IndexFunc(outputs, func(o sweepOutput) bool { return o.Codes == nil })
	if at < 0 {
		return nil, &usageError{"--plot needs an output that is a number", "put one into --out"}
	}
	s.output = outputs[at]
	top, _, _ := strings.Cut(s.output.Path, ".")
	if top != "nominal" && top != "after_idle" {
		top = "ceiling"
	}
	s.limit, _ = sweepOutputOf(top + ".limit")
	if points.samples != nil {
		return nil, &usageError{"--plot draws axes, not samples", "leave out --samples for the picture"}
	}
	p := *points
	p.factors = slices.Clone(points.factors)
	var numbers, names []int
	for k, f := range p.factors {
		switch {
		case p.columns[f.columns[0]].names != nil:
			names = append(names, k)
		case f.n > 1:
			numbers = append(numbers, k)
		}
	}
	few := func(k int) bool { return p.factors[k].n <= plotSeries-2 }
	if len(numbers) == 2 && len(names) == 0 && !few(numbers[0]) && !few(numbers[1]) {
		for _, k := range numbers {
			p.factors[k] = thin(p.factors[k], plotAcross)
		}
		s.x, s.y = p.factors[numbers[0]], p.factors[numbers[1]]
	} else {
		x, lines := -1, int64(1)
		for _, k := range numbers { // the longest axis is the one drawn along
			if x < 0 || p.factors[k].n > p.factors[x].n {
				x = k
			}
		}
		for k, f := range p.factors {
			if k != x && f.n > 1 {
				lines *= f.n
			}
		}
		if x < 0 || lines > plotSeries {
			return nil, &usageError{"--plot draws over one axis of numbers, with at most " + itoa(plotSeries) + " lines, or over two axes", "sweep less for the picture"}
		}
		p.factors[x] = thin(p.factors[x], plotAlong)
		s.x = p.factors[x]
		for k, f := range p.factors {
			if k != x && f.n > 1 {
				s.series = append(s.series, f)
			}
		}
	}
	p.n = 1
	for _, f := range p.factors {
		p.n *= f.n
	}
	s.points = &p
	return s, nil
}

// thin takes values evenly out of a long axis, its ends among them.
func thin(f *sweepFactor, most int64) *sweepFactor {
	if f.n <= most {
		return f
	}
	t := &sweepFactor{n: most, columns: f.columns, ways: f.ways, values: make([][]float64, len(f.values))}
	for i := range most {
		from := i * (f.n - 1) / (most - 1)
		for j := range f.values {
			t.values[j] = append(t.values[j], f.values[j][from])
		}
		t.variant = append(t.variant, f.variant[from])
	}
	return t
}

// A plotWriter keeps the rows.
type plotWriter struct {
	textWriter
	picture *sweepPicture
}

func (w *plotWriter) begin() []byte { return nil }

func (w *plotWriter) rows(g *sweepRows) error {
	for i := range g.n {
		z, binds := math.NaN(), -1
		if g.status[i] == statusOK {
			z, binds = g.out[0][i], int(g.out[1][i])
		}
		w.picture.z[int(g.from)+i], w.picture.binds[int(g.from)+i] = z, binds
	}
	g.bytes = g.bytes[:0]
	return nil
}

// plotSweep computes what a picture shows and draws it.
func (p *program) plotSweep(f *sweepFlags, run *sweepRun, s *sweepPicture) error {
	outputs := []sweepOutput{s.output, s.limit}
	r, dear := newSweepRun(s.points, outputs)
	r.backend, r.jobs, r.batch = run.backend, run.jobs, run.backend.batch(dear)
	s.z, s.binds = make([]float64, s.points.n), make([]int, s.points.n)
	r.writer = &plotWriter{textWriter{s.points, outputs}, s}
	sink := &sweepSink{stream: io.Discard, writer: r.writer, summary: newSweepSummary(outputs)}
	progress := &sweepProgress{to: p.progressTo(), total: s.points.n, start: time.Now()}
	err := r.run(p.ctx, 0, sink, progress)
	progress.end()
	if err != nil {
		return err
	}
	text, err := s.draw(plotFormat(f.plot))
	if err != nil {
		return fmt.Errorf("draw the sweep: %w", err)
	}
	if err := writeFile(f.plot, text); err != nil {
		return fmt.Errorf("write the picture: %w", err)
	}
	p.note("picture in %s", f.plot)
	return nil
}

// draw draws into a file of a format.
func (s *sweepPicture) draw(format string) ([]byte, error) {
	const wide, high = 20 * vg.Centimeter, 14 * vg.Centimeter
	picture, legend, err := s.lines, plot.NewLegend(), error(nil)
	if s.y != nil {
		picture = s.area
	}
	legend.Top, legend.Left, legend.Padding = true, true, 3
	legend.TextStyle.Font.Size = 10
	p, err := picture(&legend)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	var canvas interface {
		vg.CanvasSizer
		io.WriterTo
	}
	if format == "png" {
		canvas = vgimg.PngCanvas{Canvas: vgimg.NewWith(vgimg.UseWH(wide, high), vgimg.UseDPI(144))}
	} else {
		canvas = vgsvg.New(wide, high)
	}
	c := draw.New(canvas)
	c.SetColor(color.White)
	c.Fill(c.Rectangle.Path())
	c = draw.Crop(c, 4*vg.Millimeter, -4*vg.Millimeter, 4*vg.Millimeter, -4*vg.Millimeter)
	const beside = 4.4 * vg.Centimeter
	if s.y != nil || len(s.series) > 0 {
		legend.Draw(draw.Crop(c, c.Max.X-c.Min.X-beside+3*vg.Millimeter, 0, 0, -1.2*vg.Centimeter))
		c = draw.Crop(c, 0, -beside, 0, 0)
	}
	p.Draw(c)
	_, err = canvas.WriteTo(&b)
	return b.Bytes(), err
}

// label is an axis' name and unit for a person.
func (s *sweepPicture) label(f *sweepFactor) string {
	var names []string
	for _, c := range f.columns {
		names = append(names, fieldLabel(s.points.columns[c].field))
	}
	return strings.Join(names, "; ")
}

func fieldLabel(f *core.Field) string {
	return withUnit(strings.TrimSuffix(lastName(f.Path), "_"+plainUnit(f.Unit)), f.Unit)
}

// plainUnit is a unit as names carry it.
func plainUnit(unit string) string {
	return strings.NewReplacer("°C", "C", "km/h", "kmh", "mm²", "mm2", "mΩ", "milliohm").Replace(unit)
}

func withUnit(name, unit string) string {
	name = spaced(name)
	if unit != "" && unit != "1" {
		name += ", " + unit
	}
	return name
}

// outputLabel says what is drawn.
func (s *sweepPicture) outputLabel() string {
	name := spaced(strings.TrimSuffix(strings.ReplaceAll(s.output.Path, ".", " "), "_"+plainUnit(s.output.Unit)))
	return withUnit(strings.ToUpper(name[:1])+name[1:], s.output.Unit)
}

// at is the number of the point at steps of the factors, the others at 0.
func (s *sweepPicture) at(step map[*sweepFactor]int64) (n int64) {
	for _, f := range s.points.factors {
		n = n*f.n + step[f]
	}
	return n
}
