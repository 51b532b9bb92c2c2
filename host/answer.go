package main

import (
	"encoding/json"
	"strings"
)

// An answer is the JSON of an answer, looked up by path. What prints it knows
// no other source, so that every engine's answer prints the same.
type answer struct{ value any }

func readAnswer(text []byte) (answer, error) {
	var a answer
	err := json.Unmarshal(text, &a.value)
	return a, err
}

// at follows a dotted path; a missing member is null.
func (a answer) at(path string) answer {
	for path != "" && a.value != nil {
		var name string
		name, path, _ = strings.Cut(path, ".")
		object, _ := a.value.(map[string]any)
		a.value = object[name]
	}
	return a
}

// num returns the number at a path; ok is false where there is none.
func (a answer) num(path string) (v float64, ok bool) {
	v, ok = a.at(path).value.(float64)
	return v, ok
}

// number is num with 0 for none.
func (a answer) number(path string) float64 { v, _ := a.num(path); return v }

// text returns the text at a path; "" where there is none.
func (a answer) text(path string) string { s, _ := a.at(path).value.(string); return s }

// has says whether there is anything but null at a path.
func (a answer) has(path string) bool { return a.at(path).value != nil }

// rows returns the list at a path.
func (a answer) rows(path string) (rows []answer) {
	list, _ := a.at(path).value.([]any)
	for _, v := range list {
		rows = append(rows, answer{v})
	}
	return rows
}

// says returns the sentence of a code; "" where there is none.
func (a answer) says(code string) string {
	for _, s := range a.rows("says") {
		if s.text("code") == code {
			return s.text("text")
		}
	}
	return ""
}
