package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// node is the node command. Without one the test is skipped, or fails where
// SPAREAMPS_REQUIRE says that node has to be there.
func node(t testing.TB) string {
	t.Helper()
	const advice = "install Node 20 or newer"
	missing := t.Skip
	if strings.Contains(os.Getenv("SPAREAMPS_REQUIRE"), "node") {
		missing = t.Fatal
	}
	tool, err := exec.LookPath("node")
	if err != nil {
		missing(advice)
	}
	out, err := exec.Command(tool, "--version").Output()
	major, _, _ := strings.Cut(strings.TrimPrefix(string(out), "v"), ".")
	if n, _ := strconv.Atoi(major); err != nil || n < 20 {
		missing(advice)
	}
	return tool
}

// run runs a command that must succeed and returns what it printed.
func run(t testing.TB, dir string, env []string, words ...string) string {
	t.Helper()
	command := exec.Command(words[0], words[1:]...)
	command.Dir = dir
	command.Env = append(os.Environ(), env...)
	var talk strings.Builder
	command.Stderr = &talk
	out, err := command.Output()
	if err != nil {
		t.Fatalf("%v: %v\n%s%s", command, err, out, talk.String())
	}
	return string(out)
}

func TestBinding(t *testing.T) {
	out := run(t, "testdata", []string{"SPAREAMPS_MODULE=" + moduleFile(t), "SPAREAMPS_REQUEST=" + testRequest},
		node(t), "--test", "--test-reporter=tap", "binding.mjs")
	if !regexp.MustCompile(`(?m)^# pass [1-9]`).MatchString(out) {
		t.Errorf("no test ran:\n%s", out)
	}
}

// The programs of ABI.md's "embed from scratch" are run as they stand there.
func TestEmbedFromScratch(t *testing.T) {
	doc, err := os.ReadFile("ABI.md")
	if err != nil {
		t.Fatal(err)
	}
	want := string(native("ceiling", testRequest)) + "\n"
	for _, c := range []struct {
		fence, file string
		words       func(t *testing.T, file string) []string
	}{
		{"go", "embed.go", func(t *testing.T, file string) []string { return []string{"go", "run", file} }},
		{"js", "embed.mjs", func(t *testing.T, file string) []string { return []string{node(t), "--no-warnings", file} }},
	} {
		t.Run(c.fence, func(t *testing.T) {
			block := regexp.MustCompile("(?s)\n```"+c.fence+"\n(.*?)\n```\n").FindAllStringSubmatch(string(doc), -1)
			if len(block) != 1 {
				t.Fatalf("got %d blocks of %s in ABI.md, want 1", len(block), c.fence)
			}
			file := filepath.Join(t.TempDir(), c.file)
			if err := os.WriteFile(file, []byte(block[0][1]+"\n"), 0o600); err != nil {
				t.Fatal(err)
			}
			got := run(t, ".", nil, append(c.words(t, file), moduleFile(t), testRequest)...)
			if got != want {
				t.Errorf("got %.300q, want %.300q", got, want)
			}
		})
	}
}
