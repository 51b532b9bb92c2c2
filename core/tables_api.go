package core

import (
	"spareamps/core/jsontext"
	"strings"
)

// Fields returns a copy of the table of inputs, in the order of requests.
func Fields() []Field { return append([]Field(nil), inputs.fields...) }

// Groups returns a copy of the table of the objects and lists of a request.
func Groups() []Group { return append([]Group(nil), inputs.groups...) }

// Outputs returns a copy of the table of outputs, in the order of answers.
func Outputs() []Output { return append([]Output(nil), outputs.outputs...) }

// Allowed says what a field takes: "1 to 400 A", "one of A, E, B".
func (f *Field) Allowed() string { return f.allowed() }

// IsText says whether an output is text, free or one of its Codes; else it is
// a number.
func (o *Output) IsText() bool { return o.text != nil || o.code != nil }

// IsColumn says whether an output can be a column of a Block: a number, or a
// name as its index in Codes, that stands outside lists.
func (o *Output) IsColumn() bool { return o.text == nil && !strings.Contains(o.Path, "[]") }

// IsList says whether a group is a list of objects.
func (g *Group) IsList() bool { return g.isList() }

// NameDistance counts the mistakes that turn one name into the other, words
// being joined by underscores. A missing or different unit counts as one.
func NameDistance(a, b string) int { return mistakes(a, b, jsontext.MaxShown) }
