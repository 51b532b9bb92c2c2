package module

import "strings"

// Functions of Go's runtime that this module has no use for, by the beginnings
// of their names. The linker keeps them since it cannot know that a switch is
// never turned.

// neverRun begins the names of what runs only while an execution trace is
// written, a CPU profile is read or a program looks at its own stack, which
// begin with functions that the linker leaves out where nobody calls them
// (starters); of what compares the types of several modules; and of what only
// onlyReturn calls. Should one run after all, it traps.
var neverRun = []string{
	"runtime.(*profBuf).",
	"runtime.(*traceMap).",
	"runtime.(*traceRegionAlloc).alloc",
	"runtime.(*traceStackTable).",
	"runtime.(*traceStringTable).",
	"runtime.(*traceTypeTable).",
	"runtime.(*Frames).Next",
	"runtime.dumpStacksRec",
	"runtime.dumpTypesRec",
	"runtime.expandCgoFrames",
	"runtime.fpunwindExpand",
	"runtime.makeTraceFrame",
	"runtime.printOneCgoTraceback",
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
	"runtime.traceback2",
	"runtime.typesEqual",
}

var starters = []string{"runtime.CallersFrames", "runtime.SetCPUProfileRate", "runtime.StartTrace", "runtime.pprof_"}

// onlyReturn begins the names of functions without result that print where a
// crash was, which without names says nothing, or what the environment variable
// GODEBUG asks for, or that check what the linker wrote. They return at once.
var onlyReturn = []string{
	"runtime.checkFinalizersAndCleanups",
	"runtime.dumpScanStats",
	"runtime.gcDumpObject",
	"runtime.goroutineheader",
	"runtime.hexdumpWords",
	"runtime.(*hexdumper).flushLine",
	"runtime.moduledataverify1",
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
	"runtime.typelinksinit",
}

var (
	traps = []byte{0, 0x00, opEnd} // no locals; unreachable

	// What Go's compiler makes of a function that only returns: it takes the
	// return address from the stack and says that it did not give way.
	returns = []byte{0, 0x23, 0, opI32Const, 8, 0x6a, 0x24, 0, opI32Const, 0, opEnd}
)

// empty empties the functions named above.
func (f *functions) empty(code *bodies) {
	in := func(name string, list []string) bool {
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
		traced = traced || in(names[k], starters)
	}
	for k, name := range names {
		body := &code.code[f.all[k].field(funcEntry)-firstFunction]
		switch {
		case in(name, onlyReturn):
			*body = returns
		case !traced && in(name, neverRun):
			*body = traps
		}
	}
}
