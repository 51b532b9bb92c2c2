package client

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"math"
	"math/rand/v2"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"spareamps/core"
	"spareamps/wasm/edge/service"
)

var (
	inputs  = []string{"moment.ambient_C", "moment.engine_rpm"}
	outputs = []string{"nominal.input_A", "nominal.output_W"}
)

func demo() json.RawMessage { q := core.Demo(); return q.JSON() }

// block is a block of its own number and what it must give.
func block(t testing.TB, number, rows int) (h Header, in, want []float64) {
	t.Helper()
	in = make([]float64, 2*rows)
	for i := range rows {
		in[i] = 10 + float64((number*rows+i)%700)/20 // some beyond the range
		in[rows+i] = 800 + float64((number*37+i*11)%3000)
	}
	b, problem := core.NewBlock(demo(), []byte(strings.Join(inputs, "\n")+"\n\n"+strings.Join(outputs, "\n")))
	if problem != nil {
		t.Fatalf("%s", problem)
	}
	want = make([]float64, 3*rows)
	b.Run(in, want, rows)
	return Header{Request: demo(), Inputs: inputs, Outputs: outputs}, in, want
}

func equal(t testing.TB, got, want []float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Errorf("got %d numbers, want %d", len(got), len(want))
		return
	}
	for i := range want {
		if math.Float64bits(got[i]) != math.Float64bits(want[i]) {
			t.Errorf("number %d: got %v, want %v", i, got[i], want[i])
			return
		}
	}
}

func quick(o Options) Options {
	o.FirstWait, o.Timeout = 2*time.Millisecond, 5*time.Second
	return o
}

// A faulty is a service with an unreliable way to it.
func faulty(next http.Handler, share float64) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if rand.Float64() >= share {
			next.ServeHTTP(w, r)
			return
		}
		cut := func(text string) {
			c, _, err := w.(http.Hijacker).Hijack()
			if err == nil {
				_, _ = io.WriteString(c, text)
				_ = c.Close()
			}
		}
		switch rand.IntN(7) {
		case 0:
			cut("")
		case 1:
			cut("HTTP/1.1 200 OK\r\nContent-Type: " + service.BlockType + "\r\nContent-Length: 100000\r\n\r\nabcdefgh")
		case 2:
			cut("HTTP/1.1 200 OK\r\nContent-Type: " + service.BlockType + "\r\nTransfer-Encoding: chunked\r\n\r\n8\r\nabc")
		case 3:
			http.Error(w, "bad gateway", http.StatusBadGateway)
		case 4:
			w.Header().Set("Retry-After", "0")
			http.Error(w, "later", http.StatusServiceUnavailable)
		case 5:
			w.Header().Set("Content-Type", "text/html")
			_, _ = io.WriteString(w, "<p>welcome to this network, please log in")
		case 6: // whole and of the right type, and far too short
			w.Header().Set("Content-Type", service.BlockType)
			_, _ = w.Write(make([]byte, 16))
		}
	})
}

// Half of all requests go wrong, in seven ways; every block comes back once
// and right.
func TestUnreliableServices(t *testing.T) {
	s := faulty(service.New(service.Options{Computing: 2}), 0.5)
	one, two := httptest.NewServer(s), httptest.NewServer(s)
	defer one.Close()
	defer two.Close()
	var retries atomic.Int64
	c, err := New([]string{one.URL, two.URL + "/"}, quick(Options{
		Attempts: 60, Concurrency: 6, LongestWait: 20 * time.Millisecond,
		Retry: func(string, int, error, time.Duration) { retries.Add(1) },
	}))
	if err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	for number := range 60 {
		h, in, want := block(t, number, 50)
		wg.Go(func() {
			got, err := c.Block(t.Context(), h, in)
			if err != nil {
				t.Error(err)
				return
			}
			equal(t, got, want)
		})
	}
	wg.Wait()
	t.Logf("60 blocks, %d attempts repeated", retries.Load())
	if retries.Load() < 20 {
		t.Errorf("only %d attempts failed: this tested nothing", retries.Load())
	}
}

// A mortal is a server that is killed in the midst of every fifth request, with
// all connections, and comes back at the same address.
type mortal struct {
	next    http.Handler
	address string
	mu      sync.Mutex
	server  *http.Server
	asked   atomic.Int64
	kills   atomic.Int64
	ended   atomic.Bool
}

func (m *mortal) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if m.asked.Add(1)%5 == 0 {
		_, _ = io.Copy(io.Discard, r.Body) // only then the server sees the connection end
		go m.restart()
		<-r.Context().Done()
		return
	}
	m.next.ServeHTTP(w, r)
}

func (m *mortal) restart() {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.kills.Add(1)
	_ = m.server.Close()
	time.Sleep(5 * time.Millisecond) // nobody is there for a while
	if !m.ended.Load() {
		m.serve()
	}
}

func (m *mortal) serve() {
	l, err := net.Listen("tcp", m.address)
	for try := 0; err != nil && try < 500; try++ {
		time.Sleep(10 * time.Millisecond)
		l, err = net.Listen("tcp", m.address)
	}
	if err != nil {
		panic(err)
	}
	m.address = l.Addr().String()
	m.server = &http.Server{Handler: m}
	go m.server.Serve(l) //nolint:errcheck // it ends when it is closed
}

// Servers that are killed in mid-run lose nothing.
func TestServersThatAreKilled(t *testing.T) {
	h := service.New(service.Options{Computing: 2})
	one, two := &mortal{next: h, address: "127.0.0.1:0"}, &mortal{next: h, address: "127.0.0.1:0"}
	for _, m := range []*mortal{one, two} {
		m.serve()
		defer func() {
			m.ended.Store(true)
			m.mu.Lock()
			defer m.mu.Unlock()
			_ = m.server.Close()
		}()
	}
	c, err := New([]string{"http://" + one.address, "http://" + two.address}, quick(Options{Attempts: 200, LongestWait: 20 * time.Millisecond}))
	if err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	for number := range 60 {
		h, in, want := block(t, number, 100)
		wg.Go(func() {
			got, err := c.Block(t.Context(), h, in)
			if err != nil {
				t.Error(err)
				return
			}
			equal(t, got, want)
		})
	}
	wg.Wait()
	kills := one.kills.Load() + two.kills.Load()
	t.Logf("60 blocks, %d kills", kills)
	if kills < 10 {
		t.Errorf("only %d kills: this tested nothing", kills)
	}
}

func TestRefusedIsFinal(t *testing.T) {
	var asked atomic.Int64
	s := service.New(service.Options{})
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		asked.Add(1)
		s.ServeHTTP(w, r)
	}))
	defer server.Close()
	c, _ := New([]string{server.URL}, quick(Options{}))
	_, err := c.Block(t.Context(), Header{Request: demo(), Inputs: []string{"moment.ambient"}, Outputs: outputs}, []float64{1})
	e := (*Error)(nil)
	if !errors.As(err, &e) || e.Status != 422 || e.Code != "bad_input" || len(e.Problems) != 1 || e.Problems[0].Field != "moment.ambient" {
		t.Errorf("got %#v", err)
	}
	if asked.Load() != 1 {
		t.Errorf("asked %d times", asked.Load())
	}
}

// What is too long for a service goes in parts, and the next block at once so.
func TestTooLongGoesInParts(t *testing.T) {
	var asked atomic.Int64
	s := service.New(service.Options{MaxPoints: 300})
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		asked.Add(1)
		s.ServeHTTP(w, r)
	}))
	defer server.Close()
	c, _ := New([]string{server.URL}, quick(Options{}))
	for number, want := range []int64{1 + 4, 4} {
		asked.Store(0)
		h, in, out := block(t, number, 1000)
		got, err := c.Block(t.Context(), h, in)
		if err != nil {
			t.Fatal(err)
		}
		equal(t, got, out)
		if asked.Load() != want {
			t.Errorf("block %d: asked %d times, want %d", number, asked.Load(), want)
		}
	}
}

func TestRetryAfterIsHonoured(t *testing.T) {
	s := service.New(service.Options{})
	for name, header := range map[string]func() string{
		"seconds": func() string { return "1" },
		"date":    func() string { return time.Now().Add(2 * time.Second).UTC().Format(http.TimeFormat) },
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			var first, second time.Time
			server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
				if first.IsZero() {
					first = time.Now()
					w.Header().Set("Retry-After", header())
					w.WriteHeader(http.StatusTooManyRequests)
					return
				}
				second = time.Now()
				s.ServeHTTP(w, r)
			}))
			defer server.Close()
			c, _ := New([]string{server.URL}, quick(Options{}))
			h, in, want := block(t, 1, 3)
			got, err := c.Block(t.Context(), h, in)
			if err != nil {
				t.Fatal(err)
			}
			equal(t, got, want)
			if d := second.Sub(first); d < 900*time.Millisecond {
				t.Errorf("came again after %v, want a second", d)
			}
		})
	}
}

// Waits double up to the longest, and no two are the same.
func TestBackOff(t *testing.T) {
	c, _ := New([]string{"http://localhost"}, Options{FirstWait: 100 * time.Millisecond, LongestWait: time.Second})
	for attempt, most := range []time.Duration{1: 100 * time.Millisecond, 2: 200 * time.Millisecond, 3: 400 * time.Millisecond, 9: time.Second, 2000: time.Second} {
		if most == 0 {
			continue
		}
		seen := map[time.Duration]bool{}
		for range 20 {
			d := c.backOff(attempt)
			seen[d] = true
			if d < most/2 || d > most {
				t.Errorf("after attempt %d: got %v, want %v to %v", attempt, d, most/2, most)
			}
		}
		if len(seen) < 10 {
			t.Errorf("after attempt %d: %d different waits of 20", attempt, len(seen))
		}
	}
}

func TestConcurrencyIsBounded(t *testing.T) {
	var now, most atomic.Int64
	s := service.New(service.Options{})
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		n := now.Add(1)
		defer now.Add(-1)
		for m := most.Load(); n > m && !most.CompareAndSwap(m, n); m = most.Load() {
		}
		time.Sleep(20 * time.Millisecond) // far longer than a request takes to set out
		s.ServeHTTP(w, r)
	}))
	defer server.Close()
	c, _ := New([]string{server.URL}, quick(Options{Concurrency: 3}))
	var asks []func() // made ready first, so that all set out at once
	for number := range 30 {
		h, in, want := block(t, number, 2)
		asks = append(asks, func() {
			got, err := c.Block(t.Context(), h, in)
			if err != nil {
				t.Error(err)
			}
			equal(t, got, want)
		})
	}
	var wg sync.WaitGroup
	for _, ask := range asks {
		wg.Go(ask)
	}
	wg.Wait()
	if most.Load() != 3 {
		t.Errorf("got %d at once, want 3", most.Load())
	}
}

func TestVersionsAreNotMixed(t *testing.T) {
	s := service.New(service.Options{})
	server := httptest.NewServer(s)
	defer server.Close()
	h, in, _ := block(t, 1, 3)
	c, _ := New([]string{server.URL}, quick(Options{Version: "0.0.1"}))
	if _, err := c.Block(t.Context(), h, in); err == nil || !strings.Contains(err.Error(), "not mixed") {
		t.Errorf("got %v", err)
	}
}

func TestGivesUp(t *testing.T) {
	server := httptest.NewServer(nil)
	server.Close() // nobody there
	h, in, _ := block(t, 1, 3)
	c, _ := New([]string{server.URL}, quick(Options{Attempts: 3}))
	if _, err := c.Block(t.Context(), h, in); err == nil || !strings.Contains(err.Error(), "tried 3 times") {
		t.Errorf("got %v", err)
	}
	// Cancelled, it stops at once, however long it would go on.
	c, _ = New([]string{server.URL}, Options{Attempts: 1000, FirstWait: time.Hour, LongestWait: time.Hour})
	ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer cancel()
	started := time.Now()
	if _, err := c.Block(ctx, h, in); !errors.Is(err, context.DeadlineExceeded) || time.Since(started) > 5*time.Second {
		t.Errorf("got %v after %v", err, time.Since(started))
	}
}

func TestAddresses(t *testing.T) {
	for _, bad := range []string{"", "localhost:80", "ftp://x", "http://", "http://x?y", "http://x#y", ":"} {
		if _, err := New([]string{bad}, Options{}); err == nil {
			t.Errorf("%q was taken", bad)
		}
	}
	if _, err := New(nil, Options{}); err == nil {
		t.Error("no service was taken")
	}
}
