package runner

import (
	"context"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime/debug"
	"sort"
	"strings"

	"github.com/tetratelabs/wazero"
)

// compile gives a Runner that has a runtime and the compiled module, with the
// machine code taken from cacheDir when it lies there whole.
//
// wazero sums the code it stores but not the table of where each function
// starts, and jumps wherever a damaged table says. So we keep a sum over the
// ends of the stored files, where the tables are, and throw the files away
// when either sum does not fit. The cache is a convenience: whatever goes
// wrong with it, the answer is to compile anew.
func compile(ctx context.Context, module []byte, config wazero.RuntimeConfig, cacheDir string) (*Runner, error) {
	if cacheDir != "" {
		// wazero tells modules apart by itself; a name of our own is for prune.
		dir := filepath.Join(cacheDir, fmt.Sprintf("code-%08x-%d", crc32.Checksum(module, crc32.MakeTable(crc32.Castagnoli)), len(module)))
		if verify(dir) {
			if r, err := compileAtRest(ctx, module, config, dir); err == nil {
				touch(dir)
				r.cacheHit = true
				return r, nil
			}
		}
		_ = os.RemoveAll(dir)
		if r, err := compileCached(ctx, module, config, dir); err == nil {
			seal(dir)
			prune(cacheDir, "code-*")
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

// compileAtRest is compileCached with the collector at rest: taking up machine code
// allocates much and frees nothing.
func compileAtRest(ctx context.Context, module []byte, config wazero.RuntimeConfig, dir string) (*Runner, error) {
	defer debug.SetGCPercent(debug.SetGCPercent(-1))
	return compileCached(ctx, module, config, dir)
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

// verify tells whether dir holds what seal saw.
func verify(dir string) bool {
	want, err := os.ReadFile(filepath.Join(dir, sealName))
	if err != nil {
		return false
	}
	got, err := directorySum(dir)
	return err == nil && got == string(want)
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

// tableBytes is more than the tables of a module of some thousand functions
// take before and behind its code.
const tableBytes = 256 << 10

// directorySum guards against damage, not malice: whoever can write in the
// user's cache directory can do worse.
func directorySum(dir string) (string, error) {
	var lines []string
	buffer := make([]byte, tableBytes)
	err := filepath.WalkDir(dir, func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() || entry.Name() == sealName || strings.HasSuffix(path, ".tmp") {
			return err
		}
		file, err := os.Open(path)
		if err != nil {
			return err
		}
		defer file.Close()
		info, err := file.Stat()
		if err != nil {
			return err
		}
		ends := crc32.New(crc32.MakeTable(crc32.Castagnoli))
		for _, at := range []int64{0, max(0, info.Size()-tableBytes)} {
			n, err := file.ReadAt(buffer, at)
			if err != nil && err != io.EOF {
				return err
			}
			ends.Write(buffer[:n])
		}
		relative, err := filepath.Rel(dir, path)
		lines = append(lines, fmt.Sprintf("%s %d %08x\n", filepath.ToSlash(relative), info.Size(), ends.Sum32()))
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
