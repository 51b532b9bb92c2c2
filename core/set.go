package core

import (
	"math"
	"spareamps/core/jsontext"
	"strings"
)

func (g *Group) isList() bool { return strings.HasSuffix(g.Path, "[]") }

func (g *Group) kindName() string {
	if g.isList() {
		return "a list of objects"
	}
	return "an object"
}

// index finds a field by its path as declared.
func (t *inputTable) index(path string) (i int, ok bool) {
	for i := range t.fields {
		if t.fields[i].Path == path {
			return i, true
		}
	}
	return -1, false
}

// group finds a group by its path as declared.
func (t *inputTable) group(path string) int {
	for i := range t.groups {
		if t.groups[i].Path == path {
			return i
		}
	}
	return -1
}

// prefix is the path of group g (-1: the request).
func (t *inputTable) prefix(g int) string {
	if g < 0 {
		return ""
	}
	return t.groups[g].Path
}

// splitPath parts a path into its group's path and its name.
func splitPath(path string) (group, name string) {
	i := strings.LastIndexByte(path, '.')
	return path[:max(i, 0)], path[i+1:]
}

// isMember says whether path is that of the member key of the object at prefix.
func isMember(path, prefix string, key []byte) bool {
	if len(prefix) > 0 {
		n := len(prefix)
		if len(path) <= n || path[n] != '.' || path[:n] != prefix {
			return false
		}
		path = path[n+1:]
	}
	return path == string(key) && strings.IndexByte(path, '.') < 0
}

// field finds the field with this key in group g, looking first behind the one
// found last; -1 when there is none.
func (t *inputTable) field(g int, key []byte, last int) int {
	prefix := t.prefix(g)
	n := len(prefix) + len(key)
	if prefix != "" {
		n++
	}
	for k := range t.fields {
		i := last + 1 + k
		if i >= len(t.fields) {
			i -= len(t.fields)
		}
		if path := t.fields[i].Path; len(path) == n && isMember(path, prefix, key) {
			return i
		}
	}
	return -1
}

// child finds the group with this key in group g; -1 when there is none.
func (t *inputTable) child(g int, key []byte) int {
	prefix := t.prefix(g)
	for i := range t.groups {
		if isMember(strings.TrimSuffix(t.groups[i].Path, "[]"), prefix, key) {
			return i
		}
	}
	return -1
}

// listOf finds the list a field is in; -1 when it is in none.
func (t *inputTable) listOf(path string) int {
	if i := strings.Index(path, "[]"); i >= 0 {
		return t.group(path[:i+2])
	}
	return -1
}

// rowPath puts a row into a declared path: "points[].x" to "points[3].x".
func rowPath(path string, row int) string {
	before, after, _ := strings.Cut(path, "[]")
	return before + "[" + jsontext.NumberText(float64(row)) + "]" + after
}

// markGiven marks the groups at and around path as given.
func (t *inputTable) markGiven(q *Request, path string) {
	for i := range t.groups {
		if g := &t.groups[i]; g.given != nil && within(path, g.Path) {
			*g.given(q) = true
		}
	}
}

// resize makes list g n rows long and fills new rows: defaults, 0 for what may
// stay out, and for what may not a mark that it is still unset.
func (t *inputTable) resize(q *Request, g, n int) {
	group := &t.groups[g]
	old := group.rows(q)
	if old != n {
		group.resize(q, n)
	}
	if group.given != nil {
		*group.given(q) = n > 0
	}
	for i := range t.fields {
		f := &t.fields[i]
		if !within(f.Path, group.Path) {
			continue
		}
		for row := old; row < n; row++ {
			f.reset(q, row)
		}
	}
}

// reset gives f its value for "not stated".
func (f *Field) reset(q *Request, row int) {
	text, v := "", 0.0
	switch f.Need {
	case Defaulted:
		text, v = f.DefaultText, f.Default
	case Required:
		v = math.NaN() // never leaves: checkMissing reports it
	case Optional:
		switch {
		case f.Kind == Clock:
			v = unset
		case f.Min < 0 && strings.Contains(f.Path, "[]"):
			v = math.NaN() // zero is a value like any other
		}
	}
	if f.IsText() {
		*f.text(q, row) = text
	} else {
		*f.num(q, row) = v
	}
}

// unset says whether a Required field of a list's row is still as reset left it.
func (f *Field) unset(q *Request, row int) bool {
	if f.IsText() {
		return *f.text(q, row) == ""
	}
	v := *f.num(q, row)
	return v != v
}

// defaults sets every Defaulted field outside lists; rows get theirs when made.
func (t *inputTable) defaults(q *Request) {
	for i := range t.fields {
		if f := &t.fields[i]; (f.Need == Defaulted || f.Kind == Clock) && t.listOf(f.Path) < 0 {
			f.reset(q, 0)
		}
	}
}

// putNumber stores v in field i if the field takes it, else says why not.
func (t *inputTable) putNumber(q *Request, i, row int, v float64) (code string) {
	f := &t.fields[i]
	if code = f.take(v); code == "" {
		*f.num(q, row) = v + 0 // +0 for -0
		q.given.add(i)
	}
	return code
}

// putText stores what s says in field i, which is not a number's, if the field
// takes it, else says why not.
func (t *inputTable) putText(q *Request, i, row int, s []byte) (code string) {
	f := &t.fields[i]
	v, text, code := f.parse(s)
	switch {
	case code != "":
		return code
	case f.IsText():
		*f.text(q, row) = text
	default:
		*f.num(q, row) = v
	}
	q.given.add(i)
	return ""
}

// parse reads a field's value from text.
func (f *Field) parse(s []byte) (v float64, text, code string) {
	ok := true
	switch f.Kind {
	case Choice:
		if text, ok = f.choice(s); !ok {
			code = "choice"
		}
	case Text:
		if text, ok = f.takeText(s); !ok {
			code = "range"
		}
	case Clock, Date:
		v, code = f.readTime(s)
	default:
		code = "type"
		if v, ok = jsontext.PlainNumber(string(s)); ok {
			code = f.take(v)
		}
	}
	return v, text, code
}

// choice finds the choice that s names, in letters of any case.
func (f *Field) choice(s []byte) (choice string, ok bool) {
	for _, c := range f.Choices {
		if foldEqual(c, s) {
			return c, true
		}
	}
	return "", false
}

// setNum sets the number of field i, which is in no list, without allocating.
// It refuses what the field does not take, NaN and infinities included.
func (t *inputTable) setNum(q *Request, i int, v float64) (ok bool) {
	f := &t.fields[i]
	if f.IsText() || f.take(v) != "" || strings.Contains(f.Path, "[]") {
		return false
	}
	if !q.given.has(i) {
		t.markGiven(q, f.Path)
		q.given.add(i)
	}
	*f.num(q, 0) = v + 0
	return true
}

// set sets one field from text, as a flag or a table's cell has it. A row in
// the path ("rig.alternator.points[3].speed_rpm") makes its list long enough.
func (t *inputTable) set(q *Request, path, value string) []Problem {
	declared, row, rowOK := cutRow(path)
	i, ok := t.index(declared)
	if !ok || !rowOK {
		return []Problem{t.noField(path)}
	}
	f := &t.fields[i]
	list := t.listOf(f.Path)
	if list >= 0 {
		if group := &t.groups[list]; row >= group.MaxRows {
			allowed := "row 0 to " + jsontext.NumberText(float64(group.MaxRows-1))
			return []Problem{plain("range", path, value, allowed, path+" is out of its list, allowed is "+allowed)}
		}
	}
	value = strings.TrimSpace(value)
	v, text, code := f.parse([]byte(value))
	if code != "" {
		return []Problem{f.problem(code, path, string(jsontext.Shown([]byte(value), jsontext.MaxShown)))}
	}
	t.markGiven(q, f.Path)
	if list >= 0 && row >= t.groups[list].rows(q) {
		t.resize(q, list, row+1)
	}
	if f.IsText() {
		*f.text(q, row) = text
	} else {
		*f.num(q, row) = v + 0
	}
	q.given.add(i)
	return nil
}

// cutRow parts "points[3].x" into "points[].x" and 3. A path without a row
// comes back as it is; ok is false where the brackets hold no row.
func cutRow(path string) (declared string, row int, ok bool) {
	before, rest, found := strings.Cut(path, "[")
	if !found {
		return path, 0, true
	}
	number, after, found := strings.Cut(rest, "]")
	if !found || number == "" || len(number) > 6 || len(number) > 1 && number[0] == '0' {
		return path, 0, false
	}
	for i := range len(number) {
		if !jsontext.IsDigit(number[i]) {
			return path, 0, false
		}
		row = row*10 + int(number[i]-'0')
	}
	return before + "[]" + after, row, true
}

// foldEqual compares without regard to the case of ASCII letters.
func foldEqual(a string, b []byte) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range len(a) {
		if lower(a[i]) != lower(b[i]) {
			return false
		}
	}
	return true
}

func lower(c byte) byte {
	if c >= 'A' && c <= 'Z' {
		c += 'a' - 'A'
	}
	return c
}
