package main

import (
	"encoding/binary"
	"math"
	"testing"

	"github.com/tetratelabs/wazero"

	"spareamps/testdata"
)

// A caller written for interface 1.0 gets the answers it relies on: by the
// steps of ABI.md, with the exports of 1.0 and no others.
func TestOlderCaller(t *testing.T) {
	now, err := testdata.Vectors("1.0")
	if err != nil {
		t.Fatal(err)
	}
	then, err := testdata.FirstVectors()
	if err != nil {
		t.Fatal(err)
	}
	if len(now) < 36 || len(then) < 36 {
		t.Fatalf("got %d and %d vectors of 1.0", len(now), len(then))
	}
	e := embed(t, wazero.NewRuntimeConfig())
	if version := e.call("abi_version"); version>>16 != 1 {
		t.Fatalf("got version %#x, want a major of 1", version)
	}
	for i, v := range append(now, then...) {
		var got []byte
		if v.Call == "block" {
			got = e.block(&v)
		} else {
			got = e.answer(v.Call, string(v.Question()))
		}
		if i < len(now) {
			if why := v.Check(got, 0); why != "" {
				t.Errorf("%s of today's vectors: %s", v.Name, why)
			}
		} else if why := v.CheckShape(got); why != "" {
			t.Errorf("%s of the first vectors: %s", v.Name, why)
		}
	}
}

// block is the export of that name.
func (e embedded) block(v *testdata.Vector) []byte {
	e.t.Helper()
	in, out, rows := v.Block()
	memory := e.module.Memory()
	put := func(text []byte) uint64 {
		ptr := e.call("alloc", uint64(max(len(text), 8)))
		memory.Write(uint32(ptr), text)
		return ptr
	}
	var numbers []byte
	for _, x := range in {
		numbers = binary.LittleEndian.AppendUint64(numbers, math.Float64bits(x))
	}
	request, names := v.Question(), v.Names()
	at := [...]uint64{put(request), put(names), put(numbers), e.call("alloc", uint64(8*len(out)))}
	packed := e.call("block", at[0], uint64(len(request)), at[1], uint64(len(names)), at[2], at[3], uint64(rows))
	defer func() {
		for _, ptr := range at {
			e.call("free", ptr)
		}
	}()
	if packed != 0 {
		text, _ := memory.Read(uint32(packed>>32), uint32(packed))
		return append([]byte(nil), text...)
	}
	for i := range out {
		bits, _ := memory.ReadUint64Le(uint32(at[3]) + uint32(8*i))
		out[i] = math.Float64frombits(bits)
	}
	return testdata.ColumnsJSON(out, rows)
}
