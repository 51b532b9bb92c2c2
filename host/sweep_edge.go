package main

import (
	"context"
	"net/url"
	"strings"

	"spareamps/core"
	"spareamps/wasm/edge/client"
)

// edgeSweep sends blocks to services at the edge.
type edgeSweep struct {
	client *client.Client
	calls  int
}

// edgeCalls are the calls at a time to one service unless --jobs says another.
const edgeCalls = 4

func newEdgeSweep(urls []string, jobs int) (*edgeSweep, error) {
	if jobs == 0 {
		jobs = edgeCalls * len(urls)
	}
	c, err := client.New(urls, client.Options{Concurrency: jobs, Version: core.Version})
	if err != nil {
		return nil, err
	}
	return &edgeSweep{c, jobs}, nil
}

// edgeURLs checks --edge.
func edgeURLs(list []string) error {
	for _, text := range list {
		u, err := url.Parse(text)
		if err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Host == "" {
			return &usageError{"--edge is " + text + ", allowed is a URL such as http://localhost:8787", ""}
		}
	}
	return nil
}

func (e *edgeSweep) worker() sweepWorker { return e }

func (e *edgeSweep) jobs(int) int { return e.calls }

func (e *edgeSweep) close() {}

func (e *edgeSweep) batch(dear bool) int {
	if dear {
		return 64
	}
	return 8192
}

// provenance is ours: the client takes answers of no other version.
func (e *edgeSweep) provenance(context.Context) (provenance, error) {
	return ours(core.Version, "edge", core.ABIMajor, core.ABIMinor), nil
}

func (e *edgeSweep) block(ctx context.Context, _ int32, v *sweepVariant, names []byte, in, out []float64, _ int) error {
	ins, outs, _ := strings.Cut("\n"+string(names), "\n\n")
	h := client.Header{Request: v.request, Inputs: strings.Fields(ins), Outputs: strings.Fields(outs)}
	got, err := e.client.Block(ctx, h, in)
	if err != nil {
		return err
	}
	if len(h.Inputs) > 0 {
		copy(out, got)
		return nil
	}
	n := len(out) / (len(h.Outputs) + 1) // rows that are all the same
	for i := range out {
		out[i] = got[i/n]
	}
	return nil
}
