package module

import (
	"bytes"
	"errors"
	"slices"
	"testing"
)

// What goes by direct jumps comes to the same: panics, recover in all its
// places, goroutines that give way, stacks that grow, loops in loops.
func TestDirectJumpsComeToTheSame(t *testing.T) {
	for _, flags := range [][]string{{"-gcflags=all=-l"}, {}} {
		module := linked(t, flags...)
		direct, err := DirectJumps(module)
		if err != nil {
			t.Fatal(err)
		}
		got, want := answers(t, direct), answers(t, module)
		if !slices.Equal(got, want) {
			t.Errorf("%v:\n got %q\nwant %q", flags, got, want)
		}
		short, err := Shorten(module)
		if err != nil {
			t.Fatal(err)
		}
		without, err := DropNames(short)
		if err != nil {
			t.Fatal(err)
		}
		if got := answers(t, without); !slices.Equal(got, want) {
			t.Errorf("%v, shortened and without names:\n got %q\nwant %q", flags, got, want)
		}
		if again, err := DirectJumps(direct); err != nil || !bytes.Equal(again, direct) {
			t.Errorf("done twice is not done once (%v)", err)
		}
		before, after := jumps(t, module), jumps(t, direct)
		t.Logf("%v: %d jumps by a table, now %d; %d bytes, now %d, shortened %d", flags, before, after, len(module), len(direct), len(short))
		if after > before/4 {
			t.Errorf("%d of %d jumps still go by a table: most of any program's go ahead", after, before)
		}
	}
}

// jumps counts the jumps of a module that go by a table.
func jumps(t *testing.T, module []byte) (n int) {
	t.Helper()
	sections, err := readSections(module)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range sections {
		if s.id != codeSection {
			continue
		}
		var code bodies
		if err := code.read(s.body); err != nil {
			t.Fatal(err)
		}
		for k, body := range code.code {
			_, list, ok := instructions(body)
			if !ok {
				t.Fatalf("function %d: an instruction that is not known", k)
			}
			for i := 1; i < len(list); i++ {
				if list[i].op == opBr && list[i-1].op == opLocalSet && list[i-1].value == placeLocal {
					n++
				}
			}
		}
	}
	return n
}

// directly is directJumps of a function's bytes.
func directly(body []byte, number, resumed uint32, known bool) ([]byte, bool) {
	head, list, ok := instructions(body)
	if !ok {
		return nil, false
	}
	return directJumps(head, list, number, resumed, known)
}

// A function that is not as Go writes it stays as it is.
func TestDirectJumpsLeaveTheRest(t *testing.T) {
	usual := []byte{0, opLoop, noResult, opBlock, noResult, opBlock, noResult, opLocalGet, 0, opBrTable, 1, 0, 1, opEnd,
		opI32Const, 1, opLocalSet, 0, opBr, 1, opEnd, opEnd, opEnd}
	if got, ok := directly(usual, 1, 0, true); !ok || !bytes.Equal(got, []byte{0, opLoop, noResult, opBlock, noResult, opBlock, noResult,
		opLocalGet, 0, opI32Eqz, opBrIf, 0, opLocalGet, 0, opBrTable, 1, 0, 1, opEnd, opBr, 0, opEnd, opEnd, opEnd}) {
		t.Errorf("got % x, %v", got, ok)
	}
	for name, change := range map[string]func(b []byte) []byte{
		"locals cut":             func(b []byte) []byte { return append([]byte{1}, b[1:2]...) },
		"cut":                    func(b []byte) []byte { return b[:11] },
		"another instruction":    func(b []byte) []byte { b[14] = 0xfe; return b },
		"another local":          func(b []byte) []byte { b[8] = 1; return b },
		"no loop":                func(b []byte) []byte { b[1] = opBlock; return b },
		"a table too long":       func(b []byte) []byte { b[10] = 200; return b },
		"a place out of reach":   func(b []byte) []byte { b[11] = 2; return b },
		"a jump of another form": func(b []byte) []byte { return slices.Insert(b, 18, opLocalGet, 3, opDrop) },
		"another local noted":    func(b []byte) []byte { b[17] = 1; return b },
		"the number kept":        func(b []byte) []byte { b[16] = opLocalTee; return slices.Insert(b, 18, opDrop) },
		"the number read":        func(b []byte) []byte { return slices.Insert(b, 14, opLocalGet, 0, opDrop) },
		"no table":               func(b []byte) []byte { b[9], b[10], b[11], b[12] = 0x1a, 1, 1, 1; return b },
	} {
		if _, ok := directly(change(bytes.Clone(usual)), 1, 0, true); ok {
			t.Errorf("%s: done all the same", name)
		}
	}
	for name, change := range map[string]func(b []byte) []byte{
		"out of another block": func(b []byte) []byte { b[19] = 0; return b },
		"back":                 func(b []byte) []byte { b[15] = 0; return b },
	} {
		b := change(bytes.Clone(usual))
		want := slices.Insert(bytes.Clone(b), 9, opI32Eqz, opBrIf, 0, opLocalGet, 0)
		if got, ok := directly(b, 1, 0, false); !ok || !bytes.Equal(got, want) {
			t.Errorf("%s: got % x, want % x", name, got, want)
		}
	}
}

// Numbers that nothing asks for are taken out of the table, where that is known
// and where a number forgotten would trap; those that calls return to stay, and
// the place of deferred calls, and the second.
func TestDirectJumpsTrimTheTable(t *testing.T) {
	const numbers = 400
	function := func(rest ...byte) []byte {
		b := []byte{0, opLoop, noResult, opBlock, noResult, opBlock, noResult, opLocalGet, 0, opBrTable}
		b = appendUnsigned(b, numbers)
		for n := range numbers + 1 {
			b = append(b, byte(1-n%2))
		}
		b = append(b, opEnd)
		b = append(appendSigned(append(b, opI64Const), 7<<16|301), opDrop) // returned to in function 7
		b = append(appendSigned(append(b, opI64Const), 8<<16|303), opDrop)
		return append(append(b, opEnd, opEnd), rest...)
	}
	table := func(b []byte) []uint64 {
		_, list, ok := instructions(b)
		if !ok {
			t.Fatal("not known")
		}
		for _, in := range list {
			if in.op == opBrTable {
				return in.table
			}
		}
		return nil
	}
	// Odd numbers lead to the first place, even ones where those beyond do.
	trapping := function(opNop, opUnreachable, opEnd)
	got, ok := directly(trapping, 7, 350, true)
	if !ok {
		t.Fatal("not done")
	}
	of := table(got)
	for n := range numbers {
		want := uint64(1) // what lies beyond
		if n == 1 || n == 301 {
			want = 0
		}
		if place := of[min(n, len(of)-1)]; place != want {
			t.Errorf("number %d leads to place %d, want %d", n, place, want)
		}
	}
	for name, c := range map[string]struct {
		body  []byte
		known bool
	}{"where it may go on is not known": {trapping, false}, "what lies beyond does not trap": {function(opI32Const, 1, opDrop, opEnd), true}} {
		if got, ok := directly(c.body, 7, 350, c.known); !ok || len(table(got)) != numbers+1 {
			t.Errorf("%s: the table has %d places, want all %d", name, len(table(got)), numbers+1)
		}
	}
}

// With another version of Go nothing is known of where functions go on.
func TestDirectJumpsKnowsItsGo(t *testing.T) {
	sections, err := readSections(linked(t))
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range sections {
		if s.id != dataSection {
			continue
		}
		segments, err := readSegments(s.body)
		if err != nil {
			t.Fatal(err)
		}
		if places, err := resumedPlaces(segments); err != nil || len(places) < 1000 {
			t.Errorf("%d functions known, %v", len(places), err)
		}
		for k := range segments {
			segments[k].data = bytes.ReplaceAll(segments[k].data, []byte(knownVersion), []byte("go1.27."))
		}
		if _, err := resumedPlaces(segments); !errors.Is(err, ErrLayout) {
			t.Errorf("go1.27: %v, want %v", err, ErrLayout)
		}
	}
}
