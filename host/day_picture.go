package main

import (
	"bytes"
	"fmt"
	"image/color"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"
)

// pictureMost is how many points a curve has at most, so that the picture of
// many days stays a small file.
const pictureMost = 1500

// picture draws a plan for a report, as SVG.
func (p *program) picture(a answer, file string) error {
	text, err := pictureOf(a)
	if err != nil {
		return fmt.Errorf("draw the day: %w", err)
	}
	return p.writePicture(file, text)
}

// writePicture writes a picture to a file, or to standard output for -.
func (p *program) writePicture(file string, text []byte) error {
	if file == "-" {
		_, err := p.data.Write(text)
		return err
	}
	if err := writeFile(file, text); err != nil {
		return fmt.Errorf("write the picture: %w", err)
	}
	p.note("picture in %s", file)
	return nil
}

// A curve is a column of the series in a panel. Curves differ in their dashes,
// not in colour alone.
type curve struct {
	name, column string
	scale        float64
	dashes       []vg.Length
	colour       color.Color
	during       string // broken where this column is 0; "": never
}

// A panel is one strip of the picture.
type panel struct {
	title, unit string
	top         float64 // of the axis; 0: by the curves
	curves      []curve
}

var (
	ink    = color.RGBA{A: 255}
	blue   = color.RGBA{B: 170, G: 80, A: 255}
	orange = color.RGBA{R: 200, G: 95, A: 255}

	dashed = []vg.Length{vg.Points(6), vg.Points(3)}
	dotted = []vg.Length{vg.Points(1.5), vg.Points(2.5)}
)

var dayPanels = []panel{
	{"Charge", "%", 100, []curve{
		{"house battery", "house_soc", 100, nil, blue, ""},
		{"starter battery", "starter_soc", 100, dashed, ink, ""},
	}},
	{"Power", "W", 0, []curve{
		{"charger, out", "charge_W", 1, nil, blue, ""},
		{"sun offers", "sun_W", 1, dashed, orange, ""},
		{"house side draws", "house_W", 1, dotted, ink, ""},
	}},
	{"Charger: setting and what is allowed", "W", 0, []curve{
		{"ceiling of the moment", "ceiling_W", 1, dotted, ink, "engine_rpm"},
		{"allowed in the stretch", "allowed_W", 1, dashed, orange, "allowed_W"},
		{"setting", "setting_W", 1, nil, blue, "allowed_W"},
	}},
	{"Temperature, likeliest vehicle", "°C", 0, []curve{
		{"stator winding", "stator_winding_C", 1, nil, orange, ""},
		{"air", "ambient_C", 1, dashed, blue, ""},
	}},
}

// pictureOf draws the panels under each other, their legends beside them.
func pictureOf(a answer) ([]byte, error) {
	const width, height, legend = 24 * vg.Centimeter, 24 * vg.Centimeter, 5 * vg.Centimeter
	canvas := vgsvg.New(width, height)
	whole := draw.New(canvas)
	whole.SetColor(color.White)
	whole.Fill(whole.Rectangle.Path())
	whole = draw.Crop(whole, 4*vg.Millimeter, -4*vg.Millimeter, 4*vg.Millimeter, -4*vg.Millimeter)

	var plots [][]*plot.Plot
	var legends []plot.Legend
	hours := column(a, "at_min")
	for i := range hours {
		hours[i] /= 60
	}
	for i := range dayPanels {
		p, l, err := dayPanels[i].plot(a, hours)
		if err != nil {
			return nil, err
		}
		if i == len(dayPanels)-1 {
			p.X.Label.Text = "time of day, h"
			if hours[len(hours)-1]-hours[0] > 25 {
				p.X.Label.Text = "time, by days"
			}
		}
		plots, legends = append(plots, []*plot.Plot{p}), append(legends, l)
	}

	head := 1.4 * vg.Centimeter
	title, sub := plots[0][0].Title.TextStyle, plots[0][0].Title.TextStyle
	title.Font.Size, sub.Font.Size = 14, 10
	title.XAlign, sub.XAlign = draw.XLeft, draw.XLeft
	title.YAlign, sub.YAlign = draw.YTop, draw.YTop
	whole.FillText(title, vg.Point{X: whole.Min.X, Y: whole.Max.Y}, sentence(a.says("setting")))
	goal := a.says("full")
	if goal == "" {
		goal = a.says("missing")
	}
	whole.FillText(sub, vg.Point{X: whole.Min.X, Y: whole.Max.Y - 18}, "House battery "+goal+". At night "+a.says("night")+".")

	left := draw.Crop(whole, 0, -legend, 0, -head)
	tiles := draw.Tiles{Rows: len(plots), Cols: 1, PadY: 4 * vg.Millimeter}
	for i, row := range plot.Align(plots, tiles, left) {
		plots[i][0].Draw(row[0])
		beside := draw.Canvas{Canvas: whole.Canvas, Rectangle: vg.Rectangle{
			Min: vg.Point{X: row[0].Max.X + 3*vg.Millimeter, Y: row[0].Min.Y}, Max: vg.Point{X: whole.Max.X, Y: row[0].Max.Y - 16}}}
		legends[i].Draw(beside)
	}
	var out bytes.Buffer
	if _, err := canvas.WriteTo(&out); err != nil {
		return nil, err
	}
	// Who has not the font takes another of its kind.
	return bytes.ReplaceAll(out.Bytes(), []byte("font-family:Liberation Sans"), []byte("font-family:Liberation Sans,Arial,Helvetica,sans-serif")), nil
}

// column is a column of the series, thinned to pictureMost; NaN where there is
// no value. The setting is what the plan sets, or less where a stretch allows
// less.
func column(a answer, name string) []float64 {
	if name == "setting_W" {
		list, most := column(a, "allowed_W"), a.number("setting.output_W")
		for i := range list {
			list[i] = math.Min(list[i], most)
		}
		return list
	}
	rows := a.rows("series." + name)
	k := (len(rows) + pictureMost - 1) / pictureMost
	var list []float64
	for i := 0; i < len(rows); i += k {
		sum, top, last, n := 0.0, math.Inf(-1), math.NaN(), 0.0
		for _, row := range rows[i:min(i+k, len(rows))] {
			if v, ok := row.value.(float64); ok {
				sum, top, last, n = sum+v, math.Max(top, v), v, n+1
			}
		}
		switch {
		case n == 0:
			list = append(list, last)
		case name == "at_min":
			list = append(list, last)
		case name == "ceiling_W" || name == "allowed_W": // 0 where the engine is off is no ceiling
			list = append(list, top)
		default:
			list = append(list, sum/n)
		}
	}
	return list
}

func (x *panel) plot(a answer, hours []float64) (*plot.Plot, plot.Legend, error) {
	p, legend := plot.New(), plot.NewLegend()
	p.Title.Text, p.Y.Label.Text = x.title, x.unit
	legend.Top, legend.Left = true, true
	legend.ThumbnailWidth = vg.Points(24)
	legend.Padding = vg.Points(2)
	grid := plotter.NewGrid()
	grid.Vertical.Color, grid.Horizontal.Color = color.Gray{200}, color.Gray{225}
	p.Add(grid)
	for _, c := range x.curves {
		values, during := column(a, c.column), column(a, "at_min")
		if c.during != "" {
			during = column(a, c.during)
		}
		first := true
		for i := 0; i < len(values); {
			var part plotter.XYs
			for ; i < len(values) && !math.IsNaN(values[i]) && during[i] != 0; i++ {
				part = append(part, plotter.XY{X: hours[i], Y: values[i] * c.scale})
			}
			i++
			if len(part) < 2 && !(first && i >= len(values) && len(part) > 0) {
				continue
			}
			l, err := plotter.NewLine(part)
			if err != nil {
				return nil, legend, err
			}
			l.Width, l.Color, l.Dashes = vg.Points(1.3), c.colour, c.dashes
			p.Add(l)
			if first {
				legend.Add(c.name, l)
				first = false
			}
		}
	}
	p.Y.Min = math.Min(p.Y.Min, 0)
	if x.top > 0 {
		p.Y.Max = x.top
	}
	p.Y.Max = math.Max(p.Y.Max, p.Y.Min+1)
	step := tick(p.Y.Max-p.Y.Min, 4)
	p.Y.Min, p.Y.Max = step*math.Floor(p.Y.Min/step), step*math.Ceil(p.Y.Max/step)
	var ticks plot.ConstantTicks
	for v := p.Y.Min; v <= p.Y.Max+step/2; v += step {
		ticks = append(ticks, plot.Tick{Value: v, Label: fixed(v, 0)})
	}
	p.Y.Tick.Marker = ticks
	p.X.Min, p.X.Max = hours[0]-(hours[len(hours)-1]-hours[0])/math.Max(float64(len(hours)-1), 1), hours[len(hours)-1]
	p.X.Tick.Marker = hourTicks{}
	for _, style := range []*draw.TextStyle{&p.Title.TextStyle, &p.X.Label.TextStyle, &p.Y.Label.TextStyle, &p.X.Tick.Label, &p.Y.Tick.Label, &legend.TextStyle} {
		style.Font.Typeface, style.Font.Variant = "Liberation", "Sans"
		style.Font.Size = 9
	}
	p.Title.TextStyle.Font.Size = 10
	return p, legend, nil
}

// hourTicks marks every third hour of a day, days where there are several.
type hourTicks struct{}

func (hourTicks) Ticks(from, to float64) (list []plot.Tick) {
	step, span := 3.0, to-from
	switch {
	case span > 24*8:
		step = 48
	case span > 24*3:
		step = 24
	case span > 25:
		step = 12
	}
	for h := math.Ceil(from/step-1e-9) * step; h <= to+1e-9; h += step {
		label := fmt.Sprintf("%02.0f", math.Mod(h, 24))
		if span > 25 {
			label = fmt.Sprintf("day %.0f, %s:00", math.Floor(h/24)+1, label)
		}
		list = append(list, plot.Tick{Value: h, Label: label})
	}
	return list
}
