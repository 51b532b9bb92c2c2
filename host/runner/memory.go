package runner

import (
	"context"

	"github.com/tetratelabs/wazero/experimental"
)

// roomyBytes is what an instance of the module takes in ordinary use.
const roomyBytes = 8 << 20

// linear backs an instance's memory with room to grow. wazero by itself copies
// all of it at each of the many steps in which Go's runtime asks for more,
// which was a seventh of a start. Room that is not used stays untouched, and
// so takes no memory.
type linear struct{ bytes []byte }

func (l *linear) Reallocate(size uint64) []byte {
	if size > uint64(cap(l.bytes)) {
		roomy := room(int(max(size, roomyBytes, 2*uint64(cap(l.bytes)))))
		copy(roomy, l.bytes)
		l.bytes = roomy
	}
	l.bytes = l.bytes[:size]
	return l.bytes
}

func (l *linear) Free() { l.bytes = nil }

// withRoom has instances made under the context use linear.
func withRoom(ctx context.Context) context.Context {
	return experimental.WithMemoryAllocator(ctx, experimental.MemoryAllocatorFunc(
		func(_, _ uint64) experimental.LinearMemory { return new(linear) }))
}
