//go:build !linux

package runner

// room returns n bytes of zeros.
func room(n int) []byte { return make([]byte, n) }

// RoomyHeap is of use on Linux alone.
func RoomyHeap() {}
