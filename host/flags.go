package main

import (
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"spareamps/core"
)

// A tableFlag is an input as a flag. A list of the table is one flag: rows
// separated by commas, a row's fields by colons.
type tableFlag struct {
	name   string
	fields []core.Field // one, or those of a list's row
	list   string       // path of the list without "[]"; "" for a field
	text   string
	given  bool
}

// Set, String and Type make a tableFlag a pflag.Value. What is wrong with a
// value is found when all values are known, so that all is told at once.
func (f *tableFlag) Set(text string) error { f.text, f.given = text, true; return nil }

func (f *tableFlag) String() string { return f.text }

func (f *tableFlag) Type() string {
	if f.list != "" {
		var names []string
		for i := range f.fields {
			names = append(names, lastName(f.fields[i].Path))
		}
		return strings.Join(names, ":") + ",..."
	}
	switch unit, kind := f.fields[0].Unit, f.fields[0].Kind; {
	case kind == core.Choice:
		return "name"
	case kind == core.Clock:
		return "hh:mm"
	case kind == core.Date:
		return "yyyy-mm-dd"
	case kind == core.Text:
		return "text"
	case unit == "1" || unit == "":
		return "number"
	default:
		return unit
	}
}

// tableFlags are the flags of a command that come from the table of inputs.
type tableFlags []*tableFlag

// sectionNames are the objects of a request that a flag's name leaves out.
var sectionNames = []string{"rig", "moment", "day", "wiring"}

// ofDay are the parts of a rig that a day reads and no ceiling does: they are
// flags of a day alone.
var ofDay = []string{
	"rig.solar", "rig.inverter",
	"rig.engine.displacement_L", "rig.engine.fuel", "rig.engine.cranking_A", "rig.engine.cranking_V", "rig.engine.tyre_diameter_m",
	"rig.charger.stops_with_engine", "rig.charger.feed_W", "rig.charger.feed_V", "rig.charger.feed_efficiency", "rig.charger.feed_idle_W",
	"rig.house_battery.reserve", "rig.house_battery.self_W", "rig.house_battery.resistance_mohm",
	"rig.starter_battery.kind", "rig.starter_battery.cold_cranking_A", "rig.starter_battery.cold_cranking_by", "rig.starter_battery.health",
}

// hasFlag says whether an input is a flag of a command that takes those below
// the given paths. The lists of a day and observations are rows of many cells,
// times among them, and a fit writes what is learned: they are given in a file.
func hasFlag(path string, within []string) bool {
	if strings.HasPrefix(path, "day.") && strings.Contains(path, "[]") ||
		strings.HasPrefix(path, "rig.observations") || strings.HasPrefix(path, "rig.learned") {
		return false
	}
	return isWithin(path, within) && (slices.Contains(within, "day") || !isWithin(path, ofDay))
}

// flagName is the flag of an input: its path without its section, words joined
// by hyphens.
func flagName(path string) string {
	path = strings.ReplaceAll(path, "[]", "")
	if top, rest, ok := strings.Cut(path, "."); ok && slices.Contains(sectionNames, top) {
		path = rest
	}
	return strings.NewReplacer(".", "-", "_", "-").Replace(path)
}

func lastName(path string) string { return path[strings.LastIndexByte(path, '.')+1:] }

// newTableFlags makes the flags of the inputs below the given paths.
func newTableFlags(c *cobra.Command, within ...string) tableFlags {
	var flags tableFlags
	add := func(f *tableFlag, usage string) {
		flags = append(flags, f)
		c.Flags().Var(f, f.name, usage)
	}
	lists := map[string]*tableFlag{}
	for _, field := range byUse(core.Fields()) {
		if !hasFlag(field.Path, within) {
			continue
		}
		list, _, isList := strings.Cut(field.Path, "[].")
		if !isList {
			f := &tableFlag{name: flagName(field.Path), fields: []core.Field{field}}
			add(f, field.Meaning)
			choices := field.Choices
			_ = c.RegisterFlagCompletionFunc(f.name, func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
				return choices, cobra.ShellCompDirectiveNoFileComp
			})
			continue
		}
		if f := lists[list]; f != nil {
			f.fields = append(f.fields, field)
			continue
		}
		f := &tableFlag{name: flagName(list), list: list, fields: []core.Field{field}}
		lists[list] = f
		add(f, "")
		for _, g := range core.Groups() {
			if g.Path == list+"[]" {
				c.Flags().Lookup(f.name).Usage = g.Meaning
			}
		}
	}
	c.Flags().SortFlags = false
	c.Flags().SetNormalizeFunc(flags.normalize)
	return flags
}

// byUse puts what changes often first.
func byUse(fields []core.Field) []core.Field {
	sorted := make([]core.Field, 0, len(fields))
	for _, often := range []bool{true, false} {
		for _, f := range fields {
			if strings.HasPrefix(f.Path, "rig.") != often {
				sorted = append(sorted, f)
			}
		}
	}
	return sorted
}

func isWithin(path string, tops []string) bool {
	for _, top := range tops {
		if path == top || strings.HasPrefix(path, top+".") {
			return true
		}
	}
	return false
}

// normalize takes a name in letters of any case, and with the underscores it
// has in a file.
func (flags tableFlags) normalize(_ *pflag.FlagSet, name string) pflag.NormalizedName {
	like := strings.ReplaceAll(name, "_", "-")
	for _, f := range flags {
		if strings.EqualFold(f.name, like) {
			return pflag.NormalizedName(f.name)
		}
	}
	return pflag.NormalizedName(name)
}

// given says whether any flag below one of the paths was given.
func (flags tableFlags) given(paths ...string) bool {
	for _, f := range flags {
		if f.given && (len(paths) == 0 || isWithin(f.fields[0].Path, paths) || f.list != "" && isWithin(f.list, paths)) {
			return true
		}
	}
	return false
}

// lay sets what flags state and returns what is wrong with them; said gets the
// flag of each path set.
func (flags tableFlags) lay(q *core.Request, said map[string]string) (problems []core.Problem) {
	set := func(f *tableFlag, path, value string) {
		said[path] = f.name
		problems = append(problems, problemsOf(q.Set(path, value))...)
	}
	for _, f := range flags {
		switch {
		case !f.given:
		case f.list == "":
			alternative(q, f.fields[0].Path)
			set(f, f.fields[0].Path, f.text)
		default:
			said[f.list] = f.name
			problems = append(problems, problemsOf(q.Lay(emptyList(f.list), ""))...)
			for row, text := range strings.Split(f.text, ",") {
				cells := strings.Split(text, ":")
				if len(cells) != len(f.fields) {
					problems = append(problems, core.Problem{Code: "type", Field: f.list, Value: text, Allowed: f.Type(),
						Message: f.list + " has the row " + text + ", allowed is " + f.Type()})
					continue
				}
				for i, cell := range cells {
					set(f, rowPath(f.fields[i].Path, row), cell)
				}
			}
		}
	}
	return problems
}

// emptyList is a request that empties a list.
func emptyList(path string) []byte {
	names := strings.Split(path, ".")
	return []byte(`{"` + strings.Join(names, `":{"`) + `":[]` + strings.Repeat("}", len(names)))
}

func rowPath(path string, row int) string {
	before, after, _ := strings.Cut(path, "[]")
	return before + "[" + itoa(row) + "]" + after
}

// alternative clears what a flag takes the place of: a cable has one size.
func alternative(q *core.Request, path string) {
	switch path {
	case "rig.cable.awg":
		q.Rig.Cable.AreaMM2 = 0
	case "rig.cable.area_mm2":
		q.Rig.Cable.AWG = ""
	case "wiring.far_A":
		q.Wiring.FarW = 0
	case "wiring.far_W":
		q.Wiring.FarA = 0
	}
}

func problemsOf(err error) []core.Problem {
	if e, ok := err.(*core.InputError); ok {
		return e.Problems
	}
	return nil
}
