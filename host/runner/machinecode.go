package runner

import (
	"context"
	"errors"
	"fmt"
	"hash/crc32"
	"io/fs"
	"os"
	"path/filepath"
	"sort"
	"strings"

	"github.com/tetratelabs/wazero"
)

// compile gives a Runner that has a runtime and the compiled module, with the
// machine code taken from cacheDir when it lies there whole.
//
// wazero sums the code it stores but not the table of where each function
// starts, and jumps wherever a damaged table says. So we keep a sum over the
// stored files and throw them away when it does not fit. The cache is a
// convenience: whatever goes wrong with it, the answer is to compile anew.
func compile(ctx context.Context, module []byte, config wazero.RuntimeConfig, cacheDir string) (*Runner, error) {
	if cacheDir != "" {
		dir := filepath.Join(cacheDir, "code-"+sum(module)[:16])
		hit := verify(dir)
		if r, err := compileCached(ctx, module, config, dir); err == nil {
			if hit {
				touch(dir)
			} else {
				seal(dir)
				prune(cacheDir, "code-*")
			}
			r.cacheHit = hit
			return r, nil
		}
	}
	runtime := wazero.NewRuntimeWithConfig(ctx, config)
	compiled, err := runtime.CompileModule(ctx, module)
	if err != nil {
		return nil, errors.Join(fmt.Errorf("compile the module: %w", err), runtime.Close(ctx))
	}
	return &Runner{runtime: runtime, compiled: compiled}, nil
}

func compileCached(ctx context.Context, module []byte, config wazero.RuntimeConfig, dir string) (*Runner, error) {
	cache, err := wazero.NewCompilationCacheWithDir(dir)
	if err != nil {
		return nil, err
	}
	runtime := wazero.NewRuntimeWithConfig(ctx, config.WithCompilationCache(cache))
	compiled, err := runtime.CompileModule(ctx, module)
	if err != nil {
		return nil, errors.Join(err, runtime.Close(ctx), cache.Close(ctx))
	}
	return &Runner{runtime: runtime, compiled: compiled, cache: cache}, nil
}

const sealName = "sum"

// verify tells whether dir holds what seal saw. Otherwise it empties dir.
func verify(dir string) bool {
	want, err := os.ReadFile(filepath.Join(dir, sealName))
	if err == nil {
		got, err := directorySum(dir)
		if err == nil && got == string(want) {
			return true
		}
	}
	_ = os.RemoveAll(dir)
	return false
}

// seal writes the sum of dir's files beside them. When it cannot, the next
// start compiles again.
func seal(dir string) {
	got, err := directorySum(dir)
	if err != nil {
		return
	}
	_ = replace(filepath.Join(dir, sealName), []byte(got))
}

// directorySum guards against damage, not malice: whoever can write in the
// user's cache directory can do worse.
func directorySum(dir string) (string, error) {
	var lines []string
	castagnoli := crc32.MakeTable(crc32.Castagnoli)
	err := filepath.WalkDir(dir, func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() || entry.Name() == sealName || strings.HasSuffix(path, ".tmp") {
			return err
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		relative, err := filepath.Rel(dir, path)
		lines = append(lines, fmt.Sprintf("%s %d %08x\n", filepath.ToSlash(relative), len(data), crc32.Checksum(data, castagnoli)))
		return err
	})
	if err != nil {
		return "", err
	}
	if len(lines) == 0 {
		return "", errors.New("nothing stored")
	}
	sort.Strings(lines)
	return strings.Join(lines, ""), nil
}
