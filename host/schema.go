package main

import (
	"encoding/json"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"spareamps/core"
)

func (p *program) newSchema() *cobra.Command {
	return &cobra.Command{
		Use:   "schema",
		Short: "the JSON Schema of a request",
		Long: `Prints the JSON Schema (2020-12) of a request, made from the table of inputs. A
rig file is described by #/$defs/rig.`,
		Example: "spareamps schema\nspareamps schema -o request.schema.json",
		Args:    noArguments,
		RunE:    func(*cobra.Command, []string) error { return p.object(requestSchema()) },
	}
}

// requestSchema makes the schema of a request. What it accepts the core
// accepts; it is stricter where the core takes a choice in letters of any
// case, and null for "not given".
func requestSchema() object {
	groups := map[string]core.Group{}
	for _, g := range core.Groups() {
		groups[g.Path] = g
	}
	demo := core.Demo()
	s := object{
		{"$schema", "https://json-schema.org/draft/2020-12/schema"},
		{"$id", "urn:spareamps:request:" + core.Version},
		{"title", "request"},
		{"description", "A rig and a moment: what is asked of spareamps. Names carry units."},
		{"examples", []json.RawMessage{demo.JSON()}},
	}
	s = append(s, objectSchema("", groups)...)
	return append(s, pair{"$defs", object{
		{"rig", objectOf("rig", groups)},
		{"moment", objectOf("moment", groups)},
	}})
}

// objectOf makes the schema of the object of a group.
func objectOf(path string, groups map[string]core.Group) object {
	return append(object{{"title", lastName(path)}, {"description", groups[path].Meaning}}, objectSchema(path, groups)...)
}

// objectSchema makes type, properties and what goes with them.
func objectSchema(path string, groups map[string]core.Group) object {
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
				{"description", g.Meaning}, {"type", "array"}, {"maxItems", g.MaxRows}, {"items", objectOf(g.Path, groups)}}})
		default:
			properties = append(properties, pair{name, objectOf(g.Path, groups)})
		}
		if !g.Optional && needsAny(g.Path) {
			required = append(required, name)
		}
	}
	s := object{{"type", "object"}, {"properties", properties}, {"additionalProperties", false}}
	if len(required) > 0 {
		s = append(s, pair{"required", required})
	}
	return append(s, together(path)...)
}

// needsAny says whether an object cannot be left out: something in it must be
// given.
func needsAny(path string) bool {
	if path == "rig.alternator" || path == "rig" {
		return true
	}
	for _, f := range core.Fields() {
		if parent(f.Path) == path && f.Need == core.Required {
			return true
		}
	}
	return false
}

// together says what goes together within an object, as the core's Request
// checks it. What compares two numbers cannot be said in a schema.
func together(path string) object {
	has := func(name string) object { return object{{"required", []string{name}}} }
	switch path {
	case "rig.alternator":
		return object{
			{"anyOf", []object{has("rated_current_A"),
				{{"properties", object{{"points", object{{"minItems", 1}}}}}, {"required", []string{"points"}}},
				has("machine")}},
			{"if", object{
				{"properties", object{{"points_speed", object{{"const", "engine"}}}, {"points", object{{"minItems", 1}}}}},
				{"required", []string{"points_speed", "points"}},
			}},
			{"then", has("pulley_ratio")},
		}
	case "rig.cable":
		return object{{"oneOf", []object{has("area_mm2"), has("awg")}}}
	}
	return nil
}

func parent(path string) string { return path[:max(strings.LastIndexByte(path, '.'), 0)] }

// fieldSchema makes the schema of one input.
func fieldSchema(f *core.Field) object {
	s := object{{"title", titleOf(f)}, {"description", describe(f)}}
	switch f.Kind {
	case core.Choice:
		s = append(s, pair{"enum", choices(f)})
	case core.Whole:
		s = append(s, pair{"type", "integer"}, pair{"minimum", f.Min}, pair{"maximum", f.Max})
	default:
		s = append(s, pair{"type", "number"}, pair{"minimum", f.Min}, pair{"maximum", f.Max})
	}
	// A value that is assumed with a spread where it is not given is told by the
	// description: writing it down would state it as known.
	if f.Need == core.Defaulted {
		if f.Kind == core.Choice {
			s = append(s, pair{"default", f.DefaultText})
		} else {
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
