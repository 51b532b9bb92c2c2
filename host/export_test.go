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

// What a host of static files is told to send with each file is what serve
// sends.
func TestExportedHeaders(t *testing.T) {
	s := builtSite(t)
	p := &program{streams: streams{out: io.Discard, err: io.Discard}, ctx: context.Background()}
	dir := filepath.Join(t.TempDir(), "public")
	if err := p.export(s, dir, false); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join(dir, "_headers"))
	if err != nil {
		t.Fatal(err)
	}
	rules := map[string]http.Header{}
	var rule http.Header
	for line := range strings.Lines(string(text)) {
		line = strings.TrimSuffix(line, "\n")
		if name, value, ok := strings.Cut(strings.TrimPrefix(line, "  "), ": "); ok && strings.HasPrefix(line, "  ") {
			rule.Add(name, value)
			continue
		}
		rule = http.Header{}
		rules[line] = rule
	}
	checked := 0
	for _, path := range []string{"/", "/index.html", "/sw.js", "/page-0123456789.js", "/style-0011223344.css", "/spareamps-abcdef0123.wasm", "/app.webmanifest", "/icon-192.png"} {
		w := httptest.NewRecorder()
		s.handler().ServeHTTP(w, httptest.NewRequest("GET", path, nil))
		got := rules["/*"].Clone()
		for name, values := range rules[path] {
			got[name] = append(got[name], values...)
		}
		for name, want := range w.Header() {
			switch name {
			case "Content-Type", "Content-Length", "Etag", "Last-Modified", "Accept-Ranges", "Vary":
				continue // of the file, which the host sees itself
			}
			checked++
			if strings.Join(got[name], " and ") != want[0] {
				t.Errorf("%s: %s is %q in _headers, serve sends %q", path, name, got[name], want)
			}
		}
	}
	if checked != 8*7 {
		t.Errorf("compared %d headers, want %d:\n%s", checked, 8*7, text)
	}
	if strings.Contains(string(text), "notes.txt") || strings.Contains(string(text), "site.json") {
		t.Errorf("rules for what serve does not give:\n%s", text)
	}
}
