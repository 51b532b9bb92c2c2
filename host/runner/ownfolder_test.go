//go:build unix

package runner

import (
	"os"
	"path/filepath"
	"testing"
)

// A folder in the shared temporary one is used when it is ours alone, and not
// when others may write in it or it leads elsewhere.
func TestOwnFolder(t *testing.T) {
	temporary := t.TempDir()
	t.Setenv("TMPDIR", temporary)
	dir, err := ownFolder()
	if err != nil {
		t.Fatal(err)
	}
	if info, err := os.Stat(dir); err != nil || info.Mode().Perm() != 0o700 {
		t.Errorf("%s: %v, %v, want mode 0700", dir, info.Mode(), err)
	}
	if again, err := ownFolder(); err != nil || again != dir {
		t.Errorf("a second time: %q, %v, want %q", again, err, dir)
	}
	if err := os.Chmod(dir, 0o777); err != nil {
		t.Fatal(err)
	}
	if _, err := ownFolder(); err == nil {
		t.Error("a folder that everybody may write in is taken")
	}
	if err := os.Remove(dir); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(filepath.Join(temporary, "elsewhere"), dir); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(temporary, "elsewhere"), 0o700); err != nil {
		t.Fatal(err)
	}
	if _, err := ownFolder(); err == nil {
		t.Error("a link is followed")
	}
}
