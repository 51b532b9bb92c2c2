// Package rig is plain data: what a person states of a vehicle, a moment, a day and
// of readings, as the table of inputs fills it in (core/inputs*.go has each field's
// range, default, meaning and source). Nothing is computed here; the rooms of physics
// take these structs and read them.
//
// Field names end in their unit. An optional number that was not given is zero, or
// NaN where zero is a value; a part that may be left out has a field Given.
package rig
