package core

import (
	"spareamps/core/jsontext"
	"spareamps/core/rig"
)

// LogJSON reads a log as ReadLog does and writes {"observations":[…],"report":{…}},
// the first fit for rig.observations; an error object where there are none.
func LogJSON(text []byte, defaults LogDefaults) []byte {
	l := ReadLog(text, defaults)
	if ps := l.Report.Problems; len(ps) > 0 {
		return problemsJSON("bad_input", ps)
	}
	m := jsontext.Members{Dst: append(make([]byte, 0, 4096+256*len(l.Rows)), '{'), First: true}
	m.Raw("observations", "")
	m.Dst = appendObservations(m.Dst, l.Rows)
	m.Raw("report", "")
	l.Report.append(&m)
	return append(m.Dst, '}')
}

// appendObservations writes what is told of each, by the table of inputs.
func appendObservations(dst []byte, rows []rig.Observation) []byte {
	q := Request{}
	q.Rig.Observations = rows
	g := inputs.group("rig.observations[]")
	dst = append(dst, '[')
	for row := range rows {
		if row > 0 {
			dst = append(dst, ',')
		}
		dst = inputs.appendGroup(dst, g, row, &q, func(dst []byte, i, row int) []byte {
			f := &inputs.fields[i]
			if f.IsText() {
				if s := *f.text(&q, row); s != "" {
					dst = jsontext.AppendString(dst, s)
				}
				return dst
			}
			v := *f.num(&q, row)
			if f.take(v) != "" || v == 0 && f.Need == Optional && f.Min >= 0 {
				return dst
			}
			return f.appendValue(dst, v)
		})
	}
	return append(dst, ']')
}

func (r *LogReport) append(m *jsontext.Members) {
	m.First = true
	m.Dst = append(m.Dst, '{')
	for _, n := range [...]struct {
		key   string
		value float64
	}{{"lines", float64(r.Lines)}, {"rows", float64(r.Rows)}, {"headers", float64(r.Headers)}, {"bucket_s", r.BucketS},
		{"covered_min", r.CoveredMin}, {"dropped", float64(r.Dropped)}} {
		m.Number(n.key, n.value)
	}
	m.Raw("columns", "[")
	m.First = true
	for _, c := range r.Columns {
		m.Open()
		m.Text("name", c.Name)
		m.Text("field", c.Field)
		m.Dst = append(m.Dst, '}')
	}
	m.Dst, m.First = append(m.Dst, ']'), false
	m.Texts("unknown", r.Unknown)
	m.Texts("no_unit", r.NoUnit)
	m.Texts("derived", r.Derived)
	m.Texts("assumed", r.Assumed)
	for _, list := range [...]struct {
		key    string
		faults []LogFault
	}{{"refused", r.Refused}, {"unread", r.Unread}, {"untold", r.Untold}, {"breaks", r.Breaks}} {
		m.Raw(list.key, "[")
		m.First = true
		for _, f := range list.faults {
			m.Open()
			m.Text("reason", f.Reason)
			if f.Field != "" {
				m.Text("field", f.Field)
			}
			m.Number("count", float64(f.Count))
			m.Number("line", float64(f.Line))
			if f.Value != "" {
				m.Text("value", f.Value)
			}
			m.Dst = append(m.Dst, '}')
		}
		m.Dst, m.First = append(m.Dst, ']'), false
	}
	m.Dst = append(m.Dst, '}')
}
