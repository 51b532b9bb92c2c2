package core

import (
	"math"
	"spareamps/core/jsontext"
	"strings"
)

// decode reads a request over what q already holds and reports all that is
// wrong with it, fields missing in the sections included; q is only of use when
// nothing is. Text that is not JSON gives that one problem.
func (t *inputTable) decode(text []byte, q *Request, sections ...string) []Problem {
	ps := t.read(text, q, "")
	if len(ps) == 1 && ps[0].Field == "" {
		return ps // of the text as a whole
	}
	return t.appendMissing(ps, q, sections)
}

// read reads the object at a group's path ("" is the request) over what q
// holds, without asking for what is missing. So a file may hold the object
// under "rig" alone, and several texts may be laid over one another.
func (t *inputTable) read(text []byte, q *Request, at string) []Problem {
	if len(text) > jsontext.MaxBytes {
		return []Problem{plain("too_large", "", "", "at most 1 MiB", "the text is longer than 1 MiB")}
	}
	g := -1
	if at != "" {
		if g = t.group(at); g < 0 || t.groups[g].isList() {
			panic("core: no object " + at + " in the table")
		}
	}
	d := decoder{t: t, q: q, r: jsontext.Reader{Text: text}}
	d.path = append(d.buf[:0], at...)
	ok := d.r.Start()
	if ok {
		if c := d.r.Peek(); c == '{' {
			t.markGiven(q, at)
			ok = d.object(g, 0)
		} else if ok = d.r.Skip(); ok {
			what := at
			if what == "" {
				what = "a request"
			}
			d.add(plain("type", at, kindName(c), "an object", what+" is an object in { }, not "+kindName(c)))
		}
	}
	if ok = ok && d.r.End(); !ok {
		place := d.r.Place()
		return []Problem{plain("json", "", "", "", "not valid json at "+place+": "+d.r.Fault)}
	}
	return d.problems
}

type decoder struct {
	t        *inputTable
	q        *Request
	r        jsontext.Reader
	last     int // the field found last: the next one usually follows it
	path     []byte
	problems []Problem
	buf      [96]byte
}

//go:noinline
func (d *decoder) add(p Problem) {
	if len(d.problems) < jsontext.MaxProblems {
		d.problems = append(d.problems, p)
	}
}

// object reads the object of group g (-1: the request); row is its place in a list.
func (d *decoder) object(g, row int) bool {
	if !d.r.Open() {
		return false
	}
	var seen, seenGroups given
	for first := true; ; first = false {
		key, more, ok := d.r.Key(first)
		if !more {
			return ok
		}
		outer := len(d.path)
		if outer > 0 {
			d.path = append(d.path, '.')
		}
		d.path = append(d.path, key...)
		if i := d.t.field(g, key, d.last); i >= 0 {
			d.last = i
			if seen.has(i) {
				ok = d.duplicate()
			} else {
				seen.add(i)
				ok = d.value(i, row)
			}
		} else if c := d.t.child(g, key); c >= 0 {
			if seenGroups.has(c) {
				ok = d.duplicate()
			} else {
				seenGroups.add(c)
				ok = d.group(c, row)
			}
		} else {
			if len(d.problems) < jsontext.MaxProblems {
				name := jsontext.Shown(key, jsontext.MaxShown)
				d.path = append(d.path[:len(d.path)-len(key)], name...)
				d.add(d.t.unknown(d.t.prefix(g), string(name), string(d.path)))
			}
			ok = d.r.Skip()
		}
		if !ok {
			return false
		}
		d.path = d.path[:outer]
	}
}

func (d *decoder) duplicate() bool {
	path := string(d.path)
	d.add(plain("duplicate", path, "", "", path+" is given twice"))
	return d.r.Skip()
}

// group reads the value of group g; row is the place of what holds it in a list.
func (d *decoder) group(g, row int) bool {
	group := &d.t.groups[g]
	c := d.r.Peek()
	switch {
	case c == 'n':
		return d.r.Skip()
	case c == '[' && group.isList():
		return d.list(g)
	case c == '{' && !group.isList():
		if group.given != nil {
			*group.given(d.q) = true
		}
		return d.object(g, row)
	}
	return d.wrongKind(c, group.kindName())
}

// wrongKind skips a value that is not of the kind due.
func (d *decoder) wrongKind(c byte, due string) bool {
	path := string(d.path)
	if !d.r.Skip() {
		return false
	}
	d.add(plain("type", path, kindName(c), due, path+" is "+kindName(c)+", allowed is "+due))
	return true
}

func (d *decoder) list(g int) bool {
	group := &d.t.groups[g]
	if !d.r.Open() {
		return false
	}
	// Two passes: count, make room once, fill.
	start, n := d.r, 0
	for first := true; ; first = false {
		more, ok := d.r.Next(first, ']')
		if !ok {
			return false
		}
		if !more {
			break
		}
		if !d.r.Skip() {
			return false
		}
		n++
	}
	if n > group.MaxRows {
		path, allowed := string(d.path), "at most "+jsontext.NumberText(float64(group.MaxRows))+" rows"
		d.add(plain("range", path, jsontext.NumberText(float64(n))+" rows", allowed,
			path+" has "+jsontext.NumberText(float64(n))+" rows, allowed are "+allowed))
		return true
	}
	d.r = start
	d.t.resize(d.q, g, 0)
	d.t.resize(d.q, g, n)
	outer := len(d.path)
	for row := 0; ; row++ {
		if more, ok := d.r.Next(row == 0, ']'); !more {
			return ok
		}
		d.path = append(d.path[:outer], '[')
		d.path = jsontext.AppendNumber(d.path, float64(row))
		d.path = append(d.path, ']')
		if c := d.r.Peek(); c == '{' {
			if !d.object(g, row) {
				return false
			}
		} else if !d.wrongKind(c, "an object") {
			return false
		}
		d.path = d.path[:outer]
	}
}

// value reads the value of field i. null is "not given".
func (d *decoder) value(i, row int) bool {
	f := &d.t.fields[i]
	c := d.r.Peek()
	switch {
	case c == 'n':
		return d.r.Skip()
	case c == '"' && f.Kind >= Choice:
		s, ok := d.r.String()
		if ok {
			if code := d.t.putText(d.q, i, row, s); code != "" {
				d.add(f.problem(code, string(d.path), string(jsontext.Shown(s, jsontext.MaxShown))))
			}
		}
		return ok
	case c == '"':
		s, ok := d.r.String()
		if !ok {
			return false
		}
		path, value := string(d.path), string(jsontext.Shown(s, jsontext.MaxShown))
		p := plain("type", path, value, f.allowed(), path+" is text, allowed is "+f.allowed())
		if _, isNumber := jsontext.PlainNumber(value); isNumber {
			p.Message = path + " is text, not a number: write " + value + " without quotes"
		}
		d.add(p)
		return true
	case c != '-' && !jsontext.IsDigit(c):
		due := "a number"
		if f.Kind >= Choice {
			due = f.allowed()
		}
		return d.wrongKind(c, due)
	}
	s, ok := d.r.Number()
	if !ok {
		return false
	}
	if f.Kind >= Choice {
		// A choice such as a wire gauge may be written as the number it looks like.
		var buf [32]byte
		code := "type"
		if f.Kind == Choice {
			if code = d.t.putText(d.q, i, row, s); code != "" {
				code = d.t.putText(d.q, i, row, jsontext.AppendNumber(buf[:0], jsontext.ParseNumber(s)))
			}
		}
		if code != "" {
			d.add(f.problem(code, string(d.path), string(jsontext.Shown(s, jsontext.MaxShown))))
		}
		return true
	}
	if code := d.t.putNumber(d.q, i, row, jsontext.ParseNumber(s)); code != "" {
		d.add(f.problem(code, string(d.path), string(jsontext.Shown(s, jsontext.MaxShown))))
	}
	return true
}

func kindName(c byte) string {
	switch c {
	case '{':
		return "an object"
	case '[':
		return "a list"
	case '"':
		return "text"
	case 't', 'f':
		return "true or false"
	case 'n':
		return "null"
	}
	return "a number"
}

// appendMissing adds a problem for every Required field within the sections
// (paths of groups or fields; none means all) that is not stated, unless it
// lies under something already complained about.
func (t *inputTable) appendMissing(ps []Problem, q *Request, sections []string) []Problem {
	add := func(path string, p Problem) {
		for i := range ps {
			if at := ps[i].Field; at != "" && within(path, at) {
				return
			}
		}
		if len(ps) < jsontext.MaxProblems {
			ps = append(ps, p)
		}
	}
	for i := range t.fields {
		f := &t.fields[i]
		if f.Need != Required || !inSections(f.Path, sections) || !t.inForce(q, f.Path) {
			continue
		}
		if g := t.listOf(f.Path); g >= 0 {
			for row := range t.groups[g].rows(q) {
				if f.unset(q, row) {
					path := rowPath(f.Path, row)
					add(path, f.problem("missing", path, ""))
				}
			}
		} else if !q.given.has(i) {
			add(f.Path, f.problem("missing", f.Path, ""))
		}
	}
	for i := range t.groups {
		g := &t.groups[i]
		if g.isList() && !g.Optional && g.rows(q) == 0 && inSections(g.Path, sections) && t.inForce(q, g.Path) {
			path := g.Path[:len(g.Path)-2]
			add(path, plain("missing", path, "", "at least one row", path+" is missing: at least one row"))
		}
	}
	return ps
}

// checkMissing is appendMissing for a caller who has filled q by set or read.
func (t *inputTable) checkMissing(q *Request, sections ...string) []Problem {
	return t.appendMissing(nil, q, sections)
}

func inSections(path string, sections []string) bool {
	for _, s := range sections {
		if within(path, s) {
			return true
		}
	}
	return len(sections) == 0
}

// within says whether path is at or below top.
func within(path, top string) bool {
	return strings.HasPrefix(path, top) && (len(path) == len(top) || path[len(top)] == '.' || path[len(top)] == '[')
}

// inForce says whether no optional group around path was left out.
func (t *inputTable) inForce(q *Request, path string) bool {
	for i := range t.groups {
		g := &t.groups[i]
		if g.Optional && g.given != nil && len(g.Path) < len(path) && within(path, g.Path) && !*g.given(q) {
			return false
		}
	}
	return true
}

// take says why f does not take v: "range", "type" for a fraction where a
// whole number is due, or "".
func (f *Field) take(v float64) (code string) {
	if !(v >= f.Min && v <= f.Max) { // NaN fails both
		return "range"
	}
	if f.Kind == Whole && v != math.Trunc(v) {
		return "type"
	}
	return ""
}
