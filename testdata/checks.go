package testdata

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// A Check is one published figure that a computed quantity must meet: a row of
// checks.csv.
type Check struct {
	ID        string
	Row       string // number in the list of check values, or empty
	Quantity  string
	Args      []float64
	ArgsText  string
	Unit      string
	Lo, Hi    float64 // what is met, tolerance included
	Expected  string  // as printed
	Tolerance string
	Kind      string // abs, rel or range
	What      string // law, model, fit, table or arithmetic
	Class     string
	MissText  string
	Miss      float64 // known distance outside Lo..Hi; 0: it is to be met
	Source    string
	Trust     string
	Line      int
}

// Met says whether a computed value meets the check.
func (c Check) Met(got float64) bool { return got >= c.Lo && got <= c.Hi }

// Trusts are the words a check may use for how far its figure is to be trusted.
var Trusts = []string{"published", "derived", "from memory", NoSource}

// Whats are the words for what a check exercises.
var Whats = []string{"law", "model", "fit", "table", "arithmetic"}

// The classes of checks, by what meeting one proves: strongest first, but for
// LeftOut, which are predictions of whole machines: see LeftOuts.
const (
	Independent = "independent"
	InSample    = "in_sample"
	ReadBack    = "read_back"
	Derived     = "derived"
	Arithmetic  = "arithmetic"
	LeftOut     = "left_out"
)

// Classes lists them.
var Classes = []string{Independent, InSample, ReadBack, Derived, Arithmetic, LeftOut}

// NoSource is the trust of rows that are printed and never counted.
const NoSource = "common practice, no source"

// A Verdict says how a computed value stands to a check.
type Verdict string

const (
	Met    Verdict = "met"
	Missed Verdict = "missed as recorded"
	Worse  Verdict = "worse or new" // a miss that is not recorded, or larger than recorded
	MetNow Verdict = "met now"      // a miss is recorded, and is none any more
)

// missSlack is the share of a recorded miss by which it may grow.
const missSlack = 0.1

// Off is how far a computed value lies outside the tolerance, in the unit.
func (c *Check) Off(got float64) float64 {
	switch {
	case got < c.Lo:
		return c.Lo - got
	case got > c.Hi:
		return got - c.Hi
	case math.IsNaN(got):
		return math.Inf(1)
	}
	return 0
}

// Judge holds a computed value against the check and its recorded miss.
func (c *Check) Judge(got float64) Verdict {
	off := c.Off(got)
	switch {
	case off == 0 && c.Miss == 0:
		return Met
	case off == 0:
		return MetNow
	case off <= c.Miss*(1+missSlack):
		return Missed
	}
	return Worse
}

// words stand for numbers among the arguments: insulation classes by their
// place in A E B F H N R, gauges by their number, nan for "standard air".
var words = map[string]float64{
	"A": 0, "E": 1, "B": 2, "F": 3, "H": 4, "N": 5, "R": 6,
	"1/0": 0, "2/0": -1, "3/0": -2, "4/0": -3,
	"nan": math.NaN(),
}

// slack keeps a value that equals its bound inside despite rounding.
const slack = 1e-9

// Checks reads checks.csv.
func Checks() ([]Check, error) {
	t, err := Read("checks.csv")
	if err != nil {
		return nil, err
	}
	return ParseChecks(t)
}

// ParseChecks reads checks from a table of that form.
func ParseChecks(t Table) ([]Check, error) {
	seen := map[string]int{}
	out := make([]Check, 0, len(t.Rows))
	for i := range t.Rows {
		c := Check{Line: t.Line(i)}
		for _, f := range []struct {
			col string
			to  *string
		}{
			{"id", &c.ID}, {"row", &c.Row}, {"quantity", &c.Quantity}, {"args", &c.ArgsText},
			{"unit", &c.Unit}, {"expected", &c.Expected}, {"tolerance", &c.Tolerance},
			{"tolerance_kind", &c.Kind}, {"what", &c.What}, {"class", &c.Class}, {"miss", &c.MissText}, {"source", &c.Source}, {"trust", &c.Trust},
		} {
			s, err := t.Text(i, f.col)
			if err != nil {
				return nil, err
			}
			*f.to = s
		}
		if err := c.read(); err != nil {
			return nil, fmt.Errorf("%s:%d: %s: %w", t.Name, c.Line, c.ID, err)
		}
		if first, twice := seen[c.ID]; twice {
			return nil, fmt.Errorf("%s:%d: id %s is taken by line %d", t.Name, c.Line, c.ID, first)
		}
		seen[c.ID] = c.Line
		out = append(out, c)
	}
	return out, nil
}

func (c *Check) read() error {
	if c.ID == "" || c.Quantity == "" || c.Unit == "" || c.Source == "" {
		return fmt.Errorf("id, quantity, unit and source must be stated")
	}
	if !oneOf(c.Trust, Trusts) {
		return fmt.Errorf("trust %q is none of %s", c.Trust, strings.Join(Trusts, "; "))
	}
	if !oneOf(c.What, Whats) {
		return fmt.Errorf("what %q is none of %s", c.What, strings.Join(Whats, "; "))
	}
	if !oneOf(c.Class, Classes) {
		return fmt.Errorf("class %q is none of %s", c.Class, strings.Join(Classes, "; "))
	}
	if c.MissText != "" {
		var err error
		if c.Miss, err = number(c.MissText); err != nil || c.Miss <= 0 {
			return fmt.Errorf("miss %q is not a number above 0", c.MissText)
		}
	}
	if c.ArgsText != "" {
		for _, a := range strings.Split(c.ArgsText, ";") {
			v, ok := words[a]
			if !ok {
				var err error
				if v, err = number(a); err != nil {
					return fmt.Errorf("argument: %w", err)
				}
			}
			c.Args = append(c.Args, v)
		}
	}
	if c.Kind == "range" {
		lo, hi, ok := strings.Cut(c.Expected, "..")
		if !ok || c.Tolerance != "" {
			return fmt.Errorf("a range is written lo..hi with no tolerance")
		}
		var err error
		if c.Lo, err = number(lo); err != nil {
			return err
		}
		if c.Hi, err = number(hi); err != nil {
			return err
		}
		if c.Lo > c.Hi {
			return fmt.Errorf("range %s runs backwards", c.Expected)
		}
		return nil
	}
	want, err := number(c.Expected)
	if err != nil {
		return err
	}
	tol, err := number(c.Tolerance)
	if err != nil || tol < 0 {
		return fmt.Errorf("tolerance %q is not a number of 0 or more", c.Tolerance)
	}
	switch c.Kind {
	case "abs":
	case "rel":
		tol *= math.Abs(want)
	default:
		return fmt.Errorf("tolerance_kind %q is none of abs, rel, range", c.Kind)
	}
	tol += slack * math.Abs(want)
	c.Lo, c.Hi = want-tol, want+tol
	return nil
}

func number(s string) (float64, error) {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, fmt.Errorf("%q is not a number", s)
	}
	return v, nil
}

func oneOf(s string, list []string) bool {
	for _, l := range list {
		if l == s {
			return true
		}
	}
	return false
}
