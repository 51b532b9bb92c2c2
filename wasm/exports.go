//go:build wasip1

package main

// module is all the state there is between two calls.
var module struct {
	buffers buffers
	answer  []byte // the last text given out; kept so that it stays where it is
	block   prepared
}

//go:wasmexport abi_version
func abiVersion() uint32 { return uint32(abiMajor)<<16 | uint32(abiMinor) }

//go:wasmexport alloc
func alloc(n uint32) (ptr uint32) {
	// Nothing in it can panic but the growth of memory, and then 0 is the
	// documented "refused".
	defer func() {
		if recover() != nil {
			ptr = 0
		}
	}()
	return module.buffers.alloc(n)
}

//go:wasmexport free
func free(ptr uint32) {
	defer func() { _ = recover() }()
	module.buffers.free(ptr)
}

//go:wasmexport ceiling
func ceiling(ptr, n uint32) (packed uint64) {
	defer recovered(&packed)
	request, ok := module.buffers.bytes(ptr, uint64(n))
	if !ok {
		return badPointer("request", ptr, uint64(n))
	}
	return give(ceilingJSON(request))
}

//go:wasmexport about
func about() (packed uint64) {
	defer recovered(&packed)
	return give(aboutJSON())
}

//go:wasmexport quantity
func quantity(ptr, n uint32) (packed uint64) {
	defer recovered(&packed)
	request, ok := module.buffers.bytes(ptr, uint64(n))
	if !ok {
		return badPointer("request", ptr, uint64(n))
	}
	return give(quantityJSON(request))
}

//go:wasmexport block
func block(requestPtr, requestLen, namesPtr, namesLen, inPtr, outPtr uint32, rows int32) (packed uint64) {
	done := false
	defer func() {
		if !done {
			module.block = prepared{} // a panic may have left it half changed
		}
	}()
	defer recovered(&packed)
	packed = runBlock(requestPtr, requestLen, namesPtr, namesLen, inPtr, outPtr, rows)
	done = true
	return packed
}

// give keeps text alive until the next answer and returns its place.
func give(text []byte) uint64 {
	module.answer = text
	return pack(text)
}

// recovered turns a panic into an error answer: a defect in the core must not
// take down the embedding program, and it must not pass for an answer either.
func recovered(packed *uint64) {
	reason := recover()
	if reason == nil {
		return
	}
	text := "unknown"
	switch r := reason.(type) {
	case error:
		text = r.Error()
	case string:
		text = r
	}
	*packed = give(errorJSON("internal", "", text, "", "the module met a defect of its own while computing"))
}

// badPointer says that what the caller names is not memory it got from alloc.
func badPointer(field string, ptr uint32, n uint64) uint64 {
	return give(errorJSON("bad_pointer", field, decimal(uint64(ptr))+"+"+decimal(n),
		"inside one live buffer from alloc", "not memory that alloc gave and free has not taken back"))
}

// decimal writes n without strconv, whose float tables the module gets from
// the core anyway but this file does not need.
func decimal(n uint64) string {
	var digits [20]byte
	at := len(digits)
	for {
		at--
		digits[at] = byte('0' + n%10)
		n /= 10
		if n == 0 {
			return string(digits[at:])
		}
	}
}
