package runner

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"
	"time"
)

// raw drives an instance below the Runner, as a careless embedder would.
type raw struct {
	t testing.TB
	*instance
}

func newRaw(t testing.TB, r *Runner) raw {
	t.Helper()
	return newRawWith(t, r, newSystem())
}

func newRawWith(t testing.TB, r *Runner, s *system) raw {
	t.Helper()
	i, err := r.startIn(s)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = i.close() })
	return raw{t, i}
}

// must calls an export that must not trap, whatever it is given.
func (r raw) must(export string, parameters ...uint64) uint64 {
	r.t.Helper()
	got, err := r.call(export, parameters...)
	if err != nil {
		r.t.Fatalf("%s(%d): %v", export, parameters, err)
	}
	return got
}

func (r raw) alloc(n uint32) uint32 { r.t.Helper(); return uint32(r.must("alloc", uint64(n))) }

func (r raw) put(data string) uint32 {
	r.t.Helper()
	ptr := r.alloc(uint32(len(data)))
	if ptr == 0 || !r.memory.Write(ptr, []byte(data)) {
		r.t.Fatalf("no room for %d bytes", len(data))
	}
	return ptr
}

// code reads a packed answer, which must be JSON inside the memory, and gives
// its error code, "" if it is no error object.
func (r raw) code(packed uint64) string {
	r.t.Helper()
	text, err := r.answer(packed)
	if err != nil {
		r.t.Fatal(err)
	}
	if !json.Valid(text) {
		r.t.Fatalf("not JSON: %q", text)
	}
	return errorCode(text)
}

func errorCode(text []byte) string {
	var object struct{ Error struct{ Code string } }
	_ = json.Unmarshal(text, &object)
	return object.Error.Code
}

// Pointers and lengths that lie, each with the parameter that does.
func TestHostilePointers(t *testing.T) {
	r := newRaw(t, testRunner(t))
	const request = `{}`
	good := r.put(request)
	n := uint64(len(request))
	top := uint64(r.memory.Size())
	freed := r.put(request)
	r.must("free", uint64(freed))
	answer := r.must("about") // memory of the module's own
	for _, c := range []struct {
		name    string
		ptr, n  uint64
		refused bool
	}{
		{"whole", uint64(good), n, false},
		{"part", uint64(good) + 1, n - 1, false},
		{"one too many", uint64(good), n + 1, true},
		{"one before", uint64(good) - 1, n, true},
		{"null", 0, n, true},
		{"nothing at null", 0, 0, false},
		{"nothing past the end", top, 0, false},
		{"freed", uint64(freed), n, true},
		{"negative length", uint64(good), 0xffffffff, true},
		{"half of the address space", uint64(good), 1 << 31, true},
		{"to the last byte", uint64(good), top - uint64(good), true},
		{"negative pointer", 0xffffffff, n, true},
		{"sum passes 2^32", 0xfffffff0, 0x20, true},
		{"last page", top - n, n, true},
		{"past the end", top, n, true},
		{"the module's own answer", answer >> 32, 8, true},
	} {
		for _, export := range []string{"ceiling", "quantity"} {
			code := r.code(r.must(export, c.ptr, c.n))
			if refused := code == "bad_pointer"; refused != c.refused {
				t.Errorf("%s, %s(%d, %d): got code %q, want bad_pointer: %v", c.name, export, c.ptr, c.n, code, c.refused)
			}
		}
		for which, p := range [][]uint64{{c.ptr, c.n, uint64(good), n}, {uint64(good), n, c.ptr, c.n}} {
			code := r.code(r.must("log", p...))
			if refused := code == "bad_pointer"; refused != c.refused {
				t.Errorf("%s, log%d, parameter %d: got code %q, want bad_pointer: %v", c.name, p, 2*which, code, c.refused)
			}
		}
	}
}

func TestFreeOfUnknownPointer(t *testing.T) {
	r := newRaw(t, testRunner(t))
	ptr := r.put("12345678")
	for _, wrong := range []uint32{0, 1, ptr + 1, ptr - 8, math.MaxUint32, 1 << 31} {
		r.must("free", uint64(wrong))
	}
	got, _ := r.memory.Read(ptr, 8)
	if string(got) != "12345678" {
		t.Errorf("the live buffer now holds %q", got)
	}
	r.must("free", uint64(ptr))
	r.must("free", uint64(ptr)) // twice: no effect
}

func TestAllocLimits(t *testing.T) {
	r := newRaw(t, testRunner(t))
	for _, n := range []uint32{0, 64<<20 + 1, 1 << 31, math.MaxUint32} {
		if ptr := r.alloc(n); ptr != 0 {
			t.Errorf("alloc(%d): got %d, want 0", n, ptr)
		}
	}
	var live []uint32
	for {
		ptr := r.alloc(1)
		if ptr == 0 {
			break
		}
		if ptr%8 != 0 {
			t.Fatalf("alloc(1): got %d, want a multiple of 8", ptr)
		}
		live = append(live, ptr)
		if len(live) > 4096 {
			t.Fatal("more than 4096 buffers at a time")
		}
	}
	if len(live) != 4096 {
		t.Errorf("got %d buffers, want 4096", len(live))
	}
	for _, ptr := range live {
		r.must("free", uint64(ptr))
	}
	// All of the memory at once, many times over: what is freed comes back.
	for range 40 {
		ptr := r.alloc(64 << 20)
		if ptr == 0 {
			t.Fatal("64 MiB refused though nothing is live")
		}
		if more := r.alloc(1); more != 0 {
			t.Error("a byte more than 64 MiB given")
		}
		r.must("free", uint64(ptr))
	}
	if size := r.memory.Size(); size > 200<<20 {
		t.Errorf("memory grew to %d MiB", size>>20)
	}
}

// A new buffer shows nothing of an earlier one.
func TestAllocIsZero(t *testing.T) {
	r := newRaw(t, testRunner(t))
	for n := uint32(1); n < 1<<20; n = n*3 + 1 {
		for range 20 {
			ptr := r.alloc(n)
			view, _ := r.memory.Read(ptr, n)
			if at := bytes.IndexFunc(view, func(c rune) bool { return c != 0 }); at >= 0 {
				t.Fatalf("alloc(%d): byte %d is %d", n, at, view[at])
			}
			for k := range view {
				view[k] = 0xff
			}
			r.must("free", uint64(ptr))
		}
	}
}

// Answers stay readable until the next text, also across alloc and free.
func TestAnswerStays(t *testing.T) {
	r := newRaw(t, testRunner(t))
	packed := r.must("about")
	before, err := r.answer(packed)
	if err != nil {
		t.Fatal(err)
	}
	for range 2000 {
		r.must("free", uint64(r.put(strings.Repeat("x", 5000))))
	}
	after, err := r.answer(packed)
	if err != nil || !bytes.Equal(before, after) {
		t.Errorf("the answer changed while memory was taken and freed (%v)", err)
	}
}

// Texts no person writes: an error object each time, and the module lives on.
func TestHostileText(t *testing.T) {
	r := testRunner(t)
	ctx := context.Background()
	deep := strings.Repeat(`{"rig":`, 50_000)
	for name, text := range map[string]string{
		"empty":             "",
		"zero bytes":        "\x00\x00\x00",
		"not UTF-8":         "\xff\xfe{\"a\":\xc0}",
		"half an object":    `{"rig":{`,
		"an array":          `[1,2,3]`,
		"a number":          `1e308`,
		"NaN":               `{"moment":{"ambient_C":NaN}}`,
		"Infinity":          `{"moment":{"ambient_C":Infinity}}`,
		"1e999":             `{"moment":{"ambient_C":1e999}}`,
		"deep objects":      deep,
		"deep arrays":       strings.Repeat(`[`, 1_000_000),
		"long string":       `{"` + strings.Repeat("a", 1_000_000) + `":1}`,
		"many unknown keys": "{" + strings.Repeat(`"x":1,`, 100_000) + `"y":1}`,
		"long number":       `{"moment":{"ambient_C":` + strings.Repeat("9", 100_000) + `}}`,
		"1 MiB of blanks":   strings.Repeat(" ", 1<<20),
		"trailing":          `{} {}`,
		"lone surrogate":    `{"\ud800":1}`,
	} {
		for export, ask := range map[string]func(context.Context, []byte) ([]byte, error){"ceiling": r.Ceiling, "day": r.Day, "quantity": r.Quantity} {
			answer, err := ask(ctx, []byte(text))
			if err != nil {
				t.Errorf("%s to %s: %v", name, export, err)
			} else if !json.Valid(answer) || errorCode(answer) == "" || errorCode(answer) == "internal" {
				t.Errorf("%s to %s: got %.200q, want an error object", name, export, answer)
			} else if len(answer) > 64<<10 {
				t.Errorf("%s to %s: the error object has %d bytes", name, export, len(answer))
			}
		}
		if err := r.Block(ctx, []byte(text), []byte("moment.ambient_C\n\nceiling.input_A"), make([]float64, 1), make([]float64, 2), 1); err == nil {
			t.Errorf("%s to block: got no error", name)
		} else if _, refused := err.(*RefusedError); !refused {
			t.Errorf("%s to block: %v", name, err)
		}
	}
	answer, err := r.Ceiling(ctx, bytes.Repeat([]byte(" "), 1<<20+1))
	if err != nil || errorCode(answer) != "too_large" {
		t.Errorf("1 MiB and a byte: got %.100q, %v, want code too_large", answer, err)
	}
}

// blockCall is one call of block with all its numbers open.
type blockCall struct{ requestPtr, requestLen, namesPtr, namesLen, inPtr, outPtr, rows uint64 }

func (r raw) block(c blockCall) uint64 {
	r.t.Helper()
	return r.must("block", c.requestPtr, c.requestLen, c.namesPtr, c.namesLen, c.inPtr, c.outPtr, c.rows)
}

func TestHostileBlock(t *testing.T) {
	r := newRaw(t, testRunner(t))
	request, names := testRequest, testNames
	inputs, outputs := columns([]byte(names))
	const rows = 8
	in, out := r.alloc(uint32(8*rows*inputs)), r.alloc(uint32(8*rows*outputs))
	column := make([]byte, 8*rows*inputs)
	for k := range rows * inputs {
		binary.LittleEndian.PutUint64(column[8*k:], math.Float64bits(30))
	}
	r.memory.Write(in, column)
	good := blockCall{uint64(r.put(request)), uint64(len(request)), uint64(r.put(names)), uint64(len(names)), uint64(in), uint64(out), rows}
	if packed := r.block(good); packed != 0 {
		text, _ := r.answer(packed)
		t.Fatalf("the good call: %s", text)
	}
	want, _ := r.memory.Read(out, uint32(8*rows*outputs))
	want = bytes.Clone(want)
	canary := bytes.Repeat([]byte{0xa5}, 8*rows*outputs)
	for _, c := range []struct {
		name string
		set  func(*blockCall)
		bad  bool
	}{
		{"no rows", func(c *blockCall) { c.rows = 0 }, false},
		{"no rows, no columns", func(c *blockCall) { c.rows, c.inPtr, c.outPtr = 0, 0, 0 }, false},
		{"fewer rows", func(c *blockCall) { c.rows = rows - 1 }, false},
		{"one row too many", func(c *blockCall) { c.rows = rows + 1 }, true},
		{"negative rows", func(c *blockCall) { c.rows = math.MaxUint32 }, true},
		{"most negative rows", func(c *blockCall) { c.rows = 1 << 31 }, true},
		{"rows times columns passes 2^32", func(c *blockCall) { c.rows = (1<<32)/8/uint64(inputs) + 1 }, true},
		{"most rows", func(c *blockCall) { c.rows = math.MaxInt32 }, true},
		{"misaligned in", func(c *blockCall) { c.inPtr++; c.rows-- }, true},
		{"misaligned out", func(c *blockCall) { c.outPtr += 4; c.rows-- }, true},
		{"in is null", func(c *blockCall) { c.inPtr = 0 }, true},
		{"out is null", func(c *blockCall) { c.outPtr = 0 }, true},
		{"out is in", func(c *blockCall) { c.inPtr = c.outPtr; c.rows-- }, true},
		{"out is the request", func(c *blockCall) { c.outPtr = c.requestPtr &^ 7; c.rows = 1 }, true},
		{"request too long", func(c *blockCall) { c.requestLen = math.MaxUint32 }, true},
		{"names too long", func(c *blockCall) { c.namesLen++ }, true},
		{"names past the end", func(c *blockCall) { c.namesPtr = uint64(r.memory.Size()) }, true},
		{"in runs over the end of memory", func(c *blockCall) { c.inPtr = uint64(r.memory.Size()) - 8 }, true},
		{"out at the top of the address space", func(c *blockCall) { c.outPtr = 0xfffffff8 }, true},
	} {
		call := good
		c.set(&call)
		r.memory.Write(out, canary)
		packed := r.block(call)
		got, _ := r.memory.Read(out, uint32(len(canary)))
		if !c.bad {
			if packed != 0 {
				t.Errorf("%s: got code %q, want none", c.name, r.code(packed))
			}
			continue
		}
		if packed == 0 {
			t.Errorf("%s: went through", c.name)
		} else if code := r.code(packed); code != "bad_pointer" {
			t.Errorf("%s: got code %q, want bad_pointer", c.name, code)
		}
		if !bytes.Equal(got, canary) {
			t.Errorf("%s: refused, but out was written", c.name)
		}
	}
	if packed := r.block(good); packed != 0 {
		t.Fatal("the good call fails after the bad ones")
	}
	if got, _ := r.memory.Read(out, uint32(len(want))); !bytes.Equal(got, want) {
		t.Error("the good call gives other numbers after the bad ones")
	}
}

// The module keeps the last request decoded; a changed byte in the same buffer
// must be seen.
func TestBlockSeesChangedRequest(t *testing.T) {
	r := newRaw(t, testRunner(t))
	out := r.alloc(uint32(8 * 4))
	in := r.alloc(8 * 4)
	names := "moment.ambient_C\n\nceiling.input_A"
	request, namesPtr := r.put(testRequest), r.put(names)
	call := blockCall{uint64(request), uint64(len(testRequest)), uint64(namesPtr), uint64(len(names)), uint64(in), uint64(out), 1}
	if packed := r.block(call); packed != 0 {
		text, _ := r.answer(packed)
		t.Fatalf("%s", text)
	}
	r.memory.Write(request, []byte("!")) // no JSON any more
	if packed := r.block(call); packed == 0 {
		t.Error("a broken request was answered from the kept one")
	}
	r.memory.Write(request, []byte("{"))
	if packed := r.block(call); packed != 0 {
		t.Error("the mended request is refused")
	}
	r.memory.Write(namesPtr, []byte("?"))
	if packed := r.block(call); packed == 0 {
		t.Error("broken names were answered from the kept ones")
	}
}

// Memory must not grow once a call has been seen often enough for Go's
// collector to find its pace. The clock matters: see collect.go in package
// wasm. With none but the ticking one, 200,000 calls once filled 256 MiB; 120,000 show it.
func TestMemoryStaysFlat(t *testing.T) {
	if testing.Short() {
		t.Skip("too few calls would say nothing")
	}
	const cheap, ceilings = 120_000, 2_000
	steps := []struct {
		name, export, text string
		calls              int
	}{
		{"refused quantity", "quantity", `{`, cheap},
		{"refused request", "ceiling", `{"rig":1}`, cheap},
		{"ceiling", "ceiling", testRequest, ceilings},
		{"refused text of 1 MB", "ceiling", strings.Repeat(`{"rig":`, 150_000), 20},
	}
	runner := testRunner(t)
	for _, clock := range []struct {
		name string
		now  func(*system) uint64
		part int // of the calls
	}{
		{"ticks at each look", nil, 1},
		{"the system's", func(*system) uint64 { return uint64(time.Now().UnixNano()) }, 4},
		{"stands still", func(*system) uint64 { return 1e9 }, 4},
	} {
		t.Run("clock "+clock.name, func(t *testing.T) {
			s := newSystem()
			s.clock = clock.now
			r := newRawWith(t, runner, s)
			work := func(export string, text string, calls int) {
				for range calls {
					ptr := r.alloc(uint32(len(text)))
					r.memory.WriteString(ptr, text)
					r.must(export, uint64(ptr), uint64(len(text)))
					r.must("free", uint64(ptr))
				}
			}
			for _, s := range steps {
				work(s.export, s.text, max(20, s.calls/20))
			}
			warm := r.memory.Size()
			for _, s := range steps {
				work(s.export, s.text, s.calls/clock.part)
				t.Logf("%-20s %7d calls, memory %.1f MiB", s.name, s.calls/clock.part, float64(r.memory.Size())/(1<<20))
			}
			// Where pages happen to break may move a little; a leak of three bytes
			// a call shows.
			if got := r.memory.Size(); got > warm+1<<20 {
				t.Errorf("memory grew from %d to %d bytes", warm, got)
			}
		})
	}
}

// FuzzABI reads its input as a list of calls with pointers and lengths, some
// honest, some wild, and compares each verdict with a model of what is live.
func FuzzABI(f *testing.F) {
	words := func(op byte, words ...uint32) []byte {
		b := []byte{op}
		for _, w := range words {
			b = binary.LittleEndian.AppendUint32(b, w)
		}
		return b
	}
	const alloc, free, ceiling, honest, block, honestBlock = 0, 1, 2, 4, 5, 5 | 0x80
	nth := func(k uint32) uint32 { return 4*k + 1 } // as pointer below reads it
	four := bytes.Repeat(words(alloc, 1024), 4)
	for _, then := range [][]byte{
		words(honest, nth(0)),
		words(honestBlock, 0, 0, 0, 0, nth(2), nth(3), 2, nth(0), nth(1)),
		words(honestBlock, 0, 0, 0, 0, nth(2), nth(2), 2, nth(0), nth(1)), // out is in
		words(honestBlock, 0, 0, 0, 0, nth(2), nth(0), 2, nth(0), nth(1)), // out is the request
		words(block, nth(0), 100, nth(1), 10, nth(2), nth(3), 1<<31),
		append(words(free, nth(1)), words(ceiling, nth(1), 1024)...),
		words(ceiling, nth(0)|1<<1|8<<24, 1016),
		words(ceiling|0x80, 0xfffffffc, 0xffffffff),
	} {
		f.Add(slices.Concat(four, then))
	}
	runner := testRunner(f)
	f.Fuzz(func(t *testing.T, program []byte) {
		if len(program) > 4096 {
			return
		}
		r := newRaw(t, runner)
		live := newLive()
		next := func() uint32 {
			var word [4]byte
			program = program[copy(word[:], program):]
			return binary.LittleEndian.Uint32(word[:])
		}
		// An operand is a wild number or one near a live buffer.
		pointer := func() uint32 {
			v := next()
			if v&3 == 0 || len(live.order) == 0 {
				return v
			}
			ptr := live.order[int(v>>2)%len(live.order)]
			return ptr + uint32(int8(v>>24))*(v>>1&1)
		}
		for len(program) > 0 {
			op := program[0]
			program = program[1:]
			switch op & 0x7f % 6 {
			case 0:
				n := next() & 0x3fff // small, so that no block takes long
				ptr := r.alloc(n)
				if (ptr == 0) != (n == 0 || live.total+uint64(n) > 64<<20 || len(live.order) == 4096) {
					t.Fatalf("alloc(%d) with %d bytes live: got %d", n, live.total, ptr)
				}
				live.add(t, ptr, n)
			case 1:
				ptr := pointer()
				r.must("free", uint64(ptr))
				live.remove(ptr)
			case 2, 3:
				export := []string{"ceiling", "quantity"}[op&1]
				ptr, n := pointer(), next()&0x7fff
				if op&0x80 != 0 {
					n = next()
				}
				live.check(t, r, export, live.holds(ptr, uint64(n), 1), r.must(export, uint64(ptr), uint64(n)))
			case 4: // write a request where one fits, so that more than refusals is seen
				ptr := pointer()
				if live.holds(ptr, uint64(len(shortRequest)), 1) {
					r.memory.Write(ptr, []byte(shortRequest))
					live.check(t, r, "ceiling", true, r.must("ceiling", uint64(ptr), uint64(len(shortRequest))))
				}
			case 5:
				c := blockCall{uint64(pointer()), uint64(next() & 0xffff), uint64(pointer()), uint64(next() & 0xffff), uint64(pointer()), uint64(pointer()), uint64(next())}
				honest := false
				if op&0x80 != 0 {
					request, names := pointer(), pointer()
					honest = live.holds(request, uint64(len(shortRequest)), 1) && live.holds(names, uint64(len(testNames)), 1) &&
						(request+uint32(len(shortRequest)) <= names || names+uint32(len(testNames)) <= request)
					if honest {
						r.memory.Write(request, []byte(shortRequest))
						r.memory.Write(names, []byte(testNames))
						c.requestPtr, c.requestLen, c.namesPtr, c.namesLen = uint64(request), uint64(len(shortRequest)), uint64(names), uint64(len(testNames))
						c.rows &= 0x8000000f
					}
				}
				before := live.contents(r)
				packed := r.block(c)
				wrote := span{} // all that may have changed
				if packed == 0 {
					wrote = span{c.outPtr, 8 * c.rows * 3}
				} else if code := r.code(packed); code == "internal" {
					t.Fatal("block: internal")
				}
				if honest {
					in, out := span{c.inPtr, 8 * c.rows * 2}, span{c.outPtr, 8 * c.rows * 3}
					good := c.rows < 1<<31 && live.holds(uint32(in.at), in.n, 8) && live.holds(uint32(out.at), out.n, 8) &&
						!out.meets(in) && !out.meets(span{c.requestPtr, c.requestLen}) && !out.meets(span{c.namesPtr, c.namesLen})
					if good != (packed == 0) {
						t.Fatalf("block(%+v): answered %v, should be %v", c, packed == 0, good)
					}
				}
				live.unchanged(t, r, before, wrote)
			}
			live.intact(t, r)
		}
	})
}

// span is n bytes at an address.
type span struct{ at, n uint64 }

func (a span) meets(b span) bool { return a.n > 0 && b.n > 0 && a.at < b.at+b.n && b.at < a.at+a.n }

// liveBuffers is the model: which buffers are live.
type liveBuffers struct {
	order []uint32
	size  map[uint32]uint32
	total uint64
}

func newLive() *liveBuffers { return &liveBuffers{size: map[uint32]uint32{}} }

func (l *liveBuffers) add(t *testing.T, ptr, n uint32) {
	if ptr == 0 {
		return
	}
	for other, size := range l.size {
		if uint64(ptr) < uint64(other)+uint64(size) && uint64(other) < uint64(ptr)+uint64(n) {
			t.Fatalf("alloc gave %d+%d, which is inside the live %d+%d", ptr, n, other, size)
		}
	}
	l.order = append(l.order, ptr)
	l.size[ptr] = n
	l.total += uint64(n)
}

func (l *liveBuffers) remove(ptr uint32) {
	if n, ok := l.size[ptr]; ok {
		delete(l.size, ptr)
		l.total -= uint64(n)
		for k, p := range l.order {
			if p == ptr {
				l.order = append(l.order[:k], l.order[k+1:]...)
				break
			}
		}
	}
}

func (l *liveBuffers) holds(ptr uint32, n uint64, align uint32) bool {
	if n == 0 {
		return true
	}
	for base, size := range l.size {
		if ptr >= base && uint64(ptr)+n <= uint64(base)+uint64(size) && ptr%align == 0 {
			return true
		}
	}
	return false
}

func (l *liveBuffers) check(t *testing.T, r raw, export string, held bool, packed uint64) {
	code := r.code(packed)
	if (code == "bad_pointer") == held {
		t.Fatalf("%s: got code %q; the buffer is live: %v", export, code, held)
	}
	if code == "internal" {
		text, _ := r.answer(packed)
		t.Fatalf("%s: %s", export, text)
	}
}

func (l *liveBuffers) intact(t *testing.T, r raw) {
	for ptr, n := range l.size {
		if uint64(ptr)+uint64(n) > uint64(r.memory.Size()) {
			t.Fatalf("buffer %d+%d outside the memory", ptr, n)
		}
	}
}

// contents copies the live buffers, the large ones in part.
func (l *liveBuffers) contents(r raw) map[uint32][]byte {
	all := make(map[uint32][]byte, len(l.size))
	for ptr, n := range l.size {
		view, _ := r.memory.Read(ptr, min(n, 4096))
		all[ptr] = bytes.Clone(view)
	}
	return all
}

// unchanged compares with such a copy everywhere but in the span written to.
func (l *liveBuffers) unchanged(t *testing.T, r raw, before map[uint32][]byte, but span) {
	for ptr, was := range before {
		now, _ := r.memory.Read(ptr, uint32(len(was)))
		for k := range was {
			if was[k] != now[k] && !but.meets(span{uint64(ptr) + uint64(k), 1}) {
				t.Fatalf("block changed byte %d, outside %+v", ptr+uint32(k), but)
			}
		}
	}
}
