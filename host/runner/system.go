package runner

import (
	"context"
	"encoding/binary"
	"fmt"
	"strings"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
	"github.com/tetratelabs/wazero/sys"
)

// system is what an instance sees of the world: a clock that ticks when looked
// at, a fixed series of random bytes, and a place for its last words. Go's
// runtime asks for these; no answer depends on them. spareamps.mjs in wasm/
// does the same.
//
// wazero brings all of WASI, but compiling its 46 functions takes longer than
// starting the module, and the module needs ten.
type system struct {
	nanoseconds uint64
	seed        uint32
	lastWords   strings.Builder
	clock       func(*system) uint64 // tests put other clocks here; nil: one that ticks
}

func newSystem() *system { return &system{seed: 0x9e3779b9} }

type systemKey struct{}

// mostLastWords is room for the reason of a fatal error; the trace of
// goroutines that follows helps nobody.
const mostLastWords = 512

const (
	errnoSuccess = 0
	errnoFault   = 21
)

// instantiateSystem makes the WASI functions the module imports.
func instantiateSystem(ctx context.Context, runtime wazero.Runtime) error {
	const i32, i64 = api.ValueTypeI32, api.ValueTypeI64
	builder := runtime.NewHostModuleBuilder("wasi_snapshot_preview1")
	add := func(name string, parameters []api.ValueType, work func(s *system, m api.Memory, stack []uint64) uint32) {
		builder.NewFunctionBuilder().WithGoModuleFunction(api.GoModuleFunc(func(ctx context.Context, module api.Module, stack []uint64) {
			s, _ := ctx.Value(systemKey{}).(*system)
			stack[0] = uint64(work(s, module.Memory(), stack))
		}), parameters, []api.ValueType{i32}).Export(name)
	}
	nothing := func(*system, api.Memory, []uint64) uint32 { return errnoSuccess }
	noStrings := func(_ *system, m api.Memory, stack []uint64) uint32 {
		return errno(m.WriteUint32Le(uint32(stack[0]), 0) && m.WriteUint32Le(uint32(stack[1]), 0))
	}
	add("args_get", []api.ValueType{i32, i32}, nothing)
	add("args_sizes_get", []api.ValueType{i32, i32}, noStrings)
	add("environ_get", []api.ValueType{i32, i32}, nothing)
	add("environ_sizes_get", []api.ValueType{i32, i32}, noStrings)
	add("sched_yield", nil, nothing)
	add("clock_time_get", []api.ValueType{i32, i64, i32}, func(s *system, m api.Memory, stack []uint64) uint32 {
		s.nanoseconds += 1_000_000
		now := s.nanoseconds
		if s.clock != nil {
			now = s.clock(s)
		}
		return errno(m.WriteUint64Le(uint32(stack[2]), now))
	})
	add("random_get", []api.ValueType{i32, i32}, (*system).random)
	add("fd_write", []api.ValueType{i32, i32, i32, i32}, (*system).write)
	add("poll_oneoff", []api.ValueType{i32, i32, i32, i32}, (*system).poll)
	builder.NewFunctionBuilder().WithGoModuleFunction(api.GoModuleFunc(func(_ context.Context, _ api.Module, stack []uint64) {
		panic(sys.NewExitError(uint32(stack[0]))) // how wazero unwinds an exit
	}), []api.ValueType{i32}, nil).Export("proc_exit")
	_, err := builder.Instantiate(ctx)
	return err
}

func errno(ok bool) uint32 {
	if ok {
		return errnoSuccess
	}
	return errnoFault
}

func (s *system) random(m api.Memory, stack []uint64) uint32 {
	view, ok := m.Read(uint32(stack[0]), uint32(stack[1]))
	for k := range view {
		s.seed ^= s.seed << 13
		s.seed ^= s.seed >> 17
		s.seed ^= s.seed << 5
		view[k] = byte(s.seed)
	}
	return errno(ok)
}

// write keeps the first bytes of what Go's runtime says on its way out.
func (s *system) write(m api.Memory, stack []uint64) uint32 {
	vectors, count := uint32(stack[1]), uint32(stack[2])
	total := uint32(0)
	for k := range count {
		at, ok := m.ReadUint64Le(vectors + 8*k) // pointer, then length
		if !ok {
			return errnoFault
		}
		text, ok := m.Read(uint32(at), uint32(at>>32))
		if !ok {
			return errnoFault
		}
		if room := mostLastWords - s.lastWords.Len(); room > 0 {
			s.lastWords.Write(text[:min(room, len(text))])
		}
		total += uint32(len(text))
	}
	return errno(m.WriteUint32Le(uint32(stack[3]), total))
}

// poll says that everything waited for has come.
func (s *system) poll(m api.Memory, stack []uint64) uint32 {
	subscriptions, events, count := uint32(stack[0]), uint32(stack[1]), uint32(stack[2])
	for k := range count {
		from, ok := m.Read(subscriptions+48*k, 48)
		if !ok {
			return errnoFault
		}
		var event [32]byte
		binary.LittleEndian.PutUint64(event[:], binary.LittleEndian.Uint64(from)) // whose
		event[10] = from[8]                                                       // what kind
		if !m.Write(events+32*k, event[:]) {
			return errnoFault
		}
	}
	return errno(m.WriteUint32Le(uint32(stack[3]), count))
}

// because adds an instance's last words to the error that ended it.
func (s *system) because(export string, err error) error {
	if said := strings.TrimSpace(s.lastWords.String()); said != "" {
		first, _, _ := strings.Cut(said, "\n\n")
		return fmt.Errorf("the module broke off in %s: %s: %w", export, strings.ReplaceAll(first, "\n", "; "), err)
	}
	return fmt.Errorf("the module broke off in %s: %w", export, err)
}
