package main

import (
	"flag"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"spareamps/core"
)

var updateTypes = flag.Bool("update-types", false, "rewrite tables.d.mts")

// A typed is a member of an object of the tables.
type typed struct {
	name, kind, meaning string
	optional            bool
	members             []*typed // of an object, or of a list's rows
	list                bool
}

// at finds or makes the object or list of a path.
func (o *typed) at(path string) *typed {
	for _, name := range strings.Split(path, ".") {
		if name == "" {
			continue
		}
		name, list := strings.CutSuffix(name, "[]")
		i := slices.IndexFunc(o.members, func(m *typed) bool { return m.name == name })
		if i < 0 {
			i = len(o.members)
			o.members = append(o.members, &typed{name: name, list: list})
		}
		o = o.members[i]
	}
	return o
}

// write writes the type of a member, in TypeScript.
func (o *typed) write(b *strings.Builder, indent string) {
	if o.kind != "" {
		b.WriteString(o.kind)
	} else {
		b.WriteString("{\n")
		for _, m := range o.members {
			if m.meaning != "" {
				fmt.Fprintf(b, "%s  /** %s */\n", indent, m.meaning)
			}
			mark := ""
			if m.optional {
				mark = "?"
			}
			fmt.Fprintf(b, "%s  %s%s: ", indent, m.name, mark)
			m.write(b, indent+"  ")
			b.WriteString(";\n")
		}
		b.WriteString(indent + "}")
	}
	if o.list {
		b.WriteString("[]")
	}
}

func unitIn(meaning, unit string) string {
	if unit == "" || unit == "1" {
		return meaning
	}
	return meaning + "; " + unit
}

// ofInputs is the type of a request; in needed are the objects that cannot be
// left out.
func ofInputs(sections []string, needed ...string) *typed {
	root := &typed{}
	for _, g := range core.Groups() {
		if top, _, _ := strings.Cut(g.Path, "."); !slices.Contains(sections, top) {
			continue
		}
		o := root.at(g.Path)
		o.meaning, o.optional = g.Meaning, !slices.Contains(needed, g.Path)
	}
	for _, f := range core.Fields() {
		if top, _, _ := strings.Cut(f.Path, "."); !slices.Contains(sections, top) {
			continue
		}
		kind := "number"
		switch f.Kind {
		case core.Choice:
			kind = `"` + strings.Join(f.Choices, `" | "`) + `"`
			if f.Unit != "" { // numbers, that are read as such too
				kind += " | " + strings.Join(f.Choices, " | ")
			}
		case core.Clock, core.Date, core.Text:
			kind = "string"
		}
		o := root.at(f.Path)
		o.kind, o.optional, o.meaning = kind, f.Need != core.Required, unitIn(f.Meaning, f.Unit)
	}
	return root
}

// ofOutputs is the type of an answer. Any value may be null, and those of a
// part that was not described may be missing.
func ofOutputs(list []core.Output, parts ...string) *typed {
	root := &typed{}
	for _, o := range list {
		kind := "number | null"
		if o.IsText() {
			kind = "string | null"
		}
		m := root.at(strings.TrimSuffix(o.Path, "[]"))
		m.kind, m.meaning = kind, unitIn(o.Meaning, o.Unit)
		if strings.HasSuffix(o.Path, "[]") {
			m.kind = "string[]"
		}
	}
	for _, part := range parts {
		root.at(part).optional = true
	}
	return root
}

// The types of the package are those of the tables.
func TestTypes(t *testing.T) {
	var b strings.Builder
	b.WriteString("// Requests and answers, made from the tables of inputs and outputs by\n// `go test ./wasm -run TestTypes -update-types`.\n")
	for _, x := range []struct {
		name string
		is   *typed
	}{
		{"CeilingRequest", ofInputs(core.ForCeiling, "rig", "rig.alternator", "moment")},
		{"DayRequest", ofInputs(core.ForDay, "rig", "rig.alternator", "rig.charger", "rig.house_battery", "day")},
		{"CeilingAnswer", ofOutputs(core.Outputs(), "wiring", "fit")},
		{"DayAnswer", ofOutputs(core.DayOutputs())},
		{"FitAnswer", ofOutputs(core.FitOutputs(), "learned", "lead", "house_battery")},
	} {
		fmt.Fprintf(&b, "\nexport interface %s ", x.name)
		x.is.write(&b, "")
		b.WriteString("\n")
	}
	const file = "tables.d.mts"
	if *updateTypes {
		if err := os.WriteFile(file, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if text, err := os.ReadFile(file); err != nil || string(text) != b.String() {
		t.Errorf("%s is not that of the tables (%v): run `go test ./wasm -run TestTypes -update-types`", file, err)
	}
}
