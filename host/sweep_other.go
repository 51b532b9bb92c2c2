//go:build !unix

package main

import "os"

func quietSignals() {}

func lockFile(*os.File) error { return nil }
