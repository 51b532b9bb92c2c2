package main

import (
	"encoding/json"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"spareamps/core"
)

func (p *program) newSchema() *cobra.Command {
	commands := []string{"ceiling", "day", "wiring"}
	return &cobra.Command{
		Use:   "schema [COMMAND]",
		Short: "the JSON Schema of a request",
		Long: `Prints the JSON Schema (2020-12) of a request to ceiling, or to day or wiring,
made from the table of inputs. One file may hold all that the commands ask for:
each needs its own sections only. A rig file is described by #/$defs/rig.`,
		Example:   "spareamps schema\nspareamps schema day\nspareamps schema -o request.schema.json",
		ValidArgs: commands,
		Args: func(c *cobra.Command, args []string) error {
			if len(args) == 0 || len(args) == 1 && slices.Contains(commands, args[0]) {
				return nil
			}
			return &usageError{"schema takes " + joinOr(commands), "see `spareamps schema --help`"}
		},
		RunE: func(_ *cobra.Command, args []string) error {
			return p.object(requestSchema(append(args, "ceiling")[0]))
		},
	}
}

// A schemaOf makes the schema of a request to one command.
type schemaOf struct {
	command  string
	sections []string
	needed   []string // objects that cannot be left out
	groups   map[string]core.Group
}

var requestsOf = map[string]schemaOf{
	"ceiling": {sections: core.ForCeiling, needed: []string{"rig", "rig.alternator", "moment"}},
	"day":     {sections: core.ForDay, needed: []string{"rig", "rig.alternator", "rig.charger", "rig.house_battery", "day"}},
	"wiring":  {sections: core.ForWiring, needed: []string{"wiring"}},
}

// requestSchema makes the schema of a request to a command. What it accepts the
// core accepts, but for what compares two values or reaches across objects, and
// for the length of texts, which is in bytes. It is stricter where the core
// takes a choice in letters of any case, and null for "not given"; and a
// section that the command does not ask for is still to be whole.
func requestSchema(command string) object {
	x := requestsOf[command]
	x.command, x.groups = command, map[string]core.Group{}
	for _, g := range core.Groups() {
		x.groups[g.Path] = g
	}
	demo := core.Demo()
	text := demo.JSON()
	example := object{}
	for _, name := range append([]string{"rig"}, sectionNames[1:]...) {
		if slices.Contains(x.sections, name) || name == "rig" {
			example = append(example, pair{name, member(text, name)})
		}
	}
	name := "request"
	if command != "ceiling" {
		name += ":" + command
	}
	s := object{
		{"$schema", "https://json-schema.org/draft/2020-12/schema"},
		{"$id", "urn:spareamps:" + name + ":" + core.Version},
		{"title", "request"},
		{"description", "What is asked of `spareamps " + command + "`. Names carry units."},
		{"examples", []object{example}},
	}
	s = append(s, x.object("")...)
	var defs object
	for _, section := range sectionNames {
		defs = append(defs, pair{section, x.objectOf(section)})
	}
	return append(s, pair{"$defs", defs})
}

// objectOf makes the schema of the object of a group.
func (x *schemaOf) objectOf(path string) object {
	return append(object{{"title", lastName(path)}, {"description", x.groups[path].Meaning}}, x.object(path)...)
}

// object makes type, properties and what goes with them.
func (x *schemaOf) object(path string) object {
	var properties object
	var required []string
	for _, f := range core.Fields() {
		if parent(f.Path) == path {
			properties = append(properties, pair{lastName(f.Path), fieldSchema(&f)})
			if f.Need == core.Required {
				required = append(required, lastName(f.Path))
			}
		}
	}
	for _, g := range core.Groups() {
		if parent(strings.TrimSuffix(g.Path, "[]")) != path {
			continue
		}
		name := lastName(strings.TrimSuffix(g.Path, "[]"))
		switch {
		case path == "":
			properties = append(properties, pair{name, object{{"$ref", "#/$defs/" + name}}})
		case g.IsList():
			properties = append(properties, pair{name, object{
				{"description", g.Meaning}, {"type", "array"}, {"maxItems", g.MaxRows}, {"items", x.objectOf(g.Path)}}})
		default:
			properties = append(properties, pair{name, x.objectOf(g.Path)})
		}
		if slices.Contains(x.needed, g.Path) {
			required = append(required, name)
		}
	}
	s := object{{"type", "object"}, {"properties", properties}, {"additionalProperties", false}}
	if len(required) > 0 {
		s = append(s, pair{"required", required})
	}
	return append(s, x.together(path)...)
}

// together says what goes together within an object, as the core's Request
// checks it.
func (x *schemaOf) together(path string) object {
	has := func(names ...string) object { return object{{"required", names}} }
	not := func(names ...string) object {
		var any []object
		for _, name := range names {
			any = append(any, has(name))
		}
		return object{{"not", object{{"anyOf", any}}}}
	}
	rows := func(list string) object {
		return object{{"properties", object{{list, object{{"minItems", 1}}}}}, {"required", []string{list}}}
	}
	is := func(name string, values ...string) object {
		return object{{"properties", object{{name, object{{"enum", values}}}}}, {"required", []string{name}}}
	}
	when := func(condition, then object) object { return object{{"if", condition}, {"then", then}} }
	switch path {
	case "rig.alternator":
		if x.command == "wiring" {
			return nil
		}
		return object{
			{"anyOf", []object{has("rated_current_A"), rows("points"), has("machine")}},
			{"if", object{{"allOf", []object{is("points_speed", "engine"), rows("points")}}}},
			{"then", has("pulley_ratio")},
		}
	case "rig.cable":
		return object{{"oneOf", []object{has("area_mm2"), has("awg")}}}
	case "day":
		return object{
			{"anyOf", []object{has("min_C", "max_C"), rows("air")}},
			{"allOf", []object{
				{{"not", object{{"allOf", []object{rows("legs"), rows("track")}}}}},
				{{"if", is("control", "schedule")}, {"then", rows("switches")}, {"else", object{{"not", rows("switches")}}}},
			}},
		}
	case "day.legs[]":
		return object{{"allOf", []object{
			when(is("kind", "drive"), object{{"required", []string{"speed_kmh"}}, {"properties", object{{"engine", object{{"const", "on"}}}}}, not("engine_rpm", "overall_ratio").both()}),
			when(is("kind", "stop", "camp"), not("speed_kmh", "stop_every_min", "stop_min")),
			when(is("kind", "camp"), object{{"properties", object{{"engine", object{{"const", "off"}}}}}}),
		}}, {"dependentRequired", object{{"stop_min", []string{"stop_every_min"}}, {"stop_every_min", []string{"stop_min"}}}}}
	case "day.loads[]":
		return object{
			{"dependentRequired", object{{"to", []string{"from"}}, {"minutes", []string{"from"}}}},
			{"if", has("from")}, {"then", object{{"oneOf", []object{has("to"), has("minutes")}}}},
		}
	case "wiring":
		return object{{"oneOf", []object{has("far_A"), has("far_W")}}}
	}
	return nil
}

// both turns "none of them" into "not all of them".
func (o object) both() pair {
	not := o[0].value.(object)
	return pair{"not", object{{"allOf", not[0].value}}}
}

func parent(path string) string { return path[:max(strings.LastIndexByte(path, '.'), 0)] }

// fieldSchema makes the schema of one input.
func fieldSchema(f *core.Field) object {
	s := object{{"title", titleOf(f)}, {"description", describe(f)}}
	switch f.Kind {
	case core.Choice:
		s = append(s, pair{"enum", choices(f)})
	case core.Clock:
		form := `([01]?[0-9]|2[0-3]):[0-5][0-9]`
		if f.Max >= 1440 {
			form = "(" + form + "|24:00)"
		}
		s = append(s, pair{"type", "string"}, pair{"pattern", "^" + form + "$"})
	case core.Date:
		// The pattern is for validators that pass over format; its years are those
		// of the range, which begins and ends with one.
		s = append(s, pair{"type", "string"}, pair{"format", "date"}, pair{"pattern", `^(19[5-9][0-9]|20[0-9]{2})-[0-9]{2}-[0-9]{2}$`})
	case core.Text:
		s = append(s, pair{"type", "string"}, pair{"minLength", 1}, pair{"maxLength", f.Max}, pair{"pattern", `^\s*[^\s\p{C}][^\p{C}\p{Zl}\p{Zp}]*$`})
	case core.Whole:
		s = append(s, pair{"type", "integer"}, pair{"minimum", f.Min}, pair{"maximum", f.Max})
	default:
		s = append(s, pair{"type", "number"}, pair{"minimum", f.Min}, pair{"maximum", f.Max})
	}
	// A value that is assumed with a spread where it is not given is told by the
	// description: writing it down would state it as known.
	if f.Need == core.Defaulted {
		switch {
		case f.IsText():
			s = append(s, pair{"default", f.DefaultText})
		case f.Kind == core.Clock || f.Kind == core.Date:
			s = append(s, pair{"default", valueText(f, f.Default)})
		default:
			s = append(s, pair{"default", f.Default})
		}
	}
	if f.Demo != "" {
		s = append(s, pair{"examples", []json.RawMessage{json.RawMessage(f.Demo)}})
	}
	return s
}

// titleOf is a label for a form: the name in words, the unit behind it.
func titleOf(f *core.Field) string {
	name := lastName(f.Path)
	unit := f.Unit
	if unit == "1" || unit == "" {
		return spaced(name)
	}
	if i := strings.LastIndexByte(name, '_'); i > 0 {
		name = name[:i]
	}
	return spaced(name) + " (" + unit + ")"
}

func describe(f *core.Field) string {
	s := sentence(f.Meaning)
	if f.Unit != "" && f.Unit != "1" {
		s += " Unit: " + f.Unit + "."
	}
	if f.Where != "" {
		s += " Read: " + f.Where + "."
	}
	if f.Need == core.Optional && f.Default != 0 {
		s += " Assumed with a spread: " + number(f.Default) + "."
	}
	if f.Source != "" {
		s += " Source: " + f.Source + "."
	}
	return s
}

// choices are those of an input; one that looks like a number may also be
// written as one.
func choices(f *core.Field) (list []any) {
	for _, c := range f.Choices {
		list = append(list, c)
	}
	for _, c := range f.Choices {
		if v, err := strconv.ParseFloat(c, 64); err == nil {
			list = append(list, v)
		}
	}
	return list
}
