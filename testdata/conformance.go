package testdata

import (
	"bytes"
	_ "embed" // the vectors
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"
)

//go:embed conformance.jsonl
var conformance []byte

//go:embed conformance_1.0.jsonl
var first []byte

// A Vector is one call of the binary interface with what its answer must hold.
// conformance.jsonl has one a line, for hosts in any language.
type Vector struct {
	Name  string `json:"name"`
	Since string `json:"since"` // version of the interface that brought it: "1.0"
	Call  string `json:"call"`  // export: ceiling, day, fit, quantity, block

	// What is asked: an object, or a text where it is no JSON.
	Request json.RawMessage `json:"request,omitempty"`
	Text    *string         `json:"text,omitempty"`

	// Of a block: paths and columns going in, paths coming out. Answer holds
	// the columns coming out, the status last.
	Inputs  []string    `json:"inputs,omitempty"`
	Outputs []string    `json:"outputs,omitempty"`
	Columns [][]float64 `json:"columns,omitempty"`

	// What the answer has to hold: it may hold more. Numbers are the shortest
	// that read back to the same bits; Bits has those of a few, and of all
	// columns of a block, as IEEE 754 in 16 digits.
	Answer json.RawMessage `json:"answer"`
	Bits   json.RawMessage `json:"bits,omitempty"`
}

// Vectors reads the vectors of an interface up to a version: those that a
// caller written for it relies on. "" means all.
func Vectors(until string) (list []Vector, err error) { return vectors(conformance, until) }

// FirstVectors are those of 1.0 as the module of that interface answered them.
// They are never made anew: a caller written for those answers finds every field of
// them in today's (CheckShape). Numbers and sentences follow the version of the core.
func FirstVectors() ([]Vector, error) { return vectors(first, "") }

func vectors(text []byte, until string) (list []Vector, err error) {
	most := minor(until)
	for i, line := range bytes.Split(bytes.TrimSpace(text), []byte("\n")) {
		var v Vector
		d := json.NewDecoder(bytes.NewReader(line))
		d.DisallowUnknownFields()
		if err := d.Decode(&v); err != nil {
			return nil, fmt.Errorf("conformance.jsonl:%d: %w", i+1, err)
		}
		if until == "" || minor(v.Since) <= most {
			list = append(list, v)
		}
	}
	return list, nil
}

// minor is that of a version of the interface, 1.N.
func minor(version string) int {
	n, err := strconv.Atoi(strings.TrimPrefix(version, "1."))
	if err != nil {
		return -1
	}
	return n
}

// Question is the text that is asked.
func (v *Vector) Question() []byte {
	if v.Text != nil {
		return []byte(*v.Text)
	}
	return v.Request
}

// Names are those of a block's columns, as the interface takes them.
func (v *Vector) Names() []byte {
	return []byte(strings.Join(v.Inputs, "\n") + "\n\n" + strings.Join(v.Outputs, "\n"))
}

// Block is a block's columns, one behind the other, room for its results, and
// how many rows they have.
func (v *Vector) Block() (in, out []float64, rows int) {
	rows = 1
	for _, column := range v.Columns {
		rows = len(column)
		in = append(in, column...)
	}
	return in, make([]float64, rows*(len(v.Outputs)+1)), rows
}

// ColumnsJSON writes a block's results as Answer holds them.
func ColumnsJSON(out []float64, rows int) []byte {
	columns := [][]float64{}
	for from := 0; from < len(out); from += rows {
		columns = append(columns, out[from:from+rows])
	}
	text, err := json.Marshal(columns)
	if err != nil {
		panic("testdata: " + err.Error()) // results are finite
	}
	return text
}

// Check says where an answer is not what the vector demands: "" if nowhere.
// Numbers must be equal to the bit, or within a relative tolerance of each
// other if one is given.
func (v *Vector) Check(answer []byte, tolerance float64) string {
	want, got, fault := v.both(answer)
	if fault != "" {
		return fault
	}
	return missing("", want, got, tolerance)
}

// both reads the vector's answer and another; fault says why one cannot be read.
func (v *Vector) both(answer []byte) (want, got any, fault string) {
	if err := json.Unmarshal(v.Answer, &want); err != nil {
		return nil, nil, "the vector is broken: " + err.Error()
	}
	if err := json.Unmarshal(answer, &got); err != nil {
		return nil, nil, fmt.Sprintf("got %.60q, which is no JSON", answer)
	}
	return want, got, ""
}

// CheckShape says which field of the vector's answer another answer lacks, or holds
// as another kind of value: "" if none. Names of an error's code must be equal.
func (v *Vector) CheckShape(answer []byte) string {
	want, got, fault := v.both(answer)
	if fault != "" {
		return fault
	}
	return misshapen("", want, got)
}

func misshapen(path string, want, got any) string {
	switch want := want.(type) {
	case map[string]any:
		object, ok := got.(map[string]any)
		if !ok {
			return differs(path, want, got)
		}
		for name, w := range want {
			g, ok := object[name]
			if !ok {
				return path + "." + name + " is not there"
			}
			if strings.HasPrefix(path, ".error") && name == "code" && w != g {
				return differs(path+"."+name, w, g)
			}
			if s := misshapen(path+"."+name, w, g); s != "" {
				return s
			}
		}
		return ""
	case []any:
		list, ok := got.([]any)
		if !ok {
			return differs(path, want, got)
		}
		if len(want) == 0 || len(list) == 0 {
			return ""
		}
		return misshapen(path+"[]", want[0], list[0])
	}
	if want != nil && got != nil && fmt.Sprintf("%T", want) != fmt.Sprintf("%T", got) {
		return differs(path, want, got)
	}
	return "" // null stands for a number or a name that there is not
}

// missing finds the first part of want that got does not hold.
func missing(path string, want, got any, tolerance float64) string {
	switch want := want.(type) {
	case map[string]any:
		object, ok := got.(map[string]any)
		if !ok {
			return differs(path, want, got)
		}
		for name, w := range want {
			g, ok := object[name]
			if !ok {
				return path + "." + name + " is not there"
			}
			if s := missing(path+"."+name, w, g, tolerance); s != "" {
				return s
			}
		}
		return ""
	case []any:
		// Numbers one by one; objects in this order, with others in between: a later
		// minor version may know one limit more.
		list, ok := got.([]any)
		if !ok {
			return differs(path, want, got)
		}
		if len(want) > 0 && !isObject(want[0]) {
			if len(list) != len(want) {
				return fmt.Sprintf("%s: got %d entries, want %d", strings.TrimPrefix(path, "."), len(list), len(want))
			}
			for i, w := range want {
				if s := missing(fmt.Sprintf("%s[%d]", path, i), w, list[i], tolerance); s != "" {
					return s
				}
			}
			return ""
		}
		at := 0
		for i, w := range want {
			first := ""
			for ; at < len(list); at++ {
				s := missing(fmt.Sprintf("%s[%d]", path, i), w, list[at], tolerance)
				if s == "" {
					break
				}
				if first == "" {
					first = s
				}
			}
			if at == len(list) {
				if first == "" {
					first = fmt.Sprintf("%s[%d] is not there", path, i)
				}
				return first
			}
			at++
		}
		return ""
	case float64:
		g, ok := got.(float64)
		if !ok || math.Float64bits(g) != math.Float64bits(want) && !(math.Abs(g-want) <= tolerance*math.Abs(want)) {
			return differs(path, want, got)
		}
		return ""
	}
	if want != got {
		return differs(path, want, got)
	}
	return ""
}

func isObject(v any) bool {
	_, ok := v.(map[string]any)
	return ok
}

func differs(path string, want, got any) string {
	return fmt.Sprintf("%s: got %.60s, want %.60s", strings.TrimPrefix(path, "."), fmt.Sprint(got), fmt.Sprint(want))
}

// ConformanceText is the vectors as they stand, one a line.
func ConformanceText() []byte { return conformance }
