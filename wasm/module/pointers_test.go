package module

import (
	"bytes"
	"testing"
)

func TestKeepPointers(t *testing.T) {
	const load, f64Load, store = opI64Load, 0x2b, 0x37
	begin := []byte{opGlobalGet, stackGlobal, opLocalSet, stackLocal}
	read := func(offset byte) []byte { return []byte{opLocalGet, stackLocal, load, 3, offset, opI32WrapI64} }
	use, keep, have := []byte{f64Load, 3, 0, opDrop}, []byte{opLocalTee, 3}, []byte{opLocalGet, 3}
	put := func(offset byte) []byte { return []byte{opLocalGet, stackLocal, opI64Const, 0, store, 3, offset} }
	call := []byte{opLocalGet, stackLocal, opI32Const, 8, 0x6b, opLocalTee, stackLocal, opGlobalSet, stackGlobal, opI32Const, 0, opCall, 7, opDrop,
		opGlobalGet, stackGlobal, opLocalSet, stackLocal}
	condition, block, loop, when, end := []byte{opI32Const, 1}, []byte{opBlock, noResult}, []byte{opLoop, noResult}, []byte{opIf, noResult}, []byte{opEnd}
	for name, c := range map[string]struct{ from, want [][]byte }{
		"twice":                    {[][]byte{read(16), use, read(16), use}, [][]byte{read(16), keep, use, have, use}},
		"stored elsewhere":         {[][]byte{read(16), use, put(24), put(8), read(16), use}, [][]byte{read(16), keep, use, put(24), put(8), have, use}},
		"after a branch":           {[][]byte{read(16), use, condition, when, put(32), end, read(16), use}, [][]byte{read(16), keep, use, condition, when, put(32), end, have, use}},
		"out of a block":           {[][]byte{block, read(16), use, condition, {opBrIf, 0}, end, read(16), use}, [][]byte{block, read(16), keep, use, condition, {opBrIf, 0}, end, have, use}},
		"in both arms":             {[][]byte{condition, when, read(16), use, {opElse}, read(16), use, end, read(16), use}, [][]byte{condition, when, read(16), keep, use, {opElse}, read(16), keep, use, end, have, use}},
		"within a loop":            {[][]byte{loop, read(16), use, read(16), use, condition, {opBrIf, 0}, end}, [][]byte{loop, read(16), keep, use, have, use, condition, {opBrIf, 0}, end}},
		"past what returns":        {[][]byte{read(16), use, condition, when, put(16), {opReturn}, end, read(16), use}, [][]byte{read(16), keep, use, condition, when, put(16), {opReturn}, end, have, use}},
		"once":                     {[][]byte{read(16), use}, nil},
		"another place":            {[][]byte{read(16), use, read(24), use}, nil},
		"stored there":             {[][]byte{read(16), use, put(16), read(16), use}, nil},
		"stored over its end":      {[][]byte{read(16), use, put(23), read(16), use}, nil},
		"stored before it":         {[][]byte{read(16), use, put(9), read(16), use}, nil},
		"past a call":              {[][]byte{read(16), use, call, read(16), use}, nil},
		"past a fill":              {[][]byte{read(16), use, {opI32Const, 0, opI32Const, 0, opI32Const, 0, opPrefix, 11, 0}, read(16), use}, nil},
		"in one arm":               {[][]byte{condition, when, read(16), use, end, read(16), use}, nil},
		"stored in one arm":        {[][]byte{read(16), use, condition, when, put(16), end, read(16), use}, nil},
		"on one way out":           {[][]byte{block, condition, {opBrIf, 0}, read(16), use, end, read(16), use}, nil},
		"back in a loop":           {[][]byte{read(16), use, loop, read(16), use, put(16), condition, {opBrIf, 0}, end}, nil},
		"stored by select":         {[][]byte{read(16), use, {opLocalGet, stackLocal, opI64Const, 0, opI64Const, 1, opI32Const, 1, opSelect, store, 3, 16}, read(16), use}, nil},
		"stored what a call gives": {[][]byte{read(16), use, read(16), use, {opLocalGet, stackLocal, opCall, 7, store, 3, 16}}, nil},
		"its address stored":       {[][]byte{read(16), use, read(16), use, {opI32Const, 0, opLocalGet, stackLocal, 0x36, 2, 0}}, nil},
		"an address below it":      {[][]byte{read(16), use, read(16), use, {opLocalGet, stackLocal, opI32Const, 8, opI32Add, opI64Const, 0, store, 3, 8}}, nil},
		"its address taken":        {[][]byte{read(16), use, read(16), use, {opLocalGet, stackLocal, opI64ExtendI32, opDrop}}, nil},
	} {
		body := func(more byte, parts [][]byte) []byte {
			head := []byte{1, 2, 0x7f} // two locals besides the parameter
			if more > 0 {
				head = []byte{2, 2, 0x7f, more, 0x7f}
			}
			return append(bytes.Join(append([][]byte{head, begin}, parts...), nil), opEnd)
		}
		from := body(0, c.from)
		want := from
		if c.want != nil {
			want = body(1, c.want)
		}
		got := bytes.Clone(from)
		if head, list, ok := instructions(from); !ok {
			t.Fatalf("%s: not known", name)
		} else if ownStack(list) {
			if kept, ok := keepPointers(head, list); ok {
				got = kept
			}
		}
		if !bytes.Equal(got, want) {
			t.Errorf("%s:\n got % x\nwant % x", name, got, want)
		}
	}
	if _, list, _ := instructions([]byte{0, opLocalGet, 0, opDrop, opEnd}); ownStack(list) {
		t.Error("a function without a stack of its own has one")
	}
}
