package runner

import (
	"cmp"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
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
// watched for one of that size, which the system may have joined to others. What
// comes too late changes nothing. stop ends the watch.
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
	if size < 2*hugePage {
		return func() {}
	}
	done := make(chan struct{})
	before := mappings()
	go func() {
		tick := time.NewTicker(200 * time.Microsecond)
		defer tick.Stop()
		for {
			select {
			case <-done:
				return
			case <-tick.C:
			}
			for _, m := range added(mappings(), before) {
				if n := m.to - m.from; n > size-tableBytes {
					_, _, _ = syscall.Syscall(syscall.SYS_MADVISE, uintptr(m.from), uintptr(n), adviseBig)
					before = append(before, m)
					slices.SortFunc(before, func(a, b mapping) int { return cmp.Compare(a.from, b.from) })
				}
			}
		}
	}()
	return sync.OnceFunc(func() { close(done) })
}

// A mapping is private, of no file, and may be written to.
type mapping struct{ from, to uint64 }

// mappings are those of this process, by address; none where the system does not
// tell.
func mappings() (list []mapping) {
	maps, _ := os.ReadFile("/proc/self/maps")
	for line := range strings.Lines(string(maps)) {
		if m := writable(line); m.to > m.from {
			list = append(list, m)
		}
	}
	return list
}

// added is what of mappings was not there before. The system joins a mapping to
// one beside it.
func added(now, before []mapping) (list []mapping) {
	for _, m := range now {
		for _, b := range before {
			if b.to <= m.from || b.from >= m.to {
				continue
			}
			if b.from > m.from {
				list = append(list, mapping{m.from, b.from})
			}
			m.from = min(b.to, m.to)
		}
		if m.to > m.from {
			list = append(list, m)
		}
	}
	return list
}

// writable reads a line of /proc/self/maps; the zero mapping is any other.
func writable(line string) (m mapping) {
	fields := strings.Fields(line)
	if len(fields) != 5 || fields[1] != "rw-p" {
		return mapping{}
	}
	first, last, _ := strings.Cut(fields[0], "-")
	from, err := strconv.ParseUint(first, 16, 64)
	if err != nil {
		return mapping{}
	}
	to, err := strconv.ParseUint(last, 16, 64)
	if err != nil {
		return mapping{}
	}
	return mapping{from, to}
}
