package main

import (
	"context"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// builtSite is a site as build.mjs leaves it, in small.
func builtSite(t *testing.T) *site {
	t.Helper()
	dir := t.TempDir()
	for name, text := range map[string]string{
		"index.html":                   "<!doctype html>",
		"index.html.gz":                "gzip of it",
		"index.html.br":                "brotli of it",
		"page-0123456789.js":           "script",
		"spareamps-abcdef0123.wasm":    "\x00asm",
		"spareamps-abcdef0123.wasm.br": "brotli",
		"style-0011223344.css":         "style",
		"app.webmanifest":              "{}",
		"sw.js":                        "worker",
		"site.json":                    `{"version":"v1","policy":"default-src 'none'"}`,
		"notes.txt":                    "not ours to serve",
		"icon-192.png":                 "png",
	} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	s, err := readSite(dir)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestServedFiles(t *testing.T) {
	server := httptest.NewServer(builtSite(t).handler())
	defer server.Close()
	get := func(method, path, coding string) *http.Response {
		t.Helper()
		r, err := http.NewRequest(method, server.URL+path, nil)
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Accept-Encoding", coding)
		answer, err := http.DefaultTransport.RoundTrip(r)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { answer.Body.Close() })
		return answer
	}
	const forEver = "public, max-age=31536000, immutable"
	for _, c := range []struct {
		method, path, coding       string
		status                     int
		kind, caching, coded, body string
	}{
		{"GET", "/", "", 200, "text/html; charset=utf-8", "no-cache", "", "<!doctype html>"},
		{"GET", "/", "gzip, deflate, br", 200, "text/html; charset=utf-8", "no-cache", "br", "brotli of it"},
		{"GET", "/", "gzip;q=0.5, br;q=0", 200, "text/html; charset=utf-8", "no-cache", "gzip", "gzip of it"},
		{"GET", "/?utm=1", "", 200, "text/html; charset=utf-8", "no-cache", "", "<!doctype html>"},
		{"GET", "/page-0123456789.js", "", 200, "text/javascript; charset=utf-8", forEver, "", "script"},
		{"GET", "/spareamps-abcdef0123.wasm", "br", 200, "application/wasm", forEver, "br", "brotli"},
		{"GET", "/app.webmanifest", "", 200, "application/manifest+json", "no-cache", "", "{}"},
		{"GET", "/sw.js", "", 200, "text/javascript; charset=utf-8", "no-cache", "", "worker"},
		{"HEAD", "/sw.js", "", 200, "text/javascript; charset=utf-8", "no-cache", "", ""},
		{"GET", "/notes.txt", "", 404, "", "", "", ""},
		{"GET", "/index.html.br", "", 404, "", "", "", ""},
		{"GET", "/site.json", "", 404, "", "", "", ""},
		{"GET", "/../../etc/passwd", "", 404, "", "", "", ""},
		{"GET", "/..%2f..%2fetc%2fpasswd", "", 404, "", "", "", ""},
		{"GET", "/nowhere.js", "", 404, "", "", "", ""},
		{"POST", "/", "", 405, "", "", "", ""},
	} {
		r := get(c.method, c.path, c.coding)
		name := c.method + " " + c.path + " " + c.coding
		if r.StatusCode != c.status {
			t.Errorf("%s: status %d, want %d", name, r.StatusCode, c.status)
			continue
		}
		for header, part := range map[string]string{
			"Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'", "X-Content-Type-Options": "nosniff", "Referrer-Policy": "no-referrer",
		} {
			if got := r.Header.Get(header); got != part {
				t.Errorf("%s: %s is %q, want %q", name, header, got, part)
			}
		}
		if c.status != 200 {
			continue
		}
		for header, want := range map[string]string{"Content-Type": c.kind, "Cache-Control": c.caching, "Content-Encoding": c.coded} {
			if got := r.Header.Get(header); got != want {
				t.Errorf("%s: %s is %q, want %q", name, header, got, want)
			}
		}
		body, err := io.ReadAll(r.Body)
		if err != nil || string(body) != c.body {
			t.Errorf("%s: body %q (%v), want %q", name, body, err, c.body)
		}
	}
}

func TestExportedFiles(t *testing.T) {
	s := builtSite(t)
	p := &program{streams: streams{out: io.Discard, err: io.Discard}, ctx: context.Background()}
	dir := filepath.Join(t.TempDir(), "some", "where")
	names := func() string {
		t.Helper()
		entries, err := os.ReadDir(dir)
		if err != nil {
			t.Fatal(err)
		}
		var list []string
		for _, e := range entries {
			list = append(list, e.Name())
		}
		return strings.Join(list, " ")
	}
	if err := p.export(s, dir, false); err != nil {
		t.Fatal(err)
	}
	const want = "_headers app.webmanifest icon-192.png index.html notes.txt page-0123456789.js site.json spareamps-abcdef0123.wasm style-0011223344.css sw.js"
	if got := names(); got != want {
		t.Errorf("exported %s, want %s", got, want)
	}
	// A later export takes the place of an earlier one and leaves other files.
	for _, name := range []string{"page-9999999999.js", "page-9999999999.js.br", "robots.txt"} {
		if err := os.WriteFile(filepath.Join(dir, name), nil, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if err := p.export(s, dir, true); err != nil {
		t.Fatal(err)
	}
	got := names()
	if strings.Contains(got, "9999999999") || !strings.Contains(got, "robots.txt") || !strings.Contains(got, "index.html.br") {
		t.Errorf("after a second export: %s", got)
	}
	// Somebody's folder is not written to.
	other := t.TempDir()
	if err := os.WriteFile(filepath.Join(other, "letters.txt"), nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if err := p.export(s, other, false); err == nil || !strings.Contains(err.Error(), "holds other things") {
		t.Errorf("export into a folder of others: %v", err)
	}
}

func TestMissingNodeIsSaidClearly(t *testing.T) {
	t.Setenv("PATH", t.TempDir())
	_, _, err := nodeTools(context.Background())
	if err == nil || err.Error() != "building the page needs node, and there is none" {
		t.Errorf("without node: %v", err)
	}
}
