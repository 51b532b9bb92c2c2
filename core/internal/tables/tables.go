// Package tables reads published figures in tests.
package tables

import (
	"testing"

	"spareamps/testdata"
)

// Read reads a table of testdata.
func Read(t testing.TB, name string) testdata.Table {
	t.Helper()
	tab, err := testdata.Read(name)
	if err != nil {
		t.Fatal(err)
	}
	return tab
}

// Figure reads a number of a table.
func Figure(t testing.TB, tab testdata.Table, row int, col string) float64 {
	t.Helper()
	v, err := tab.Float(row, col)
	if err != nil {
		t.Fatal(err)
	}
	return v
}
