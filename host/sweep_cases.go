package main

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"github.com/parquet-go/parquet-go"

	"spareamps/core"
)

// sweepCases are the rows of a file, each a case: axes that go together.
type sweepCases struct {
	axes    []*sweepAxis
	ignored []string // columns of an earlier sweep's results
}

// conversions are the units a header may state beside an input's own.
var conversions = map[string]struct {
	to            string
	factor, after float64
}{
	"°F": {"°C", 5.0 / 9, -160.0 / 9}, "F": {"°C", 5.0 / 9, -160.0 / 9}, "K": {"°C", 1, -273.15}, "C": {"°C", 1, 0},
	"mph": {"km/h", 1.609344, 0}, "m/s": {"km/h", 3.6, 0}, "kn": {"km/h", 1.852, 0},
	"ft": {"m", 0.3048, 0}, "km": {"m", 1000, 0}, "kW": {"W", 1000, 0}, "mA": {"A", 1e-3, 0}, "mV": {"V", 1e-3, 0},
	"1/min": {"rpm", 1, 0}, "%": {"1", 0.01, 0}, "h": {"min", 60, 0}, "s": {"min", 1.0 / 60, 0}, "mm2": {"mm²", 1, 0},
}

// A caseColumn is a column of a file of cases; field nil leaves it out.
type caseColumn struct {
	field         *core.Field
	factor, after float64
	converted     bool
}

// caseColumnOf reads a header: the name of an input, and its unit in brackets
// where it is not the input's own.
func caseColumnOf(header string) (c caseColumn, problem *core.Problem) {
	name, unit := strings.TrimSpace(header), ""
	if at := strings.LastIndexAny(name, "[("); at > 0 && strings.HasSuffix(name, "]") == (name[at] == '[') && strings.ContainsAny(name[len(name)-1:], "])") {
		name, unit = strings.TrimSpace(name[:at]), strings.TrimSpace(name[at+1:len(name)-1])
	}
	for _, o := range core.Outputs() {
		if o.Path == name {
			return c, nil
		}
	}
	if name == "status" || name == "rig" {
		return c, nil
	}
	if c.field, problem = sweepField(name); problem != nil {
		return c, problem
	}
	c.factor = 1
	if unit == "" || unit == c.field.Unit {
		return c, nil
	}
	by, known := conversions[unit]
	if !known || by.to != c.field.Unit {
		return c, &core.Problem{Code: "type", Field: c.field.Path, Value: unit, Allowed: c.field.Unit,
			Message: fmt.Sprintf("column %s is in %s, allowed is %s or what converts to it", name, unit, c.field.Unit)}
	}
	c.factor, c.after, c.converted = by.factor, by.after, true
	return c, nil
}

// take puts one cell into an axis. ok is false where the input does not take it.
func (c *caseColumn) take(a *sweepAxis, text string) bool {
	if c.converted {
		v, ok := plainFloat(text)
		if !ok {
			return false
		}
		text = number(tidy(v*c.factor + c.after))
	}
	v, ok := fieldValue(c.field, text)
	a.values = append(a.values, v)
	return ok
}

// A caseReader collects the cases and what is wrong with them.
type caseReader struct {
	name     string
	columns  []caseColumn
	axes     []*sweepAxis // by column; nil where it is left out
	cases    sweepCases
	problems []core.Problem
}

func (r *caseReader) complain(code, field, value, allowed, message string) {
	r.problems = append(r.problems, core.Problem{Code: code, Field: field, Value: value, Allowed: allowed, Message: r.name + ": " + message})
}

func (r *caseReader) header(names []string) {
	for _, name := range names {
		c, problem := caseColumnOf(name)
		if problem != nil {
			r.complain(problem.Code, problem.Field, problem.Value, problem.Allowed, problem.Message)
		}
		var a *sweepAxis
		switch {
		case problem != nil:
			c.field = nil
		case c.field == nil:
			r.cases.ignored = append(r.cases.ignored, strings.TrimSpace(name))
		case slices.ContainsFunc(r.cases.axes, func(x *sweepAxis) bool { return x.field.Path == c.field.Path }):
			r.complain("duplicate", c.field.Path, "", "", c.field.Path+" is there twice")
		default:
			a = &sweepAxis{field: c.field}
			r.cases.axes = append(r.cases.axes, a)
		}
		r.columns, r.axes = append(r.columns, c), append(r.axes, a)
	}
	if len(r.cases.axes) == 0 && len(r.problems) == 0 {
		r.complain("missing", "", "", "names of inputs in the header", "no column is an input")
	}
}

// cell takes a cell; whole lines are taken by its caller.
func (r *caseReader) cell(where string, column int, text string) {
	c, a := &r.columns[column], r.axes[column]
	if a == nil || c.take(a, strings.TrimSpace(text)) {
		return
	}
	r.complain("range", c.field.Path, text, c.field.Allowed(), fmt.Sprintf("%s: %s is %s, allowed is %s", where, c.field.Path, brief(text), c.field.Allowed()))
}

const mostProblems = 20

var errTooManyCases = fmt.Errorf("more than %d cases", mostAxisValues)

// casesOf reads a file of cases, CSV or Parquet by its first bytes.
func (p *program) casesOf(name string) (*sweepCases, []core.Problem, error) {
	r := &caseReader{name: fileName(name)}
	in := p.in
	if name != "-" {
		f, err := os.Open(name)
		if err != nil {
			var path *os.PathError
			if errors.As(err, &path) {
				err = path.Err
			}
			return nil, []core.Problem{{Code: "file", Value: name, Message: "cannot read " + name + ": " + err.Error()}}, nil
		}
		defer f.Close()
		magic := make([]byte, 4)
		if n, _ := io.ReadFull(f, magic); n == 4 && string(magic) == "PAR1" {
			err := r.parquet(f)
			return &r.cases, r.problems, err
		}
		if _, err := f.Seek(0, io.SeekStart); err != nil {
			return nil, nil, err
		}
		in = f
	}
	err := r.csv(in)
	return &r.cases, r.problems, err
}

// csv reads comma, semicolon or tab separated values; lines that begin with #
// are remarks.
func (r *caseReader) csv(in io.Reader) error {
	head := make([]byte, 64<<10)
	n, err := io.ReadFull(in, head)
	if err != nil && err != io.ErrUnexpectedEOF && err != io.EOF {
		var path *os.PathError
		if errors.As(err, &path) {
			err = path.Err
		}
		return fmt.Errorf("read %s: %w", r.name, err)
	}
	head = bytes.TrimPrefix(head[:n], []byte("\xef\xbb\xbf"))
	d := csv.NewReader(io.MultiReader(bytes.NewReader(head), in))
	d.Comma, d.Comment, d.ReuseRecord, d.TrimLeadingSpace = caseSeparator(head), '#', true, true
	first := true
	for len(r.problems) < mostProblems {
		cells, err := d.Read()
		if err == io.EOF {
			break
		}
		var path *os.PathError
		if errors.As(err, &path) {
			return fmt.Errorf("read %s: %w", r.name, path.Err)
		}
		if err != nil {
			r.complain("csv", "", "", "", strings.TrimPrefix(err.Error(), "record on "))
			return nil
		}
		if first {
			first = false
			if r.header(slices.Clone(cells)); len(r.problems) > 0 {
				return nil
			}
			continue
		}
		line, _ := d.FieldPos(0)
		for i, text := range cells {
			r.cell("line "+itoa(line), i, text)
		}
		if len(r.cases.axes[0].values) > mostAxisValues {
			return errTooManyCases
		}
	}
	r.some()
	return nil
}

func (r *caseReader) some() {
	if len(r.problems) == 0 && (len(r.cases.axes) == 0 || len(r.cases.axes[0].values) == 0) {
		r.complain("missing", "", "", "a header and rows", "no cases in it")
	}
}

// caseSeparator is that of the first line that is no remark.
func caseSeparator(head []byte) rune {
	for line := range bytes.SplitSeq(head, []byte("\n")) {
		if len(line) == 0 || line[0] == '#' {
			continue
		}
		for _, c := range ";\t" {
			if bytes.ContainsRune(line, c) && bytes.Count(line, []byte(string(c))) > bytes.Count(line, []byte(",")) {
				return c
			}
		}
		break
	}
	return ','
}

// parquet reads a file of flat columns.
func (r *caseReader) parquet(f *os.File) error {
	info, err := f.Stat()
	if err != nil {
		return err
	}
	file, err := parquet.OpenFile(f, info.Size(), parquet.SkipPageIndex(true), parquet.SkipBloomFilters(true))
	if err != nil {
		r.complain("parquet", "", "", "", "no Parquet file: "+err.Error())
		return nil
	}
	var names []string
	for _, path := range file.Schema().Columns() {
		names = append(names, strings.Join(path, "."))
	}
	if r.header(names); len(r.problems) > 0 {
		return nil
	}
	rows := parquet.NewReader(file)
	defer rows.Close()
	buffer := make([]parquet.Row, 256)
	for at := 1; ; {
		n, err := rows.ReadRows(buffer)
		for _, row := range buffer[:n] {
			for _, v := range row {
				if r.axes[v.Column()] == nil {
					continue
				}
				if v.RepetitionLevel() > 0 {
					return fmt.Errorf("%s: column %s is a list", r.name, names[v.Column()])
				}
				r.cell("row "+itoa(at), v.Column(), valueOf(v))
			}
			at++
			if len(r.problems) >= mostProblems {
				return nil
			}
		}
		if at > mostAxisValues {
			return errTooManyCases
		}
		if err == io.EOF {
			break
		}
		if err != nil {
			return fmt.Errorf("read %s: %w", r.name, err)
		}
	}
	r.some()
	return nil
}

// valueOf is a Parquet value as text.
func valueOf(v parquet.Value) string {
	switch v.Kind() {
	case parquet.Double:
		return number(v.Double())
	case parquet.Float:
		return number(tidy(float64(v.Float()))) // not the digits a float32 never had
	}
	if v.IsNull() {
		return "nothing"
	}
	return v.String()
}
