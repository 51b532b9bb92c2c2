package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// The C program of ABI.md, built by the commands that stand there. A compiler
// takes a minute for what wasm2c makes, so it is done where it is asked for.
func TestEmbedFromScratchInC(t *testing.T) {
	if !strings.Contains(os.Getenv("SPAREAMPS_REQUIRE"), "wabt") {
		t.Skip("install wabt and gcc, and set SPAREAMPS_REQUIRE=wabt")
	}
	for _, tool := range []string{"wasm2c", "gcc"} {
		if _, err := exec.LookPath(tool); err != nil {
			t.Fatal("install wabt and gcc")
		}
	}
	doc, err := os.ReadFile("ABI.md")
	if err != nil {
		t.Fatal(err)
	}
	_, part, _ := strings.Cut(string(doc), "\n## Embed from scratch: C\n")
	block := func(fence string) string {
		found := regexp.MustCompile("(?s)\n```"+fence+"\n(.*?\n)```\n").FindAllStringSubmatch(part, -1)
		if len(found) != 1 {
			t.Fatalf("got %d blocks of %s, want 1", len(found), fence)
		}
		return found[0][1]
	}
	dir := t.TempDir()
	for name, data := range map[string][]byte{"embed.c": []byte(block("c")), "spareamps.wasm": moduleBytes(t)} {
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	run(t, dir, nil, "sh", "-e", "-c", block("sh"))
	for _, request := range []string{testRequest, "{"} {
		got, want := run(t, dir, nil, "./embed", request), string(native("ceiling", request))+"\n"
		if got != want {
			t.Errorf("%s: got %.300q, want %.300q", request, got, want)
		}
	}
}
