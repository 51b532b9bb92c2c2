package core

import (
	"math/rand"
	"strings"
	"testing"
	"unicode/utf8"

	"spareamps/core/limit"
)

// Sentences for a person: short, plain, each code once, without full stop or
// exclamation mark, and with numbers in them that are numbers.
func TestWords(t *testing.T) {
	n := 600
	if testing.Short() {
		n = 150
	}
	codes := map[string]int{}
	long := 0
	check := func(q *Request, where, text string) {
		long = max(long, utf8.RuneCountInString(text))
		switch {
		case text == "":
			t.Errorf("%s: empty\n%s", where, q.JSON())
		case utf8.RuneCountInString(text) > 160:
			t.Errorf("%s: %d characters, want 160 at most: %s", where, utf8.RuneCountInString(text), text)
		case strings.ContainsAny(text, "!\n\t"), strings.Contains(text, "  "), strings.HasSuffix(text, "."), strings.HasSuffix(text, " "):
			t.Errorf("%s: exclamation mark, full stop or odd space: %q", where, text)
		case strings.Contains(text, "NaN"), strings.Contains(text, "Inf"), strings.Contains(text, "1000000000"), strings.Contains(text, "-0 "), strings.Contains(text, "%!"):
			t.Errorf("%s: no number: %s\n%s", where, text, q.JSON())
		case strings.Contains(text, " -"):
			t.Errorf("%s: a negative number: %s\n%s", where, text, q.JSON())
		case !utf8.ValidString(text):
			t.Errorf("%s: not UTF-8: %q", where, text)
		}
	}
	p := seededPicker{rand.New(rand.NewSource(91))}
	for k := range n {
		q := drawRequest(p, []float64{0, 0.1, 1}[k%3])
		if k%25 == 0 {
			put(&q, "moment.engine_rpm", 0)
		}
		a := answered(t, &q)
		seen := map[string]bool{}
		for _, s := range a.Says {
			if seen[s.Code] {
				t.Errorf("says %s twice\n%s", s.Code, q.JSON())
			}
			seen[s.Code] = true
			codes["says "+s.Code]++
			check(&q, "says "+s.Code, s.Text)
		}
		if !seen["setting"] {
			t.Errorf("the setting is not said\n%s", q.JSON())
		}
		flags := map[string]bool{}
		for _, f := range a.Validity {
			if flags[f.Code] {
				t.Errorf("flag %s twice\n%s", f.Code, q.JSON())
			}
			flags[f.Code] = true
			codes["flag "+f.Code]++
			check(&q, "flag "+f.Code, f.Message)
			known := false
			for i := range inputs.fields {
				known = known || within(inputs.fields[i].Path, f.Field)
			}
			if !known {
				t.Errorf("flag %s is about %s, which is no input", f.Code, f.Field)
			}
		}
		cautions := map[string]bool{}
		for _, c := range a.Cautions {
			if cautions[c] {
				t.Errorf("caution twice: %s", c)
			}
			cautions[c] = true
			check(&q, "caution", c)
		}
	}
	t.Logf("longest %d characters; %v", long, codes)
	for _, c := range []string{"setting", "zero", "limit", "confidence", "unknown", "hold", "ageing"} {
		if codes["says "+c] == 0 {
			t.Errorf("%s is never said: the draws are dull", c)
		}
	}
}

// The tables' own texts.
func TestTableWords(t *testing.T) {
	seen := map[string]bool{}
	for i := range limit.Table {
		if limitWords(i) == "" || seen[limitWords(i)] || limit.Table[i].Name == "" || seen[limit.Table[i].Name] || limit.Table[i].Meaning == "" {
			t.Errorf("limit %d: %q, %q, %q", i, limitWords(i), limit.Table[i].Name, limit.Table[i].Meaning)
		}
		seen[limitWords(i)], seen[limit.Table[i].Name] = true, true
	}
	for i, u := range Unknowns {
		if u.Name == "" || seen[u.Name] || u.Meaning == "" || u.Measure == "" || u.Source == "" || u.Spread <= 0 || u.Known > u.Spread || u.Known < 0 {
			t.Errorf("unknown %d: %+v", i, u)
		}
		seen[u.Name] = true
		if u.Input != "" {
			if _, ok := inputs.index(u.Input); !ok {
				t.Errorf("%s is informed by %s, which is no input", u.Name, u.Input)
			}
		}
		if u.Unit != "1" && u.Unit != "V" {
			t.Errorf("%s is in %s", u.Name, u.Unit)
		}
	}
	for v, want := range map[float64]string{0: "0.0 A", 3.14159: "3.1 A", 9.94: "9.9 A", 9.96: "9.9 A", 34.9: "34 A"} {
		if got := amps(v); got != want {
			t.Errorf("%v: %s, want %s", v, got, want)
		}
	}
}
