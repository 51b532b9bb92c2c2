package main

import (
	"os"
	"strings"
	"testing"
)

// The README's picture is what the program prints.
func TestReadmePicture(t *testing.T) {
	text, err := os.ReadFile("../README.md")
	if err != nil {
		t.Fatal(err)
	}
	_, picture, _ := strings.Cut(string(text), "\n\n```\n")
	picture, _, ok := strings.Cut(picture, "\n```\n")
	if !ok {
		t.Fatal("no picture in README.md")
	}
	if got := runArgs(t, "ceiling"); !strings.HasPrefix(got.out, picture+"\n") {
		t.Errorf("README.md shows\n%s\nthe program prints\n%s", picture, got.out)
	}
	if n := strings.Count(string(text), "\n"); n > 150 {
		t.Errorf("README.md has %d lines, want at most 150", n)
	}
}
