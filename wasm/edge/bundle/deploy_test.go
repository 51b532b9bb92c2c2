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

// The settings for wrangler hold, as far as it can tell without an account.
func TestWranglerDryRun(t *testing.T) {
	wrangler, err := exec.LookPath("wrangler")
	if err != nil {
		wrangler, err = filepath.Abs("../node_modules/.bin/wrangler")
		if err == nil {
			_, err = os.Stat(wrangler)
		}
	}
	if err != nil {
		const install = "needs wrangler: npm install --prefix wasm/edge, or put wrangler on PATH"
		if strings.Contains(os.Getenv("SPAREAMPS_REQUIRE"), "workerd") { // the same command installs both
			t.Fatal(install)
		}
		t.Skip(install)
	}
	c := exec.Command(wrangler, "deploy", "--dry-run", "--outdir", t.TempDir())
	c.Dir = built(t)
	c.Env = append(os.Environ(), "HOME="+t.TempDir(), "XDG_CONFIG_HOME="+t.TempDir(), "WRANGLER_SEND_METRICS=false", "NO_COLOR=1", "CI=1")
	out, err := c.CombinedOutput()
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
