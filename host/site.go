package main

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"

	"spareamps/host/runner"
)

// A site is the built page in a folder.
type site struct {
	dir     string
	Version string `json:"version"`
	Policy  string `json:"policy"` // Content-Security-Policy
}

// site builds the page unless it stands in the cache for these sources.
func (p *program) site() (*site, error) {
	module, sum, err := runner.Module(p.ctx, "")
	if err != nil {
		return nil, err
	}
	web, err := webFolder()
	if err != nil {
		return nil, err
	}
	key, err := pageKey(web, sum)
	if err != nil {
		return nil, err
	}
	cache := runner.CacheDir()
	if cache == "" {
		return nil, errors.New("no folder to keep the built page in: set XDG_CACHE_HOME")
	}
	dir := filepath.Join(cache, "page-"+key[:32])
	if s, err := readSite(dir); err == nil {
		return s, nil
	}
	if err := p.buildSite(web, module, cache, dir); err != nil {
		return nil, err
	}
	return readSite(dir)
}

func readSite(dir string) (*site, error) {
	text, err := os.ReadFile(filepath.Join(dir, "site.json"))
	if err != nil {
		return nil, err
	}
	s := &site{dir: dir}
	return s, json.Unmarshal(text, s)
}

// webFolder is the folder web of the source tree.
func webFolder() (string, error) {
	root, err := runner.SourceTree()
	if err != nil {
		return "", &runner.HintError{Err: err, Hint: "run this inside the source tree of spareamps"}
	}
	return filepath.Join(root, "web"), nil
}

// pageKey hashes what the page is made of.
func pageKey(web, moduleSum string) (string, error) {
	sum := sha256.New()
	fmt.Fprintln(sum, moduleSum)
	add := func(name string) error {
		text, err := os.ReadFile(name)
		fmt.Fprintf(sum, "%s %d\n", filepath.Base(name), len(text))
		sum.Write(text)
		return err
	}
	for _, name := range []string{"package-lock.json", "build.mjs", "index.html", "tsconfig.json", "../wasm/spareamps.mjs"} {
		if err := add(filepath.Join(web, filepath.FromSlash(name))); err != nil {
			return "", err
		}
	}
	for _, folder := range []string{"src", "static"} {
		err := filepath.WalkDir(filepath.Join(web, folder), func(name string, entry fs.DirEntry, err error) error {
			if err != nil || entry.IsDir() {
				return err
			}
			return add(name)
		})
		if err != nil {
			return "", err
		}
	}
	return hex.EncodeToString(sum.Sum(nil)), nil
}

// buildSite builds the page into dir, whole or not at all.
func (p *program) buildSite(web string, module []byte, cache, dir string) error {
	node, npm, err := nodeTools(p.ctx)
	if err != nil {
		return err
	}
	work, err := os.MkdirTemp(cache, "page-building-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(work)
	file := filepath.Join(work, "spareamps.wasm")
	if err := os.WriteFile(file, module, 0o644); err != nil {
		return err
	}
	if !installed(web) {
		p.note("installing what the page is built with")
		if err := p.tool(web, npm, "ci", "--no-audit", "--no-fund", "--ignore-scripts"); err != nil {
			return &runner.HintError{Err: err, Hint: "npm reaches its registry once; from then on nothing is fetched"}
		}
	}
	p.note("building the page")
	out := filepath.Join(work, "site")
	if err := p.tool(web, node, "build.mjs", "--module", file, "--out", out); err != nil {
		return err
	}
	if err := os.RemoveAll(dir); err != nil {
		return err
	}
	if err := os.Rename(out, dir); err != nil {
		return err
	}
	dropOldSites(cache, dir)
	return nil
}

// keptSites are how many built pages stay in the cache.
const keptSites = 4

func dropOldSites(cache, newest string) {
	dirs, _ := filepath.Glob(filepath.Join(cache, "page-*"))
	for len(dirs) > keptSites {
		oldest, at := -1, int64(0)
		for i, d := range dirs {
			info, err := os.Stat(d)
			if err == nil && d != newest && !strings.Contains(d, "building") && (oldest < 0 || info.ModTime().UnixNano() < at) {
				oldest, at = i, info.ModTime().UnixNano()
			}
		}
		if oldest < 0 {
			return
		}
		os.RemoveAll(dirs[oldest])
		dirs = append(dirs[:oldest], dirs[oldest+1:]...)
	}
}

// installed says whether node_modules is that of the lock file.
func installed(web string) bool {
	lock, err := os.ReadFile(filepath.Join(web, "package-lock.json"))
	if err != nil {
		return false
	}
	var want, have struct {
		Packages map[string]struct {
			Version  string `json:"version"`
			Optional bool   `json:"optional"`
		} `json:"packages"`
	}
	text, err := os.ReadFile(filepath.Join(web, "node_modules", ".package-lock.json"))
	if err != nil || json.Unmarshal(lock, &want) != nil || json.Unmarshal(text, &have) != nil {
		return false
	}
	for name, w := range want.Packages {
		if h, ok := have.Packages[name]; name != "" && !w.Optional && (!ok || h.Version != w.Version) {
			return false
		}
	}
	return true
}

// nodeTools finds node, new enough, and npm.
func nodeTools(ctx context.Context) (node, npm string, err error) {
	missing := func(what string) error {
		return &runner.HintError{
			Err:  fmt.Errorf("building the page needs %s", what),
			Hint: "install Node 20 or newer with npm; the answers themselves need neither: `spareamps ceiling`",
		}
	}
	node, err = exec.LookPath("node")
	if err != nil {
		return "", "", missing("node, and there is none")
	}
	out, err := exec.CommandContext(ctx, node, "--version").Output()
	version := strings.TrimSpace(string(out))
	major, _, _ := strings.Cut(strings.TrimPrefix(version, "v"), ".")
	if n, bad := strconv.Atoi(major); err != nil || bad != nil || n < 20 {
		return "", "", missing("node 20 or newer, and this is " + version)
	}
	npm, err = exec.LookPath("npm")
	if err != nil {
		return "", "", missing("npm, and there is none")
	}
	return node, npm, nil
}

// tool runs a command in a folder; its words are told when it fails.
func (p *program) tool(dir, name string, args ...string) error {
	c := exec.CommandContext(p.ctx, name, args...)
	c.Dir = dir
	out, err := c.CombinedOutput()
	if p.ctx.Err() != nil {
		return p.ctx.Err()
	}
	if err != nil {
		return fmt.Errorf("%s %s: %w\n%s", filepath.Base(name), args[0], err, strings.TrimSpace(string(out)))
	}
	return nil
}

// types are those of the site's files; the system's own table may lack some.
var types = map[string]string{
	".html":        "text/html; charset=utf-8",
	".js":          "text/javascript; charset=utf-8",
	".css":         "text/css; charset=utf-8",
	".wasm":        "application/wasm",
	".svg":         "image/svg+xml",
	".png":         "image/png",
	".webmanifest": "application/manifest+json",
}

// withHash are names that change with what is in the file.
var withHash = regexp.MustCompile(`-[0-9a-f]{10}\.[a-z]+$`)

// headers are those of every answer, by name and value.
func (s *site) headers() [][2]string {
	return [][2]string{
		{"Content-Security-Policy", s.Policy + "; frame-ancestors 'none'"},
		{"X-Content-Type-Options", "nosniff"},
		{"Referrer-Policy", "no-referrer"},
		{"Cross-Origin-Opener-Policy", "same-origin"},
		{"Cross-Origin-Resource-Policy", "same-origin"},
		{"Permissions-Policy", "camera=(), microphone=(), geolocation=(), usb=(), serial=()"},
	}
}

// caching is the Cache-Control of a file.
func caching(name string) string {
	if withHash.MatchString(name) {
		return "public, max-age=31536000, immutable"
	}
	return "no-cache"
}

// handler serves the site: nothing but its own files, none of them listed.
func (s *site) handler() http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		for _, one := range s.headers() {
			h.Set(one[0], one[1])
		}
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			h.Set("Allow", "GET, HEAD")
			http.Error(w, "only reading", http.StatusMethodNotAllowed)
			return
		}
		name := strings.TrimPrefix(path.Clean("/"+r.URL.Path), "/")
		if name == "" {
			name = "index.html"
		}
		kind, ours := types[path.Ext(name)]
		file := filepath.Join(s.dir, filepath.FromSlash(name))
		if info, err := os.Stat(file); !ours || strings.Contains(name, "/") || err != nil || !info.Mode().IsRegular() {
			http.Error(w, "there is no such file", http.StatusNotFound)
			return
		}
		h.Set("Content-Type", kind)
		h.Set("Cache-Control", caching(name))
		h.Set("Vary", "Accept-Encoding")
		for _, c := range [...]struct{ coding, ending string }{{"br", ".br"}, {"gzip", ".gz"}} {
			if !accepts(r.Header.Get("Accept-Encoding"), c.coding) {
				continue
			}
			if _, err := os.Stat(file + c.ending); err == nil {
				h.Set("Content-Encoding", c.coding)
				file += c.ending
				break
			}
		}
		f, err := os.Open(file)
		if err != nil {
			http.Error(w, "cannot read it", http.StatusInternalServerError)
			return
		}
		defer f.Close()
		info, err := f.Stat()
		if err != nil {
			http.Error(w, "cannot read it", http.StatusInternalServerError)
			return
		}
		sum := sha256.Sum256([]byte(s.Version + file))
		h.Set("ETag", `"`+hex.EncodeToString(sum[:8])+`"`)
		http.ServeContent(w, r, name, info.ModTime(), f)
	})
}

// accepts says whether a coding is in an Accept-Encoding.
func accepts(header, coding string) bool {
	for _, one := range strings.Split(header, ",") {
		name, q, _ := strings.Cut(strings.TrimSpace(one), ";")
		if strings.TrimSpace(name) == coding {
			q = strings.ReplaceAll(q, " ", "")
			return q == "" || strings.Trim(strings.TrimPrefix(q, "q="), "0.") != ""
		}
	}
	return false
}
