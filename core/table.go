package core

// Need says what happens when an input is not given.
type Need uint8

const (
	Defaulted Need = iota // Default is taken
	Required              // the user must know it: leaving it out is a problem
	Optional              // stays unset; Meaning says what that leads to
)

// Kind is the form of an input's value.
type Kind uint8

const (
	Number Kind = iota // a finite number in [Min, Max]
	Whole              // a number without fraction in [Min, Max]
	Choice             // one of Choices
	Clock              // a time of day, "06:30": minutes since midnight
	Date               // "2026-07-24": days since 2000-01-01
	Text               // a short text of at most Max bytes
)

// A Field declares one input, once. Decoding, validation, the JSON Schema,
// flags, forms, documentation and sweep axes all read this declaration.
type Field struct {
	Path        string // dotted path in a request; "[]" behind a name marks a list: "rig.alternator.points[].speed_rpm"
	Unit        string // as printed: "A", "°C", "mm²"; "1" for a fraction, "" for a choice
	Kind        Kind
	Need        Need
	Min, Max    float64 // allowed range, both ends included; minutes of a Clock, days of a Date, bytes of a Text
	Default     float64 // where Need is Defaulted, or for an Optional value that is then assumed and widened
	DefaultText string  // the same for a Choice
	Choices     []string
	Demo        string // value in the demo request, as JSON; "" leaves it out
	Meaning     string // one line for a person
	Where       string // where it is read or measured
	Source      string // source of the default, or "engineering estimate"

	num  func(q *Request, i int) *float64 // i is the row within the innermost list
	text func(q *Request, i int) *string
}

// A Group declares an object or a list of objects within a request. Every
// object of a request has one, except the request itself; a list holds no lists.
type Group struct {
	Path     string // "rig.cable", "rig.alternator.points[]"
	Optional bool   // may be left out; its Required fields are required only when it is given. A list that may not needs a row
	MaxRows  int    // for a list
	Meaning  string

	given  func(q *Request) *bool  // nil: always there; for a list also nil, or kept equal to "has rows"
	resize func(q *Request, n int) // for a list: make it n rows, keeping those that fit
	rows   func(q *Request) int    // for a list
}

// An Output declares one value of an answer, once. The JSON writer, the
// columnar block and the documentation read it.
type Output struct {
	Path    string // "ceiling.input_A", "limits[].input_A"; "cautions[]" for a list of bare texts
	Unit    string
	Meaning string
	Codes   []string // all that a name can be, its number in a block being the index; nil for numbers and free text

	num  func(a *Answer, i int) float64 // never and above: null
	text func(a *Answer, i int) string  // "": null
	code func(a *Answer, i int) int     // index in Codes; below 0: null
}

// An outputList says how many rows a list of an answer has. Its path may also
// name an object, "fit": with 0 rows the object is left out.
type outputList struct {
	path string // "limits[]"
	rows func(a *Answer) int
}

// A Problem is one thing wrong with an input.
type Problem struct {
	Code    string // stable: "missing", "unknown", "type", "range", "choice", "duplicate", "json", "conflict", ...
	Field   string // path, with list rows as "points[3]"
	Value   string // what was given, as text, cut at 60 bytes
	Allowed string // "1 to 400 A", "one of A, E, B, F, H"
	Message string // one line, lower case, no full stop
}

// An inputTable declares a whole request. Rows may stand in any order; their
// order is that of encoded requests, forms and documentation.
type inputTable struct {
	groups []Group
	fields []Field // at most 256, the size of a given set
}

// An outputTable declares a whole answer, in the order it is written. Rows of
// one object or list stand together.
type outputTable struct {
	lists   []outputList
	outputs []Output
}
