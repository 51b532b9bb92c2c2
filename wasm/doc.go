// Command wasm is the module: package core behind a small binary interface,
// for anything that runs WebAssembly with WASI preview 1.
//
// Build it with
//
//	go run ./wasm/build -o spareamps.wasm
//
// ABI.md describes every export. The exports exist only in the wasip1 build;
// on other systems this package is empty, so that the whole tree can be vetted
// and tested without a cross build.
package main

// main is never called: a reactor is started by _initialize and then only
// answers calls.
func main() {}
