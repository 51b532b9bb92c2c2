package main

import (
	"fmt"
	"runtime"
	"slices"
	"strconv"
	"strings"

	"spareamps/core"
)

// defaultTolerance is none where the core's arithmetic has no fused multiply
// and add.
func defaultTolerance() float64 {
	if runtime.GOARCH == "amd64" {
		return 0
	}
	return 1e-12
}

// sweepOutputOf finds an output that can be a column.
func sweepOutputOf(path string) (sweepOutput, *core.Problem) {
	best, least := "", 1+len(path)/3
	for _, o := range core.Outputs() {
		if o.Path != path {
			if d := core.NameDistance(strings.ReplaceAll(path, ".", "_"), strings.ReplaceAll(o.Path, ".", "_")); d < least {
				best, least = o.Path, d
			}
			continue
		}
		s := sweepOutput{o}
		if !o.IsColumn() {
			return s, &core.Problem{Code: "type", Field: path, Message: path + " cannot be a column: it is a list or a free text"}
		}
		return s, nil
	}
	message := "there is no output " + path
	if best != "" {
		message += "; did you mean " + best + "?"
	}
	return sweepOutput{}, &core.Problem{Code: "unknown", Field: path, Message: message}
}

// usage checks what flags say of each other.
func (f *sweepFlags) usage(file string) error {
	if f.format == "" {
		f.format = "csv"
		for _, name := range []string{"jsonl", "ndjson", "parquet"} {
			if strings.HasSuffix(strings.ToLower(file), "."+name) {
				f.format = strings.Replace(name, "ndjson", "jsonl", 1)
			}
		}
	}
	switch {
	case !slices.Contains(sweepFormats, f.format):
		return &usageError{fmt.Sprintf("--format is %q, allowed is %s", f.format, joinOr(sweepFormats)), ""}
	case f.sampling != "even" && f.sampling != "random":
		return &usageError{fmt.Sprintf("--sampling is %q, allowed is even or random", f.sampling), ""}
	case f.samples < 0 || f.samples > 0 != (len(f.spreads) > 0):
		return &usageError{"--samples N and --spread go together, N being above 0", ""}
	case f.jobs < 0 || f.jobs > 1024:
		return &usageError{"--jobs is " + itoa(f.jobs) + ", allowed is 0 to 1024", ""}
	case !(f.tolerance >= 0):
		return &usageError{"--tolerance is below 0", ""}
	case len(f.out) == 0:
		return &usageError{"--out names no output", "see `spareamps outputs`"}
	case f.resume && file == "":
		return &usageError{"--resume needs a file to go on with", "give -o FILE"}
	case f.plot != "" && plotFormat(f.plot) == "":
		return &usageError{"--plot is " + f.plot + ", allowed is a file named .svg or .png", ""}
	case len(f.edge) > 0 && f.backend.backend == "native":
		f.backend.backend = "edge"
	}
	switch {
	case f.backend.backend == "edge" && len(f.edge) == 0:
		return &usageError{"--backend edge needs --edge URL", ""}
	case f.backend.backend != "edge" && len(f.edge) > 0:
		return &usageError{"--edge is of no use with --backend " + f.backend.backend, "leave one of them out"}
	case f.backend.backend == "edge" && f.backend.module != "" && !f.verify:
		return &usageError{"--module is of no use with --backend edge", "leave one of them out"}
	}
	if len(f.rigs) > 1 && slices.ContainsFunc(f.rigs, func(name string) bool { return strings.ContainsAny(name, "\r\n") }) {
		return &usageError{"--rig names a file with a line break in its name", "rename it: the name is a cell of every row"}
	}
	standard := 0
	for _, name := range append([]string{f.cases, f.request.file}, f.rigs...) {
		if name == "-" {
			standard++
		}
	}
	if standard > 1 {
		return &usageError{"standard input can be one file only", ""}
	}
	return edgeURLs(f.edge)
}

// shardOf reads I/N.
func shardOf(text string) (i, n int64, err error) {
	if text == "" {
		return 0, 1, nil
	}
	a, b, ok := strings.Cut(text, "/")
	i, errI := strconv.ParseInt(a, 10, 64)
	n, errN := strconv.ParseInt(b, 10, 64)
	if !ok || errI != nil || errN != nil || n < 1 || n > 1_000_000 || i < 0 || i >= n {
		return 0, 0, &usageError{"--shard is " + text + ", allowed is I/N with I from 0 to N-1, such as 0/4", ""}
	}
	return i, n, nil
}
