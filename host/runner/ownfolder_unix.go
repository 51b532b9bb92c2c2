//go:build unix

package runner

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"syscall"
)

// ownFolder makes a folder in the shared temporary one that nobody else can
// write in, or says why it cannot: whoever could would choose what we run.
func ownFolder() (string, error) {
	dir := filepath.Join(os.TempDir(), "spareamps-"+strconv.Itoa(os.Getuid()))
	if err := os.Mkdir(dir, 0o700); err != nil && !os.IsExist(err) {
		return "", err
	}
	info, err := os.Lstat(dir) // a link is not followed
	if err != nil {
		return "", err
	}
	owner, ok := info.Sys().(*syscall.Stat_t)
	if !ok || !info.IsDir() || info.Mode().Perm()&0o077 != 0 || int(owner.Uid) != os.Getuid() {
		return "", &HintError{fmt.Errorf("%s is not a folder of ours alone", dir), "set XDG_CACHE_HOME to a folder of yours"}
	}
	return dir, nil
}
