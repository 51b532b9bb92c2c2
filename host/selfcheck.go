package main

import (
	"encoding/json"
	"fmt"
	"math"

	"github.com/spf13/cobra"

	"spareamps/testdata"
)

func (p *program) newSelfcheck() *cobra.Command {
	var backend backendFlags
	var asJSON bool
	c := &cobra.Command{
		Use:   "selfcheck",
		Short: "rerun the published checks on this machine",
		Long: `Computes every published figure that the program must meet, natively and in the
module, and prints them by source: verdict, check, expected with tolerance, got.
Exit code 1 if one fails.`,
		Example: `spareamps selfcheck
spareamps selfcheck --backend native --json`,
		Args: noArguments,
		RunE: func(*cobra.Command, []string) error { return p.selfcheck(&backend, asJSON) },
	}
	c.Flags().BoolVar(&asJSON, "json", false, "the result as one JSON object")
	backend.add(c, "both", "both", "native", "wasm")
	return c
}

// A verdict is one check on the engines it was run on.
type verdict struct {
	testdata.Check
	got map[string]float64 // by engine; NaN where it gave no number
	met bool
}

func (p *program) selfcheck(b *backendFlags, asJSON bool) error {
	checks, err := testdata.Checks()
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
		v := verdict{Check: c, got: map[string]float64{}, met: true}
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
			v.met = v.met && ok && c.Met(got)
		}
		if !v.met {
			failed++
		}
		verdicts = append(verdicts, v)
	}
	if asJSON {
		err = p.object(verdictsJSON(verdicts, names, from))
	} else {
		g := p.newPage()
		g.verdicts(verdicts, names)
	}
	switch {
	case err != nil:
		return err
	case failed > 0:
		p.complain(fmt.Sprintf("%d of %d checks failed", failed, len(verdicts)))
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
			verdict := "ok  "
			if !v.met {
				verdict = "FAIL"
			}
			l := verdict + " " + left(cut(v.ID, 28), 28) + right(cut(v.wanted(), 17), 17)
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
	g.head("Checks met, by how far their figures are to be trusted")
	met, all := 0, 0
	for _, trust := range testdata.Trusts {
		m, n := 0, 0
		for _, v := range verdicts {
			if v.Trust == trust {
				n++
				if v.met {
					m++
				}
			}
		}
		met, all = met+m, all+n
		if n > 0 {
			g.line("  " + left(trust, 30) + right(fmt.Sprintf("%d of %d", m, n), 12))
		}
	}
	g.line("  " + left("all", 30) + right(fmt.Sprintf("%d of %d", met, all), 12))
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

func verdictsJSON(verdicts []verdict, names []string, from []provenance) object {
	rows := make([]object, 0, len(verdicts))
	met := 0
	trusts := map[string][2]int{}
	for _, v := range verdicts {
		row := object{
			{"check", v.ID}, {"quantity", v.Quantity}, {"args", arguments(v.Args)}, {"unit", v.Unit},
			{"expected", v.Expected}, {"tolerance", v.Tolerance}, {"kind", v.Kind}, {"low", v.Lo}, {"high", v.Hi},
		}
		for _, name := range names {
			var got any
			if x := v.got[name]; !math.IsNaN(x) {
				got = x
			}
			row = append(row, pair{name, got})
		}
		verdict := "failed"
		n := trusts[v.Trust]
		if v.met {
			verdict = "ok"
			met++
			n[0]++
		}
		n[1]++
		trusts[v.Trust] = n
		rows = append(rows, append(row, pair{"verdict", verdict}, pair{"what", v.What}, pair{"source", v.Source}, pair{"trust", v.Trust}))
	}
	var byTrust []object
	for _, trust := range testdata.Trusts {
		if n := trusts[trust]; n[1] > 0 {
			byTrust = append(byTrust, object{{"trust", trust}, {"met", n[0]}, {"checks", n[1]}})
		}
	}
	return object{
		{"checks", rows},
		{"summary", object{{"met", met}, {"checks", len(verdicts)}, {"failed", len(verdicts) - met}, {"by_trust", byTrust}}},
		{"provenance", from},
	}
}
