package runner

// brokenModule is a module by hand that behaves well until it is asked not to:
//
//	quantity  counts its calls in memory and answers with that many bytes "1"
//	ceiling   answers with its request, but traps on one of 7 bytes
//	about     answers from outside its memory
//	block     runs into the end of its memory when rows is 13
//
// A count that starts again shows that the instance was thrown away.
func brokenModule(abi uint32) []byte {
	var (
		i32 byte = 0x7f
		i64 byte = 0x7e
	)
	section := func(id byte, items ...[]byte) []byte {
		body := leb(uint64(len(items)))
		for _, item := range items {
			body = append(body, item...)
		}
		return append(append([]byte{id}, leb(uint64(len(body)))...), body...)
	}
	function := func(parameters []byte, results ...byte) []byte {
		b := append([]byte{0x60, byte(len(parameters))}, parameters...)
		return append(append(b, byte(len(results))), results...)
	}
	export := func(name string, kind, index byte) []byte {
		return append(append([]byte{byte(len(name))}, name...), kind, index)
	}
	code := func(body ...byte) []byte {
		body = append(append([]byte{0}, body...), 0x0b)
		return append(leb(uint64(len(body))), body...)
	}
	const get, i32const, i64const = 0x20, 0x41, 0x42
	pair := []byte{get, 0, 0xad, i64const, 32, 0x86, get, 1, 0xad, 0x84} // ptr<<32 | len
	module := append([]byte{}, wasmMagic...)
	module = append(module, section(1,
		function(nil, i32), function([]byte{i32}, i32), function([]byte{i32}),
		function([]byte{i32, i32}, i64), function(nil, i64), function([]byte{i32, i32, i32, i32, i32, i32, i32}, i64),
		function([]byte{i32, i32, i32, i32}, i64))...)
	module = append(module, section(3, []byte{0}, []byte{1}, []byte{2}, []byte{3}, []byte{4}, []byte{3}, []byte{5}, []byte{6})...)
	module = append(module, section(5, []byte{0, 1})...)
	module = append(module, section(7, export("abi_version", 0, 0), export("alloc", 0, 1), export("free", 0, 2),
		export("ceiling", 0, 3), export("day", 0, 3), export("fit", 0, 3), export("about", 0, 4), export("quantity", 0, 5), export("block", 0, 6), export("log", 0, 7), export("memory", 2, 0))...)
	seven := []byte{get, 1, i32const, 7, 0x46, 0x04, 0x40, 0x00, 0x0b}
	count := []byte{i32const, 0, i32const, 0, 0x28, 2, 0, i32const, 1, 0x6a, 0x36, 2, 0, // [0]++
		i64const, 8, i64const, 32, 0x86, i32const, 0, 0x28, 2, 0, 0xad, 0x84}
	thirteen := []byte{get, 6, i32const, 13, 0x46, 0x04, 0x40, i32const, 0x7f, 0x28, 2, 0, 0x1a, 0x0b, i64const, 0}
	module = append(module, section(10,
		code(append([]byte{i32const}, sleb(int64(int32(abi)))...)...),
		code(i32const, 0x80, 0x08), // 1024
		code(),
		code(append(seven, pair...)...),
		code(append([]byte{i64const}, sleb(100_000<<32|5)...)...),
		code(count...),
		code(thirteen...),
		code(pair...))...)
	return append(module, section(11, append([]byte{0, i32const, 8, 0x0b, 16}, "1111111111111111"...))...)
}

func leb(v uint64) (b []byte) {
	for v >= 0x80 {
		b = append(b, byte(v)|0x80)
		v >>= 7
	}
	return append(b, byte(v))
}

func sleb(v int64) (b []byte) {
	for {
		c := byte(v & 0x7f)
		v >>= 7
		if v == 0 && c&0x40 == 0 || v == -1 && c&0x40 != 0 {
			return append(b, c)
		}
		b = append(b, c|0x80)
	}
}
