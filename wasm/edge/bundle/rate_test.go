package bundle

import (
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"spareamps/wasm/edge/service"
)

// generated is a bundle of the same service with the glue that the library
// generates, which starts Go anew for every request.
func generated(t testing.TB) string {
	t.Helper()
	dir := t.TempDir()
	build := filepath.Join(dir, "build")
	gen := exec.Command("go", "run", "github.com/syumai/workers/cmd/workers-assets-gen", "-mode=go", "-o", build)
	gen.Dir = "../../.."
	if out, err := gen.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	wasm, err := os.ReadFile(filepath.Join(built(t), Wasm))
	if err == nil {
		err = os.WriteFile(filepath.Join(build, "app.wasm"), wasm, 0o600)
	}
	if err == nil {
		err = os.WriteFile(filepath.Join(build, "spareamps.capnp"), []byte(`using Workerd = import "/workerd/workerd.capnp";
const config :Workerd.Config = (
  services = [(name = "it", worker = .it)],
  sockets = [(name = "http", address = "127.0.0.1:8787", http = (), service = "it")],
);
const it :Workerd.Worker = (
  modules = [
    (name = "worker.mjs", esModule = embed "worker.mjs"),
    (name = "wasm_exec.js", esModule = embed "wasm_exec.js"),
    (name = "runtime.mjs", esModule = embed "runtime.mjs"),
    (name = "app.wasm", wasm = embed "app.wasm"),
  ],
  compatibilityDate = "2026-04-01",
);
`), 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
	return build
}

// A load is one kind of request, and how many ceilings it asks for.
type load struct {
	name     string
	w        *worker
	q        question
	ceilings int
	wall     float64 // best of all rounds, ceilings/s
	cpu      float64 // the same for each second of processor time
	cost     float64 // s of processor time for a request, at best
}

// run asks for a while, over four connections.
func (l *load) run(t testing.TB, d time.Duration) {
	t.Helper()
	var done atomic.Int64
	var wg sync.WaitGroup
	cpu, started := l.w.cpu(t), time.Now()
	for range 4 {
		wg.Go(func() {
			for time.Since(started) < d {
				r, text, err := ask(l.q.method, l.w.url+l.q.path, l.q.kind, l.q.body)
				if err != nil || r.StatusCode != 200 {
					t.Errorf("%s: got %v %.200s", l.name, err, text)
					return
				}
				done.Add(1)
			}
		})
	}
	wg.Wait()
	wall, spent := time.Since(started).Seconds(), l.w.cpu(t)-cpu
	n := float64(done.Load())
	if spent > 0 && n/spent*float64(l.ceilings) > l.cpu {
		l.cpu, l.cost = n/spent*float64(l.ceilings), spent/n
	}
	l.wall = max(l.wall, n/wall*float64(l.ceilings))
}

// What the worker does in a second of one core, beside the generated glue, in
// one run and in turns; and what a start costs.
func TestRates(t *testing.T) {
	if testing.Short() {
		t.Skip("measures for half a minute; leave -short out")
	}
	const j = "application/json"
	health := question{"", "GET", "/healthz", "", nil}
	moments := func(n int) []float64 {
		v := make([]float64, n)
		for i := range v {
			v[i] = 20 + 25*float64(i)/float64(n)
		}
		return v
	}
	ours, theirs := start(t, built(t), "0"), start(t, generated(t), "0")
	for _, w := range []*worker{ours, theirs} {
		first := time.Now()
		if r, text, err := ask(health.method, w.url+health.path, "", nil); err != nil || r.StatusCode != 200 {
			t.Fatalf("got %v %s\n%s", err, text, w.log.String())
		}
		cold, second := time.Since(first), time.Now()
		if _, _, err := ask(health.method, w.url+health.path, "", nil); err != nil {
			t.Fatal(err)
		}
		name := "our glue"
		if w == theirs {
			name = "generated glue"
		}
		t.Logf("%s: first request %v, second %v", name, cold.Round(time.Millisecond), time.Since(second).Round(100*time.Microsecond))
	}
	likeliest := question{"", "POST", "/v1/sweep", service.BlockType, sweepBlock(demo(), `"nominal.input_A"`, 33)}
	confident := question{"", "POST", "/v1/ceiling", j, demo()}
	loads := []*load{
		{name: "generated glue, likeliest ceiling, one a request", w: theirs, q: likeliest, ceilings: 1},
		{name: "generated glue, whole answer with confidence", w: theirs, q: confident, ceilings: 1},
		{name: "likeliest ceiling, one a request", w: ours, q: likeliest, ceilings: 1},
		{name: "whole answer with confidence, one a request", w: ours, q: confident, ceilings: 1},
		{name: "ceiling with confidence, 100 a request", w: ours, q: question{"", "POST", "/v1/sweep", service.BlockType, sweepBlock(demo(), `"ceiling.input_A"`, moments(100)...)}, ceilings: 100},
		{name: "likeliest ceiling, 5000 a request", w: ours, q: question{"", "POST", "/v1/sweep", service.BlockType, sweepBlock(demo(), `"nominal.input_A"`, moments(5000)...)}, ceilings: 5000},
		{name: "likeliest ceiling, 5000 a request as JSON", w: ours, q: question{"", "POST", "/v1/sweep", j, sweepJSON(demo(), `"nominal.input_A"`, moments(5000)...)}, ceilings: 5000},
	}
	for range 3 {
		for _, l := range loads {
			l.run(t, 1200*time.Millisecond)
		}
	}
	const budget = 2000 // ceilings/s on one core; told, not judged: it is this machine's
	for _, l := range loads {
		t.Logf("%-52s %8.0f ceilings/s, %8.0f per second of processor time: %7.1f s for a million", l.name, l.wall, l.cpu, 1e6/l.cpu)
	}
	t.Logf("memory: ours %d MiB, generated glue %d MiB", ours.memory(), theirs.memory())
	for _, l := range []*load{loads[2], loads[4]} {
		verdict := "met"
		if l.cpu < budget {
			verdict = "missed"
		}
		t.Logf("%s: budget %d for a second of processor time %s", l.name, budget, verdict)
	}
	ratio := loads[2].cpu / loads[0].cpu
	t.Logf("one instance for all requests is %.0f times as fast as one for each", ratio)
	if ratio < 5 {
		t.Errorf("one instance for all requests is only %.1f times as fast as one for each", ratio)
	}
}
