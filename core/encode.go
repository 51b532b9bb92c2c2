package core

import (
	"spareamps/core/jsontext"
	"strings"
)

// encode writes the request back as JSON, with what was stated and no more:
// decoding it gives the same request.
func (t *inputTable) encode(dst []byte, q *Request) []byte {
	return t.appendGroup(dst, -1, 0, q, func(dst []byte, i, row int) []byte {
		f := &t.fields[i]
		switch {
		case !q.given.has(i):
			return dst
		case f.IsText():
			if s := *f.text(q, row); s != "" {
				return jsontext.AppendString(dst, s)
			}
			return dst
		}
		// In a list one row may state what another does not.
		if v := *f.num(q, row); f.take(v) == "" {
			return f.appendValue(dst, v)
		}
		return dst
	})
}

// demo is the demo request: every field's own demo value.
func (t *inputTable) demo() []byte {
	return t.appendGroup(nil, -1, 0, nil, func(dst []byte, i, _ int) []byte {
		return append(dst, t.fields[i].Demo...)
	})
}

// appendGroup writes the object of group g (-1: the request) in this row of
// its list, its fields by value, which appends nothing for a field to leave
// out. Without a request there are neither rows nor empty groups.
func (t *inputTable) appendGroup(dst []byte, g, row int, q *Request, value func(dst []byte, i, row int) []byte) []byte {
	prefix := t.prefix(g)
	open := len(dst)
	dst = append(dst, '{')
	// member writes a key and, by fill, its value; without a value neither.
	member := func(path string, fill func([]byte) []byte) {
		start := len(dst)
		if start > open+1 {
			dst = append(dst, ',')
		}
		_, name := splitPath(strings.TrimSuffix(path, "[]"))
		dst = jsontext.AppendString(dst, name)
		dst = append(dst, ':')
		empty := len(dst)
		if dst = fill(dst); len(dst) == empty {
			dst = dst[:start]
		}
	}
	for i := range t.fields {
		if path := t.fields[i].Path; isChild(path, prefix) {
			member(path, func(dst []byte) []byte { return value(dst, i, row) })
		}
	}
	for c := range t.groups {
		group := &t.groups[c]
		if !isChild(group.Path, prefix) {
			continue
		}
		member(group.Path, func(dst []byte) []byte {
			if group.isList() {
				n := 0
				if q != nil {
					n = group.rows(q)
				}
				for row := range n {
					dst = append(dst, "[,"[min(row, 1)])
					dst = t.appendGroup(dst, c, row, q, value)
				}
				if n > 0 {
					dst = append(dst, ']')
				}
				return dst
			}
			start := len(dst)
			dst = t.appendGroup(dst, c, row, q, value)
			if len(dst) == start+2 && (q == nil || group.given == nil || !*group.given(q)) {
				dst = dst[:start] // an empty object that says nothing
			}
			return dst
		})
	}
	return append(dst, '}')
}

// isChild says whether path is a member of the group at prefix.
func isChild(path, prefix string) bool {
	group, _ := splitPath(path)
	return group == prefix
}

// encode writes an answer as JSON: the rows in order, an object or a list
// wherever consecutive rows share one.
func (t *outputTable) encode(dst []byte, a *Answer) []byte {
	return t.appendObject(dst, a, t.outputs, 0, 0)
}

// appendObject writes the rows outs, which share a path of length depth.
func (t *outputTable) appendObject(dst []byte, a *Answer, outs []Output, depth, row int) []byte {
	dst = append(dst, '{')
	for first := true; len(outs) > 0; {
		o := &outs[0]
		name, _, nested := strings.Cut(o.Path[depth:], ".")
		top := o.Path[:depth+len(name)]
		n := 1
		for nested && n < len(outs) && strings.HasPrefix(outs[n].Path, top) && outs[n].Path[len(top):][0] == '.' {
			n++
		}
		group := outs[:n]
		outs = outs[n:]
		name, isList := strings.CutSuffix(name, "[]")
		rows := t.rows(a, top)
		if nested && !isList && rows == 0 {
			continue
		}
		if !first {
			dst = append(dst, ',')
		}
		first = false
		dst = jsontext.AppendString(dst, name)
		dst = append(dst, ':')
		one := func(row int) {
			if nested {
				dst = t.appendObject(dst, a, group, len(top)+1, row)
			} else {
				dst = o.append(dst, a, row)
			}
		}
		if !isList {
			one(row)
			continue
		}
		dst = append(dst, '[')
		for row := range rows {
			if row > 0 {
				dst = append(dst, ',')
			}
			one(row)
		}
		dst = append(dst, ']')
	}
	return append(dst, '}')
}

// rows is how many there are of the list or object at path; 1 if no row says.
func (t *outputTable) rows(a *Answer, path string) int {
	for i := range t.lists {
		if t.lists[i].path == path {
			return t.lists[i].rows(a)
		}
	}
	return 1
}

func (o *Output) append(dst []byte, a *Answer, row int) []byte {
	switch {
	case o.code != nil:
		if i := o.code(a, row); i >= 0 {
			return jsontext.AppendString(dst, o.Codes[i])
		}
	case o.text != nil:
		if s := o.text(a, row); s != "" {
			return jsontext.AppendString(dst, s)
		}
	default:
		if v := o.num(a, row); v < never {
			return jsontext.AppendNumber(dst, v)
		}
	}
	return append(dst, "null"...)
}
