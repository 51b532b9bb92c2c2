//go:build wasip1

package main

import "spareamps/core"

// state is all there is between two calls.
var state struct {
	buffers buffers
	answer  []byte // the last text given out; kept so that it stays where it is
	advisor core.Advisor
	block   prepared
	garbage int // see collect
}

//go:wasmexport abi_version
func abiVersion() uint32 { return core.ABIMajor<<16 | core.ABIMinor }

//go:wasmexport alloc
func alloc(n uint32) (ptr uint32) {
	// Nothing in it can panic but the growth of memory, and then 0 is the
	// documented "refused".
	defer func() {
		if recover() != nil {
			ptr = 0
		}
	}()
	ptr = state.buffers.alloc(n)
	if ptr != 0 {
		collect(int(n))
	}
	return ptr
}

//go:wasmexport free
func free(ptr uint32) {
	defer func() { _ = recover() }()
	state.buffers.free(ptr)
}

//go:wasmexport ceiling
func ceiling(ptr, n uint32) uint64 { return answer(ptr, n, state.advisor.CeilingJSON) }

//go:wasmexport day
func day(ptr, n uint32) uint64 { return answer(ptr, n, state.advisor.DayJSON) }

//go:wasmexport fit
func fit(ptr, n uint32) uint64 { return answer(ptr, n, state.advisor.FitJSON) }

//go:wasmexport log
func log(textPtr, textLen, conditionsPtr, conditionsLen uint32) (packed uint64) {
	defer recovered(&packed)
	conditions, problem := text("conditions", conditionsPtr, conditionsLen)
	if problem != nil {
		return give(problem)
	}
	data, ok := state.buffers.bytes(textPtr, uint64(textLen))
	if !ok {
		return give(badPointer("log", textPtr, uint64(textLen)))
	}
	return give(core.LogTextJSON(data, conditions))
}

//go:wasmexport about
func about() (packed uint64) {
	defer recovered(&packed)
	return give(core.AboutJSON())
}

//go:wasmexport quantity
func quantity(ptr, n uint32) uint64 { return answer(ptr, n, core.QuantityJSON) }

//go:wasmexport block
func block(requestPtr, requestLen, namesPtr, namesLen, inPtr, outPtr uint32, rows int32) (packed uint64) {
	defer recovered(&packed)
	return runBlock(requestPtr, requestLen, namesPtr, namesLen, inPtr, outPtr, rows)
}

// answer gives what ask makes of the request at ptr.
func answer(ptr, n uint32, ask func([]byte) []byte) (packed uint64) {
	defer recovered(&packed)
	request, problem := text("request", ptr, n)
	if problem != nil {
		return give(problem)
	}
	return give(ask(request))
}

// give keeps text alive until the next answer and returns its place.
func give(text []byte) uint64 {
	state.answer = text
	collect(callGarbage + len(text))
	return pack(text)
}

// recovered turns a panic into an error answer: a defect in the core must not
// take down the embedding program, and it must not pass for an answer either.
func recovered(packed *uint64) {
	reason := recover()
	if reason == nil {
		return
	}
	said := "unknown"
	switch r := reason.(type) {
	case error:
		said = r.Error()
	case string:
		said = r
	}
	state.advisor, state.block = core.Advisor{}, prepared{} // may be half changed
	*packed = give(core.ErrorJSON("internal", "", said, "", "the module met a defect of its own while computing"))
}

// maxTextBytes is far above any real request, and what the core takes at most;
// here it holds for names as well.
const maxTextBytes = 1 << 20

// text returns the n bytes at ptr, or an error object.
func text(field string, ptr, n uint32) (data, problem []byte) {
	data, ok := state.buffers.bytes(ptr, uint64(n))
	if !ok {
		return nil, badPointer(field, ptr, uint64(n))
	}
	if n > maxTextBytes {
		return nil, core.ErrorJSON("too_large", field, decimal(uint64(n)), "at most "+decimal(maxTextBytes)+" bytes", "more text than any request needs")
	}
	return data, nil
}

// badPointer says that what the caller names is not memory it got from alloc.
func badPointer(field string, ptr uint32, n uint64) []byte {
	return core.ErrorJSON("bad_pointer", field, decimal(uint64(ptr))+"+"+decimal(n),
		"inside one live buffer from alloc, numbers on a multiple of 8", "not memory that alloc gave and free has not taken back")
}

// decimal writes n; the module imports nothing but the core.
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
