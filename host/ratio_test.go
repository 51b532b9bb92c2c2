package main

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"spareamps/core"
	"spareamps/host/runner"
)

const (
	ratioRounds = 25
	ratioPoints = 2000 // rows of a block of likeliest ceilings
	ratioAsks   = 25   // ceilings with confidence, JSON in and out
)

// ratioDays are the lengths of the plans timed, by the name of their kind.
var ratioDays = map[string]int{"day": 1, "week": 7, "month": 30}

// dayRequest is the demo's request for a plan of so many days.
func dayRequest(days int) []byte {
	q := core.Demo()
	q.Set("day.days", strconv.Itoa(days))
	return q.JSON()
}

// fitRequest is the demo's request for a fit.
func fitRequest() []byte {
	q := core.DemoFit()
	return q.JSON()
}

var ratioNames = []byte("moment.engine_rpm\nmoment.ambient_C\n\nnominal.input_A\nnominal.output_W\n")

// ratioColumns are moments spread over engine speed and heat.
func ratioColumns() []float64 {
	in := make([]float64, 2*ratioPoints)
	for i := range ratioPoints {
		in[i] = 700 + 2*float64(i%1000)
		in[ratioPoints+i] = 15 + float64(i%37)*0.7
	}
	return in
}

// BenchmarkRatio times the same work on every engine in turns and prints the
// medians, the medians of the ratios round by round, and the same of the fastest
// rounds, which other work on the machine disturbs least.
func BenchmarkRatio(b *testing.B) {
	ctx := context.Background()
	module, _, err := runner.Module(ctx, "")
	if err != nil {
		b.Skip(err)
	}
	run, err := runner.New(ctx, module, runner.Options{CacheDir: runner.CacheDir()})
	if err != nil {
		b.Fatal(err)
	}
	defer run.Close(ctx)
	request := demoMoment(b)
	in, out := ratioColumns(), make([]float64, 3*ratioPoints)
	block, problem := core.NewBlock(request, ratioNames)
	if problem != nil {
		b.Fatal(string(problem))
	}

	engines := []string{"native", "wazero"}
	work := map[string]func(kind string) time.Duration{
		"native": func(kind string) time.Duration {
			start := time.Now()
			if kind == "point" {
				block.Run(in, out, ratioPoints)
				return time.Since(start) / ratioPoints
			}
			if days := ratioDays[kind]; days > 0 {
				core.DayJSON(dayRequest(days))
				return time.Since(start)
			}
			if kind == "fit" {
				core.FitJSON(fitRequest())
				return time.Since(start)
			}
			for range ratioAsks {
				core.CeilingJSON(request)
			}
			return time.Since(start) / ratioAsks
		},
		"wazero": func(kind string) time.Duration {
			start := time.Now()
			if kind == "point" {
				if err := run.Block(ctx, request, ratioNames, in, out, ratioPoints); err != nil {
					b.Fatal(err)
				}
				return time.Since(start) / ratioPoints
			}
			if days := ratioDays[kind]; days > 0 {
				if _, err := run.Day(ctx, dayRequest(days)); err != nil {
					b.Fatal(err)
				}
				return time.Since(start)
			}
			if kind == "fit" {
				if _, err := run.Fit(ctx, fitRequest()); err != nil {
					b.Fatal(err)
				}
				return time.Since(start)
			}
			for range ratioAsks {
				if _, err := run.Ceiling(ctx, request); err != nil {
					b.Fatal(err)
				}
			}
			return time.Since(start) / ratioAsks
		},
	}
	if ask, stop := ratioNode(b, module, request); ask != nil {
		defer stop()
		engines = append(engines, "node")
		work["node"] = ask
	}

	for b.Loop() {
		for _, kind := range []string{"point", "ceiling", "day", "week", "month", "fit"} {
			rounds := ratioRounds
			if ratioDays[kind] > 1 {
				rounds = 3
			}
			times := map[string][]float64{}
			for _, e := range engines {
				work[e](kind) // warm
			}
			for range rounds {
				for _, e := range engines {
					times[e] = append(times[e], float64(work[e](kind).Nanoseconds())/1e3)
				}
			}
			for _, e := range engines {
				ratios := make([]float64, rounds)
				for i := range ratios {
					ratios[i] = times[e][i] / times["native"][i]
				}
				us, ratio := median(times[e]), median(ratios)
				least := slices.Min(times[e])
				leastRatio := least / slices.Min(times["native"])
				fmt.Printf("%-8s %-7s median %9.2f us %5.2f x native, least %9.2f us %5.2f x\n", kind, e, us, ratio, least, leastRatio)
				b.ReportMetric(us, e+"-"+kind+"-us")
				b.ReportMetric(ratio, e+"-"+kind+"-x")
				b.ReportMetric(leastRatio, e+"-"+kind+"-least-x")
			}
		}
	}
}

// demoMoment is the demo's request without its day, which a ceiling does not need.
func demoMoment(b *testing.B) []byte {
	demo := core.Demo()
	var parts map[string]json.RawMessage
	if err := json.Unmarshal(demo.JSON(), &parts); err != nil {
		b.Fatal(err)
	}
	delete(parts, "day")
	request, err := json.Marshal(parts)
	if err != nil {
		b.Fatal(err)
	}
	return request
}

// ratioNode starts a Node that answers "kind" lines with nanoseconds an item;
// nil where there is no Node.
func ratioNode(b *testing.B, module, request []byte) (ask func(kind string) time.Duration, stop func()) {
	tool, err := exec.LookPath("node")
	if err != nil {
		if strings.Contains(os.Getenv("SPAREAMPS_REQUIRE"), "node") {
			b.Fatal("install Node 20 or newer")
		}
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
	script := `
import { readFileSync } from "node:fs";
import { createInterface } from "node:readline";
import { load } from ` + strconv.Quote("file://"+filepath.ToSlash(binding)) + `;
const core = await load(readFileSync(process.argv[1]));
const request = JSON.parse(process.argv[2]), days = JSON.parse(process.argv[3]), points = ` + strconv.Itoa(ratioPoints) + `, asks = ` + strconv.Itoa(ratioAsks) + `;
const rpm = [], ambient = [];
for (let i = 0; i < points; i++) { rpm.push(700 + 2 * (i % 1000)); ambient.push(15 + (i % 37) * 0.7); }
const inputs = { "moment.engine_rpm": Float64Array.from(rpm), "moment.ambient_C": Float64Array.from(ambient) };
const outputs = ["nominal.input_A", "nominal.output_W"];
for await (const kind of createInterface({ input: process.stdin })) {
  const start = process.hrtime.bigint();
  if (kind === "point") core.block(request, inputs, outputs);
  else if (kind === "fit") core.fit(days.fit);
  else if (days[kind]) core.day(days[kind]);
  else for (let i = 0; i < asks; i++) core.ceiling(request);
  console.log(Number(process.hrtime.bigint() - start) / (kind === "point" ? points : days[kind] ? 1 : asks));
}`
	plans := map[string]json.RawMessage{}
	for kind, days := range ratioDays {
		plans[kind] = dayRequest(days)
	}
	plans["fit"] = fitRequest()
	text, err := json.Marshal(plans)
	if err != nil {
		b.Fatal(err)
	}
	cmd := exec.Command(tool, "--input-type=module", "-e", script, file, string(request), string(text))
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
	ask = func(kind string) time.Duration {
		io.WriteString(stdin, kind+"\n")
		if !lines.Scan() {
			b.Fatal("node stopped")
		}
		ns, err := strconv.ParseFloat(lines.Text(), 64)
		if err != nil {
			b.Fatal(err)
		}
		return time.Duration(ns)
	}
	return ask, func() { stdin.Close(); cmd.Wait() }
}

func median(v []float64) float64 {
	v = slices.Clone(v)
	slices.Sort(v)
	return v[len(v)/2]
}
