// Package runner runs the WebAssembly module in wazero.
//
// Module gives the module's bytes: from a file, or built from the source tree
// at first need and kept in the user's cache directory under a key made of the
// sources and the Go version. New compiles them once (machine code is kept on
// disk as well) and hands every call to an instance of its own, so a Runner is
// safe for concurrent use.
//
// Engine is the small interface that a Runner shares with Native, the core
// linked in: a program chooses one and need not care which.
//
// A call is not interrupted: wazero's way to do so makes every call several
// times slower. Block therefore works in chunks of some tens of milliseconds
// and looks at its context between them.
package runner
