package core

import "testing"

func TestTablesAreSound(t *testing.T) {
	for _, f := range inputs.faults() {
		t.Error("inputs:", f)
	}
	for _, f := range outputs.faults() {
		t.Error("outputs:", f)
	}
}
