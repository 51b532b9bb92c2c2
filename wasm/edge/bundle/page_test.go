//go:build unix

package bundle

import (
	"bufio"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"

	"spareamps/wasm/edge/service"
)

// A page beside the service comes with the headers its _headers asks for, at
// the root without a redirection; whatever it has no file for is the service's.
func TestPageBesideTheService(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "edge")
	if err := os.CopyFS(dir, os.DirFS(built(t))); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{
		"index.html":         "<!doctype html><title>page</title>",
		"page-0123456789.js": "export {};",
		"_headers": "/*\n  Content-Security-Policy: default-src 'none'\n/\n  Cache-Control: no-cache\n" +
			"/index.html\n  Cache-Control: no-cache\n/page-0123456789.js\n  Cache-Control: public, max-age=31536000, immutable\n",
	} {
		if err := os.WriteFile(filepath.Join(dir, Page, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	url := develop(t, dir)
	stay := *browser
	stay.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	for _, c := range []struct {
		method, path          string
		status                int
		kind, caching, policy string
	}{
		{"GET", "/", 200, "text/html; charset=utf-8", "no-cache", "default-src 'none'"},
		{"HEAD", "/", 200, "text/html; charset=utf-8", "no-cache", "default-src 'none'"},
		{"GET", "/?utm=1", 200, "text/html; charset=utf-8", "no-cache", "default-src 'none'"},
		{"GET", "/index.html", 200, "text/html; charset=utf-8", "no-cache", "default-src 'none'"},
		{"GET", "/page-0123456789.js", 200, "text/javascript; charset=utf-8", "public, max-age=31536000, immutable", "default-src 'none'"},
		{"GET", "/_headers", 404, service.ProblemType, "no-store", ""},
		{"GET", "/nowhere", 404, service.ProblemType, "no-store", ""},
		{"POST", "/", 404, service.ProblemType, "no-store", ""},
		{"GET", "/healthz", 200, "application/json", "no-store", ""},
		{"GET", "/v1/about", 200, "application/json", "public, max-age=3600", ""},
	} {
		q, err := http.NewRequest(c.method, url+c.path, nil)
		if err != nil {
			t.Fatal(err)
		}
		r, err := stay.Do(q)
		if err != nil {
			t.Fatal(err)
		}
		r.Body.Close()
		kind, caching, policy := r.Header.Get("Content-Type"), r.Header.Get("Cache-Control"), r.Header.Get("Content-Security-Policy")
		if r.StatusCode != c.status || kind != c.kind || caching != c.caching || policy != c.policy {
			t.Errorf("%s %s: got %d %q %q %q, want %d %q %q %q", c.method, c.path, r.StatusCode, kind, caching, policy, c.status, c.kind, c.caching, c.policy)
		}
	}
	r, text, err := ask("POST", url+"/v1/ceiling", "application/json", demo())
	if err != nil || r.StatusCode != 200 {
		t.Errorf("got %v %s", err, text)
	}
}

// develop runs a bundle as wrangler does on one's own machine, with the
// platform's own routing of files, and returns its address.
func develop(t *testing.T, dir string) string {
	t.Helper()
	c := wrangler(t, dir, "dev", "--ip", "127.0.0.1", "--port", "0", "--inspector-port", "0")
	c.SysProcAttr = &syscall.SysProcAttr{Setpgid: true} // it starts others
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	c.Stderr = c.Stdout
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = syscall.Kill(-c.Process.Pid, syscall.SIGKILL)
		_ = c.Wait()
	})
	ready := regexp.MustCompile(`Ready on (http://[0-9.]+:[0-9]+)`)
	found := make(chan string, 1)
	var said strings.Builder
	go func() {
		defer close(found)
		for lines := bufio.NewScanner(out); lines.Scan(); {
			if m := ready.FindStringSubmatch(lines.Text()); m != nil {
				found <- m[1]
				_, _ = io.Copy(io.Discard, out)
				return
			}
			said.WriteString(lines.Text() + "\n")
		}
	}()
	select {
	case url, ok := <-found:
		if !ok {
			t.Fatalf("wrangler dev ended: %s", said.String())
		}
		return url
	case <-time.After(time.Minute):
		t.Fatal("wrangler dev was not ready within a minute")
	}
	return ""
}
