package core_test

import (
	"io/fs"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"spareamps/core"
	"spareamps/testdata"
)

// unitEndings are how the name of a numeric column may end. A share, ratio or
// number has no unit.
var unitEndings = []string{
	"_A", "_V", "_W", "_K", "_C", "_kg", "_Pa", "_rpm", "_ohm", "_uH", "_mohm",
	"_mm", "_mm2", "_cmil", "_m", "_s", "_min", "_per_m", "_per_kft", "_per_h",
	"_per_K", "_m3", "_mV_per_K", "_share", "_ratio", "_number",
	"_deg", "_h", "_W_m2",
}

// plainColumns hold numbers whose unit stands elsewhere in the row, a gauge or
// a dimensionless symbol that the units line explains.
var plainColumns = []string{
	"value", "value_si", "low", "high", "expected", "tolerance", "args", "row", "miss",
	"awg", "s", "y", "r_over_x",
}

func tables(t *testing.T) []testdata.Table {
	t.Helper()
	names, err := fs.Glob(testdata.FS, "*.csv")
	if err != nil {
		t.Fatal(err)
	}
	if len(names) < 40 {
		t.Fatalf("%d tables found: the embedded set is incomplete", len(names))
	}
	var out []testdata.Table
	for _, name := range names {
		tab, err := testdata.Read(name)
		if err != nil {
			t.Error(err)
			continue
		}
		out = append(out, tab)
	}
	return out
}

// Every table says what it is, where it is from, and how far it is to be met;
// Read refuses one that does not.
func TestTablesAreWhole(t *testing.T) {
	for _, tab := range tables(t) {
		if strings.Contains(tab.Header["source"], "derived") && strings.TrimSpace(strings.TrimPrefix(tab.Header["source"], "derived:")) == "" {
			t.Errorf("%s: derived, but from what is not said", tab.Name)
		}
		seen := map[string]bool{}
		for _, c := range tab.Columns {
			if c == "" || seen[c] {
				t.Errorf("%s: column %q is empty or there twice", tab.Name, c)
			}
			seen[c] = true
		}
	}
}

// A column with a number in every filled cell is numeric and carries its unit,
// or its rows do in a column called unit, or its header explains it.
func TestNumericColumnsCarryUnits(t *testing.T) {
	for _, tab := range tables(t) {
		rowUnits := slices.Contains(tab.Columns, "unit")
		for _, col := range tab.Columns {
			numeric := false
			for i := range tab.Rows {
				s, _ := tab.Text(i, col)
				if s == "" {
					continue
				}
				if _, err := strconv.ParseFloat(s, 64); err != nil {
					numeric = false
					break
				}
				numeric = true
			}
			if !numeric {
				continue
			}
			ok := slices.ContainsFunc(unitEndings, func(u string) bool { return strings.HasSuffix(col, u) })
			if plain := slices.Contains(plainColumns, col); plain {
				valueOfRow := col == "value" || col == "value_si" || col == "low" || col == "high"
				ok = rowUnits || !valueOfRow
			}
			if !ok {
				t.Errorf("%s: numeric column %q does not end in a unit (%s)", tab.Name, col, strings.Join(unitEndings, " "))
			}
		}
	}
}

// The list of checks reads, and is as broad as we say.
func TestChecksAreBroad(t *testing.T) {
	checks, err := testdata.Checks()
	if err != nil {
		t.Fatal(err)
	}
	published := 0
	rows := map[string]bool{}
	quantities := map[string]int{}
	for _, c := range checks {
		if c.Trust == "published" {
			published++
		}
		rows[c.Row] = true
		if n, seen := quantities[c.Quantity]; seen && n != len(c.Args) && !strings.HasPrefix(c.Quantity, "curve_fit_") {
			t.Errorf("checks.csv:%d: %s has %d arguments, %d elsewhere", c.Line, c.Quantity, len(c.Args), n)
		}
		quantities[c.Quantity] = len(c.Args)
	}
	if published < 60 {
		t.Errorf("%d checks against published figures, want 60 or more", published)
	}
	for _, r := range []int{40, 41, 42, 43, 44, 48, 50} {
		if !rows[strconv.Itoa(r)] {
			t.Errorf("no check for row %d of the list of check values", r)
		}
	}
	for r := 1; r <= 36; r++ {
		if !rows[strconv.Itoa(r)] {
			t.Errorf("no check for row %d of the list of check values", r)
		}
	}
}

// Every check is met by the quantity it names, or missed as recorded. The program reruns the same
// list in every engine.
func TestChecksAreMet(t *testing.T) {
	checks, err := testdata.Checks()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range checks {
		q, ok := core.QuantityByName(c.Quantity)
		if !ok {
			t.Errorf("checks.csv:%d: %s: no quantity %s", c.Line, c.ID, c.Quantity)
			continue
		}
		if q.Unit != c.Unit {
			t.Errorf("checks.csv:%d: %s: %s is in %s, the check in %s", c.Line, c.ID, c.Quantity, q.Unit, c.Unit)
		}
		got, ok := q.Value(c.Args)
		if !ok {
			t.Errorf("checks.csv:%d: %s: %s(%s) has no finite value", c.Line, c.ID, c.Quantity, c.ArgsText)
			continue
		}
		switch verdict := c.Judge(got); verdict {
		case testdata.Met, testdata.Missed:
		case testdata.MetNow:
			t.Errorf("checks.csv:%d: %s: met now, with %.6g %s: strike the recorded miss of %s", c.Line, c.ID, got, c.Unit, c.MissText)
		default:
			t.Errorf("checks.csv:%d: %s: %s(%s) = %.6g %s, want %s, tolerance %s %s: off by %.3g, recorded %q; %s (%s)",
				c.Line, c.ID, c.Quantity, c.ArgsText, got, c.Unit, c.Expected, c.Tolerance, c.Kind, c.Off(got), c.MissText, c.Source, c.Trust)
		}
	}
}

// A quantity refuses what it has no meaning for, and each has a check.
func TestQuantitiesAreWhole(t *testing.T) {
	checks, err := testdata.Checks()
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for i := range core.Quantities {
		q := &core.Quantities[i]
		if seen[q.Name] || q.Name == "" || q.Unit == "" {
			t.Errorf("quantity %q is there twice or lacks name or unit", q.Name)
		}
		seen[q.Name] = true
		wrong := len(q.Args) + 1
		if wrong > 1 && q.Args[wrong-2] == "..." {
			wrong-- // half a pair too many
		}
		if v, ok := q.Value(make([]float64, wrong)); ok {
			t.Errorf("%s with %d arguments: got %v, want refusal", q.Name, wrong, v)
		}
		if !slices.ContainsFunc(checks, func(c testdata.Check) bool { return c.Quantity == q.Name }) {
			t.Errorf("%s has no check", q.Name)
		}
	}
	if _, ok := core.QuantityByName("no_such"); ok {
		t.Error("quantity no_such was found")
	}
}

// What cannot be read is refused with file and line.
func TestParseNamesFileAndLine(t *testing.T) {
	const head = "# title: t\n# source: s\n# licence: l\n# units: u\n# tolerance: t\n# why: w\n"
	for _, tc := range []struct{ name, text, want string }{
		{"header without value", "# title:\n", `x.csv:1: a header line reads`},
		{"header twice", "# title: a\n# title: b\n", `x.csv:2: header title stated twice`},
		{"header missing", "# title: a\na,b\n1,2\n", `x.csv: header source is missing`},
		{"no rows", head + "a,b\n", `x.csv: no rows`},
		{"ragged row", head + "a,b\n1,2\n3\n", `x.csv:9: `},
		{"stray quote", head + "a,b\n1,\"2\n", `x.csv:8: `},
	} {
		_, err := testdata.Parse("x.csv", tc.text)
		if err == nil || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%s: got error %v, want one with %q", tc.name, err, tc.want)
		}
	}
	tab, err := testdata.Parse("x.csv", head+"speed_rpm,output_A\n2000,120\n4000,\n6000,NaN\n")
	if err != nil {
		t.Fatal(err)
	}
	if v, err := tab.Float(0, "output_A"); err != nil || v != 120 {
		t.Errorf("Float(0, output_A) = %v, %v, want 120", v, err)
	}
	for i, want := range map[int]string{1: `x.csv:9: column output_A: "" is not a number`, 2: `x.csv:10: column output_A: "NaN" is not a number`} {
		if _, err := tab.Float(i, "output_A"); err == nil || err.Error() != want {
			t.Errorf("Float(%d, output_A): got error %v, want %s", i, err, want)
		}
	}
	if _, err := tab.Float(0, "current_A"); err == nil || !strings.Contains(err.Error(), "no column current_A among speed_rpm, output_A") {
		t.Errorf("missing column: got error %v", err)
	}
}

func TestChecksRefuseWhatTheyCannotMean(t *testing.T) {
	const head = "# title: t\n# source: s\n# licence: l\n# units: u\n# tolerance: t\n# why: w\n" +
		"id,row,quantity,args,unit,expected,tolerance,tolerance_kind,what,class,miss,source,trust\n"
	read := func(rows string) ([]testdata.Check, error) {
		tab, err := testdata.Parse("checks.csv", head+rows)
		if err != nil {
			t.Fatal(err)
		}
		return testdata.ParseChecks(tab)
	}
	for _, tc := range []struct{ name, rows, want string }{
		{"argument", "a,,q,1;x,A,1,1,abs,law,derived,,s,published\n", `checks.csv:8: a: argument: "x" is not a number`},
		{"tolerance kind", "a,,q,1,A,1,1,about,law,derived,,s,published\n", `tolerance_kind "about"`},
		{"negative tolerance", "a,,q,1,A,1,-1,abs,law,derived,,s,published\n", `tolerance "-1"`},
		{"range with tolerance", "a,,q,1,A,1..2,1,range,law,derived,,s,published\n", `a range is written lo..hi`},
		{"backward range", "a,,q,1,A,2..1,,range,law,derived,,s,published\n", `runs backwards`},
		{"trust", "a,,q,1,A,1,1,abs,law,derived,,s,certain\n", `trust "certain"`},
		{"class", "a,,q,1,A,1,1,abs,law,certain,,s,published\n", `class "certain"`},
		{"miss", "a,,q,1,A,1,1,abs,law,derived,0,s,published\n", `miss "0"`},
		{"no source", "a,,q,1,A,1,1,abs,law,derived,,,published\n", `must be stated`},
		{"id twice", "a,,q,1,A,1,1,abs,law,derived,,s,published\na,,q,1,A,1,1,abs,law,derived,,s,published\n", `checks.csv:9: id a is taken by line 8`},
	} {
		if _, err := read(tc.rows); err == nil || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%s: got error %v, want one with %q", tc.name, err, tc.want)
		}
	}
	got, err := read("a,,q,H;1/0;0.5,A,100,0.02,rel,law,derived,,s,published\nb,,q,,A,-1..1,,range,law,derived,,s,derived\n")
	if err != nil {
		t.Fatal(err)
	}
	if a := got[0].Args; !slices.Equal(a, []float64{4, 0, 0.5}) {
		t.Errorf("arguments H;1/0;0.5: got %v, want [4 0 0.5]", a)
	}
	for _, tc := range []struct {
		c    int
		got  float64
		want bool
	}{{0, 102, true}, {0, 98, true}, {0, 102.001, false}, {1, -1, true}, {1, 1.001, false}} {
		if met := got[tc.c].Met(tc.got); met != tc.want {
			t.Errorf("check %s with %v: met %t, want %t", got[tc.c].ID, tc.got, met, tc.want)
		}
	}
}

// A miss passes while it is as recorded, with a tenth of slack; what is larger, new
// or met by now is told apart.
func TestChecksAreJudged(t *testing.T) {
	c := testdata.Check{Lo: 9, Hi: 11}
	known := testdata.Check{Lo: 9, Hi: 11, Miss: 2}
	for _, tc := range []struct {
		c    testdata.Check
		got  float64
		want testdata.Verdict
	}{
		{c, 11, testdata.Met}, {c, 11.1, testdata.Worse}, {c, 8.9, testdata.Worse}, {c, math.NaN(), testdata.Worse},
		{known, 13, testdata.Missed}, {known, 7, testdata.Missed}, {known, 11.5, testdata.Missed}, {known, 13.19, testdata.Missed},
		{known, 13.21, testdata.Worse}, {known, math.NaN(), testdata.Worse}, {known, 10, testdata.MetNow},
	} {
		if got := tc.c.Judge(tc.got); got != tc.want {
			t.Errorf("%v against %v to %v, recorded miss %v: got %s, want %s", tc.got, tc.c.Lo, tc.c.Hi, tc.c.Miss, got, tc.want)
		}
	}
}

// No class is stronger than its figures: only what is published proves anything
// independently, and rows of the left-out class are not in this list.
func TestClassesAreHonest(t *testing.T) {
	checks, err := testdata.Checks()
	if err != nil {
		t.Fatal(err)
	}
	for i := range checks {
		c := &checks[i]
		if c.Class == testdata.LeftOut || c.Class == testdata.Independent && c.Trust != "published" {
			t.Errorf("checks.csv:%d: %s: class %s with a figure that is %s", c.Line, c.ID, c.Class, c.Trust)
		}
	}
	predictions, err := testdata.LeftOuts()
	if err != nil {
		t.Fatal(err)
	}
	bySource := map[string]int{}
	for i := range predictions {
		bySource[predictions[i].Source]++
	}
	for source, n := range bySource {
		if n > 4 {
			t.Errorf("left_out.csv: %d rows of %s are counted, at most 4", n, source)
		}
	}
	if len(bySource) != 5 {
		t.Errorf("left_out.csv: machines %v are counted, want 5", bySource)
	}
}
