package core

// describe writes the table as JSON for other programs: forms, schema and
// documentation are made from it.
func (t *inputTable) describe(dst []byte) []byte {
	dst = append(dst, `{"groups":[`...)
	for i := range t.groups {
		g := &t.groups[i]
		m := members{dst: dst, first: i == 0}
		m.open()
		m.text("path", g.Path)
		m.raw("optional", boolText(g.Optional))
		if g.isList() {
			m.number("max_rows", float64(g.MaxRows))
		}
		m.text("meaning", g.Meaning)
		dst = append(m.dst, '}')
	}
	dst = append(dst, `],"fields":[`...)
	for i := range t.fields {
		f := &t.fields[i]
		m := members{dst: dst, first: i == 0}
		m.open()
		m.text("path", f.Path)
		m.text("unit", f.Unit)
		m.text("kind", kindNames[f.Kind])
		m.text("need", needNames[f.Need])
		if f.Kind == Choice {
			m.texts("choices", f.Choices)
		} else {
			m.raw("min", "")
			m.dst = f.appendValue(m.dst, f.Min)
			m.raw("max", "")
			m.dst = f.appendValue(m.dst, f.Max)
		}
		name := "default"
		if f.Need == Optional {
			name = "assumed" // where it is not given, with a spread
		}
		switch {
		case f.Need == Required:
		case f.Kind == Choice && f.DefaultText != "":
			m.text(name, f.DefaultText)
		case !f.IsText() && (f.Need == Defaulted || f.Default != 0):
			m.raw(name, "")
			m.dst = f.appendValue(m.dst, f.Default)
		}
		if f.Demo != "" {
			m.raw("demo", f.Demo)
		}
		m.text("meaning", f.Meaning)
		m.text("where", f.Where)
		m.text("source", f.Source)
		dst = append(m.dst, '}')
	}
	return append(dst, "]}"...)
}

// describe writes the table as JSON for other programs.
func (t *outputTable) describe(dst []byte) []byte {
	dst = append(dst, '[')
	for i := range t.outputs {
		o := &t.outputs[i]
		m := members{dst: dst, first: i == 0}
		m.open()
		m.text("path", o.Path)
		m.text("unit", o.Unit)
		kind := "number"
		if o.IsText() {
			kind = "text"
		}
		m.text("kind", kind)
		if o.Codes != nil {
			m.texts("codes", o.Codes)
		}
		m.text("meaning", o.Meaning)
		dst = append(m.dst, '}')
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

// members writes an object member by member.
type members struct {
	dst   []byte
	first bool // of what comes next
}

func (m *members) comma() {
	if !m.first {
		m.dst = append(m.dst, ',')
	}
	m.first = false
}

func (m *members) open() {
	m.comma()
	m.dst = append(m.dst, '{')
	m.first = true
}

func (m *members) raw(key, value string) {
	m.comma()
	m.dst = append(appendJSONString(m.dst, key), ':')
	m.dst = append(m.dst, value...)
}

func (m *members) text(key, value string) {
	m.raw(key, "")
	m.dst = appendJSONString(m.dst, value)
}

func (m *members) number(key string, v float64) {
	m.raw(key, "")
	m.dst = appendJSONNumber(m.dst, v)
}

func (m *members) texts(key string, values []string) {
	m.raw(key, "[")
	for i, s := range values {
		if i > 0 {
			m.dst = append(m.dst, ',')
		}
		m.dst = appendJSONString(m.dst, s)
	}
	m.dst = append(m.dst, ']')
}
