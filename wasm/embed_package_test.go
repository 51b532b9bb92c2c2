package main

import (
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"spareamps/core"
)

// The package is packed, installed from the tarball with no network, and used
// as a stranger would: its examples print what they say, its types hold.
func TestPackage(t *testing.T) {
	if testing.Short() {
		t.Skip("packs and installs: run without -short")
	}
	node := node(t)
	npm, err := exec.LookPath("npm")
	if err != nil {
		missing(t, "npm", "install npm")
	}
	var manifest struct {
		Version string
		Files   []string
	}
	text, err := os.ReadFile("package.json")
	if err == nil {
		err = json.Unmarshal(text, &manifest)
	}
	if err != nil || manifest.Version != core.Version {
		t.Fatalf("package.json: version %q, want %q: %v", manifest.Version, core.Version, err)
	}

	// Packed from a copy: the built module does not lie beside the sources.
	work := t.TempDir()
	stage, app := filepath.Join(work, "stage"), filepath.Join(work, "app")
	for _, dir := range []string{stage, app} {
		if err := os.Mkdir(dir, 0o700); err != nil {
			t.Fatal(err)
		}
	}
	place := func(to, from string) {
		text, err := os.ReadFile(from)
		if err == nil {
			err = os.WriteFile(to, text, 0o600)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, name := range append(manifest.Files, "package.json") {
		from := name
		if name == "spareamps.wasm" {
			from = moduleFile(t)
		}
		place(filepath.Join(stage, name), from)
	}
	env := []string{"npm_config_offline=true", "npm_config_update_notifier=false", "npm_config_audit=false", "npm_config_fund=false"}
	run(t, stage, env, npm, "pack", "--ignore-scripts", "--silent", "--pack-destination", work)
	if err := os.WriteFile(filepath.Join(app, "package.json"), []byte(`{"private":true}`), 0o600); err != nil {
		t.Fatal(err)
	}
	run(t, app, env, npm, "install", "--silent", "../spareamps-"+core.Version+".tgz")
	sources, err := filepath.Glob("testdata/package/*")
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range sources {
		place(filepath.Join(app, filepath.Base(file)), file)
	}

	for _, name := range []string{"one_instance.mjs", "pool.mjs"} {
		t.Run(name, func(t *testing.T) {
			text, err := os.ReadFile(filepath.Join(app, name))
			if err != nil {
				t.Fatal(err)
			}
			_, want, ok := strings.Cut(string(text), "\n// prints:\n// ")
			if want = strings.ReplaceAll(want, "\n// ", "\n"); !ok {
				t.Fatal("the example does not say what it prints")
			}
			if got := run(t, app, nil, node, name); got != want {
				t.Errorf("got\n%swant\n%s", got, want)
			}
		})
	}
	t.Run("promises", func(t *testing.T) {
		out := run(t, app, nil, node, "--test", "--test-timeout=120000", "--test-reporter=tap", "package.test.mjs")
		if !regexp.MustCompile(`(?m)^# pass [1-9]`).MatchString(out) {
			t.Errorf("no test ran:\n%s", out)
		}
	})
	t.Run("browser", func(t *testing.T) { inBrowser(t, app) })
	t.Run("types", func(t *testing.T) {
		tsc, err := filepath.Abs("../web/node_modules/.bin/tsc")
		if err == nil {
			_, err = os.Stat(tsc)
		}
		if err != nil {
			missing(t, "tsc", "run `npm ci` in web")
		}
		run(t, app, nil, tsc, "--noEmit", "--strict", "--noUncheckedIndexedAccess", "--target", "es2022", "--module", "nodenext", "--lib", "es2022,dom", "--types", "", "typed.mts")
	})
}

// browserPage uses the package in a page and in its workers, and tells what it
// got.
const browserPage = `<!doctype html><script type="module">
let told;
try {
	const { load } = await import("/node_modules/spareamps/spareamps.mjs");
	const { pool } = await import("/node_modules/spareamps/pool.mjs");
	const request = JSON.parse(REQUEST);
	const one = await load();
	const many = await pool(fetch("/node_modules/spareamps/spareamps.wasm"), { size: 2 });
	const both = await Promise.all([many.ceiling(request), many.ceiling(request)]);
	const refused = await many.ceiling({}).catch((e) => e.name + " " + e.code);
	const block = await many.block(request, { "moment.ambient_C": Array(600).fill(request.moment.ambient_C) }, ["ceiling.input_A"]);
	many.close();
	told = { text: one.ceilingText(JSON.stringify(request)), same: both.every((a) => JSON.stringify(a) === JSON.stringify(one.ceiling(request))),
		refused, rows: block["ceiling.input_A"].filter((a) => a === both[0].ceiling.input_A).length };
} catch (e) {
	told = { text: String(e.stack ?? e) };
}
await fetch("/told", { method: "POST", body: JSON.stringify(told) });
</script>`

func inBrowser(t *testing.T, app string) {
	chromium := os.Getenv("CHROMIUM")
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if tool, err := exec.LookPath(name); err == nil && chromium == "" {
			chromium = tool
		}
	}
	if chromium == "" {
		missing(t, "chromium", "install chromium, or name one in CHROMIUM")
	}
	type result struct {
		Text, Refused string
		Same          bool
		Rows          int
	}
	told := make(chan result, 1)
	mux := http.NewServeMux()
	mux.Handle("/node_modules/", http.FileServer(http.Dir(app)))
	mux.HandleFunc("/told", func(_ http.ResponseWriter, r *http.Request) {
		var it result
		_ = json.NewDecoder(r.Body).Decode(&it)
		told <- it
	})
	mux.HandleFunc("/{$}", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/html")
		_, _ = io.WriteString(w, strings.Replace(browserPage, "REQUEST", strconv.Quote(testRequest), 1))
	})
	server := httptest.NewServer(mux)
	defer server.Close()
	profile, err := os.MkdirTemp("", "spareamps-browser-") // the browser writes on while it ends
	if err != nil {
		t.Fatal(err)
	}
	defer os.RemoveAll(profile)
	browser := exec.Command(chromium, "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--user-data-dir="+profile, server.URL+"/")
	browser.Stdout, browser.Stderr = nil, nil
	if err := browser.Start(); err != nil {
		t.Fatal(err)
	}
	defer func() { _ = browser.Process.Kill(); _ = browser.Wait() }()
	select {
	case got := <-told:
		want := result{string(native("ceiling", testRequest)), "SpareampsError bad_input", true, 600}
		if got != want {
			t.Errorf("got %.600v\nwant %.300v", got, want)
		}
	case <-time.After(90 * time.Second):
		t.Error("the page told nothing in 90 s")
	}
}

// missing skips a test for want of a tool, or fails it where SPAREAMPS_REQUIRE
// says that the tool has to be there.
func missing(t testing.TB, tool, advice string) {
	t.Helper()
	if strings.Contains(os.Getenv("SPAREAMPS_REQUIRE"), tool) {
		t.Fatal(advice)
	}
	t.Skip(advice)
}
