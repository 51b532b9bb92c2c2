//go:build wasip1

package main

import "unsafe"

const (
	maxTotalBytes = 64 << 20 // of all live buffers together
	maxBuffers    = 4096     // at once, so that tiny ones cannot fill memory with their bookkeeping
)

// buffer is one piece of memory the caller owns between alloc and free.
type buffer struct {
	base  uint32
	size  uint32   // as asked for
	words []uint64 // keeps it alive; in words, so that every base is a multiple of 8
}

// buffers are the live ones, by ascending base. The caller's pointers are
// numbers to us: a number is only ever turned into a slice of a buffer found
// here, so no pointer can make the module read or write anything else.
type buffers struct {
	live  []buffer
	total uint64
}

// find returns the index of the first live buffer whose base is above ptr.
func (b *buffers) find(ptr uint32) int {
	low, high := 0, len(b.live)
	for low < high {
		mid := int(uint(low+high) / 2)
		if b.live[mid].base > ptr {
			high = mid
		} else {
			low = mid + 1
		}
	}
	return low
}

func (b *buffers) alloc(n uint32) uint32 {
	if n == 0 || uint64(n)+b.total > maxTotalBytes || len(b.live) == maxBuffers {
		return 0
	}
	words := make([]uint64, (uint64(n)+7)/8)
	base := uint32(uintptr(unsafe.Pointer(unsafe.SliceData(words))))
	at := b.find(base)
	b.live = append(b.live, buffer{})
	copy(b.live[at+1:], b.live[at:])
	b.live[at] = buffer{base, n, words}
	b.total += uint64(n)
	return base
}

func (b *buffers) free(ptr uint32) {
	at := b.find(ptr) - 1
	if at < 0 || b.live[at].base != ptr {
		return
	}
	b.total -= uint64(b.live[at].size)
	copy(b.live[at:], b.live[at+1:])
	b.live[len(b.live)-1] = buffer{} // so that the collector sees it go
	b.live = b.live[:len(b.live)-1]
}

// bytes returns the n bytes at ptr if one live buffer holds them all. Nothing
// is inside any memory, so n = 0 is right wherever ptr points.
func (b *buffers) bytes(ptr uint32, n uint64) ([]byte, bool) {
	if n == 0 {
		return nil, true
	}
	at := b.find(ptr) - 1
	if at < 0 {
		return nil, false
	}
	found := &b.live[at]
	from := uint64(ptr - found.base)
	if from+n > uint64(found.size) {
		return nil, false
	}
	all := unsafe.Slice((*byte)(unsafe.Pointer(unsafe.SliceData(found.words))), found.size)
	return all[from : from+n : from+n], true
}

// floats is bytes for float64 values, which must lie on a multiple of 8.
func (b *buffers) floats(ptr uint32, n uint64) ([]float64, bool) {
	if n == 0 {
		return nil, true
	}
	raw, ok := b.bytes(ptr, n)
	if !ok || ptr%8 != 0 || n%8 != 0 {
		return nil, false
	}
	return unsafe.Slice((*float64)(unsafe.Pointer(unsafe.SliceData(raw))), n/8), true
}

// pack gives a text's place as the exports do: pointer in the upper half,
// length in the lower.
func pack(text []byte) uint64 {
	return uint64(uintptr(unsafe.Pointer(unsafe.SliceData(text))))<<32 | uint64(len(text))
}
