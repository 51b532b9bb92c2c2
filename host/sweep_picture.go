package main

import (
	"fmt"
	"image/color"
	"math"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"spareamps/core"
)

// Lines differ in dashes, and classes of a map in darkness: colour never says
// anything alone.
var sweepDashes = [][]vg.Length{
	nil, {vg.Points(7), vg.Points(3)}, {vg.Points(1.5), vg.Points(2.5)}, {vg.Points(9), vg.Points(3), vg.Points(2), vg.Points(3)},
	{vg.Points(14), vg.Points(4)}, {vg.Points(4), vg.Points(6)}, {vg.Points(1.5), vg.Points(6)}, {vg.Points(9), vg.Points(2), vg.Points(2), vg.Points(2), vg.Points(2), vg.Points(2)},
}

const mapClasses = 7

// classColour goes from light to dark.
func classColour(class int) color.Color {
	t := float64(class) / (mapClasses - 1)
	mix := func(light, dark float64) uint8 { return uint8(light + (dark-light)*t) }
	return color.RGBA{mix(250, 95), mix(240, 35), mix(205, 30), 255}
}

// newPicture is a plot with the labels of the axes.
func (s *sweepPicture) newPicture() *plot.Plot {
	p := plot.New()
	p.X.Label.Text = s.label(s.x)
	p.Title.TextStyle.Font.Size, p.Title.Padding = 12, 6
	p.X.Padding, p.Y.Padding = 0, 0
	return p
}

// lines draws an output over an axis. Regions in which one limit binds are
// bands for one line, and names along the lines for several.
func (s *sweepPicture) lines(legend *plot.Legend) (*plot.Plot, error) {
	p := s.newPicture()
	p.Title.Text = s.outputLabel() + ", and the limit that binds"
	p.Y.Label.Text = s.outputLabel()
	p.Y.Min = 0
	p.Add(plotter.NewGrid())
	total := int64(1)
	for _, f := range s.series {
		total *= f.n
	}
	labels := plotter.XYLabels{}
	for k := range total {
		step, name, rest := map[*sweepFactor]int64{}, "", k
		for i := len(s.series) - 1; i >= 0; i-- {
			f := s.series[i]
			step[f] = rest % f.n
			rest /= f.n
			c := &s.points.columns[f.columns[0]]
			part := string(c.append(nil, f.values[0][step[f]]))
			if c.field != nil && c.names == nil {
				part = s.quantity(c.field, part)
			}
			if name != "" {
				part += ", "
			}
			name = part + name
		}
		var xys plotter.XYs
		var binds []int
		for i := range s.x.n {
			step[s.x] = i
			if at := s.at(step); !math.IsNaN(s.z[at]) {
				xys = append(xys, plotter.XY{X: s.x.values[0][i], Y: s.z[at]})
				binds = append(binds, s.binds[at])
			}
		}
		if len(xys) == 0 {
			continue
		}
		line, err := plotter.NewLine(xys)
		if err != nil {
			return nil, err
		}
		line.Dashes, line.Width = sweepDashes[k%int64(len(sweepDashes))], vg.Points(1.4)
		line.Color = classColour(mapClasses - 1 - int(k)%3)
		if total == 1 {
			p.Add(&limitBands{xys, binds, s.limit.Codes})
		} else {
			from := 0
			for i := 1; i <= len(xys); i++ {
				if i == len(xys) || binds[i] != binds[from] {
					if i-from > len(xys)/12 {
						// Not above each other where lines lie together.
						labels.XYs = append(labels.XYs, xys[from+(i-from)*int(k+1)/int(total+1)])
						labels.Labels = append(labels.Labels, spaced(s.limit.Codes[binds[from]]))
					}
					from = i
				}
			}
		}
		p.Add(line)
		if name != "" {
			legend.Add(name, line)
		}
	}
	if len(labels.XYs) > 0 {
		l, err := plotter.NewLabels(labels)
		if err != nil {
			return nil, err
		}
		for i := range l.TextStyle {
			l.TextStyle[i].Font.Size, l.TextStyle[i].XAlign = 8, draw.XCenter
		}
		l.Offset.Y = 3
		p.Add(l)
	}
	p.Y.Max = max(p.Y.Max*1.12, 1)
	return p, nil
}

// quantity is a value with its name and unit.
func (s *sweepPicture) quantity(f *core.Field, value string) string {
	name := spaced(strings.TrimSuffix(lastName(f.Path), "_"+plainUnit(f.Unit)))
	if f.Unit != "1" {
		value += " " + f.Unit
	}
	return name + " " + value
}

// limitBands are vertical bands behind a line, each with the limit that binds
// in it.
type limitBands struct {
	xys   plotter.XYs
	binds []int
	names []string
}

func (b *limitBands) Plot(c draw.Canvas, p *plot.Plot) {
	x, _ := p.Transforms(&c)
	style := p.Legend.TextStyle
	style.Font.Size = 9
	style.Rotation, style.XAlign, style.YAlign = math.Pi/2, draw.XLeft, draw.YCenter
	from, dark := 0, false
	for i := 1; i <= len(b.xys); i++ {
		if i < len(b.xys) && b.binds[i] == b.binds[from] {
			continue
		}
		left, right := c.Min.X, c.Max.X
		if from > 0 {
			left = x((b.xys[from-1].X + b.xys[from].X) / 2)
		}
		if i < len(b.xys) {
			right = x((b.xys[i-1].X + b.xys[i].X) / 2)
		}
		if dark = !dark; dark {
			c.FillPolygon(color.Gray{Y: 232}, []vg.Point{{X: left, Y: c.Min.Y}, {X: right, Y: c.Min.Y}, {X: right, Y: c.Max.Y}, {X: left, Y: c.Max.Y}})
		}
		if right-left > 9 && b.binds[from] >= 0 {
			c.FillText(style, vg.Point{X: (left + right) / 2, Y: c.Min.Y + 6}, spaced(b.names[b.binds[from]]))
		}
		from = i
	}
}

// area draws an output over two axes.
func (s *sweepPicture) area(legend *plot.Legend) (*plot.Plot, error) {
	p := s.newPicture()
	p.Title.Text = s.outputLabel() + ", and the regions in which a limit binds"
	p.Y.Label.Text = s.label(s.y)
	m := &limitMap{picture: s, least: math.Inf(1), most: math.Inf(-1)}
	for _, z := range s.z {
		if !math.IsNaN(z) {
			m.least, m.most = min(m.least, z), max(m.most, z)
		}
	}
	p.Add(m)
	if m.most >= m.least {
		for class := mapClasses - 1; class >= 0; class-- {
			a := m.least + (m.most-m.least)*float64(class)/mapClasses
			b := m.least + (m.most-m.least)*float64(class+1)/mapClasses
			legend.Add(fmt.Sprintf("%.4g to %.4g %s", a, b, s.output.Unit), swatch{classColour(class)})
		}
	}
	return p, nil
}

// A swatch is a colour in the legend.
type swatch struct{ color color.Color }

func (s swatch) Thumbnail(c *draw.Canvas) {
	c.FillPolygon(s.color, []vg.Point{c.Min, {X: c.Max.X, Y: c.Min.Y}, c.Max, {X: c.Min.X, Y: c.Max.Y}})
}

// A limitMap is the area of a picture: cells in classes of the output, and the
// borders between limits.
type limitMap struct {
	picture     *sweepPicture
	least, most float64
}

func (m *limitMap) DataRange() (xmin, xmax, ymin, ymax float64) {
	x, y := edges(m.picture.x.values[0]), edges(m.picture.y.values[0])
	return min(x[0], x[len(x)-1]), max(x[0], x[len(x)-1]), min(y[0], y[len(y)-1]), max(y[0], y[len(y)-1])
}

// edges are the borders of cells about values: halfway between neighbours.
func edges(v []float64) []float64 {
	n := len(v)
	e := make([]float64, n+1)
	for i := 1; i < n; i++ {
		e[i] = (v[i-1] + v[i]) / 2
	}
	e[0], e[n] = v[0]-(v[1]-v[0])/2, v[n-1]+(v[n-1]-v[n-2])/2
	return e
}

func (m *limitMap) point(i, j int) int64 {
	return m.picture.at(map[*sweepFactor]int64{m.picture.x: int64(i), m.picture.y: int64(j)})
}

// class is that of a point; -1 where there is no answer.
func (m *limitMap) class(i, j int) int {
	z := m.picture.z[m.point(i, j)]
	if math.IsNaN(z) {
		return -1
	}
	if m.most == m.least {
		return 0
	}
	return min(int(mapClasses*(z-m.least)/(m.most-m.least)), mapClasses-1)
}

func (m *limitMap) Plot(c draw.Canvas, p *plot.Plot) {
	s := m.picture
	tx, ty := p.Transforms(&c)
	x, y := edges(s.x.values[0]), edges(s.y.values[0])
	nx, ny := len(x)-1, len(y)-1
	for j := range ny {
		for i := 0; i < nx; {
			class, from := m.class(i, j), i
			for i < nx && m.class(i, j) == class {
				i++
			}
			if class >= 0 {
				a, b := vg.Point{X: tx(x[from]), Y: ty(y[j])}, vg.Point{X: tx(x[i]), Y: ty(y[j+1]) + 0.4} // no seam
				c.FillPolygon(classColour(class), []vg.Point{a, {X: b.X, Y: a.Y}, b, {X: a.X, Y: b.Y}})
			}
		}
	}
	border := draw.LineStyle{Color: color.Black, Width: vg.Points(1.6)}
	binds := func(i, j int) int { return s.binds[m.point(i, j)] }
	for j := range ny {
		for i := range nx {
			if i > 0 && binds(i, j) != binds(i-1, j) {
				c.StrokeLine2(border, tx(x[i]), ty(y[j]), tx(x[i]), ty(y[j+1]))
			}
			if j > 0 && binds(i, j) != binds(i, j-1) {
				c.StrokeLine2(border, tx(x[i]), ty(y[j]), tx(x[i+1]), ty(y[j]))
			}
		}
	}
	m.names(c, p, nx, ny, binds)
}

// names writes each limit where a region of it lies, at the cell nearest to
// its middle.
func (m *limitMap) names(c draw.Canvas, p *plot.Plot, nx, ny int, binds func(i, j int) int) {
	s := m.picture
	tx, ty := p.Transforms(&c)
	style := p.Legend.TextStyle
	style.Font.Size, style.XAlign, style.YAlign = 9, draw.XCenter, draw.YCenter
	seen := make([]bool, nx*ny)
	for first := range seen {
		if seen[first] {
			continue
		}
		code, cells := binds(first%nx, first/nx), []int{first}
		seen[first] = true
		sumI, sumJ := 0, 0
		for k := 0; k < len(cells); k++ {
			i, j := cells[k]%nx, cells[k]/nx
			sumI, sumJ = sumI+i, sumJ+j
			for _, d := range [][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
				a, b := i+d[0], j+d[1]
				if a < 0 || b < 0 || a >= nx || b >= ny || seen[b*nx+a] || binds(a, b) != code {
					continue
				}
				seen[b*nx+a] = true
				cells = append(cells, b*nx+a)
			}
		}
		if code < 0 || len(cells) < nx*ny/100 {
			continue
		}
		middleI, middleJ := float64(sumI)/float64(len(cells)), float64(sumJ)/float64(len(cells))
		best, least := first, math.Inf(1)
		for _, k := range cells {
			if d := math.Hypot(float64(k%nx)-middleI, float64(k/nx)-middleJ); d < least {
				best, least = k, d
			}
		}
		name := spaced(s.limit.Codes[code])
		half, high := style.Width(name)/2+2, style.Height(name)/2+2
		at := vg.Point{X: tx(s.x.values[0][best%nx]), Y: ty(s.y.values[0][best/nx])}
		at.X = min(max(at.X, c.Min.X+half), c.Max.X-half)
		c.FillPolygon(color.White, []vg.Point{{X: at.X - half, Y: at.Y - high}, {X: at.X + half, Y: at.Y - high}, {X: at.X + half, Y: at.Y + high}, {X: at.X - half, Y: at.Y + high}})
		c.FillText(style, at, name)
	}
}
