package bundle

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// wrangler is a command of that program in a folder, without what this user may
// have set for it; a test that needs it and does not find it says what to install.
func wrangler(t *testing.T, dir string, args ...string) *exec.Cmd {
	t.Helper()
	found, err := exec.LookPath("wrangler")
	if err != nil {
		found, err = filepath.Abs("../node_modules/.bin/wrangler")
		if err == nil {
			_, err = os.Stat(found)
		}
	}
	if err != nil {
		const install = "needs wrangler: npm install --prefix wasm/edge, or put wrangler on PATH"
		if strings.Contains(os.Getenv("SPAREAMPS_REQUIRE"), "workerd") { // the same command installs both
			t.Fatal(install)
		}
		t.Skip(install)
	}
	c := exec.Command(found, args...)
	c.Dir = dir
	c.Env = append(os.Environ(), "HOME="+t.TempDir(), "XDG_CONFIG_HOME="+t.TempDir(), "WRANGLER_SEND_METRICS=false", "NO_COLOR=1", "CI=1")
	return c
}

// The settings for wrangler hold, as far as it can tell without an account.
func TestWranglerDryRun(t *testing.T) {
	out, err := wrangler(t, built(t), "deploy", "--dry-run", "--outdir", t.TempDir()).CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	upload := regexp.MustCompile(`Total Upload: ([0-9.]+) KiB / gzip: ([0-9.]+) KiB`).FindStringSubmatch(string(out))
	if upload == nil || strings.Contains(strings.ToLower(string(out)), "warning") {
		t.Fatalf("got %s", out)
	}
	t.Log(upload[0])
	if packed, _ := strconv.ParseFloat(upload[2], 64); packed > 3<<10 {
		t.Errorf("got %v KiB after compression, want at most 3 MiB", packed)
	}
}
