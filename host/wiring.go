package main

import (
	"github.com/spf13/cobra"

	"spareamps/core"
)

func (p *program) newWiring() *cobra.Command {
	request := requestFlags{part: "wiring", sections: core.ForWiring, own: []string{}}
	var strict, print bool
	c := &cobra.Command{
		Use:   "wiring",
		Short: "check a lead by a voltmeter at both ends",
		Long: `Checks the lead to the charger, and its fuse, by two voltages read while current
flows: where it begins and where it ends, each from plus to minus. Together with
the current, or the watts at its end, they give the resistance of the whole way
out and back; the cable's size says what that should be.

Without arguments it checks the demo's lead. With any reading, cable or charger
of your own nothing comes from the demo. The readings alone tell the
resistance; --cable-... compares it, --charger-... says what full input does.`,
		Example: `spareamps wiring
spareamps wiring --source-V 14.0 --far-V 13.9 --far-W 520
spareamps wiring --source-V 13.8 --far-V 13.2 --far-A 40 \
    --cable-area-mm2 16 --cable-length-m 5 --cable-fuse-A 60
spareamps wiring --print-request -o lead.json
spareamps wiring --rig lead.json --json`,
		Args: noArguments,
		RunE: func(*cobra.Command, []string) error {
			q, err := p.request(&request)
			if err != nil {
				return err
			}
			if print {
				return p.indented(q.JSON())
			}
			return p.wiring(&q, &request, strict)
		},
	}
	request.add(c, "rig.cable", "rig.charger.max_input_A", "rig.charger.max_output_W", "rig.charger.efficiency", "rig.charger.min_input_V", "rig.alternator.class_V", "wiring")
	c.Flags().BoolVar(&request.json, "json", false, "the answer as one JSON object")
	c.Flags().BoolVar(&strict, "strict", false, "exit code 4 when the answer stands outside validity")
	c.Flags().BoolVar(&print, "print-request", false, "print the request that would be answered, as JSON")
	return c
}

// wiring checks a lead and prints what came of it.
func (p *program) wiring(q *core.Request, f *requestFlags, strict bool) error {
	checked, err := core.CheckWiring(q)
	if err != nil {
		return &badInput{problems: problemsOf(err), json: f.json}
	}
	text := checked.WiringJSON()
	a, err := readAnswer(text)
	if err != nil {
		return err
	}
	if f.json {
		if err := p.answerJSON(text, native{}); err != nil {
			return err
		}
	} else {
		g := p.newPage()
		g.lead(a)
	}
	return strictly(strict, a)
}

// lead prints what two readings say of a lead: the verdict first.
func (g *page) lead(a answer) {
	for i, s := range a.rows("says") {
		text := sentence(s.text("text"))
		if i == 0 {
			g.strong(text)
		} else {
			g.para("", text)
		}
	}
	c := a.at("cable")
	if c.has("should_mohm") {
		g.leadBars(a)
	}
	g.remarks(a)
	g.cautions(a)
}

// leadBars draws the measured resistance beside what it should be.
func (g *page) leadBars(a answer) {
	measured, should := a.number("measured.lead_mohm"), a.number("cable.should_mohm")
	spread := a.number("measured.spread_mohm")
	top := max(measured+spread, should)
	if top <= 0 {
		return
	}
	cells := g.width - 12 - 12
	g.head("Resistance, out and back")
	bar := func(v, more float64) string {
		row := blank(cells)
		for i := range row {
			switch at := (float64(i) + 0.5) / float64(cells) * top; {
			case at <= v:
				row[i] = '█'
			case at <= more:
				row[i] = '░'
			}
		}
		return string(row)
	}
	g.line("  measured  " + bar(measured-spread, measured+spread) + right(fixed(measured, 1)+" mΩ", 10))
	g.line("  at most   " + bar(should, should) + right(fixed(should, 1)+" mΩ", 10))
	g.line("  ░ as far as the meters may be out")
}
