// Package schema makes JSON Schemas (2020-12) of what goes into the core and of
// what comes out, from the core's own tables.
//
// What the schema of a request accepts the core accepts, but for rules that
// compare two values; it is stricter where the core takes a choice in letters
// of any case, and null for "not given".
package schema
