package bundle

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"spareamps/core"
)

// workerd is the program, as npm lays it down; a test that needs it and does
// not find it says what to install.
func workerd(t testing.TB) string {
	t.Helper()
	found, err := exec.LookPath("workerd")
	if err != nil {
		found, err = filepath.Abs("../node_modules/.bin/workerd")
	}
	if err == nil {
		// What npm calls workerd is a script that starts the real one, which
		// lies beside it. That is the one to be killed.
		var real string
		if real, err = filepath.EvalSymlinks(found); err == nil {
			if beside, _ := filepath.Glob(filepath.Join(filepath.Dir(real), "../../@cloudflare/workerd-*/bin/workerd")); len(beside) > 0 {
				return beside[0]
			}
			return real
		}
	}
	const install = "needs workerd: npm install --prefix wasm/edge, or put workerd on PATH"
	if strings.Contains(os.Getenv("SPAREAMPS_REQUIRE"), "workerd") {
		t.Fatal(install)
	}
	t.Skip(install)
	return ""
}

var bundles struct {
	sync.Mutex
	dirs map[string]string
	root string
}

func TestMain(m *testing.M) {
	code := m.Run()
	if bundles.root != "" {
		_ = os.RemoveAll(bundles.root)
	}
	os.Exit(code)
}

// built is a bundle, made once for all tests.
func built(t testing.TB, tags ...string) string {
	t.Helper()
	bundles.Lock()
	defer bundles.Unlock()
	name := "plain" + strings.Join(tags, "-")
	if dir, ok := bundles.dirs[name]; ok {
		return dir
	}
	if bundles.root == "" {
		root, err := os.MkdirTemp("", "spareamps-edge-test-")
		if err != nil {
			t.Fatal(err)
		}
		bundles.root, bundles.dirs = root, map[string]string{}
	}
	dir := filepath.Join(bundles.root, name)
	if err := Write(context.Background(), "../../..", dir, tags...); err != nil {
		t.Fatal(err)
	}
	bundles.dirs[name] = dir
	return dir
}

// A worker is a workerd that runs a bundle.
type worker struct {
	url  string
	port string
	cmd  *exec.Cmd
	log  bytes.Buffer
	gone chan struct{}
}

// start runs the settings in a folder; port "0" takes any.
func start(t testing.TB, dir, port string) *worker {
	t.Helper()
	w := &worker{gone: make(chan struct{})}
	events, theirs, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	w.cmd = exec.Command(workerd(t), "serve", "spareamps.capnp", "--socket-addr=http=127.0.0.1:"+port, "--control-fd=3")
	w.cmd.Dir, w.cmd.ExtraFiles = dir, []*os.File{theirs}
	w.cmd.Stdout, w.cmd.Stderr = &w.log, &w.log
	if err := w.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	theirs.Close()
	go func() {
		_ = w.cmd.Wait()
		close(w.gone)
	}()
	t.Cleanup(w.kill)
	lines := bufio.NewScanner(events)
	for lines.Scan() {
		var e struct {
			Event, Socket string
			Port          int
		}
		if json.Unmarshal(lines.Bytes(), &e) == nil && e.Event == "listen" && e.Socket == "http" {
			w.port = strconv.Itoa(e.Port)
			w.url = "http://127.0.0.1:" + w.port
			go io.Copy(io.Discard, events) //nolint:errcheck // it ends with the program
			return w
		}
	}
	<-w.gone
	t.Fatalf("workerd did not start: %s", w.log.String())
	return nil
}

// kill ends it at once and waits until it is gone.
func (w *worker) kill() {
	_ = w.cmd.Process.Kill()
	<-w.gone
}

// cpu is the processor time it has taken, in seconds.
func (w *worker) cpu(t testing.TB) float64 {
	t.Helper()
	stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", w.cmd.Process.Pid))
	if err != nil {
		t.Skip("needs Linux: processor time is read from /proc")
	}
	fields := strings.Fields(string(stat[bytes.LastIndexByte(stat, ')')+2:]))
	user, _ := strconv.ParseFloat(fields[11], 64)
	system, _ := strconv.ParseFloat(fields[12], 64)
	return (user + system) / 100
}

// memory is what it holds resident, in MiB.
func (w *worker) memory() int {
	status, _ := os.ReadFile(fmt.Sprintf("/proc/%d/status", w.cmd.Process.Pid))
	_, rest, _ := strings.Cut(string(status), "VmRSS:")
	n, _ := strconv.Atoi(strings.Fields(rest + " 0")[0])
	return n >> 10
}

var browser = &http.Client{Timeout: 60 * time.Second, Transport: &http.Transport{MaxIdleConnsPerHost: 16}}

// ask sends one request and returns the whole answer.
func ask(method, url, kind string, body []byte) (*http.Response, []byte, error) {
	q, err := http.NewRequest(method, url, bytes.NewReader(body))
	if err != nil {
		return nil, nil, err
	}
	if kind != "" {
		q.Header.Set("Content-Type", kind)
	}
	r, err := browser.Do(q)
	if err != nil {
		return nil, nil, err
	}
	defer r.Body.Close()
	text, err := io.ReadAll(r.Body)
	return r, text, err
}

func demo() []byte { q := core.Demo(); return q.JSON() }
