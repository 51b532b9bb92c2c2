package main

import (
	"bufio"
	"bytes"
	"context"
	"io"
	"net/http"
	"strings"
	"testing"

	"spareamps/core"
)

// served runs `serve --api` until the test ends and returns its address.
func served(t *testing.T) string {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	out, theirs := io.Pipe()
	ended := make(chan int)
	go func() {
		code := run(ctx, []string{"serve", "--api", "--addr", "127.0.0.1:0", "--quiet"},
			streams{in: strings.NewReader(""), out: theirs, err: io.Discard, env: func(string) string { return "" }})
		theirs.Close()
		ended <- code
	}()
	t.Cleanup(func() {
		cancel()
		go io.Copy(io.Discard, out) //nolint:errcheck // what is left of it
		if code := <-ended; code != exitInterrupted {
			t.Errorf("serve ended with %d, want %d", code, exitInterrupted)
		}
	})
	url, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		t.Fatal(err)
	}
	return strings.TrimSpace(url)
}

func TestServeAPI(t *testing.T) {
	url := served(t)
	demo := core.DemoFit()
	for path, want := range map[string][]byte{"v1/ceiling": core.CeilingJSON(demo.JSON()), "v1/day": core.DayJSON(demo.JSON()), "v1/fit": core.FitJSON(demo.JSON())} {
		r, err := http.Post(url+path, "application/json", bytes.NewReader(demo.JSON()))
		if err != nil {
			t.Fatal(err)
		}
		got, _ := io.ReadAll(r.Body)
		r.Body.Close()
		if r.StatusCode != 200 || !bytes.Equal(got, want) {
			t.Errorf("%s: got %d %.200s, want %.200s", path, r.StatusCode, got, want)
		}
		if origin := r.Header.Get("Access-Control-Allow-Origin"); origin != "" {
			t.Errorf("%s: pages of %s may ask", path, origin)
		}
	}
	r, err := http.Get(url + "v1/schema")
	if err != nil {
		t.Fatal(err)
	}
	r.Body.Close()
	if r.StatusCode != 200 {
		t.Errorf("v1/schema: got %d", r.StatusCode)
	}
}

func TestServeAPIUsage(t *testing.T) {
	var complaint bytes.Buffer
	code := run(t.Context(), []string{"serve", "--api", "--open"},
		streams{in: strings.NewReader(""), out: io.Discard, err: &complaint, env: func(string) string { return "" }})
	if code != exitUsage || !strings.Contains(complaint.String(), "no page to open") {
		t.Errorf("got %d %s", code, complaint.String())
	}
}
