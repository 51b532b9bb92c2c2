//go:build !linux

package runner

// room returns n bytes of zeros.
func room(n int) []byte { return make([]byte, n) }
