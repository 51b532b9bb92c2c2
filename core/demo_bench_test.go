package core

import "testing"

// BenchmarkDemo times the demo's answer from JSON to JSON, and the likeliest
// ceiling of its moment alone, which takes no memory.
func BenchmarkDemo(b *testing.B) {
	q := Demo()
	b.Run("answer", func(b *testing.B) {
		request := q.JSON()
		var d Advisor
		for b.Loop() {
			d.CeilingJSON(request)
		}
	})
	b.Run("likeliest", func(b *testing.B) {
		b.ReportAllocs()
		st := new(study)
		st.prepare(&q)
		var a Answer
		for b.Loop() {
			st.answer(&q, &a, 0)
		}
	})
}
