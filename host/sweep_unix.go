//go:build unix

package main

import (
	"os"
	"os/signal"
	"syscall"
)

// quietSignals makes a closed pipe and a full quota errors of the write.
func quietSignals() { signal.Ignore(syscall.SIGPIPE, syscall.SIGXFSZ) }

// lockFile keeps a second run out of a file; the system unlocks it when the
// process ends, however it ends.
func lockFile(f *os.File) error { return syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB) }
