package runner

import (
	"runtime"
	"syscall"
	"unsafe"
)

// Where a machine is a guest, each page that is touched first costs some ten
// microseconds, and a start touches thousands. Large pages are 2 MB of them at
// once. What the kernel makes of the advice changes nothing else.
const (
	hugePage  = 2 << 20
	adviseBig = 14 // MADV_HUGEPAGE
)

// room returns n bytes of zeros in few large pages.
func room(n int) []byte {
	b := make([]byte, n+hugePage)
	ahead := int(-uintptr(unsafe.Pointer(unsafe.SliceData(b))) & (hugePage - 1))
	b = b[ahead : ahead+n : ahead+n]
	if whole := n &^ (hugePage - 1); whole > 0 {
		_ = syscall.Madvise(b[:whole], adviseBig)
	}
	return b
}

// RoomyHeap lets the heap of a program that is about to start a Runner grow into
// large pages too: taking up the module's machine code fills some 20 MB of it at
// once. A block is taken and given back; what is allocated next lies in it.
func RoomyHeap() {
	room(30 << 20)
	runtime.GC()
}
