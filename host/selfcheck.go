package main

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"

	"github.com/spf13/cobra"

	"spareamps/testdata"
)

func (p *program) newSelfcheck() *cobra.Command {
	var backend backendFlags
	var asJSON, everyRow bool
	c := &cobra.Command{
		Use:   "selfcheck",
		Short: "rerun the checks on this machine",
		Long: `Computes every figure that the program must meet, natively and in the module,
and counts the results by class: a figure used to fit a constant proves less
than one that was not. Then lists every known miss with its size, the
predictions of machines left out of the calibration, and rules of thumb, which
are never counted. Exit code 1 if a miss is new or larger than recorded.`,
		Example: `spareamps selfcheck
spareamps selfcheck --rows
spareamps selfcheck --backend native --json`,
		Args: noArguments,
		RunE: func(*cobra.Command, []string) error { return p.selfcheck(&backend, asJSON, everyRow) },
	}
	c.Flags().BoolVar(&everyRow, "rows", false, "print every check first, by source")
	c.Flags().BoolVar(&asJSON, "json", false, "the result as one JSON object")
	backend.add(c, "both", "both", "native", "wasm")
	return c
}

// A verdict is the result of one check on the engines that ran it.
type verdict struct {
	testdata.Check
	got     map[string]float64 // by engine; NaN if it gave no number
	worst   float64            // the one farthest from the expected value
	verdict testdata.Verdict
}

// counted says whether a check's verdict counts.
func (v *verdict) counted() bool { return v.Trust != testdata.NoSource }

// off is how far the worst engine lies outside the tolerance.
func (v *verdict) off() float64 { return v.Off(v.worst) }

func (p *program) selfcheck(b *backendFlags, asJSON, everyRow bool) error {
	checks, err := testdata.Checks()
	if err != nil {
		return err
	}
	predictions, err := testdata.LeftOuts()
	if err != nil {
		return err
	}
	names := []string{b.backend}
	if b.backend == "both" {
		names = []string{"native", "wasm"}
	}
	var engines []engine
	var from []provenance
	for _, name := range names {
		e, err := p.engine(name, b.module)
		if err != nil {
			return err
		}
		defer e.close()
		v, err := e.provenance(p.ctx)
		if err != nil {
			return err
		}
		engines, from = append(engines, e), append(from, v)
	}
	verdicts := make([]verdict, 0, len(checks))
	failed := 0
	for _, c := range checks {
		v := verdict{Check: c, got: map[string]float64{}}
		question, err := json.Marshal(object{{"quantity", c.Quantity}, {"args", arguments(c.Args)}})
		if err != nil {
			return err
		}
		for i, e := range engines {
			text, err := e.quantity(p.ctx, question)
			if err != nil {
				return err
			}
			a, err := readAnswer(text)
			if err != nil {
				return err
			}
			got, ok := a.num("value")
			if !ok {
				got = math.NaN()
			}
			v.got[names[i]] = got
			if i == 0 || c.Off(got) > c.Off(v.worst) {
				v.worst = got
			}
		}
		v.verdict = c.Judge(v.worst)
		if v.counted() && v.verdict == testdata.Worse {
			failed++
		}
		verdicts = append(verdicts, v)
	}
	if asJSON {
		err = p.object(verdictsJSON(verdicts, predictions, names, from))
	} else {
		g := p.newPage()
		if everyRow {
			g.verdicts(verdicts, names)
			g.line("")
		}
		g.classes(verdicts, predictions)
		g.misses(verdicts)
		g.leftOut(predictions)
		g.trade(verdicts)
	}
	switch {
	case err != nil:
		return err
	case failed > 0:
		p.complain(fmt.Sprintf("%d of the misses are new or larger than recorded", failed))
		return errTold
	}
	return nil
}

// arguments writes "not a number" as null, as the core reads it.
func arguments(args []float64) []any {
	list := make([]any, len(args))
	for i, v := range args {
		if !math.IsNaN(v) {
			list[i] = v
		}
	}
	return list
}

// verdicts prints the checks by source.
func (g *page) verdicts(verdicts []verdict, names []string) {
	var sources []string
	bySource := map[string][]verdict{}
	for _, v := range verdicts {
		s := v.Source
		if v.Trust != v.Source {
			s += " [" + v.Trust + "]"
		}
		if bySource[s] == nil {
			sources = append(sources, s)
		}
		bySource[s] = append(bySource[s], v)
	}
	head := left("     check", 33) + right("expected", 17)
	for _, name := range names {
		head += right(name, 12)
	}
	g.bolded(head)
	for _, s := range sources {
		g.line("")
		g.para("", s)
		for _, v := range bySource[s] {
			l := left(rowVerdicts[v.verdict], 4) + " " + left(cut(v.ID, 28), 28) + right(cut(v.wanted(), 17), 17)
			for i, name := range names {
				got := short(v.got[name])
				if i > 0 && v.got[name] == v.got[names[0]] {
					got = "same"
				}
				l += right(got, 12)
			}
			g.line(l + " " + unitOf(v.Unit))
		}
	}
}

// rowVerdicts abbreviate verdicts to four letters.
var rowVerdicts = map[testdata.Verdict]string{testdata.Met: "ok", testdata.MetNow: "ok", testdata.Missed: "miss", testdata.Worse: "FAIL"}

// classMeanings say how much a met check of each class proves.
var classMeanings = map[string]string{
	testdata.Independent: "published or measured, and not used to choose any constant",
	testdata.InSample:    "published, and used to fit or choose constants",
	testdata.ReadBack:    "the program stores this figure; the check reads it back",
	testdata.Derived:     "we computed the expected value from a model",
	testdata.Arithmetic:  "a defining formula or a unit conversion",
	testdata.LeftOut:     "a machine predicted by a calibration without it; met inside 90 % bounds",
}

// A tally counts verdicts.
type tally struct{ met, missed, worse int }

// tallies counts verdicts by class; left-out predictions use the recorded values.
func tallies(verdicts []verdict, predictions []testdata.Prediction) map[string]tally {
	by := map[string]tally{}
	for i := range verdicts {
		v := &verdicts[i]
		if !v.counted() {
			continue
		}
		n := by[v.Class]
		switch v.verdict {
		case testdata.Missed:
			n.missed++
		case testdata.Worse:
			n.worse++
		default:
			n.met++
		}
		by[v.Class] = n
	}
	n := by[testdata.LeftOut]
	for i := range predictions {
		if predictions[i].Inside() {
			n.met++
		} else {
			n.missed++
		}
	}
	by[testdata.LeftOut] = n
	return by
}

// classes prints the count by class and verdict.
func (g *page) classes(verdicts []verdict, predictions []testdata.Prediction) {
	by := tallies(verdicts, predictions)
	g.bolded(left("Checks by class", 18) + right("met", 8) + right("missed, known", 16) + right("worse or new", 15))
	for _, class := range testdata.Classes {
		n := by[class]
		g.line("  " + left(class, 16) + right(fmt.Sprint(n.met), 8) + right(fmt.Sprint(n.missed), 16) + right(fmt.Sprint(n.worse), 15))
	}
	g.line("")
	for _, class := range testdata.Classes {
		g.para("  "+left(class, 13), classMeanings[class]+".")
	}
}

// misses prints every counted miss with its size: first the known ones, then those
// that fail.
func (g *page) misses(verdicts []verdict) {
	for _, part := range []struct {
		head string
		of   testdata.Verdict
	}{
		{"Known misses: outside the tolerance by the recorded distance", testdata.Missed},
		{"Misses that are new or larger than recorded", testdata.Worse},
		{"Now met, although a miss is recorded", testdata.MetNow},
	} {
		begun := false
		for i := range verdicts {
			v := &verdicts[i]
			if v.verdict != part.of || !v.counted() {
				continue
			}
			if !begun {
				g.head(part.head)
				g.line("  " + left("check", 27) + right("expected", 18) + right("got", 10) + right("outside by", 20))
				begun = true
			}
			g.line("  " + left(cut(v.ID, 27), 27) + right(cut(v.wanted(), 17), 18) + right(fourDigits(v.worst), 10) + right(v.size(), 20))
		}
	}
}

// leftOut prints the predictions of machines left out.
func (g *page) leftOut(predictions []testdata.Prediction) {
	g.head("Left out of the calibration: each machine predicted from the others")
	g.para("  ", "At most 4 points per machine. The 90 % bounds are wide, since only two machines have temperatures. This command prints recorded values; go test ./core -run TestHeatCalibration computes them. Units: W of loss, °C, or efficiency.")
	g.line("  " + left("machine and point", 37) + right("predicted", 10) + right("90 % bounds", 14) + right("measured", 9) + "  ")
	for i := range predictions {
		p := &predictions[i]
		where := "inside"
		if !p.Inside() {
			where = "OUT"
		}
		what := p.Case
		if !strings.HasPrefix(what, p.Source) {
			what = p.Source + ": " + what
		}
		g.line("  " + left(cut(what, 37), 37) + right(fourDigits(p.Predicted), 8) + right(fourDigits(p.Lo)+".."+fourDigits(p.Hi), 15) + right(fourDigits(p.Measured), 9) + "  " + where)
	}
}

// trade prints the rules of thumb that have no source.
func (g *page) trade(verdicts []verdict) {
	g.head("Common practice, no source: printed, never counted")
	for i := range verdicts {
		v := &verdicts[i]
		if v.counted() {
			continue
		}
		verdict := "met"
		if v.off() > 0 {
			verdict = "missed by " + v.size()
		}
		g.line("  " + left(cut(v.ID, 25), 25) + right(cut(v.wanted(), 16), 17) + right(fourDigits(v.worst), 9) + " " + left(unitOf(v.Unit), 3) + "  " + verdict)
	}
	g.para("  ", "moving-*: the ceiling while moving at 30 °C, from the label and a stated draw of the vehicle; *-road at 2200 rpm and 80 km/h, *-crawl at 1400 rpm and 15 km/h. crawl-setting: the advice for 38 °C, 1000 rpm, 8 km/h.")
}

// size is how far the value lies outside the tolerance, with its unit.
func (v *verdict) size() string {
	off := v.off()
	if math.IsInf(off, 1) {
		return "no number"
	}
	return strings.TrimSpace(fmt.Sprintf("%.3g ", off) + unitOf(v.Unit))
}

// fourDigits prints a figure to four digits.
func fourDigits(v float64) string {
	if math.IsNaN(v) {
		return "none"
	}
	return fmt.Sprintf("%.4g", v)
}

// wanted is what a check expects, with its tolerance.
func (v *verdict) wanted() string {
	switch v.Kind {
	case "range":
		return v.Expected
	case "rel":
		var share float64
		_, _ = fmt.Sscan(v.Tolerance, &share)
		return v.Expected + " ±" + number(math.Round(share*1e6)/1e4) + " %"
	default:
		if v.Tolerance == "0" {
			return v.Expected + " exact"
		}
		return v.Expected + " ±" + v.Tolerance
	}
}

func unitOf(unit string) string {
	if unit == "1" {
		return ""
	}
	return unit
}

// short prints a figure to six digits.
func short(v float64) string {
	if math.IsNaN(v) {
		return "none"
	}
	return fmt.Sprintf("%.6g", v)
}

func cut(s string, n int) string {
	if width(s) <= n {
		return s
	}
	return string([]rune(s)[:n-1]) + "…"
}

func verdictsJSON(verdicts []verdict, predictions []testdata.Prediction, names []string, from []provenance) object {
	rows := make([]object, 0, len(verdicts))
	for i := range verdicts {
		v := &verdicts[i]
		row := object{
			{"check", v.ID}, {"quantity", v.Quantity}, {"args", arguments(v.Args)}, {"unit", v.Unit},
			{"expected", v.Expected}, {"tolerance", v.Tolerance}, {"kind", v.Kind}, {"low", v.Lo}, {"high", v.Hi},
		}
		for _, name := range names {
			row = append(row, pair{name, finite(v.got[name])})
		}
		rows = append(rows, append(row, pair{"verdict", v.verdict}, pair{"outside_by", finite(v.off())}, pair{"recorded_miss", v.Miss},
			pair{"class", v.Class}, pair{"counted", v.counted()}, pair{"what", v.What}, pair{"source", v.Source}, pair{"trust", v.Trust}))
	}
	by := tallies(verdicts, predictions)
	var byClass []object
	var all tally
	for _, class := range testdata.Classes {
		n := by[class]
		byClass = append(byClass, object{{"class", class}, {"met", n.met}, {"missed_as_recorded", n.missed}, {"worse_or_new", n.worse}})
		all.met, all.missed, all.worse = all.met+n.met, all.missed+n.missed, all.worse+n.worse
	}
	var left []object
	for i := range predictions {
		p := &predictions[i]
		left = append(left, object{{"machine", p.Source}, {"case", p.Case}, {"predicted", p.Predicted}, {"low", p.Lo}, {"high", p.Hi}, {"measured", p.Measured}, {"inside", p.Inside()}})
	}
	return object{
		{"checks", rows},
		{"left_out", left},
		{"summary", object{{"met", all.met}, {"missed_as_recorded", all.missed}, {"worse_or_new", all.worse}, {"by_class", byClass}}},
		{"provenance", from},
	}
}

// finite writes a number that is not finite as null.
func finite(v float64) any {
	if v-v != 0 {
		return nil
	}
	return v
}
