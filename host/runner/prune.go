package runner

import (
	"cmp"
	"os"
	"path/filepath"
	"slices"
	"time"
)

// keepNewest is how many modules, and how many modules' machine code, stay in
// the cache: someone who edits the core makes a new one with every change, and
// each is some ten megabytes.
const keepNewest = 6

// prune removes all but the newest entries that match pattern in dir, and what
// else belongs to them. An entry's time is its last use; see touch.
func prune(dir, pattern string) {
	paths, err := filepath.Glob(filepath.Join(dir, pattern))
	if err != nil || len(paths) <= keepNewest {
		return
	}
	used := make(map[string]time.Time, len(paths))
	for _, path := range paths {
		if info, err := os.Stat(path); err == nil {
			used[path] = info.ModTime()
		}
	}
	slices.SortFunc(paths, func(a, b string) int { return cmp.Or(used[b].Compare(used[a]), cmp.Compare(a, b)) })
	for _, path := range paths[keepNewest:] {
		_ = os.RemoveAll(path)
		_ = os.Remove(path + ".sha256")
	}
}

// touch marks path as just used.
func touch(path string) {
	now := time.Now()
	_ = os.Chtimes(path, now, now)
}
