package schema

import (
	"encoding/json"
	"strconv"
	"strings"

	"spareamps/core"
)

// Dialect is the version of JSON Schema that is spoken.
const Dialect = "https://json-schema.org/draft/2020-12/schema"

// Request makes the schema of a request, as a document of its own.
func Request() Object {
	s := Object{
		{"$schema", Dialect},
		{"$id", "urn:spareamps:request:" + core.Version},
	}
	request, sections := RequestParts("#/$defs/")
	return append(append(s, request...), Member{"$defs", sections})
}

// RequestParts makes the schema of a request and those of its sections ("rig",
// "moment", …), which the first refers to at the place of refs.
func RequestParts(refs string) (request, sections Object) {
	w := writer{refs: refs, groups: map[string]core.Group{}}
	for _, g := range core.Groups() {
		w.groups[g.Path] = g
	}
	demo := core.Demo()
	request = append(Object{
		{"title", "request"},
		{"description", "A rig and a moment, or a rig and a day: what is asked of spareamps. Names carry units."},
		{"examples", []json.RawMessage{demo.JSON()}},
	}, w.members("")...)
	for _, g := range core.Groups() {
		if parent(g.Path) == "" {
			sections = append(sections, Member{g.Path, w.object(g.Path)})
		}
	}
	return request, sections
}

type writer struct {
	refs   string
	groups map[string]core.Group
}

// object makes the schema of the object of a group.
func (w *writer) object(path string) Object {
	return append(Object{{"title", lastName(path)}, {"description", w.groups[path].Meaning}}, w.members(path)...)
}

// members makes type, properties and what goes with them.
func (w *writer) members(path string) Object {
	var properties Object
	var required []string
	for _, f := range core.Fields() {
		if parent(f.Path) == path {
			properties = append(properties, Member{lastName(f.Path), field(&f)})
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
			properties = append(properties, Member{name, Object{{"$ref", w.refs + name}}})
		case g.IsList():
			properties = append(properties, Member{name, Object{
				{"description", g.Meaning}, {"type", "array"}, {"maxItems", g.MaxRows}, {"items", w.object(g.Path)}}})
		default:
			properties = append(properties, Member{name, w.object(g.Path)})
		}
		// Which sections a request needs depends on the question; every
		// question needs a rig.
		if path == "" && name == "rig" || path != "" && !g.Optional && needsAny(g.Path) {
			required = append(required, name)
		}
	}
	s := Object{{"type", "object"}, {"properties", properties}, {"additionalProperties", false}}
	if len(required) > 0 {
		s = append(s, Member{"required", required})
	}
	return append(s, together(path)...)
}

// needsAny says whether an object cannot be left out: something in it must be
// given.
func needsAny(path string) bool {
	if path == "rig.alternator" {
		return true
	}
	for _, f := range core.Fields() {
		if parent(f.Path) == path && f.Need == core.Required {
			return true
		}
	}
	return false
}

// together says what goes together within an object. What compares two numbers
// cannot be said in a schema.
func together(path string) Object {
	has := func(name string) Object { return Object{{"required", []string{name}}} }
	switch path {
	case "rig.alternator":
		return Object{
			{"anyOf", []Object{has("rated_current_A"),
				{{"properties", Object{{"points", Object{{"minItems", 1}}}}}, {"required", []string{"points"}}},
				has("machine")}},
			{"if", Object{
				{"properties", Object{{"points_speed", Object{{"const", "engine"}}}, {"points", Object{{"minItems", 1}}}}},
				{"required", []string{"points_speed", "points"}},
			}},
			{"then", has("pulley_ratio")},
		}
	case "rig.cable":
		return Object{{"oneOf", []Object{has("area_mm2"), has("awg")}}}
	}
	return nil
}

// field makes the schema of one input.
func field(f *core.Field) Object {
	s := Object{{"title", title(f)}, {"description", describe(f)}}
	switch f.Kind {
	case core.Choice:
		s = append(s, Member{"enum", choices(f)})
	case core.Clock:
		s = append(s, Member{"type", "string"}, Member{"pattern", `^([01]?[0-9]|2[0-4]):[0-5][0-9]$`})
	case core.Date:
		s = append(s, Member{"type", "string"}, Member{"pattern", `^[0-9]{4}-[0-9]{2}-[0-9]{2}$`})
	case core.Text:
		s = append(s, Member{"type", "string"}, Member{"minLength", 1}, Member{"maxLength", f.Max})
	case core.Whole:
		s = append(s, Member{"type", "integer"}, Member{"minimum", f.Min}, Member{"maximum", f.Max})
	default:
		s = append(s, Member{"type", "number"}, Member{"minimum", f.Min}, Member{"maximum", f.Max})
	}
	// A value that is assumed with a spread where it is not given is told by the
	// description: writing it down would state it as known.
	if f.Need == core.Defaulted {
		switch {
		case f.Kind == core.Choice:
			s = append(s, Member{"default", f.DefaultText})
		case f.Kind == core.Clock:
			s = append(s, Member{"default", clock(f.Default)})
		case f.Kind == core.Number || f.Kind == core.Whole:
			s = append(s, Member{"default", f.Default})
		}
	}
	if f.Demo != "" {
		s = append(s, Member{"examples", []json.RawMessage{json.RawMessage(f.Demo)}})
	}
	return s
}

// title is a label for a form: the name in words, the unit behind it.
func title(f *core.Field) string {
	name := lastName(f.Path)
	if f.Unit == "1" || f.Unit == "" {
		return strings.ReplaceAll(name, "_", " ")
	}
	if i := strings.LastIndexByte(name, '_'); i > 0 {
		name = name[:i]
	}
	return strings.ReplaceAll(name, "_", " ") + " (" + f.Unit + ")"
}

func describe(f *core.Field) string {
	s := strings.ToUpper(f.Meaning[:1]) + f.Meaning[1:] + "."
	if f.Unit != "" && f.Unit != "1" {
		s += " Unit: " + f.Unit + "."
	}
	if f.Where != "" {
		s += " Read: " + f.Where + "."
	}
	if f.Need == core.Optional && f.Default != 0 {
		s += " Assumed with a spread: " + strconv.FormatFloat(f.Default, 'f', -1, 64) + "."
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

func clock(minutes float64) string {
	m := int(minutes)
	return strconv.Itoa(100 + m/60)[1:] + ":" + strconv.Itoa(100 + m%60)[1:]
}

func parent(path string) string { return path[:max(strings.LastIndexByte(path, '.'), 0)] }

func lastName(path string) string { return path[strings.LastIndexByte(path, '.')+1:] }
