//go:build unix

package main

import (
	"bufio"
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"spareamps/core"
	"spareamps/wasm/edge/bundle"
	"spareamps/wasm/edge/client"
	"spareamps/wasm/edge/service"
)

// benchWorkerd starts the worker of the edge in workerd, and answers with the
// time that blocks take which its client sends, one after the other.
func benchWorkerd(b *testing.B, request []byte) (ask func(output string, in []float64, rows, repeat int) time.Duration, stop func()) {
	tool, err := exec.LookPath("workerd")
	if err != nil {
		// What npm calls workerd is a script that starts the real one.
		list, _ := filepath.Glob("../wasm/edge/node_modules/@cloudflare/workerd-*/bin/workerd")
		if len(list) == 0 {
			b.Log("without workerd: npm install --prefix wasm/edge, or put workerd on PATH")
			return nil, nil
		}
		if tool, err = filepath.Abs(list[0]); err != nil {
			b.Fatal(err)
		}
	}
	ctx := context.Background()
	dir := b.TempDir()
	if err := bundle.Write(ctx, "..", dir); err != nil {
		b.Fatal(err)
	}
	events, theirs, err := os.Pipe()
	if err != nil {
		b.Fatal(err)
	}
	cmd := exec.Command(tool, "serve", "spareamps.capnp", "--socket-addr=http=127.0.0.1:0", "--control-fd=3")
	cmd.Dir, cmd.ExtraFiles, cmd.Stderr = dir, []*os.File{theirs}, os.Stderr
	if err := cmd.Start(); err != nil {
		b.Fatal(err)
	}
	theirs.Close()
	stop = func() { _ = cmd.Process.Kill(); _ = cmd.Wait(); events.Close() }
	var port int
	for lines := bufio.NewScanner(events); port == 0 && lines.Scan(); {
		var e struct {
			Event, Socket string
			Port          int
		}
		if json.Unmarshal(lines.Bytes(), &e) == nil && e.Event == "listen" && e.Socket == "http" {
			port = e.Port
		}
	}
	if port == 0 {
		stop()
		b.Fatal("workerd did not start")
	}
	c, err := client.New([]string{"http://127.0.0.1:" + strconv.Itoa(port)}, client.Options{Concurrency: 1, Version: core.Version})
	if err != nil {
		b.Fatal(err)
	}
	ask = func(output string, in []float64, rows, repeat int) time.Duration {
		ins, _, _ := strings.Cut(string(benchNames(output)), "\n\n")
		h := client.Header{Request: request, Inputs: strings.Fields(ins), Outputs: []string{output}}
		start := time.Now()
		for range repeat {
			if _, err := c.Block(ctx, h, in); err != nil {
				b.Fatal(err)
			}
		}
		return time.Since(start)
	}
	return ask, stop
}

// benchFits says whether the service takes that many rows in one request.
func benchFits(output string, rows int) bool {
	return service.Points([]string{"moment.engine_rpm", "moment.ambient_C"}, []string{output}, rows) <= service.MaxPoints
}
