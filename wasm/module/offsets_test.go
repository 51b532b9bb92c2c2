package module

import (
	"bytes"
	"testing"
)

func TestFoldOffsets(t *testing.T) {
	const store, load = 0x37, 0x29
	get, add := []byte{opLocalGet, 1}, func(n byte) []byte { return []byte{opI64ExtendI32, opI64Const, n, opI64Add, opI32WrapI64} }
	zero := []byte{opI64Const, 0}
	for name, c := range map[string]struct{ from, want [][]byte }{
		"clears":   {[][]byte{get, add(24), zero, {store, 3, 8}}, [][]byte{get, zero, {store, 3, 32}}},
		"loads":    {[][]byte{get, add(24), {load, 3, 0, opDrop}}, [][]byte{get, {load, 3, 24, opDrop}}},
		"longer":   {[][]byte{get, add(24), zero, {store, 3, 120}}, [][]byte{get, zero, {store, 3, 0x90, 1}}},
		"a copy":   {[][]byte{get, add(8), get, add(16), {load, 3, 0, store, 3, 0}}, [][]byte{get, get, {load, 3, 16, store, 3, 8}}},
		"computed": {[][]byte{get, add(8), {opLocalGet, 2, opLocalGet, 3, 0xa0, store, 3, 0}}, [][]byte{get, {opLocalGet, 2, opLocalGet, 3, 0xa0, store, 3, 8}}},
		"a pointer": {[][]byte{{opLocalGet, 2, opI64Const, 8, opI64Add, opI32WrapI64, load, 3, 0, opDrop}},
			[][]byte{{opLocalGet, 2, opI32WrapI64, load, 3, 8, opDrop}}},
		"a pointer's pointer": {[][]byte{get, {load, 3, 4, opI64Const, 8, opI64Add, opI32WrapI64, load, 3, 1, opDrop}}, [][]byte{get, {load, 3, 4, opI32WrapI64, load, 3, 9, opDrop}}},
		"below":               {[][]byte{get, add(0x78), zero, {store, 3, 0}}, nil}, // −8
		"far":                 {[][]byte{get, {opI64ExtendI32, opI64Const, 0x80, 0x80, 0xc0, 0, opI64Add, opI32WrapI64}, zero, {store, 3, 0}}, nil},
		"another use":         {[][]byte{get, add(8), {opLocalSet, 2}}, nil},
		"a value stored":      {[][]byte{get, get, add(8), {0x36, 2, 0}}, nil},
		"a call between":      {[][]byte{get, add(8), {opCall, 1, load, 3, 0, opDrop}}, nil},
		"a branch":            {[][]byte{get, add(8), {opBlock, noResult, opEnd}, zero, {store, 3, 0}}, nil},
	} {
		body := func(parts [][]byte) []byte { return append(bytes.Join(append([][]byte{{0}}, parts...), nil), opEnd) }
		want := c.want
		if want == nil {
			want = c.from
		}
		_, list, ok := instructions(body(c.from))
		if !ok {
			t.Fatalf("%s: not known", name)
		}
		got := []byte{0}
		for _, in := range foldOffsets(list) {
			got = append(got, in.code...)
		}
		if !bytes.Equal(got, body(want)) {
			t.Errorf("%s: got % x, want % x", name, got, body(want))
		}
	}
}
