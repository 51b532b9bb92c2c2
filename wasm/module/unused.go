package module

import "strings"

// Functions of Go's runtime that this module has no use for, by the beginnings
// of their names. The linker keeps them since it cannot know that a switch is
// never turned.

// neverRun begins the names of what runs only while an execution trace is
// written or a CPU profile read. Both are begun by functions of the packages
// runtime/trace and runtime/pprof, which the linker leaves out where nobody
// calls them; anyTracer is of those. Should one run after all, it traps.
var neverRun = []string{
	"runtime.(*profBuf).",
	"runtime.(*traceMap).",
	"runtime.(*traceRegionAlloc).alloc",
	"runtime.(*traceStackTable).",
	"runtime.(*traceStringTable).",
	"runtime.(*traceTypeTable).",
	"runtime.dumpStacksRec",
	"runtime.dumpTypesRec",
	"runtime.fpunwindExpand",
	"runtime.makeTraceFrame",
	"runtime.startPCForTrace",
	"runtime.traceAcquireEnabled",
	"runtime.traceAdvance",
	"runtime.traceBufFlush",
	"runtime.traceEventWriter.",
	"runtime.traceLocker.G",
	"runtime.traceLocker.H",
	"runtime.traceLocker.P",
	"runtime.traceLocker.S",
	"runtime.traceLocker.e",
	"runtime.traceReadCPU",
	"runtime.traceRegisterLabelsAndReasons",
	"runtime.traceStack",
	"runtime.traceStopReadCPU",
	"runtime.traceSyncBatch",
	"runtime.traceWriter.",
}

var anyTracer = []string{"runtime.StartTrace", "runtime.pprof_", "runtime.SetCPUProfileRate"}

// onlyPrint begins the names of what prints, without result: where a crash
// was, which without names says nothing, and what the environment variable
// GODEBUG asks for. They return at once.
var onlyPrint = []string{
	"runtime.checkFinalizersAndCleanups",
	"runtime.dumpScanStats",
	"runtime.goroutineheader",
	"runtime.hexdumpWords",
	"runtime.(*hexdumper).flushLine",
	"runtime.printAncestorTraceback",
	"runtime.printArgs",
	"runtime.printCgoTraceback",
	"runtime.printScavTrace",
	"runtime.printcreatedby",
	"runtime.schedtrace",
	"runtime.traceback1",
	"runtime.tracebackHexdump",
	"runtime.tracebackothers",
	"runtime.tracebacksomeothers",
}

var (
	traps = []byte{0, 0x00, opEnd} // no locals; unreachable

	// What Go's compiler makes of a function that only returns: it takes the
	// return address from the stack and says that it did not give way.
	returns = []byte{0, 0x23, 0, opI32Const, 8, 0x6a, 0x24, 0, opI32Const, 0, opEnd}
)

// empty empties the functions named above.
func (f *functions) empty(code *bodies) {
	begins := func(name string, list []string) bool {
		for _, l := range list {
			if strings.HasPrefix(name, l) {
				return true
			}
		}
		return false
	}
	names := make([]string, len(f.all))
	traced := false
	for k := range f.all {
		names[k] = f.name(f.all[k].field(funcName))
		traced = traced || begins(names[k], anyTracer)
	}
	for k, name := range names {
		body := &code.code[f.all[k].field(funcEntry)-firstFunction]
		switch {
		case begins(name, onlyPrint):
			*body = returns
		case !traced && begins(name, neverRun):
			*body = traps
		}
	}
}
