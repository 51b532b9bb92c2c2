//go:build unix

package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"spareamps/core"
	"spareamps/host/runner"
)

// A benchKind is a kind of point: what it takes, and how long a block of them
// may be in a benchmark that ends today.
type benchKind struct {
	name, output string
	budget       int // points of a round, in blocks of each length
}

var (
	benchKinds  = []benchKind{{"likeliest", "nominal.input_A", 10_000}, {"confident", "ceiling.input_A", 200}}
	benchBlocks = []int{1, 100, 10_000}
)

const benchRounds = 5

func benchNames(output string) []byte {
	return []byte("moment.engine_rpm\nmoment.ambient_C\n\n" + output + "\n")
}

func benchColumns(rows int) []float64 {
	in := make([]float64, 2*rows)
	for i := range rows {
		in[i] = 700 + 2*float64(i%1000)
		in[rows+i] = 15 + float64(i%37)*0.7
	}
	return in
}

// BenchmarkSweep prints what a sweep costs: a point in blocks of three
// lengths, natively, in wazero, in Node and in workerd over HTTP, in turns; a
// start; an instance's memory; two processors against one; and 10^5 to 10^7
// points.
//
//	go test -run '^$' -bench Sweep -benchtime 1x ./host
func BenchmarkSweep(b *testing.B) {
	for _, part := range []struct {
		name string
		run  func(*testing.B)
	}{{"points", benchPoints}, {"instances", benchInstances}, {"runs", benchRuns}} {
		b.Run(part.name, func(b *testing.B) {
			for b.Loop() {
				part.run(b)
			}
		})
	}
}

func benchPoints(b *testing.B) {
	ctx := context.Background()
	module, _, err := runner.Module(ctx, "")
	if err != nil {
		b.Skip(err)
	}
	run, err := runner.New(ctx, module, runner.Options{CacheDir: runner.CacheDir(), Instances: 1})
	if err != nil {
		b.Fatal(err)
	}
	defer run.Close(ctx)
	demo := core.Demo()
	request := demo.JSON()
	node, stop := benchNode(b, module, request)
	if node != nil {
		defer stop()
	}
	edge, stopEdge := benchWorkerd(b, request)
	if edge != nil {
		defer stopEdge()
	}
	for _, kind := range benchKinds {
		names := benchNames(kind.output)
		block, problem := core.NewBlock(request, names)
		if problem != nil {
			b.Fatal(string(problem))
		}
		for _, rows := range benchBlocks {
			if rows > 50*kind.budget {
				continue // a dear point costs the same in any long block
			}
			repeat := max(kind.budget/rows, 1)
			in, out := benchColumns(rows), make([]float64, 2*rows)
			engines := []string{"native", "wazero"}
			work := map[string]func() time.Duration{
				"native": func() time.Duration {
					start := time.Now()
					for range repeat {
						block.Run(in, out, rows)
					}
					return time.Since(start)
				},
				"wazero": func() time.Duration {
					start := time.Now()
					for range repeat {
						if err := run.Block(ctx, request, names, in, out, rows); err != nil {
							b.Fatal(err)
						}
					}
					return time.Since(start)
				},
			}
			if node != nil {
				engines = append(engines, "node")
				work["node"] = func() time.Duration { return node(kind.output, rows, repeat) }
			}
			if edge != nil && benchFits(kind.output, rows) {
				engines = append(engines, "workerd")
				work["workerd"] = func() time.Duration { return edge(kind.output, in, rows, repeat) }
			}
			times := map[string][]float64{}
			rounds := benchRounds
			if rows*repeat > 2000 && kind.name == "confident" {
				rounds = 1
			}
			for round := range rounds + 1 {
				for _, e := range engines {
					took := float64(work[e]().Nanoseconds()) / 1e3 / float64(rows*repeat)
					if round > 0 { // the first warms
						times[e] = append(times[e], took)
					}
				}
			}
			for _, e := range engines {
				ratios := make([]float64, rounds)
				for i := range ratios {
					ratios[i] = times[e][i] / times["native"][i]
				}
				fmt.Printf("%-9s block of %6d  %-6s %9.2f us a point  %5.2f x native\n", kind.name, rows, e, median(times[e]), median(ratios))
			}
		}
	}
}

// benchNode starts a Node that answers with the nanoseconds of blocks.
func benchNode(b *testing.B, module, request []byte) (ask func(output string, rows, repeat int) time.Duration, stop func()) {
	tool, err := exec.LookPath("node")
	if err != nil {
		b.Log("without Node: install Node 20 or newer")
		return nil, nil
	}
	file := filepath.Join(b.TempDir(), "spareamps.wasm")
	if err := os.WriteFile(file, module, 0o600); err != nil {
		b.Fatal(err)
	}
	binding, err := filepath.Abs("../wasm/spareamps.mjs")
	if err != nil {
		b.Fatal(err)
	}
	cmd := exec.Command(tool, "--input-type=module", "-e", `
import { readFileSync } from "node:fs";
import { createInterface } from "node:readline";
import { load } from `+strconv.Quote("file://"+filepath.ToSlash(binding))+`;
const core = await load(readFileSync(process.argv[1]));
const request = JSON.parse(process.argv[2]);
for await (const line of createInterface({ input: process.stdin })) {
  const [output, rows, repeat] = line.split(" ");
  const rpm = [], ambient = [];
  for (let i = 0; i < rows; i++) { rpm.push(700 + 2 * (i % 1000)); ambient.push(15 + (i % 37) * 0.7); }
  const inputs = { "moment.engine_rpm": Float64Array.from(rpm), "moment.ambient_C": Float64Array.from(ambient) };
  const start = process.hrtime.bigint();
  for (let i = 0; i < repeat; i++) core.block(request, inputs, [output]);
  console.log(String(process.hrtime.bigint() - start));
}`, file, string(request))
	stdin, err := cmd.StdinPipe()
	if err != nil {
		b.Fatal(err)
	}
	stdout, err := cmd.StdoutPipe()
	if err != nil {
		b.Fatal(err)
	}
	cmd.Stderr = os.Stderr
	if err := cmd.Start(); err != nil {
		b.Fatal(err)
	}
	lines := bufio.NewScanner(stdout)
	ask = func(output string, rows, repeat int) time.Duration {
		fmt.Fprintln(stdin, output, rows, repeat)
		if !lines.Scan() {
			b.Fatal("node stopped")
		}
		ns, err := strconv.ParseInt(lines.Text(), 10, 64)
		if err != nil {
			b.Fatal(err)
		}
		return time.Duration(ns)
	}
	return ask, func() { io.WriteString(stdin, ""); stdin.Close(); cmd.Wait() }
}

// benchInstances prints what one more instance of the module takes.
func benchInstances(b *testing.B) {
	ctx := context.Background()
	module, _, err := runner.Module(ctx, "")
	if err != nil {
		b.Skip(err)
	}
	const many = 16
	run, err := runner.New(ctx, module, runner.Options{CacheDir: runner.CacheDir(), Instances: many})
	if err != nil {
		b.Fatal(err)
	}
	defer run.Close(ctx)
	demo := core.Demo()
	request, names := demo.JSON(), benchNames("nominal.input_A")
	block := func(calls int) {
		var all sync.WaitGroup
		for range calls {
			all.Go(func() {
				in, out := benchColumns(20_000), make([]float64, 40_000)
				if err := run.Block(ctx, request, names, in, out, 20_000); err != nil {
					b.Error(err)
				}
			})
		}
		all.Wait()
		runtime.GC()
	}
	block(1)
	before := resident(b)
	start := time.Now()
	block(many)
	took := time.Since(start)
	fmt.Printf("an instance of the module: %.1f MB resident (%d more, %v with 20,000 points each)\n", (resident(b)-before)/(many-1), many-1, took.Round(time.Millisecond))
}

// resident is this process' memory in MB.
func resident(b *testing.B) float64 {
	text, err := os.ReadFile("/proc/self/statm")
	if err != nil {
		b.Skip(err)
	}
	pages, _ := strconv.ParseFloat(strings.Fields(string(text))[1], 64)
	return pages * float64(os.Getpagesize()) / 1e6
}

// benchRuns times whole runs of the program.
func benchRuns(b *testing.B) {
	dir := b.TempDir()
	program := filepath.Join(dir, "spareamps")
	if text, err := exec.Command("go", "build", "-o", program, ".").CombinedOutput(); err != nil {
		b.Fatalf("%v\n%s", err, text)
	}
	bound := false // to one processor
	one := func(args ...string) (wall, cpu float64, peak float64) {
		args = append([]string{program, "sweep", "-q"}, args...)
		if bound {
			args = append(benchBound(), args...)
		}
		c := exec.Command(args[0], args[1:]...)
		c.Stderr = os.Stderr
		start := time.Now()
		if err := c.Start(); err != nil {
			b.Fatal(err)
		}
		done := make(chan error, 1)
		go func() { done <- c.Wait() }()
		for {
			select {
			case err := <-done:
				if err != nil {
					b.Fatal(err)
				}
				wall = time.Since(start).Seconds()
				return wall, (c.ProcessState.UserTime() + c.ProcessState.SystemTime()).Seconds(), peak
			case <-time.After(10 * time.Millisecond):
				peak = max(peak, highest(c.Process.Pid))
			}
		}
	}
	for _, backend := range []string{"native", "wasm"} {
		var walls []float64
		for range 9 {
			wall, _, _ := one("--axis", "ambient-C=30", "--out", "nominal.input_A", "--backend", backend)
			walls = append(walls, wall*1e3)
		}
		fmt.Printf("start to end of one point, %s: %.0f ms (least %.0f)\n", backend, median(walls), minOf(walls))
	}
	grid := func(points int) []string {
		return []string{"--axis", "engine-rpm=700:3000/" + strconv.Itoa(points/1000), "--axis", "ambient-C=0:50/1000", "--out", "nominal.input_A,nominal.output_W"}
	}
	for _, format := range sweepFormats {
		for _, points := range []int{100_000, 1_000_000, 10_000_000} {
			if format == "jsonl" && points > 1_000_000 {
				continue
			}
			wall, cpu, peak := one(append(grid(points), "-o", filepath.Join(dir, "sweep."+format))...)
			n := float64(points)
			fmt.Printf("%8d points to %-8s %7.2f s, %6.0f points/s, %7.0f a core's second, %4.0f MB at most\n", points, format, wall, n/wall, n/cpu, peak)
		}
	}
	if benchBound() == nil {
		b.Log("without two processors against one: install taskset")
	} else {
		for _, c := range []struct {
			file   string
			points int
			args   []string
		}{
			{"two.csv", 3_000_000, grid(3_000_000)},
			{"two.parquet", 3_000_000, grid(3_000_000)},
			{"dear.csv", 10_000, []string{"--axis", "engine-rpm=700:3000/100", "--axis", "ambient-C=0:50/100", "--out", "ceiling.input_A,ceiling.output_W"}},
		} {
			var ratios, singles, doubles []float64
			for range benchRounds {
				var wall [2]float64
				for i := range wall {
					bound = i == 0
					wall[i], _, _ = one(append(c.args, "-o", filepath.Join(dir, c.file))...)
				}
				ratios, singles, doubles = append(ratios, wall[0]/wall[1]), append(singles, wall[0]), append(doubles, wall[1])
			}
			bound = false
			fmt.Printf("%d points to %-11s bound to one processor %.2f s, on all %.2f s: %.2f x (%.2f to %.2f)\n",
				c.points, c.file, median(singles), median(doubles), median(ratios), minOf(ratios), -minOf(negated(ratios)))
		}
	}
	_, cpu, peak := one("--axis", "engine-rpm=700:3000/40", "--axis", "ambient-C=0:50/50", "--out", "ceiling.input_A,ceiling.output_W", "-o", filepath.Join(dir, "dear.csv"))
	fmt.Printf("with confidence: %.0f points a core's second, %.0f MB at most\n", 2000/cpu, peak)
}

// benchBound is what stands before a command that is to have one processor, the
// first of those there are; nil where that cannot be said.
func benchBound() []string {
	tool, err := exec.LookPath("taskset")
	text, _ := os.ReadFile("/proc/self/status")
	_, rest, _ := strings.Cut(string(text), "Cpus_allowed_list:")
	if err != nil || rest == "" {
		return nil
	}
	first, _, _ := strings.Cut(strings.TrimSpace(rest), "\n")
	first = first[:strings.IndexFunc(first+",", func(c rune) bool { return c < '0' || c > '9' })]
	return []string{tool, "-c", first}
}

// highest is the most memory a process has had so far, in MB. What the system
// says when it ends would count what it was forked from.
func highest(pid int) (mb float64) {
	text, _ := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	_, rest, _ := strings.Cut(string(text), "VmHWM:")
	if f := strings.Fields(rest); len(f) > 0 {
		mb, _ = strconv.ParseFloat(f[0], 64)
	}
	return mb / 1e3
}

func minOf(v []float64) float64 {
	least := v[0]
	for _, x := range v {
		least = min(least, x)
	}
	return least
}

func negated(v []float64) (w []float64) {
	for _, x := range v {
		w = append(w, -x)
	}
	return w
}
