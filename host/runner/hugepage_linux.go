package runner

import (
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"syscall"
	"time"
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

// roomyCode lets the machine code that is about to be taken up from a directory
// lie in large pages as well. wazero asks for a mapping of the code's size and
// reads the code into it, with no way to say a word in between: so mappings are
// watched until one of that size is there. What comes too late changes nothing.
// stop ends the watch.
func roomyCode(dir string) (stop func()) {
	size := uint64(0)
	_ = filepath.WalkDir(dir, func(_ string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		info, err := entry.Info()
		if err == nil {
			size = max(size, uint64(info.Size()))
		}
		return err
	})
	done := make(chan struct{})
	if size < 2*hugePage {
		return func() {}
	}
	go func() {
		tick := time.NewTicker(200 * time.Microsecond)
		defer tick.Stop()
		for {
			select {
			case <-done:
				return
			case <-tick.C:
			}
			maps, err := os.ReadFile("/proc/self/maps")
			if err != nil {
				return
			}
			for line := range strings.Lines(string(maps)) {
				if from, to := writable(line); to-from <= size && to-from > size-tableBytes {
					_, _, _ = syscall.Syscall(syscall.SYS_MADVISE, uintptr(from), uintptr(to-from), adviseBig)
					return
				}
			}
		}
	}()
	return func() { close(done) }
}

// writable reads a line of /proc/self/maps: where a private mapping of no file
// that may be written to lies; zeros for another.
func writable(line string) (from, to uint64) {
	fields := strings.Fields(line)
	if len(fields) != 5 || fields[1] != "rw-p" {
		return 0, 0
	}
	first, last, _ := strings.Cut(fields[0], "-")
	from, err := strconv.ParseUint(first, 16, 64)
	if err != nil {
		return 0, 0
	}
	if to, err = strconv.ParseUint(last, 16, 64); err != nil {
		return 0, 0
	}
	return from, to
}
