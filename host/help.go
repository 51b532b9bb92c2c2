package main

import (
	"fmt"
	"math"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"spareamps/core"
	"spareamps/core/calendar"
)

// help prints examples first, then what the command does, then its flags.
func (p *program) help(c *cobra.Command, _ []string) {
	g := p.newPage()
	if c.HasExample() {
		g.strong("Examples")
		for _, l := range strings.Split(c.Example, "\n") {
			g.line("  " + l)
		}
		g.line("")
	}
	if s := c.Long; s != "" {
		g.line(s)
	} else {
		g.line(sentence(c.Short))
	}
	g.head("Usage")
	switch {
	case c.HasAvailableSubCommands():
		g.line("  " + c.CommandPath() + " COMMAND [flags]")
	default:
		g.line("  " + c.UseLine())
	}
	if c.HasAvailableSubCommands() {
		g.head("Commands")
		for _, sub := range c.Commands() {
			if sub.IsAvailableCommand() {
				g.para("  "+left(sub.Name(), 12), sub.Short)
			}
		}
	}
	var table, own []*pflag.Flag
	c.Flags().VisitAll(func(f *pflag.Flag) {
		switch _, isInput := f.Value.(*tableFlag); {
		case isInput:
			table = append(table, f)
		case c.Root().PersistentFlags().Lookup(f.Name) == nil && f.Name != "help":
			own = append(own, f)
		}
	})
	g.flags("Flags", own)
	var everywhere []*pflag.Flag
	c.Root().PersistentFlags().VisitAll(func(f *pflag.Flag) { everywhere = append(everywhere, f) })
	g.flags("Flags of every command", everywhere)
	g.inputs(table)
}

// flags lists flags that are not inputs.
func (g *page) flags(head string, flags []*pflag.Flag) {
	if len(flags) == 0 {
		return
	}
	g.head(head)
	for _, f := range flags {
		value, usage := pflag.UnquoteUsage(f)
		name := "--" + f.Name
		if f.Shorthand != "" {
			name = "-" + f.Shorthand + ", " + name
		}
		if value != "" && f.Value.Type() != "bool" {
			name += " " + value
		}
		if f.DefValue != "" && f.DefValue != "false" && f.DefValue != "[]" {
			usage += " (" + f.DefValue + ")"
		}
		g.entry("  "+name, usage, 26)
	}
}

// entry prints a name and what it is, beside each other where that fits.
func (g *page) entry(name, what string, column int) {
	if width(name)+2 > column {
		g.line(name)
		name = ""
	}
	g.para(left(name, column), what)
}

// inputs lists the flags of the table of inputs by object.
func (g *page) inputs(flags []*pflag.Flag) {
	if len(flags) == 0 {
		return
	}
	g.head("Inputs (`spareamps fields` says what each is and where to read it)")
	object := ""
	for _, f := range flags {
		t := f.Value.(*tableFlag)
		path := t.fields[0].Path
		if t.list != "" {
			path = t.list
		}
		if at := parent(path); at != object && at != "" {
			object = at
			g.line("  " + object)
		}
		g.entry("    --"+f.Name+" "+t.Type(), t.summary(), 42)
	}
}

// summary says what a flag takes and what leaving it out means.
func (f *tableFlag) summary() string {
	if f.list != "" {
		return "a row a point, such as 1500:48,6000:120"
	}
	field := &f.fields[0]
	s := field.Allowed()
	if form, bounds, ok := strings.Cut(s, ", "); ok && (field.Kind == core.Clock || field.Kind == core.Date) {
		_, form, _ = strings.Cut(form, " such as ")
		s = bounds + ", such as " + form
	}
	if field.Kind != core.Choice && field.Unit != "" && field.Unit != "1" {
		s = strings.TrimSuffix(s, " "+field.Unit)
	}
	if field.Kind == core.Choice {
		s = strings.TrimPrefix(s, "one of ")
	}
	return s + "; " + otherwise(field)
}

// otherwise says what leaving an input out means.
func otherwise(f *core.Field) string {
	switch {
	case f.Need == core.Required:
		return "needed"
	case f.DefaultText != "":
		return "else " + f.DefaultText
	case f.Need == core.Defaulted:
		return "else " + valueText(f, f.Default)
	case f.Default != 0:
		return "else about " + number(f.Default)
	}
	return "optional"
}

// valueText is a value of an input that is a number, as people write it.
func valueText(f *core.Field, v float64) string {
	switch f.Kind {
	case core.Clock:
		return clock(v)
	case core.Date:
		year, month, day := calendar.Date(v)
		return fmt.Sprintf("%04d-%02d-%02d", year, month, day)
	}
	return number(v)
}

// clock is a time of day of minutes since some midnight.
func clock(minutes float64) string {
	m := int(math.Round(minutes))
	return fmt.Sprintf("%02d:%02d", m/60%24, m%60)
}
