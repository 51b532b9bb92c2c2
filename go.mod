module spareamps

go 1.26.0

toolchain go1.26.8

require (
	github.com/google/go-cmp v0.7.0 // indirect
	github.com/tetratelabs/wazero v1.12.0 // indirect
	golang.org/x/sys v0.44.0 // indirect
	pgregory.net/rapid v1.3.0 // indirect
)
