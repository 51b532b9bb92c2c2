package main

import (
	"crypto/sha256"
	"encoding/hex"
	"os"
	"strings"
	"testing"

	"spareamps/core"
	"spareamps/testdata"
)

const versionsFile = "../testdata/versions.csv"

func vectorsHash(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

// Vectors change with the version alone: those that stand are those recorded for
// it.
func TestVectorsKeepTheirVersion(t *testing.T) {
	tab, err := testdata.Read("versions.csv")
	if err != nil {
		t.Fatal(err)
	}
	byVersion := map[string]string{}
	for i := range tab.Rows {
		version, hash := tab.Rows[i][0], tab.Rows[i][1]
		if byVersion[version] != "" {
			t.Errorf("%s:%d: version %s stands there twice", tab.Name, tab.Line(i), version)
		}
		byVersion[version] = hash
	}
	if last := tab.Rows[len(tab.Rows)-1][0]; last != core.Version {
		t.Errorf("%s ends with version %s, the core is %s: add a row", tab.Name, last, core.Version)
	}
	if got := vectorsHash(testdata.ConformanceText()); got != byVersion[core.Version] {
		t.Errorf("testdata/conformance.jsonl has the hash %s, version %s is recorded with %q: answers changed, so raise core.Version, add a row to testdata/versions.csv and say it in the changes",
			got, core.Version, byVersion[core.Version])
	}
}

// recordVersion writes the hash of new vectors into the row of the current
// version; rows of older versions are never touched.
func recordVersion(t *testing.T, vectors []byte) {
	t.Helper()
	text, err := os.ReadFile(versionsFile)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.SplitAfter(string(text), "\n")
	for i, l := range lines {
		if after, ok := strings.CutPrefix(l, core.Version+","); ok {
			_, change, _ := strings.Cut(after, ",")
			lines[i] = core.Version + "," + vectorsHash(vectors) + "," + change
			if err := os.WriteFile(versionsFile, []byte(strings.Join(lines, "")), 0o644); err != nil {
				t.Fatal(err)
			}
			return
		}
	}
	t.Fatalf("testdata/versions.csv has no row of version %s: add it, with what changed", core.Version)
}
