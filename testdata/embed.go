// Package testdata holds published figures with where they come from, and
// reads them: the tests of every engine and the program's own check share them.
//
// A file starts with lines "# key: value": title, source, licence, units,
// tolerance and why that tolerance; then a row of column names that carry
// units (speed_rpm, output_A), then the data. An empty cell is not known.
package testdata

import (
	"embed"
	"encoding/csv"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// FS holds the tables.
//
//go:embed *.csv
var FS embed.FS

// HeaderKeys are the keys every table states.
var HeaderKeys = []string{"title", "source", "licence", "units", "tolerance", "why"}

// A Table is one file.
type Table struct {
	Name    string
	Header  map[string]string
	Columns []string
	Rows    [][]string

	lines []int // of each row, for messages
}

// Read reads the table of a name such as "isa.csv".
func Read(name string) (Table, error) {
	b, err := FS.ReadFile(name)
	if err != nil {
		return Table{}, fmt.Errorf("testdata: no table %s", name)
	}
	return Parse(name, string(b))
}

// Parse reads a table from text; name is for messages.
func Parse(name, text string) (Table, error) {
	t := Table{Name: name, Header: map[string]string{}}
	for i, line := range strings.Split(text, "\n") {
		head, ok := strings.CutPrefix(line, "#")
		if !ok {
			break
		}
		key, value, ok := strings.Cut(head, ":")
		key, value = strings.TrimSpace(key), strings.TrimSpace(value)
		if !ok || key == "" || value == "" {
			return t, fmt.Errorf("%s:%d: a header line reads \"# key: value\"", name, i+1)
		}
		if _, twice := t.Header[key]; twice {
			return t, fmt.Errorf("%s:%d: header %s stated twice", name, i+1, key)
		}
		t.Header[key] = value
	}
	for _, key := range HeaderKeys {
		if t.Header[key] == "" {
			return t, fmt.Errorf("%s: header %s is missing", name, key)
		}
	}
	r := csv.NewReader(strings.NewReader(text))
	r.Comment = '#'
	for {
		rec, err := r.Read()
		if rec == nil {
			break
		}
		line, _ := r.FieldPos(0)
		if err != nil {
			return t, fmt.Errorf("%s:%d: %w", name, line, err)
		}
		if t.Columns == nil {
			t.Columns = rec
			continue
		}
		t.Rows = append(t.Rows, rec)
		t.lines = append(t.lines, line)
	}
	if len(t.Rows) == 0 {
		return t, fmt.Errorf("%s: no rows", name)
	}
	return t, nil
}

// Line returns the line of a row in its file.
func (t Table) Line(row int) int { return t.lines[row] }

// Col returns the index of a column.
func (t Table) Col(name string) (int, error) {
	for i, c := range t.Columns {
		if c == name {
			return i, nil
		}
	}
	return 0, fmt.Errorf("%s: no column %s among %s", t.Name, name, strings.Join(t.Columns, ", "))
}

// Text returns a cell.
func (t Table) Text(row int, col string) (string, error) {
	i, err := t.Col(col)
	if err != nil {
		return "", err
	}
	return t.Rows[row][i], nil
}

// Float returns a cell as a finite number; an empty cell is an error.
func (t Table) Float(row int, col string) (float64, error) {
	s, err := t.Text(row, col)
	if err != nil {
		return 0, err
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, fmt.Errorf("%s:%d: column %s: %q is not a number", t.Name, t.lines[row], col, s)
	}
	return v, nil
}

// Empty says whether a cell holds nothing; it is true for a column that is not there.
func (t Table) Empty(row int, col string) bool {
	s, err := t.Text(row, col)
	return err != nil || s == ""
}
