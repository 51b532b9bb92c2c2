package bundle

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"net"
	"strings"
	"sync"
	"testing"
	"time"

	"spareamps/core"
	"spareamps/wasm/edge/service"
)

// hostile makes a request that nobody means well with.
func hostile(r *rand.Rand) question {
	paths := []string{"/v1/ceiling", "/v1/day", "/v1/fit", "/v1/sweep", "/v1/sweep", "/v1/sweep", "/v1/about", "/healthz", "/v1/ceiling/", "/V1/sweep",
		"/v1/%73weep", "/v1/sweep%00", "/v1/sweep?rows=1", "//v1/sweep", "/", "/__proto__", "/constructor"}
	kinds := []string{"application/json", "application/json", service.BlockType, service.BlockType, "", "text/plain", "application/json;charset=utf-16",
		"multipart/form-data; boundary=x", strings.Repeat("a/b,", 200)}
	methods := []string{"POST", "POST", "POST", "POST", "POST", "POST", "GET", "PUT", "DELETE", "PATCH", "OPTIONS", "HEAD", "PROPFIND"}
	pick := func(of []string) string { return of[r.IntN(len(of))] }
	q := question{method: pick(methods), path: pick(paths), kind: pick(kinds)}
	if r.IntN(4) > 0 { // most get as far as being read
		q.method, q.path, q.kind = "POST", pick(paths[:6]), pick(kinds[:4])
		if q.path != "/v1/sweep" {
			q.kind = kinds[0]
		}
	}
	request := demo()
	switch r.IntN(4) {
	case 0:
		request = varied(r)
	case 1:
		request = spoilt(r, request)
	case 2:
		request = observed()
	}
	switch r.IntN(11) {
	case 0:
		q.body = request
	case 1:
		q.body = spoilt(r, request)
	case 2:
		q.body = spoilt(r, sweepJSON(request, `"nominal.input_A"`, 20, 30, 1e300, -1e-300))
	case 3:
		q.body = spoilt(r, sweepBlock(request, `"nominal.input_A"`, 20, 30))
	case 4: // a header that lies about itself or its rows
		q.body = sweepBlock(request, `"ceiling.input_A"`, 20)
		binary.LittleEndian.PutUint32(q.body, []uint32{0, 1, 0x7fffffff, 0x80000000, 0xffffffff, uint32(len(q.body)), uint32(len(q.body)) - 4}[r.IntN(7)])
		q.kind = service.BlockType
	case 5:
		rows := []string{"-1", "0", "9007199254740993", "1e2", "4294967296", "1.5", "null", `"1"`, "18446744073709551616"}[r.IntN(9)]
		q.body = bytes.Replace(sweepBlock(request, `"nominal.input_A"`, 20), []byte(`"rows":1`), []byte(`"rows":`+rows), 1)
		binary.LittleEndian.PutUint32(q.body, binary.LittleEndian.Uint32(q.body)+uint32(len(rows)-1))
	case 6: // deep
		n := 1 + r.IntN(20_000)
		q.body = []byte(strings.Repeat(pick([]string{"[", `{"rig":`, `{"request":`, `{"columns":[[`}), n))
	case 7: // names and numbers by the thousand
		n := 1 + r.IntN(3000)
		q.body = fmt.Appendf(nil, `{"request":%s,"inputs":[%s"moment.ambient_C"],"outputs":[%s"nominal.input_A"],"columns":[[1]]}`,
			request, strings.Repeat(`"moment.ambient_C",`, n), strings.Repeat(`"nominal.input_A",`, n))
	case 8:
		q.body = make([]byte, r.IntN(300))
		for i := range q.body {
			q.body[i] = byte(r.Uint32())
		}
	case 9:
		q.body = []byte(pick([]string{"null", "[]", "\"\"", "0", "-", "{}", "\xef\xbb\xbf{}", "{\"__proto__\":{}}", "\u0000", "NaN", "{\"rig\":{\"alternator\":{\"rated_current_A\":1e400}}}"}))
	case 10: // a fit of hours upon hours, or of more rows than may be
		q.body = rows([]int{1, 3, 500, 3000, 3001}[r.IntN(5)], pick([]string{"before", "warm", "cold"}), 1+math.Round(1400*r.Float64()), []float64{0, 300, 1400}[r.IntN(3)])
	}
	if q.method == "GET" || q.method == "HEAD" {
		q.body = nil
	}
	return q
}

// spoilt changes some bytes of a text.
func spoilt(r *rand.Rand, text []byte) []byte {
	text = bytes.Clone(text)
	for range 1 + r.IntN(4) {
		if len(text) == 0 {
			return text
		}
		i := r.IntN(len(text))
		j := min(len(text), i+1+r.IntN(40))
		switch r.IntN(6) {
		case 0:
			text[i] ^= 1 << r.IntN(8)
		case 1:
			text = append(text[:i:i], text[j:]...)
		case 2:
			text = append(text[:j:j], text[i:]...)
		case 3:
			text = append(append(text[:i:i], []byte{'"', 0xff, 0xfe, '\\', 'u', 'd', '8', '0', '0', '"'}[:1+r.IntN(10)]...), text[i:]...)
		case 4:
			text = append(append(text[:i:i], []string{"1e309", "-0", "null", "true", "[]", "{}", "1e-400", "00", "0x1"}[r.IntN(9)]...), text[j:]...)
		case 5:
			text = text[:i]
		}
	}
	return text
}

// Ten thousand requests that nobody means well with: each gets the answer that
// the same handler gives natively, none breaks the worker, and in between
// good ones are answered right.
func TestHostileRequests(t *testing.T) {
	n := 10_000
	if testing.Short() {
		n = 1000
	}
	w, h := start(t, built(t), "0"), native()
	good := question{"a good one", "POST", "/v1/ceiling", "application/json", demo()}
	var wg sync.WaitGroup
	var mu sync.Mutex
	statuses := map[int]int{}
	const lanes = 4
	for lane := range lanes {
		r := rand.New(rand.NewPCG(3, uint64(lane)))
		wg.Go(func() {
			for i := range n / lanes {
				if t.Failed() {
					return
				}
				q := hostile(r)
				q.name = fmt.Sprintf("request %d of lane %d, %s %s %.40q", i, lane, q.method, q.path, q.kind)
				status := same(t, w, h, q)
				if i%50 == 0 {
					if r, text, err := ask(good.method, w.url+good.path, good.kind, good.body); err != nil || r.StatusCode != 200 || !bytes.Equal(text, core.CeilingJSON(demo())) {
						t.Errorf("after request %d of lane %d a good one got %v %.200s", i, lane, err, text)
					}
				}
				mu.Lock()
				statuses[status]++
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	t.Logf("%d hostile requests, answers by status: %v; worker holds %d MiB", n, statuses, w.memory())
	for status := range statuses {
		if status >= 500 {
			t.Errorf("got %d answers of status %d", statuses[status], status)
		}
	}
	if w.log.Len() > 0 {
		t.Errorf("logged: %.1000s", w.log.String())
	}

	// What is not even HTTP, or breaks off.
	for i, text := range []string{"", "\x16\x03\x01\x02\x00", "GET / HTTP/9\r\n\r\n", "POST /v1/ceiling HTTP/1.1\r\nHost: x\r\nContent-Length: -1\r\n\r\n",
		"POST /v1/ceiling HTTP/1.1\r\nHost: x\r\nContent-Length: 5\r\nContent-Length: 6\r\n\r\nabcdef",
		"POST /v1/sweep HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nTransfer-Encoding: chunked\r\n\r\nFFFFFFFFFFFFFFFF\r\n",
		"POST /v1/sweep HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nContent-Length: 100\r\n\r\n{\"request\":",
		"GET /" + strings.Repeat("a", 1<<20) + " HTTP/1.1\r\n\r\n"} {
		c, err := net.Dial("tcp", "127.0.0.1:"+w.port)
		if err != nil {
			t.Fatal(err)
		}
		_ = c.SetDeadline(time.Now().Add(200 * time.Millisecond))
		_, _ = io.WriteString(c, text)
		_, _ = c.Read(make([]byte, 100))
		_ = c.Close()
		if same(t, w, h, good) != 200 {
			t.Errorf("after raw text %d", i)
		}
	}
}
