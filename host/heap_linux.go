package main

import (
	"runtime"
	"syscall"
	"unsafe"
)

// roomyHeap lets the heap grow into large pages: taking up the module's
// machine code fills some 20 MB of it at once, and where a machine is a guest
// each page touched first costs microseconds. A block is taken, advised and
// given back; what is allocated next lies in it. What the kernel makes of the
// advice changes nothing else.
func roomyHeap() {
	const room, page = 32 << 20, 4096
	block := make([]byte, room)
	ahead := -uintptr(unsafe.Pointer(unsafe.SliceData(block))) & (page - 1)
	_ = syscall.Madvise(block[ahead:], 14) // MADV_HUGEPAGE
	runtime.GC()
}
