package schema

import (
	"encoding/json"
	"slices"
	"strconv"
	"strings"

	"spareamps/core"
)

// Dialect is the version of JSON Schema that is spoken.
const Dialect = "https://json-schema.org/draft/2020-12/schema"

// A Question is something a request may ask.
type Question struct {
	Name        string   // "request:day"
	Description string   // of its request
	Example     []string // sections of the demo that a request has; nil: all of it
	Needed      []string // objects that cannot be left out
	AnyMachine  bool     // rig.alternator need not say what machine it is
}

// Any is a question of the service's: a request for a ceiling, a day or a fit.
var Any = Question{
	Name:        "request",
	Description: "A rig and a moment, or a rig and a day; for a fit, a rig with observations and a moment: what is asked of spareamps. Names carry units.",
	Needed:      []string{"rig", "rig.alternator"},
}

// Request makes the schema of a request, as a document of its own. What it
// accepts the core accepts, but for what compares two values or reaches across
// objects, and for the length of texts, which is in bytes. It is stricter where
// the core takes a choice in letters of any case, and null for "not given"; and
// a section that is not asked for is still to be whole.
func Request(q Question) Object {
	request, sections := RequestParts(q, "#/$defs/")
	s := Object{
		{"$schema", Dialect},
		{"$id", "urn:spareamps:" + q.Name + ":" + core.Version},
	}
	return append(append(s, request...), Member{"$defs", sections})
}

// RequestParts makes the schema of a request and those of its sections ("rig",
// "moment", …), which the first refers to at the place of refs.
func RequestParts(q Question, refs string) (request, sections Object) {
	w := writer{Question: q, refs: refs, groups: map[string]core.Group{}}
	for _, g := range core.Groups() {
		w.groups[g.Path] = g
		if parent(g.Path) == "" {
			sections = append(sections, Member{g.Path, nil})
		}
	}
	for i := range sections {
		sections[i].Value = w.object(sections[i].Key)
	}
	demo := core.Demo()
	request = append(Object{
		{"title", "request"},
		{"description", q.Description},
		{"examples", []any{part(demo.JSON(), sections, q.Example)}},
	}, w.members("")...)
	return request, sections
}

// part is the text of an object with those of its sections that have names.
func part(text []byte, sections Object, names []string) any {
	if names == nil {
		return json.RawMessage(text)
	}
	var all map[string]json.RawMessage
	_ = json.Unmarshal(text, &all) // it is the core's own
	var some Object
	for _, s := range sections {
		if slices.Contains(names, s.Key) {
			some = append(some, Member{s.Key, all[s.Key]})
		}
	}
	return some
}

type writer struct {
	Question
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
		if slices.Contains(w.Needed, g.Path) {
			required = append(required, name)
		}
	}
	s := Object{{"type", "object"}, {"properties", properties}, {"additionalProperties", false}}
	if len(required) > 0 {
		s = append(s, Member{"required", required})
	}
	return append(s, w.together(path)...)
}

// field makes the schema of one input.
func field(f *core.Field) Object {
	s := Object{{"title", title(f)}, {"description", describe(f)}}
	switch f.Kind {
	case core.Choice:
		s = append(s, Member{"enum", choices(f)})
	case core.Clock:
		form := `([01]?[0-9]|2[0-3]):[0-5][0-9]`
		if f.Max >= 1440 {
			form = "(" + form + "|24:00)"
		}
		s = append(s, Member{"type", "string"}, Member{"pattern", "^" + form + "$"})
	case core.Date:
		// The pattern is for validators that pass over format; its years are those
		// of the range, which begins and ends with one.
		s = append(s, Member{"type", "string"}, Member{"format", "date"}, Member{"pattern", `^(19[5-9][0-9]|20[0-9]{2})-[0-9]{2}-[0-9]{2}$`})
	case core.Text:
		s = append(s, Member{"type", "string"}, Member{"minLength", 1}, Member{"maxLength", f.Max}, Member{"pattern", `^\s*[^\s\p{C}][^\p{C}\p{Zl}\p{Zp}]*$`})
	case core.Whole:
		s = append(s, Member{"type", "integer"}, Member{"minimum", f.Min}, Member{"maximum", f.Max})
	default:
		s = append(s, Member{"type", "number"}, Member{"minimum", f.Min}, Member{"maximum", f.Max})
	}
	// A value that is assumed with a spread where it is not given is told by the
	// description: writing it down would state it as known.
	if f.Need == core.Defaulted {
		switch {
		case f.IsText():
			s = append(s, Member{"default", f.DefaultText})
		case f.Kind == core.Clock:
			s = append(s, Member{"default", clock(f.Default)})
		default:
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
		s += " Assumed with a spread: " + strconv.FormatFloat(f.Default, 'g', -1, 64) + "."
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
