package core

import (
	"flag"
	"fmt"
	"math"
	"os"
	"runtime"
	"strconv"
	"strings"
	"testing"

	"spareamps/testdata"
)

var updateAdvice = flag.Bool("update-advice", false, "rewrite the current version's rows of testdata/advice_by_version.csv")

// typicalRigs and typicalMoments are those whose advice is listed by version.
var typicalRigs = []struct{ classV, ratedA float64 }{{12, 55}, {12, 70}, {12, 90}, {12, 120}, {12, 150}, {12, 180}, {12, 220}, {24, 80}, {24, 110}}

var typicalMoments = []struct {
	name                          string
	ambientC, engineRpm, speedKmh float64
}{{"crawl", 35, 1200, 10}, {"road", 25, 2200, 80}, {"stop", 35, 750, 0}}

// adviceRow is the row of a rig at a moment by the core as it is.
func adviceRow(classV, ratedA float64, name string, ambientC, engineRpm, speedKmh float64) string {
	a := labelAnswer([]float64{classV, ratedA, math.NaN(), ambientC, engineRpm, speedKmh})
	return fmt.Sprintf("%s,%.0f A %.0f V,%s,%.0f,%.0f,%.0f", Version, ratedA, classV, name, a.Ceiling.OutputW, a.Advice.OutputW, a.Nominal.OutputW)
}

// Advice for nine typical rigs, by version: who raises the version sees what he
// changes, and nobody changes it without. Rows of older versions stay as they are.
func TestAdviceByVersion(t *testing.T) {
	const path = "../testdata/advice_by_version.csv"
	kept, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var others strings.Builder
	for _, l := range strings.SplitAfter(string(kept), "\n") {
		if !strings.HasPrefix(l, Version+",") {
			others.WriteString(l)
		}
	}
	var rows []string
	for _, r := range typicalRigs {
		for _, m := range typicalMoments {
			rows = append(rows, adviceRow(r.classV, r.ratedA, m.name, m.ambientC, m.engineRpm, m.speedKmh))
		}
	}
	if *updateAdvice {
		text := others.String() + strings.Join(rows, "\n") + "\n"
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	tab, err := testdata.Read("advice_by_version.csv")
	if err != nil {
		t.Fatal(err)
	}
	most := 0.0
	if runtime.GOARCH != "amd64" {
		most = 10 // multiply and add fused: another step of 10 W
	}
	n := 0
	for i := range tab.Rows {
		if tab.Rows[i][0] != Version {
			continue
		}
		if n == len(rows) {
			t.Fatalf("%s:%d: more rows of version %s than rigs and situations", tab.Name, tab.Line(i), Version)
		}
		want := strings.Split(rows[n], ",")
		n++
		for k, cell := range tab.Rows[i] {
			x, errX := strconv.ParseFloat(cell, 64)
			y, errY := strconv.ParseFloat(want[k], 64)
			if cell != want[k] && (errX != nil || errY != nil || math.Abs(x-y) > most) {
				t.Errorf("%s:%d: %s is %s, the core has %s: raise core.Version and run with -update-advice, and say it in the changes", tab.Name, tab.Line(i), tab.Columns[k], cell, want[k])
			}
		}
	}
	if n != len(rows) {
		t.Errorf("%s has %d rows of version %s, want %d: run with -update-advice", tab.Name, n, Version, len(rows))
	}
}
