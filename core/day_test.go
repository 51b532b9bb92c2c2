package core

import (
	"testing"
)

func TestDayDemo(t *testing.T) {
	q := Demo()
	a, err := PlanDay(&q)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%s", dayOutputs.encode(nil, a))
}

func BenchmarkDay(b *testing.B) {
	q := Demo()
	var d Advisor
	for b.Loop() {
		if _, err := d.Day(&q); err != nil {
			b.Fatal(err)
		}
	}
}
