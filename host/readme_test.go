package main

import (
	"os"
	"strings"
	"testing"
)

// The README's pictures are what the program prints.
func TestReadmePicture(t *testing.T) {
	text, err := os.ReadFile("../README.md")
	if err != nil {
		t.Fatal(err)
	}
	rest := string(text)
	for _, command := range []string{"ceiling", "day"} {
		_, picture, _ := strings.Cut(rest, "\n\n```\n")
		picture, after, ok := strings.Cut(picture, "\n```\n")
		if !ok {
			t.Fatalf("no picture of %s in README.md", command)
		}
		if got := runArgs(t, command); !strings.HasPrefix(got.out, picture+"\n") {
			t.Errorf("README.md shows\n%s\nthe program prints\n%s", picture, got.out)
		}
		rest = after
	}
	if n := strings.Count(string(text), "\n"); n > 150 {
		t.Errorf("README.md has %d lines, want at most 150", n)
	}
}
