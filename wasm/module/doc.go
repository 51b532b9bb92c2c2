// Package module builds the module: package core as WebAssembly, byte for byte
// the same from the same sources and Go version, wherever they lie.
package module
