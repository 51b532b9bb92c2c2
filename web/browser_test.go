package web

import (
	"bufio"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"

	"spareamps/host/runner"
)

// tools finds what the page is built and tested with. Where something is
// missing the test is skipped with a line that says what to install, or fails
// where SPAREAMPS_REQUIRE names chromium.
func tools(t *testing.T) (node, npm, chromium string) {
	t.Helper()
	missing := without(t, "chromium")
	find := func(advice string, names ...string) string {
		for _, name := range names {
			if tool, err := exec.LookPath(name); name != "" && err == nil {
				return tool
			}
		}
		missing(advice)
		return ""
	}
	node = find("install Node 20 or newer", "node")
	npm = find("install npm", "npm")
	chromium = find("install chromium, or name one in CHROMIUM", os.Getenv("CHROMIUM"), "chromium", "chromium-browser", "google-chrome")
	return node, npm, chromium
}

// TestPage type-checks the page and runs test/*.test.mjs against the built
// program in a browser.
func TestPage(t *testing.T) {
	node, npm, chromium := tools(t)
	ctx := context.Background()
	if _, err := os.Stat("node_modules/playwright-core"); err != nil {
		run(t, nil, npm, "ci", "--no-audit", "--no-fund", "--ignore-scripts")
	}
	t.Run("types", func(t *testing.T) { run(t, nil, npm, "run", "--silent", "check") })

	work := t.TempDir()
	program := filepath.Join(work, "spareamps")
	run(t, nil, "go", "build", "-o", program, "../host")
	module, _, err := runner.Module(ctx, "")
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(work, "spareamps.wasm")
	if err := os.WriteFile(file, module, 0o600); err != nil {
		t.Fatal(err)
	}
	// Built once; the page's tests find it in the cache.
	run(t, nil, program, "export", filepath.Join(work, "site"))

	env := []string{"SPAREAMPS_PROGRAM=" + program, "SPAREAMPS_MODULE=" + file, "CHROMIUM=" + chromium}
	files, err := filepath.Glob("test/*.test.mjs")
	if err != nil || len(files) == 0 {
		t.Fatalf("no tests of the page: %v", err)
	}
	screen := func(t *testing.T, what string) {
		if what == "audit" {
			audits(t)
		}
		out := run(t, env, node, "--test", "--test-reporter=tap", "--test-concurrency=1", "test/"+what+".test.mjs")
		lines := bufio.NewScanner(strings.NewReader(out))
		for lines.Scan() {
			// What was measured stands in a log of -v.
			if text, ok := strings.CutPrefix(strings.TrimSpace(lines.Text()), "# "); ok && regexp.MustCompile(`\d (kB|ms)|budget`).MatchString(text) {
				t.Log(text)
			}
		}
		if !regexp.MustCompile(`(?m)^# pass [1-9]`).MatchString(out) || regexp.MustCompile(`(?m)^# skipped [1-9]`).MatchString(out) {
			t.Errorf("not all tests ran:\n%s", out)
		}
	}
	t.Run("screens", func(t *testing.T) {
		// Times are taken alone; the rest runs side by side, the longest
		// first, so that none runs on alone at the end.
		order := []string{"speed", "audit", "day", "access", "measure", "hostile", "offline"}
		const timed = 2
		for _, name := range files {
			if what := strings.TrimSuffix(filepath.Base(name), ".test.mjs"); !slices.Contains(order, what) {
				order = append(order, what)
			}
		}
		for _, what := range order[:timed] {
			t.Run(what, func(t *testing.T) { screen(t, what) })
		}
		queue := make(chan string)
		var beside sync.WaitGroup
		for range runtime.GOMAXPROCS(0) {
			beside.Go(func() {
				for what := range queue {
					t.Run(what, func(t *testing.T) { screen(t, what) })
				}
			})
		}
		for _, what := range order[timed:] {
			queue <- what
		}
		close(queue)
		beside.Wait()
	})

	// Pictures to look at, where they are asked for.
	if dir := os.Getenv("SPAREAMPS_PICTURES"); dir != "" {
		run(t, env, node, "test/look.mjs", "serve", dir)
	}
}

// audits finds Lighthouse, as tools does.
func audits(t *testing.T) {
	t.Helper()
	if _, err := os.Stat("test/node_modules/lighthouse"); err != nil {
		without(t, "lighthouse")("npm install --prefix web/test, for Lighthouse")
	}
}

// without is what becomes of a test where a tool is missing.
func without(t *testing.T, tool string) func(...any) {
	if strings.Contains(os.Getenv("SPAREAMPS_REQUIRE"), tool) {
		return t.Fatal
	}
	return t.Skip
}

// run runs a command that must succeed and returns what it printed.
func run(t *testing.T, env []string, words ...string) string {
	t.Helper()
	command := exec.Command(words[0], words[1:]...)
	command.Env = append(os.Environ(), env...)
	var talk strings.Builder
	command.Stderr = &talk
	out, err := command.Output()
	if err != nil {
		t.Fatalf("%v: %v\n%s%s", command, err, out, talk.String())
	}
	return string(out)
}
