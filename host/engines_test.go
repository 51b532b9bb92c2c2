package main

import (
	"bytes"
	"context"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"spareamps/core"
)

// drawRequest draws a request: required inputs always, the others now and
// then, over the table's ranges.
func drawRequest(t *rapid.T) core.Request {
	q := core.NewRequest()
	set := func(path, value string) {
		if err := q.Set(path, value); err != nil {
			t.Fatal(err)
		}
	}
	parts := map[string]bool{}
	for _, g := range core.Groups() {
		parts[g.Path] = !g.Optional || !strings.Contains(g.Path, "alternator") && rapid.Bool().Draw(t, g.Path)
	}
	for _, f := range core.Fields() {
		group := parent(f.Path)
		if !isWithin(f.Path, core.ForCeiling) || isWithin(f.Path, []string{"rig.observations[]", "rig.learned"}) {
			continue
		}
		switch f.Path {
		case "rig.alternator.test_V", "rig.alternator.regulator_V", "rig.cable.awg", "rig.house_battery.charge_V", "rig.alternator.idle_current_A", "rig.alternator.limit_A", "rig.alternator.limit_C":
			continue // bound to another input
		}
		if group != "" && !parts[group] || f.Need != core.Required && f.Path != "rig.alternator.rated_current_A" && f.Path != "rig.cable.area_mm2" && rapid.Bool().Draw(t, "no "+f.Path) {
			continue
		}
		switch f.Kind {
		case core.Choice:
			set(f.Path, rapid.SampledFrom(f.Choices).Draw(t, f.Path))
		case core.Whole:
			set(f.Path, itoa(rapid.IntRange(int(f.Min), int(f.Max)).Draw(t, f.Path)))
		default:
			set(f.Path, number(rapid.Float64Range(f.Min, f.Max).Draw(t, f.Path)))
		}
	}
	if q.Rig.Alternator.Regulator == "external" {
		set(rapid.SampledFrom([]string{"rig.alternator.limit_A", "rig.alternator.limit_C"}).Draw(t, "external by"), "100")
	}
	return q
}

// Native and module give the same bytes for any request.
func TestEnginesAgree(t *testing.T) {
	p := &program{ctx: context.Background()}
	w, err := p.engine("wasm", "")
	if err != nil {
		t.Fatal(err)
	}
	defer w.close()
	rapid.Check(t, func(t *rapid.T) {
		q := drawRequest(t)
		request := q.JSON()
		want, err := native{}.ceiling(p.ctx, request)
		if err != nil {
			t.Fatal(err)
		}
		got, err := w.ceiling(p.ctx, request)
		if err != nil {
			t.Fatal(err)
		}
		if bytes.HasPrefix(want, []byte(`{"error"`)) {
			t.Fatalf("refused: %s\n%s", want, request)
		}
		if d := cmp.Diff(string(want), string(got)); d != "" {
			t.Fatalf("native (-) and module (+) differ for %s:\n%s", request, d)
		}
	})
}

// Any answer prints within the page, at any width, in words that are whole.
func TestAnswerFitsThePage(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := drawRequest(t)
		text, err := native{}.ceiling(context.Background(), q.JSON())
		if err != nil {
			t.Fatal(err)
		}
		a, err := readAnswer(text)
		if err != nil {
			t.Fatal(err)
		}
		var out bytes.Buffer
		g := page{to: &out, width: rapid.SampledFrom([]int{pageMost, pageLeast, 71}).Draw(t, "width"), ascii: rapid.Bool().Draw(t, "ascii")}
		g.ceiling(a)
		lines := strings.Split(out.String(), "\n")
		for _, l := range lines {
			if width(l) > g.width {
				t.Fatalf("%d columns in a page of %d: %s\n%s", width(l), g.width, l, q.JSON())
			}
			for _, odd := range []string{"NaN", "Inf", "null", "<nil>", "e+", "  W", "-0 "} {
				if strings.Contains(l, odd) {
					t.Fatalf("%q in %q of %s", odd, l, q.JSON())
				}
			}
		}
		if head := strings.Join(lines[:slices.Index(lines, "")], "\n"); g.width == pageMost && strings.Count(head, "\n") > 2 {
			t.Fatalf("the answer takes more than three lines:\n%s", head)
		}
		if !strings.HasPrefix(lines[0], "Set the charger to ") && !strings.Contains(lines[0], "harger off") {
			t.Fatalf("begins with %q", lines[0])
		}
	})
}
