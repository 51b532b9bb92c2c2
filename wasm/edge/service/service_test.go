package service

import (
	"bytes"
	"encoding/json"
	"io"
	"maps"
	"net"
	"net/http"
	"net/http/httptest"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"spareamps/core"
)

func demo() []byte { q := core.Demo(); return q.JSON() }

func observed() []byte { q := core.DemoFit(); return q.JSON() }

// do sends a request to a handler and returns the whole answer.
func do(t testing.TB, h http.Handler, method, path, kind string, body []byte) *http.Response {
	t.Helper()
	r := httptest.NewRequest(method, path, bytes.NewReader(body))
	if kind != "" {
		r.Header.Set("Content-Type", kind)
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w.Result()
}

func text(t testing.TB, r *http.Response) []byte {
	t.Helper()
	b, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestAnswersAreTheCores(t *testing.T) {
	s := New(Options{})
	for _, c := range []struct {
		method, path string
		body, want   []byte
	}{
		{"POST", "/v1/ceiling", demo(), core.CeilingJSON(demo())},
		{"POST", "/v1/day", demo(), core.DayJSON(demo())},
		{"POST", "/v1/fit", observed(), core.FitJSON(observed())},
		{"GET", "/v1/about", nil, core.AboutJSON()},
	} {
		r := do(t, s, c.method, c.path, "application/json; charset=utf-8", c.body)
		if got := text(t, r); r.StatusCode != 200 || !bytes.Equal(got, c.want) {
			t.Errorf("%s: got %d %.200s, want 200 %.200s", c.path, r.StatusCode, got, c.want)
		}
		if got := r.Header.Get("Content-Type"); got != "application/json" {
			t.Errorf("%s: got type %q", c.path, got)
		}
	}
}

// problemOf checks the form of an error, by RFC 9457, and returns it.
func problemOf(t *testing.T, r *http.Response) problem {
	t.Helper()
	var p problem
	body := text(t, r)
	if err := json.Unmarshal(body, &p); err != nil {
		t.Fatalf("%v: %s", err, body)
	}
	if kind := r.Header.Get("Content-Type"); kind != "application/problem+json" {
		t.Errorf("got type %q", kind)
	}
	if p.Status != r.StatusCode || p.Type != "urn:spareamps:problem:"+p.Code || p.Title == "" || p.Code == "" {
		t.Errorf("got status %d with %s", r.StatusCode, body)
	}
	if got := r.Header.Get("Cache-Control"); got != "no-store" {
		t.Errorf("an error may be kept: %q", got)
	}
	return p
}

func TestProblems(t *testing.T) {
	s := New(Options{})
	q := string(demo())
	sweep := func(inputs, outputs, columns string) string {
		return `{"request":` + q + `,"inputs":` + inputs + `,"outputs":` + outputs + `,"columns":` + columns + `}`
	}
	const block = BlockType
	for _, c := range []struct {
		name, method, path, kind, body string
		status                         int
		code                           string
	}{
		{"nothing there", "GET", "/", "", "", 404, "not_found"},
		{"path to be cleaned", "POST", "/v1//ceiling", jsonType, q, 404, "not_found"},
		{"dots", "GET", "/v1/../v1/about", "", "", 404, "not_found"},
		{"method", "GET", "/v1/ceiling", "", "", 405, "method"},
		{"method of a text", "DELETE", "/v1/about", "", "", 405, "method"},
		{"no type", "POST", "/v1/ceiling", "", q, 415, "media_type"},
		{"a form, which other pages may send", "POST", "/v1/ceiling", "application/x-www-form-urlencoded", q, 415, "media_type"},
		{"plain text, which other pages may send", "POST", "/v1/sweep", "text/plain", q, 415, "media_type"},
		{"another charset", "POST", "/v1/ceiling", jsonType + "; charset=latin1", q, 415, "media_type"},
		{"a block for a ceiling", "POST", "/v1/ceiling", block, q, 415, "media_type"},
		{"no body", "POST", "/v1/ceiling", jsonType, "", 400, "json"},
		{"not JSON", "POST", "/v1/ceiling", jsonType, "{", 400, "json"},
		{"wrong values", "POST", "/v1/ceiling", jsonType, `{"rig":{"alternator":{"rated_current_A":-1}}}`, 422, "bad_input"},
		{"no day", "POST", "/v1/day", jsonType, `{"rig":{"alternator":{"rated_current_A":100}}}`, 422, "bad_input"},
		{"no reading", "POST", "/v1/fit", jsonType, q, 422, "bad_input"},
		{"a reading out of range", "POST", "/v1/fit", jsonType, rowsOf(1, `{"minutes":9,"engine_rpm":1400,"ambient_C":30,"core_C":900}`), 422, "bad_input"},
		{"a row in which nothing is read", "POST", "/v1/fit", jsonType, rowsOf(1, `{"minutes":9,"engine_rpm":1400,"ambient_C":30}`), 422, "bad_input"},
		{"more rows than the core takes", "POST", "/v1/fit", jsonType, rowsOf(3001, `{"minutes":0,"engine_rpm":1400,"ambient_C":30,"core_C":90}`), 422, "bad_input"},
		{"a fit without end", "POST", "/v1/fit", jsonType, rowsOf(3000, `{"begins":"cold","minutes":179,"engine_rpm":1400,"ambient_C":30,"core_C":90}`), 413, "too_many_steps"},
		{"too long for the core", "POST", "/v1/ceiling", jsonType, strings.Repeat(" ", 1<<20) + q, 413, "too_large"},
		{"too long a sweep", "POST", "/v1/sweep", jsonType, strings.Repeat(" ", 8<<20) + q, 413, "too_large"},

		{"sweep not JSON", "POST", "/v1/sweep", jsonType, "[", 400, "json"},
		{"sweep with more behind it", "POST", "/v1/sweep", jsonType, sweep("[]", "[]", "[]") + "1", 400, "json"},
		{"sweep of nothing", "POST", "/v1/sweep", jsonType, "{}", 400, "json"},
		{"sweep with another member", "POST", "/v1/sweep", jsonType, `{"rows":1}`, 400, "json"},
		{"sweep with wrong values", "POST", "/v1/sweep", jsonType, `{"request":{"rig":{}},"inputs":[],"outputs":[],"columns":[]}`, 422, "bad_input"},
		{"column missing", "POST", "/v1/sweep", jsonType, sweep(`["moment.ambient_C"]`, "[]", "[]"), 422, "bad_input"},
		{"columns of two lengths", "POST", "/v1/sweep", jsonType, sweep(`["moment.ambient_C","moment.engine_rpm"]`, "[]", "[[1],[1,2]]"), 400, "json"},
		{"null in a column", "POST", "/v1/sweep", jsonType, sweep(`["moment.ambient_C"]`, "[]", "[[null]]"), 400, "json"},
		{"text in a column", "POST", "/v1/sweep", jsonType, sweep(`["moment.ambient_C"]`, "[]", `[["1"]]`), 400, "json"},
		{"too large a number", "POST", "/v1/sweep", jsonType, sweep(`["moment.ambient_C"]`, "[]", `[[1e999]]`), 400, "json"},
		{"no such input", "POST", "/v1/sweep", jsonType, sweep(`["moment.ambient"]`, "[]", `[[1]]`), 422, "bad_input"},
		{"no such output", "POST", "/v1/sweep", jsonType, sweep("[]", `["ceiling.input"]`, "[]"), 422, "bad_input"},
		{"two names in one", "POST", "/v1/sweep", jsonType, sweep(`["moment.ambient_C\nmoment.engine_rpm"]`, "[]", `[[1]]`), 422, "bad_input"},
		{"an empty name", "POST", "/v1/sweep", jsonType, sweep(`["moment.ambient_C",""]`, "[]", `[[1],[1]]`), 422, "bad_input"},

		{"block of nothing", "POST", "/v1/sweep", block, "", 400, "block"},
		{"block with a header beyond its end", "POST", "/v1/sweep", block, "\xff\xff\xff\xff{}", 400, "block"},
		{"block with rows beyond its end", "POST", "/v1/sweep", block, string(blockOf(q, `["moment.ambient_C"]`, "[]", 2, 30)), 400, "block"},
		{"block with more than its rows", "POST", "/v1/sweep", block, string(blockOf(q, `["moment.ambient_C"]`, "[]", 0, 30)), 400, "block"},
		{"block with negative rows", "POST", "/v1/sweep", block, string(blockOf(q, `["moment.ambient_C"]`, "[]", -1, 30)), 422, "bad_input"},
		{"block with rows without end", "POST", "/v1/sweep", block, string(blockOf(q, `["moment.ambient_C"]`, "[]", 1<<62)), 413, "too_many_points"},
		{"confident rows", "POST", "/v1/sweep", block, string(blockOf(q, `["moment.ambient_C"]`, `["ceiling.input_A"]`, 501, make([]float64, 501)...)), 413, "too_many_points"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := do(t, s, c.method, c.path, c.kind, []byte(c.body))
			p := problemOf(t, r)
			if p.Status != c.status || p.Code != c.code {
				t.Errorf("got %d %s (%s), want %d %s", p.Status, p.Code, p.Detail, c.status, c.code)
			}
			if p.Code == "bad_input" && len(p.Problems) < 10 {
				t.Errorf("got no list of what is wrong: %+v", p)
			}
			if len(p.Detail) > 400 {
				t.Errorf("the message repeats much of what was sent: %d bytes", len(p.Detail))
			}
		})
	}
}

func TestCompressedBodiesAreRefused(t *testing.T) {
	r := httptest.NewRequest("POST", "/v1/ceiling", bytes.NewReader(demo()))
	r.Header.Set("Content-Type", jsonType)
	r.Header.Set("Content-Encoding", "gzip")
	w := httptest.NewRecorder()
	New(Options{}).ServeHTTP(w, r)
	if p := problemOf(t, w.Result()); p.Code != "encoding" || p.Status != 415 {
		t.Errorf("got %+v", p)
	}
}

func TestTextsMayBeKept(t *testing.T) {
	s := New(Options{})
	for _, path := range []string{"/v1/about", "/v1/schema", "/v1/openapi.json"} {
		r := do(t, s, "GET", path, "", nil)
		tag := r.Header.Get("ETag")
		if r.StatusCode != 200 || len(tag) < 10 || r.Header.Get("Cache-Control") != "public, max-age=3600" {
			t.Errorf("%s: got %d, tag %q, %q", path, r.StatusCode, tag, r.Header.Get("Cache-Control"))
		}
		if !json.Valid(text(t, r)) {
			t.Errorf("%s: no JSON", path)
		}
		for header, want := range map[string]int{tag: 304, `"other", W/` + tag: 304, "*": 304, `"other"`: 200} {
			q := httptest.NewRequest("GET", path, nil)
			q.Header.Set("If-None-Match", header)
			w := httptest.NewRecorder()
			s.ServeHTTP(w, q)
			if w.Code != want || want == 304 && w.Body.Len() > 0 {
				t.Errorf("%s, If-None-Match %s: got %d with %d bytes, want %d", path, header, w.Code, w.Body.Len(), want)
			}
		}
		head := do(t, s, "HEAD", path, "", nil)
		if head.StatusCode != 200 || len(text(t, head)) > 0 || head.Header.Get("Content-Length") == "" {
			t.Errorf("HEAD %s: got %d, length %q", path, head.StatusCode, head.Header.Get("Content-Length"))
		}
	}
	if r := do(t, s, "POST", "/v1/ceiling", jsonType, demo()); r.Header.Get("Cache-Control") != "no-store" || r.Header.Get("ETag") != "" {
		t.Errorf("an answer may be kept: %v", r.Header)
	}
}

func TestHealth(t *testing.T) {
	r := do(t, New(Options{}), "GET", "/healthz", "", nil)
	if got, want := string(text(t, r)), `{"status":"ok","version":"`+core.Version+`"}`; got != want || r.StatusCode != 200 {
		t.Errorf("got %d %s, want 200 %s", r.StatusCode, got, want)
	}
}

func TestOtherOrigins(t *testing.T) {
	for _, origin := range []string{"", "*", "https://tool.example"} {
		s := New(Options{AllowOrigin: origin})
		for _, r := range []*http.Response{
			do(t, s, "OPTIONS", "/v1/sweep", "", nil),
			do(t, s, "POST", "/v1/ceiling", jsonType, demo()),
			do(t, s, "POST", "/v1/ceiling", jsonType, nil),
			do(t, s, "GET", "/nowhere", "", nil),
		} {
			if got := r.Header.Get("Access-Control-Allow-Origin"); got != origin {
				t.Errorf("%q: got %q for %d", origin, got, r.StatusCode)
			}
			if r.Header.Get("Access-Control-Allow-Credentials") != "" || r.Header.Get("Set-Cookie") != "" {
				t.Errorf("%q: credentials: %v", origin, r.Header)
			}
		}
		r := do(t, s, "OPTIONS", "/v1/sweep", "", nil)
		if r.StatusCode != 204 || r.Header.Get("Allow") != "POST, OPTIONS" {
			t.Errorf("%q: preflight got %d %v", origin, r.StatusCode, r.Header)
		}
		if got := r.Header.Get("Access-Control-Allow-Headers"); (got == "") != (origin == "") {
			t.Errorf("%q: preflight allows %q", origin, got)
		}
	}
}

// The description names exactly the paths there are, its references lead
// somewhere, and real bodies and answers fit it.
func TestOpenAPI(t *testing.T) {
	s := New(Options{})
	body := text(t, do(t, s, "GET", "/v1/openapi.json", "", nil))
	var d struct {
		OpenAPI string
		Paths   map[string]map[string]any
	}
	if err := json.Unmarshal(body, &d); err != nil {
		t.Fatal(err)
	}
	if d.OpenAPI != "3.1.0" {
		t.Errorf("got version %q", d.OpenAPI)
	}
	want := slices.Sorted(maps.Keys(s.routes))
	if got := slices.Sorted(maps.Keys(d.Paths)); !slices.Equal(got, want) {
		t.Errorf("got paths %v, want %v", got, want)
	}
	for path, route := range s.routes {
		if _, ok := d.Paths[path][strings.ToLower(route.method)]; !ok {
			t.Errorf("%s has no %s", path, route.method)
		}
	}
	document, err := jsonschema.UnmarshalJSON(bytes.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("api.json", document); err != nil {
		t.Fatal(err)
	}
	sweep := `{"request":` + string(demo()) + `,"inputs":["moment.ambient_C"],"outputs":["ceiling.input_A"],"columns":[[20,30]]}`
	for name, text := range map[string][]byte{
		"request":        demo(),
		"ceiling_answer": core.CeilingJSON(demo()),
		"day_answer":     core.DayJSON(demo()),
		"fit_answer":     core.FitJSON(observed()),
		"sweep":          []byte(sweep),
		"sweep_answer":   text(t, do(t, s, "POST", "/v1/sweep", jsonType, []byte(sweep))),
		"problem":        text(t, do(t, s, "POST", "/v1/ceiling", jsonType, []byte(`{"rig":1}`))),
	} {
		schema, err := c.Compile("api.json#/components/schemas/" + name)
		if err != nil {
			t.Fatal(err)
		}
		v, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
		if err != nil {
			t.Fatal(err)
		}
		if err := schema.Validate(v); err != nil {
			t.Errorf("%s: %v\n%.300s", name, err, text)
		}
	}
}

// Many at once get the same answers as one alone, and what is beyond the bound
// is told to come again.
func TestManyAtOnce(t *testing.T) {
	server := httptest.NewServer(New(Options{Computing: 2, Waiting: 4}))
	defer server.Close()
	want := core.CeilingJSON(demo())
	var wg sync.WaitGroup
	var mu sync.Mutex
	got := map[int]int{}
	for range 24 {
		wg.Go(func() {
			for range 5 {
				r, err := http.Post(server.URL+"/v1/ceiling", jsonType, bytes.NewReader(demo()))
				if err != nil {
					t.Error(err)
					return
				}
				body := text(t, r)
				r.Body.Close()
				switch {
				case r.StatusCode == 200 && !bytes.Equal(body, want):
					t.Errorf("got %.200s", body)
				case r.StatusCode == 503 && r.Header.Get("Retry-After") != "1":
					t.Errorf("busy without Retry-After: %v", r.Header)
				}
				mu.Lock()
				got[r.StatusCode]++
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	if got[200] == 0 || got[200]+got[503] != 120 {
		t.Errorf("got %v", got)
	}
	t.Logf("answers by status: %v", got)
}

// A body that does not come is not waited for.
func TestSlowBody(t *testing.T) {
	server := httptest.NewServer(New(Options{BodyTime: 100 * time.Millisecond}))
	defer server.Close()
	c, err := net.Dial("tcp", server.Listener.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	_ = c.SetDeadline(time.Now().Add(10 * time.Second))
	_, _ = io.WriteString(c, "POST /v1/ceiling HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nContent-Length: 100\r\n\r\n{")
	answer, err := io.ReadAll(c)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(string(answer), "HTTP/1.1 408 ") || !strings.Contains(string(answer), `"code":"slow_body"`) {
		t.Errorf("got %s", answer)
	}
}

// The time for a body does not count against computing.
func TestBodyTimeEndsWithTheBody(t *testing.T) {
	server := httptest.NewServer(New(Options{BodyTime: 100 * time.Millisecond}))
	defer server.Close()
	body := blockOf(string(demo()), `["moment.ambient_C"]`, `["advice.input_A"]`, 500, make([]float64, 500)...)
	for try := range 2 { // the second over the same connection
		started := time.Now()
		r, err := http.Post(server.URL+"/v1/sweep", BlockType, bytes.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		got := text(t, r)
		r.Body.Close()
		if r.StatusCode != 200 || len(got) != 8*1000 {
			t.Errorf("try %d, after %v: got %d %.200s", try, time.Since(started), r.StatusCode, got)
		}
	}
}

// Computing ends with the time for it.
func TestTime(t *testing.T) {
	s := New(Options{Time: time.Microsecond})
	r := do(t, s, "POST", "/v1/sweep", BlockType, blockOf(string(demo()), `["moment.ambient_C"]`, `["ceiling.input_A"]`, 400, make([]float64, 400)...))
	if p := problemOf(t, r); p.Code != "time" || p.Status != 422 {
		t.Errorf("got %+v", p)
	}
}

func FuzzService(f *testing.F) {
	s := New(Options{MaxPoints: 2000, MaxSteps: 60})
	q := string(demo())
	f.Add(uint8(0), q)
	f.Add(uint8(1), `{"request":`+q+`,"inputs":["moment.ambient_C"],"outputs":["nominal.input_A"],"columns":[[20,30]]}`)
	f.Add(uint8(2), string(blockOf(q, `["moment.ambient_C"]`, `["nominal.input_A"]`, 2, 20, 30)))
	f.Add(uint8(2), string(blockOf(q, `["rig.alternator.pulley_ratio"]`, `["ceiling.input_A"]`, 1, 2)))
	f.Add(uint8(3), string(observed()))
	f.Fuzz(func(t *testing.T, which uint8, body string) {
		path, kind := "/v1/ceiling", jsonType
		switch which % 4 {
		case 1:
			path = "/v1/sweep"
		case 2:
			path, kind = "/v1/sweep", BlockType
		case 3:
			path = "/v1/fit"
		}
		r := do(t, s, "POST", path, kind, []byte(body))
		got := text(t, r)
		if r.StatusCode >= 500 {
			t.Fatalf("got %d %s", r.StatusCode, got)
		}
		if r.Header.Get("Content-Type") != BlockType && !json.Valid(got) {
			t.Fatalf("no JSON: %s", got)
		}
		if r.Header.Get("Content-Length") != strconv.Itoa(len(got)) {
			t.Fatalf("length %s, got %d bytes", r.Header.Get("Content-Length"), len(got))
		}
	})
}
