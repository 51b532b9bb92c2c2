package bundle

import (
	"encoding/binary"
	"encoding/json"
	"math"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"spareamps/core"
	"spareamps/wasm/edge/client"
)

// Workers killed in the midst of a run, one of two every time some blocks are
// through, cost time and nothing else.
func TestWorkersKilledInMidRun(t *testing.T) {
	const blocks, rows, kills = 80, 3000, 8
	dir := built(t)
	workers := []*worker{start(t, dir, "0"), start(t, dir, "0")}
	var retries atomic.Int64
	c, err := client.New([]string{workers[0].url, workers[1].url}, client.Options{
		Concurrency: 4, Attempts: 100, FirstWait: 10 * time.Millisecond, LongestWait: 200 * time.Millisecond,
		Retry: func(string, int, error, time.Duration) { retries.Add(1) },
	})
	if err != nil {
		t.Fatal(err)
	}
	outputs := []string{"nominal.input_A", "nominal.output_W"}
	h := client.Header{Request: json.RawMessage(demo()), Inputs: []string{"moment.ambient_C"}, Outputs: outputs}
	reference, problem := core.NewBlock(demo(), []byte("moment.ambient_C\n\nnominal.input_A\nnominal.output_W"))
	if problem != nil {
		t.Fatalf("%s", problem)
	}

	numbers, through := make(chan int), make(chan int, blocks)
	got := make([][]float64, blocks)
	in := func(number int) []float64 {
		v := make([]float64, rows)
		for i := range v {
			v[i] = -10 + 60*float64(number*rows+i)/(blocks*rows)
		}
		return v
	}
	var wg sync.WaitGroup
	for range 6 {
		wg.Go(func() {
			for number := range numbers {
				out, err := c.Block(t.Context(), h, in(number))
				if err != nil {
					t.Errorf("block %d: %v", number, err)
				}
				if got[number] != nil {
					t.Errorf("block %d came twice", number)
				}
				got[number] = out
				through <- number
			}
		})
	}
	wg.Go(func() {
		for number := range blocks {
			numbers <- number
		}
		close(numbers)
	})
	for n := range blocks {
		<-through
		if n%(blocks/kills) == 4 { // the others' blocks are under way
			i := n / (blocks / kills) % 2
			workers[i].kill()
			port := workers[i].port
			wg.Go(func() {
				time.Sleep(50 * time.Millisecond)
				workers[i] = start(t, dir, port)
			})
			time.Sleep(100 * time.Millisecond)
		}
	}
	wg.Wait()
	want := make([]float64, 3*rows)
	for number, out := range got {
		reference.Run(in(number), want, rows)
		if len(out) != len(want) {
			t.Fatalf("block %d: got %d numbers, want %d", number, len(out), len(want))
		}
		for i := range want {
			if math.Float64bits(out[i]) != math.Float64bits(want[i]) {
				t.Fatalf("block %d, number %d: got %x, want %x", number, i, binary.LittleEndian.AppendUint64(nil, math.Float64bits(out[i])), binary.LittleEndian.AppendUint64(nil, math.Float64bits(want[i])))
			}
		}
	}
	t.Logf("%d blocks of %d rows, %d kills, %d attempts repeated", blocks, rows, kills, retries.Load())
	if retries.Load() == 0 {
		t.Error("no attempt failed: this tested nothing")
	}
}
