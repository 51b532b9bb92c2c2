package core

// LogJSON reads a log as ReadLog does and writes {"observations":[…],"report":{…}},
// the first fit for rig.observations; an error object where there are none.
func LogJSON(text []byte, defaults LogDefaults) []byte {
	l := ReadLog(text, defaults)
	if ps := l.Report.Problems; len(ps) > 0 {
		return problemsJSON("bad_input", ps)
	}
	m := members{dst: append(make([]byte, 0, 4096+256*len(l.Rows)), '{'), first: true}
	m.raw("observations", "")
	m.dst = appendObservations(m.dst, l.Rows)
	m.raw("report", "")
	l.Report.append(&m)
	return append(m.dst, '}')
}

// appendObservations writes what is told of each, by the table of inputs.
func appendObservations(dst []byte, rows []Observation) []byte {
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
					dst = appendJSONString(dst, s)
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

func (r *LogReport) append(m *members) {
	m.first = true
	m.dst = append(m.dst, '{')
	for _, n := range [...]struct {
		key   string
		value float64
	}{{"lines", float64(r.Lines)}, {"rows", float64(r.Rows)}, {"headers", float64(r.Headers)}, {"bucket_s", r.BucketS},
		{"covered_min", r.CoveredMin}, {"dropped", float64(r.Dropped)}} {
		m.number(n.key, n.value)
	}
	m.raw("columns", "[")
	m.first = true
	for _, c := range r.Columns {
		m.open()
		m.text("name", c.Name)
		m.text("field", c.Field)
		m.dst = append(m.dst, '}')
	}
	m.dst, m.first = append(m.dst, ']'), false
	m.texts("unknown", r.Unknown)
	m.texts("no_unit", r.NoUnit)
	m.texts("derived", r.Derived)
	m.texts("assumed", r.Assumed)
	for _, list := range [...]struct {
		key    string
		faults []LogFault
	}{{"refused", r.Refused}, {"unread", r.Unread}, {"untold", r.Untold}, {"breaks", r.Breaks}} {
		m.raw(list.key, "[")
		m.first = true
		for _, f := range list.faults {
			m.open()
			m.text("reason", f.Reason)
			if f.Field != "" {
				m.text("field", f.Field)
			}
			m.number("count", float64(f.Count))
			m.number("line", float64(f.Line))
			if f.Value != "" {
				m.text("value", f.Value)
			}
			m.dst = append(m.dst, '}')
		}
		m.dst, m.first = append(m.dst, ']'), false
	}
	m.dst = append(m.dst, '}')
}
