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
		"an index of a table": {[][]byte{{opLocalGet, 2, opI64Const, 0x80, 0xe0, 0, opI64Add, opI32WrapI64, load, 3, 0, opDrop}}, nil}, // 12288
		"too far in all":      {[][]byte{get, add(8), {load, 3, 0xff, 0xff, 0xff, 0xff, 0xf, opDrop}}, nil},
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

// What instructions take and give, by the WebAssembly Core Specification 1.0,
// section 4.4 (and the sign extensions of 2.0): comparisons and what is done with
// two numbers take two, all else of numbers one.
func TestValues(t *testing.T) {
	two := func(op byte) bool {
		for _, r := range [][2]byte{{0x46, 0x4f}, {0x51, 0x66}, {0x6a, 0x78}, {0x7c, 0x8a}, {0x92, 0x98}, {0xa0, 0xa6}} {
			if op >= r[0] && op <= r[1] {
				return true
			}
		}
		return false
	}
	for op := 0x45; op <= 0xc4; op++ {
		want := 1
		if two(byte(op)) {
			want = 2
		}
		in := instruction{op: byte(op)}
		if takes, gives, ok := in.values(); !ok || takes != want || gives != 1 {
			t.Errorf("%#x takes %d and gives %d, %v; want %d and 1", op, takes, gives, ok, want)
		}
	}
	for op := range 256 {
		in := instruction{op: byte(op)}
		takes, gives, ok := in.values()
		want, known := map[byte][2]int{opLocalGet: {0, 1}, opGlobalGet: {0, 1}, opI32Const: {0, 1}, opI64Const: {0, 1}, opF32Const: {0, 1}, opF64Const: {0, 1},
			opLocalSet: {1, 0}, opDrop: {1, 0}, opLocalTee: {1, 1}, opSelect: {3, 1}, opPrefix: {1, 1}}[byte(op)]
		switch {
		case op >= 0x28 && op <= 0x35:
			want, known = [2]int{1, 1}, true
		case op >= 0x36 && op <= 0x3e:
			want, known = [2]int{2, 0}, true
		case op >= 0x45 && op <= 0xc4:
			continue
		}
		if ok != known || ok && [2]int{takes, gives} != want {
			t.Errorf("%#x takes %d and gives %d, %v; want %v, %v", op, takes, gives, ok, want, known)
		}
	}
}
