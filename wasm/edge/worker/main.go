//go:build js && wasm

// Command worker is the service at the edge, run by worker.mjs in its folder.
package main

import (
	"runtime/debug"

	"github.com/syumai/workers"

	"spareamps/wasm/edge/service"
)

func main() {
	// An isolate has 128 MiB; half of them is far more than a request takes.
	debug.SetMemoryLimit(64 << 20)
	s := service.New(service.Options{AllowOrigin: "*"})
	h := faulty(s)
	atOnce(h, s.MaxBody)
	// The library's own way in, which its generated glue takes. It ends main
	// after the first answer, so our glue leaves it alone.
	workers.Serve(h)
}
