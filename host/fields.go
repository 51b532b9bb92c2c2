package main

import (
	"strings"

	"github.com/spf13/cobra"

	"spareamps/core"
)

func (p *program) newFields() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "fields [WORD]",
		Short: "the table of inputs: what each is, and where to read it",
		Long: `Lists every input: its name in a request, its flag, unit, range, default,
meaning, where it is read or measured, and the source of its default. With a
word only the inputs that have it in their names.`,
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
	c := &cobra.Command{
		Use:     "outputs",
		Short:   "the table of outputs: what each value of an answer is",
		Long:    "Lists every value of the answer that `ceiling --json` prints: path, unit and\nmeaning; then the limits by name.",
		Example: "spareamps outputs\nspareamps outputs --json",
		Args:    noArguments,
		RunE: func(*cobra.Command, []string) error {
			if asJSON {
				return p.table("outputs", "limits", "unknowns")
			}
			g := p.newPage()
			g.outputs()
			return nil
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "the table as one JSON object")
	return c
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
	for _, f := range core.Fields() {
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
				group := groups[at]
				g.para("", sentence(group.Meaning))
			}
		}
		g.line("")
		takes := f.Allowed()
		if f.Unit == "1" {
			takes += " (no unit)"
		}
		g.para("  "+left(lastName(f.Path), 20)+" ", takes+"; "+otherwise(&f))
		g.para("    ", sentence(f.Meaning))
		if f.Where != "" {
			g.para("    Read: ", f.Where)
		}
		if f.Source != "" {
			g.para("    Source: ", f.Source)
		}
		if flag := flagOf(f.Path); flag != "" {
			g.line("    Flag: " + flag)
		}
	}
	return found
}

func (g *page) outputs() {
	g.strong("Values of an answer")
	g.para("", "A name with [] is a list. Amps are those into the charger unless the meaning says otherwise.")
	g.line("")
	for _, o := range core.Outputs() {
		unit := o.Unit
		if unit == "" {
			unit = "text"
		}
		g.entry("  "+left(o.Path, 34)+" "+left(unit, 4), o.Meaning, 43)
	}
	g.head("Limits")
	for _, l := range core.Limits {
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
