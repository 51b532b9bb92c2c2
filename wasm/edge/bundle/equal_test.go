package bundle

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"spareamps/core"
	"spareamps/core/rig"
	"spareamps/wasm/edge/service"
)

// native is the same service in this process.
func native() http.Handler { return service.New(service.Options{AllowOrigin: "*"}) }

// A question is one request, and what a test says of it.
type question struct {
	name, method, path, kind string
	body                     []byte
}

// same asks both and compares status, headers that mean something, and bytes.
func same(t testing.TB, w *worker, h http.Handler, q question) (status int) {
	t.Helper()
	r, got, err := ask(q.method, w.url+q.path, q.kind, q.body)
	if err != nil {
		t.Fatalf("%s: %v\n%.300q\n%s", q.name, err, q.body, w.log.String())
	}
	n := httptest.NewRequest(q.method, q.path, bytes.NewReader(q.body))
	if q.kind != "" {
		n.Header.Set("Content-Type", q.kind)
	}
	recorded := httptest.NewRecorder()
	h.ServeHTTP(recorded, n)
	want := recorded.Body.Bytes()
	if q.method == "HEAD" {
		want = nil // a server leaves the body out, a recorder does not
	}
	if r.StatusCode != recorded.Code || !bytes.Equal(got, want) {
		t.Errorf("%s: got %d %.300q, native gives %d %.300q, to %.300q", q.name, r.StatusCode, got, recorded.Code, want, q.body)
	}
	for _, name := range []string{"Content-Type", "Cache-Control", "Etag", "Allow", "Access-Control-Allow-Origin", "Spareamps-Version"} {
		if got, want := r.Header.Get(name), recorded.Header().Get(name); got != want {
			t.Errorf("%s: got %s %q, native gives %q", q.name, name, got, want)
		}
	}
	return r.StatusCode
}

// varied is a request drawn by chance, mostly a good one.
func varied(r *rand.Rand) []byte {
	q := core.Demo()
	set := func(path string, lo, hi float64) {
		_ = q.Set(path, fmt.Sprint(math.Round((lo+(hi-lo)*r.Float64())*100)/100))
	}
	set("rig.alternator.rated_current_A", 65, 250)
	set("rig.alternator.idle_current_A", 20, 60)
	set("rig.alternator.pulley_ratio", 1.8, 3.4)
	set("rig.alternator.fouling", 0, 0.6)
	set("rig.cable.length_m", 1, 12)
	set("moment.engine_rpm", 500, 4500)
	set("moment.speed_kmh", 0, 110)
	set("moment.ambient_C", -25, 58)
	set("moment.altitude_m", 0, 4000)
	set("moment.vehicle_loads_W", 50, 900)
	set("confidence", 0.5, 0.99)
	return q.JSON()
}

// observed is the demo with what was read on it.
func observed() []byte { q := core.DemoFit(); return q.JSON() }

// readings is a fit drawn by chance: the demo's rows with other conditions and
// other values, some of which contradict each other.
func readings(r *rand.Rand) []byte {
	q := core.DemoFit()
	observations := q.Rig.Observations
	for range r.IntN(12) {
		observations = append(observations, observations[r.IntN(len(observations))])
	}
	for i := range observations {
		o := &observations[i]
		if i > 0 {
			o.Begins = []string{"warm", "cold", "before"}[r.IntN(3)]
		}
		o.Minutes = math.Round(90 * r.Float64() * r.Float64())
		o.EngineRpm = math.Round(700 + 2500*r.Float64())
		o.AmbientC = math.Round(40 * r.Float64())
		o.CoreC += math.Round(20*r.Float64() - 10)
		o.OutputA *= 0.8 + 0.3*r.Float64()
	}
	q.Rig.Observations = observations
	return q.JSON()
}

// rows is a fit of so many readings, all the same.
func rows(n int, begins string, minutes, rpm float64) []byte {
	q := core.Demo()
	o := rig.Observation{Begins: "cold", Minutes: minutes, EngineRpm: rpm, AmbientC: 30, EverythingOn: "no",
		InletC: math.NaN(), CaseC: math.NaN(), CoreC: 85, PlatesC: math.NaN()}
	q.Observe(o)
	o.Begins = begins
	for range n - 1 {
		q.Observe(o)
	}
	return q.JSON()
}

func sweepJSON(request []byte, outputs string, ambient ...float64) []byte {
	column, _ := json.Marshal(ambient)
	return fmt.Appendf(nil, `{"request":%s,"inputs":["moment.ambient_C"],"outputs":[%s],"columns":[%s]}`, request, outputs, column)
}

func sweepBlock(request []byte, outputs string, ambient ...float64) []byte {
	head := fmt.Sprintf(`{"request":%s,"inputs":["moment.ambient_C"],"outputs":[%s],"rows":%d}`, request, outputs, len(ambient))
	body := append(binary.LittleEndian.AppendUint32(nil, uint32(len(head))), head...)
	for len(body)%8 != 0 {
		body = append(body, 0)
	}
	for _, v := range ambient {
		body = binary.LittleEndian.AppendUint64(body, math.Float64bits(v))
	}
	return body
}

// Within a bundle's workerd and here the same handler answers the same bytes.
func TestWorkerAnswersAsNative(t *testing.T) {
	w, h := start(t, built(t), "0"), native()
	r := rand.New(rand.NewPCG(1, 2))
	const j = "application/json"
	questions := []question{
		{"day", "POST", "/v1/day", j, demo()},
		{"fit", "POST", "/v1/fit", j, observed()},
		{"a fit of nothing", "POST", "/v1/fit", j, demo()},
		{"a fit beyond the bound", "POST", "/v1/fit", j, rows(service.MaxSteps/4+1, "before", 5, 1400)},
		{"about", "GET", "/v1/about", "", nil},
		{"schema", "GET", "/v1/schema", "", nil},
		{"description", "GET", "/v1/openapi.json", "", nil},
		{"health", "GET", "/healthz", "", nil},
		{"head", "HEAD", "/v1/about", "", nil},
		{"preflight", "OPTIONS", "/v1/sweep", "", nil},
		{"nowhere", "GET", "/v2/ceiling", "", nil},
		{"method", "PUT", "/v1/ceiling", j, demo()},
		{"type", "POST", "/v1/ceiling", "text/plain", demo()},
		{"empty", "POST", "/v1/ceiling", j, nil},
		{"query", "GET", "/healthz?x=y", "", nil},
		{"all kinds of a sweep", "POST", "/v1/sweep", j, sweepJSON(demo(), `"ceiling.input_A","advice.output_W","nominal.input_A","after_idle.minutes"`, -30, 0, 20, 38, 77)},
	}
	for i := range 60 {
		q := varied(r)
		ambient := make([]float64, 40)
		for k := range ambient {
			ambient[k] = r.Float64()*110 - 45
		}
		questions = append(questions,
			question{fmt.Sprint("ceiling ", i), "POST", "/v1/ceiling", j, q},
			question{fmt.Sprint("sweep ", i), "POST", "/v1/sweep", j, sweepJSON(q, `"nominal.input_A"`, ambient...)},
			question{fmt.Sprint("block ", i), "POST", "/v1/sweep", service.BlockType, sweepBlock(q, `"nominal.input_A","nominal.output_W"`, ambient...)},
			question{fmt.Sprint("confident block ", i), "POST", "/v1/sweep", service.BlockType, sweepBlock(q, `"ceiling.input_A","temperatures_C.stator_winding"`, ambient[:4]...)})
	}
	for i := range 25 {
		questions = append(questions, question{fmt.Sprint("fit ", i), "POST", "/v1/fit", j, readings(r)})
	}
	good := 0
	for _, q := range questions {
		if same(t, w, h, q) == 200 {
			good++
		}
	}
	t.Logf("%d questions, %d with an answer", len(questions), good)
	if good < len(questions)*3/4 {
		t.Errorf("only %d of %d had an answer: this tested little", good, len(questions))
	}
	if w.log.Len() > 0 {
		t.Errorf("something was logged: %s", w.log.String())
	}
}

// Limits of the platform: 3 MB after compression on its free plan.
func TestSize(t *testing.T) {
	const most = 3_000_000
	dir := built(t)
	var packed, plain int
	for _, name := range []string{Wasm, "worker.mjs", "wasm_exec.js"} {
		data, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		z, _ := gzip.NewWriterLevel(&b, gzip.BestCompression)
		_, _ = z.Write(data)
		_ = z.Close()
		plain += len(data)
		packed += b.Len()
	}
	t.Logf("bundle: %d bytes, %d after gzip -9", plain, packed)
	if packed > most {
		t.Errorf("got %d bytes after gzip -9, want at most %d", packed, most)
	}
}

// What the glue refuses itself.
func TestGlueRefuses(t *testing.T) {
	w := start(t, built(t), "0")
	check := func(name string, status int, code string, r *http.Response, text []byte, err error) {
		t.Helper()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		var p struct {
			Status int
			Code   string
		}
		_ = json.Unmarshal(text, &p)
		if r.StatusCode != status || p.Status != status || p.Code != code || r.Header.Get("Content-Type") != service.ProblemType ||
			r.Header.Get("Access-Control-Allow-Origin") != "*" {
			t.Errorf("%s: got %d %s %v, want %d %s", name, r.StatusCode, text, r.Header, status, code)
		}
	}
	long := make([]byte, service.MaxBody+1)
	// It answers before the body is sent, and may close: a client that is still
	// sending may then see the connection reset instead of the answer.
	c, err := net.Dial("tcp", "127.0.0.1:"+w.port)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	_, _ = fmt.Fprintf(c, "POST /v1/sweep HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nContent-Length: %d\r\n\r\n", len(long))
	_ = c.SetReadDeadline(time.Now().Add(30 * time.Second))
	r, err := http.ReadResponse(bufio.NewReader(c), nil)
	var text []byte
	if err == nil {
		text, _ = io.ReadAll(r.Body)
		r.Body.Close()
	}
	check("too long", 413, "too_large", r, text, err)

	// The same without saying so beforehand.
	q, _ := http.NewRequest("POST", w.url+"/v1/sweep", io.MultiReader(bytes.NewReader(long)))
	q.Header.Set("Content-Type", "application/json")
	if r, err = browser.Do(q); err == nil {
		text, _ = io.ReadAll(r.Body)
		r.Body.Close()
	}
	check("too long in chunks", 413, "too_large", r, text, err)

	// In chunks and short it is answered.
	q, _ = http.NewRequest("POST", w.url+"/v1/ceiling", io.MultiReader(bytes.NewReader(demo()[:50]), bytes.NewReader(demo()[50:])))
	q.Header.Set("Content-Type", "application/json")
	if r, err = browser.Do(q); err == nil {
		text, _ = io.ReadAll(r.Body)
		r.Body.Close()
	}
	if err != nil || r.StatusCode != 200 || !bytes.Equal(text, core.CeilingJSON(demo())) {
		t.Errorf("in chunks: got %v %.200s", err, text)
	}
	if testing.Short() {
		return
	}

	// Bodies that do not come: they are given up, and meanwhile others answered.
	var slow []net.Conn
	for range 8 {
		c, err := net.Dial("tcp", "127.0.0.1:"+w.port)
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
		_, _ = io.WriteString(c, "POST /v1/ceiling HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nContent-Length: 100\r\n\r\n{")
		slow = append(slow, c)
	}
	started := time.Now()
	if r, text, err := ask("POST", w.url+"/v1/ceiling", "application/json", demo()); err != nil || r.StatusCode != 200 {
		t.Errorf("beside slow bodies: got %v %s", err, text)
	}
	if d := time.Since(started); d > 5*time.Second {
		t.Errorf("beside slow bodies an answer took %v", d)
	}
	for _, c := range slow {
		_ = c.SetReadDeadline(time.Now().Add(30 * time.Second))
		answer := make([]byte, 4096)
		n, err := c.Read(answer)
		if !strings.HasPrefix(string(answer[:n]), "HTTP/1.1 408 ") {
			t.Errorf("slow body: got %.100q, %v", answer[:n], err)
		}
	}
}

// An instance that breaks off is dropped; the next request has a fresh one.
func TestBrokenInstanceIsReplaced(t *testing.T) {
	w := start(t, built(t, "fault"), "0")
	want := core.CeilingJSON(demo())
	for _, fault := range []string{"goroutine", "exit", "stack", "panic", "memory", "exit"} {
		r, text, err := ask("GET", w.url+"/fault/"+fault, "", nil)
		if err != nil {
			t.Fatalf("%s: %v: %s", fault, err, w.log.String())
		}
		if fault == "memory" {
			if r.StatusCode != 404 {
				t.Errorf("%s: got %d %s", fault, r.StatusCode, text)
			}
		} else if r.StatusCode != 503 || r.Header.Get("Retry-After") != "1" || !strings.Contains(string(text), `"code":"trapped"`) {
			t.Errorf("%s: got %d %s", fault, r.StatusCode, text)
		}
		for range 3 {
			r, text, err := ask("POST", w.url+"/v1/ceiling", "application/json", demo())
			if err != nil || r.StatusCode != 200 || !bytes.Equal(text, want) {
				t.Fatalf("after %s: got %v %.200s", fault, err, text)
			}
		}
	}
	// What Go says of a crash may hold parts of a request; none of it is logged.
	if log := w.log.String(); strings.Contains(log, "goroutine") || strings.Contains(log, "own") && strings.Contains(log, "panic") {
		t.Errorf("logged: %s", log)
	}
}
