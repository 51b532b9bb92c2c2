// Package schema makes JSON Schemas (2020-12) of what goes into the core and of
// what comes out, from the core's own tables.
package schema
