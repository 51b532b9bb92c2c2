package core

import "spareamps/core/jsontext"

// describe writes the table as JSON for other programs: forms, schema and
// documentation are made from it.
func (t *inputTable) describe(dst []byte) []byte {
	dst = append(dst, `{"groups":[`...)
	for i := range t.groups {
		g := &t.groups[i]
		m := jsontext.Members{Dst: dst, First: i == 0}
		m.Open()
		m.Text("path", g.Path)
		m.Raw("optional", boolText(g.Optional))
		if g.isList() {
			m.Number("max_rows", float64(g.MaxRows))
		}
		m.Text("meaning", g.Meaning)
		dst = append(m.Dst, '}')
	}
	dst = append(dst, `],"fields":[`...)
	for i := range t.fields {
		f := &t.fields[i]
		m := jsontext.Members{Dst: dst, First: i == 0}
		m.Open()
		m.Text("path", f.Path)
		m.Text("unit", f.Unit)
		m.Text("kind", kindNames[f.Kind])
		m.Text("need", needNames[f.Need])
		if f.Kind == Choice {
			m.Texts("choices", f.Choices)
		} else {
			m.Raw("min", "")
			m.Dst = f.appendValue(m.Dst, f.Min)
			m.Raw("max", "")
			m.Dst = f.appendValue(m.Dst, f.Max)
		}
		name := "default"
		if f.Need == Optional {
			name = "assumed" // where it is not given, with a spread
		}
		switch {
		case f.Need == Required:
		case f.Kind == Choice && f.DefaultText != "":
			m.Text(name, f.DefaultText)
		case !f.IsText() && (f.Need == Defaulted || f.Default != 0):
			m.Raw(name, "")
			m.Dst = f.appendValue(m.Dst, f.Default)
		}
		if f.Demo != "" {
			m.Raw("demo", f.Demo)
		}
		m.Text("meaning", f.Meaning)
		m.Text("where", f.Where)
		m.Text("source", f.Source)
		dst = append(m.Dst, '}')
	}
	return append(dst, "]}"...)
}

// describe writes the table as JSON for other programs.
func (t *outputTable) describe(dst []byte) []byte {
	dst = append(dst, '[')
	for i := range t.outputs {
		o := &t.outputs[i]
		m := jsontext.Members{Dst: dst, First: i == 0}
		m.Open()
		m.Text("path", o.Path)
		m.Text("unit", o.Unit)
		kind := "number"
		if o.IsText() {
			kind = "text"
		}
		m.Text("kind", kind)
		if o.Codes != nil {
			m.Texts("codes", o.Codes)
		}
		m.Text("meaning", o.Meaning)
		dst = append(m.Dst, '}')
	}
	return append(dst, ']')
}

var (
	kindNames = [...]string{Number: "number", Whole: "whole", Choice: "choice", Clock: "clock", Date: "date", Text: "text"}
	needNames = [...]string{Defaulted: "defaulted", Required: "required", Optional: "optional"}
)

func boolText(b bool) string {
	if b {
		return "true"
	}
	return "false"
}
