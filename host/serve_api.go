package main

import (
	"net/http"
	"runtime"
	"time"

	"spareamps/wasm/edge/service"
)

// apiHandler is the service of the edge with bounds for one's own machine.
// Pages of other origins may not ask: whoever opened them did not mean to lend
// them this machine.
func apiHandler() http.Handler {
	return service.New(service.Options{
		Time:      30 * time.Second,
		BodyTime:  10 * time.Second,
		Computing: runtime.GOMAXPROCS(0),
	})
}

// serveAPI serves the service until interrupted; it needs nothing but this
// program.
func (p *program) serveAPI(addr string) error {
	return p.listen(apiHandler(), addr, func(url string) {
		p.note("POST a request to %sv1/ceiling; %sv1/openapi.json says what else there is; Ctrl-C stops it", url, url)
	})
}
