package core

import (
	"spareamps/core/jsontext"
	"strings"
)

// unknown reports a key of the group at prefix that no row declares, with the
// nearest name.
func (t *inputTable) unknown(prefix, key, path string) Problem {
	p := plain("unknown", path, "", "", path+" is not known")
	if near := t.nearest(prefix, key); near != "" {
		p.Allowed = near
		p.Message += "; did you mean " + near + "?"
	}
	return p
}

// noField reports a path that names no field.
func (t *inputTable) noField(path string) Problem {
	name := string(jsontext.Shown([]byte(path), jsontext.MaxShown))
	declared, _, _ := cutRow(name)
	for i := range t.groups {
		if g := &t.groups[i]; g.Path == declared || g.Path == declared+"[]" {
			return plain("type", name, "", g.kindName(), name+" is "+g.kindName()+": name one of its fields")
		}
	}
	prefix, key := splitPath(declared)
	return t.unknown(prefix, key, name)
}

// nearest finds the declared path most like key in the group at prefix. A name
// of another group counts as one more mistake, so that of two equally near the
// one in the right place wins. It gives "" when nothing is near.
func (t *inputTable) nearest(prefix, key string) string {
	best, bestPath := 1+max(1, len(key)/3), ""
	try := func(path string) {
		group, name := splitPath(strings.TrimSuffix(path, "[]"))
		d := 0
		if group != prefix {
			d = 1
		}
		if d < best {
			if d += mistakes(key, name, best-d); d < best {
				best, bestPath = d, path
			}
		}
	}
	for i := range t.groups {
		try(t.groups[i].Path)
	}
	for i := range t.fields {
		try(t.fields[i].Path)
	}
	return bestPath
}

// mistakes counts the insertions, deletions, replacements and swaps of
// neighbours that turn one name into the other, without regard to case. A
// missing or different unit behind the last underscore counts as one. It does
// count no further than limit.
//
// Optimal string alignment distance, as in Damerau, "A technique for computer
// detection and correction of spelling errors", CACM 7(3), 1964, for its four
// kinds of mistake; the recurrence is Wagner and Fischer's, JACM 21(1), 1974.
func mistakes(a, b string, limit int) int {
	if len(a) > jsontext.MaxShown || len(b) > jsontext.MaxShown || a == "" {
		return limit
	}
	sa, sb := stem(a), stem(b)
	if foldEqual(sb, []byte(sa)) || foldEqual(sb, []byte(a)) {
		limit = min(limit, 1)
	}
	var before, row, next [jsontext.MaxShown + 1]int // rows i-1, i and i+1 of the table
	for j := range len(b) + 1 {
		row[j] = j
	}
	for i := range len(a) {
		next[0] = i + 1
		ca := like(a[i])
		for j := range len(b) {
			cb := like(b[j])
			d := row[j]
			if ca != cb {
				d = 1 + min(d, row[j+1], next[j])
				if i > 0 && j > 0 && ca == like(b[j-1]) && like(a[i-1]) == cb {
					d = min(d, 1+before[j-1])
				}
			}
			next[j+1] = d
		}
		before, row, next = row, next, before
	}
	return min(row[len(b)], limit)
}

// like makes letters of either case, and the two dashes, one.
func like(c byte) byte {
	if c == '-' {
		return '_'
	}
	return lower(c)
}

// stem is a name without its unit.
func stem(name string) string {
	if i := strings.LastIndexByte(name, '_'); i > 0 {
		return name[:i]
	}
	return name
}
