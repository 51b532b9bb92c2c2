package main

import (
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"spareamps/core"
	"spareamps/core/limit"
)

func (p *program) newFields() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "fields [WORD]",
		Short: "the table of inputs: what each is, and where to read it",
		Long: `Lists every input: its name in a request, its flag, unit, range, default,
meaning, where it is read or measured, and the source of its default; then the
unknowns, which no label tells, as columns of a sweep. With a word only those
that have it in their names.`,
		Example: `spareamps fields
spareamps fields cable
spareamps fields --json`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(_ *cobra.Command, words []string) error {
			if asJSON {
				return p.table("inputs")
			}
			word := ""
			if len(words) > 0 {
				word = words[0]
			}
			g := p.newPage()
			if !g.fields(word) {
				return &usageError{"no input has " + word + " in its name", "see `spareamps fields`"}
			}
			return nil
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "the table as one JSON object")
	return c
}

func (p *program) newOutputs() *cobra.Command {
	var asJSON bool
	commands := []string{"ceiling", "day", "wiring", "fit"}
	c := &cobra.Command{
		Use:   "outputs [COMMAND]",
		Short: "the table of outputs: what each value of an answer is",
		Long: `Lists every value of the answer that ceiling --json prints, or day, wiring or
fit: path, unit and meaning; for a ceiling the limits by name too.`,
		Example:   "spareamps outputs\nspareamps outputs day\nspareamps outputs --json",
		ValidArgs: commands,
		Args: func(c *cobra.Command, args []string) error {
			if len(args) == 0 || len(args) == 1 && slices.Contains(commands, args[0]) {
				return nil
			}
			return &usageError{"outputs takes " + joinOr(commands), "see `spareamps outputs --help`"}
		},
		RunE: func(_ *cobra.Command, args []string) error {
			command := append(args, "ceiling")[0]
			g := p.newPage()
			switch {
			case command == "ceiling" && asJSON:
				return p.table("outputs", "limits", "unknowns")
			case asJSON:
				return p.object(object{{"outputs", described(outputsOf[command]())}})
			}
			g.outputs(outputsOf[command](), command == "ceiling")
			return nil
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "the table as one JSON object")
	return c
}

var outputsOf = map[string]func() []core.Output{"ceiling": core.Outputs, "day": core.DayOutputs, "wiring": core.WiringOutputs, "fit": core.FitOutputs}

// described are the rows of a table of outputs as the core writes them.
func described(outputs []core.Output) (rows []object) {
	for _, o := range outputs {
		kind := "number"
		if o.IsText() {
			kind = "text"
		}
		rows = append(rows, object{{"path", o.Path}, {"unit", o.Unit}, {"kind", kind}, {"meaning", o.Meaning}})
	}
	return rows
}

// table prints parts of what the core tells about itself as one object.
func (p *program) table(names ...string) error {
	about := core.AboutJSON()
	if len(names) == 1 {
		return p.indented(member(about, names[0]))
	}
	var o object
	for _, name := range names {
		o = append(o, pair{name, member(about, name)})
	}
	return p.object(o)
}

// fields lists the inputs by object; found is false where none has the word.
func (g *page) fields(word string) (found bool) {
	groups := map[string]core.Group{}
	for _, group := range core.Groups() {
		groups[group.Path] = group
	}
	object := "-"
	for _, f := range sweepFields() {
		if !strings.Contains(strings.ToLower(f.Path), strings.ToLower(word)) {
			continue
		}
		found = true
		at := f.Path[:max(strings.LastIndexByte(f.Path, '.'), 0)]
		if at != object {
			object = at
			if at == "" {
				g.strong("request")
			} else {
				if g.to.Len() > 0 {
					g.line("")
				}
				g.strong(at)
				meaning := groups[at].Meaning
				if isUnknown(&f) {
					meaning = "what no label tells; columns of a sweep, not inputs of a request"
				}
				g.para("", sentence(meaning))
			}
		}
		g.line("")
		takes := f.Allowed()
		if f.Unit == "1" {
			takes += " (no unit)"
		}
		if isUnknown(&f) {
			takes += "; likeliest " + number(f.Default)
		} else {
			takes += "; " + otherwise(&f)
		}
		g.para("  "+left(lastName(f.Path), 20)+" ", takes)
		g.para("    ", sentence(f.Meaning))
		if f.Where != "" {
			g.para("    Read: ", f.Where)
		}
		if f.Source != "" {
			g.para("    Source: ", f.Source)
		}
		if flag := flagOf(f.Path); flag != "" && !isUnknown(&f) {
			g.line("    Flag: " + flag)
		}
	}
	return found
}

func (g *page) outputs(outputs []core.Output, limits bool) {
	g.strong("Values of an answer")
	text := "A name with [] is a list."
	if limits {
		text += " Amps are those into the charger unless the meaning says otherwise."
	}
	g.para("", text)
	g.line("")
	for _, o := range outputs {
		unit := o.Unit
		if unit == "" {
			unit = "text"
		}
		g.entry("  "+left(o.Path, 34)+" "+left(unit, 4), o.Meaning, 43)
	}
	if !limits {
		return
	}
	g.head("Limits")
	for _, l := range limit.Table {
		g.para("  "+left(l.Name, 16), l.Meaning)
	}
}

// flagOf names the flag of an input, with the command where it is not one of
// every answer; "" where there is none.
func flagOf(path string) string {
	flag := "--" + flagName(path)
	switch {
	case strings.Contains(path, "[]"):
		return ""
	case hasFlag(path, core.ForCeiling):
		return flag
	case hasFlag(path, core.ForDay):
		return flag + " of `day`"
	}
	return flag + " of `wiring`"
}
