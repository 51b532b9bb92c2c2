//go:build js && wasm && !fault

package main

import "net/http"

// faulty adds nothing but in builds for tests.
func faulty(next http.Handler) http.Handler { return next }
