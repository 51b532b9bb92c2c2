package core

import (
	"testing"

	"pgregory.net/rapid"
)

func TestMistakes(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{
		{"fouling", "fouling", 0}, {"Fouling", "fouling", 0}, {"engine-rpm", "engine_rpm", 0},
		{"foulnig", "fouling", 1}, {"fouing", "fouling", 1}, {"foulling", "fouling", 1}, {"fauling", "fouling", 1},
		{"speed_mph", "speed_kmh", 1}, {"ambient_F", "ambient_C", 1}, {"ambient", "ambient_C", 1},
		{"kitten", "sitting", 3}, {"ab", "xy", 2}, {"x", "", 1}, {"", "abc", 9},
	} {
		if got := mistakes(c.a, c.b, 9); got != c.want {
			t.Errorf("mistakes(%q, %q) = %d, want %d", c.a, c.b, got, c.want)
		}
	}
	name := rapid.StringMatching(`[a-c_]{1,8}`)
	rapid.Check(t, func(t *rapid.T) {
		a, b := name.Draw(t, "a"), name.Draw(t, "b")
		there, back := mistakes(a, b, 99), mistakes(b, a, 99)
		if stem(a) == b || stem(b) == a { // a unit left out is forgiven in one direction only
			return
		}
		if there != back || (there == 0) != (a == b) || there > max(len(a), len(b)) {
			t.Fatalf("mistakes(%q, %q) = %d, the other way %d", a, b, there, back)
		}
	})
}
