package runner

import (
	"context"
	"errors"
	"fmt"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
)

// instance is one running module with its own memory. One goroutine at a time.
type instance struct {
	module  api.Module
	memory  api.Memory
	exports map[string]api.Function
	stack   [8]uint64
	abi     uint32
	system  *system
	inside  context.Context // carries system to the functions the module imports; never ends
	held    held
}

// arity lists the exports we use, with the number of parameters and results.
var arity = map[string][2]int{
	"abi_version": {0, 1}, "alloc": {1, 1}, "free": {1, 0},
	"ceiling": {2, 1}, "day": {2, 1}, "fit": {2, 1}, "about": {0, 1}, "quantity": {2, 1}, "block": {7, 1},
	"log": {4, 1},
}

// start makes an instance. It has no name, so that many may exist at a time.
func (r *Runner) start() (*instance, error) { return r.startIn(newSystem()) }

func (r *Runner) startIn(s *system) (*instance, error) {
	inside := context.WithValue(context.Background(), systemKey{}, s)
	config := wazero.NewModuleConfig().WithName("").WithStartFunctions("_initialize")
	module, err := r.runtime.InstantiateModule(withRoom(inside), r.compiled, config)
	if err != nil {
		return nil, s.because("_initialize", err)
	}
	i := &instance{module: module, memory: module.Memory(), exports: make(map[string]api.Function, len(arity)), system: s, inside: inside}
	fail := func(err error) (*instance, error) { return nil, errors.Join(err, i.close()) }
	version := module.ExportedFunction("abi_version")
	if version == nil || i.memory == nil {
		return fail(&HintError{errors.New("not a spareamps module: it has no abi_version"), "build it as wasm/ABI.md says"})
	}
	i.exports["abi_version"] = version
	packed, err := i.call("abi_version")
	if err != nil {
		return fail(err)
	}
	i.abi = uint32(packed)
	major, minor := i.abi>>16, i.abi&0xffff
	if major != abiMajor || minor < abiMinor {
		return fail(&HintError{fmt.Errorf("the module speaks version %d.%d of the binary interface, this program needs %d.%d", major, minor, abiMajor, abiMinor),
			"use the module and the program of one release"})
	}
	for name, count := range arity {
		export := module.ExportedFunction(name)
		if export == nil || len(export.Definition().ParamTypes()) != count[0] || len(export.Definition().ResultTypes()) != count[1] {
			return fail(fmt.Errorf("the module has no %s with %d parameters", name, count[0]))
		}
		i.exports[name] = export
	}
	return i, nil
}

func (i *instance) close() error { return i.module.Close(i.inside) }

// call runs an export. An error means a trap or an exit: the instance is lost.
func (i *instance) call(export string, parameters ...uint64) (uint64, error) {
	copy(i.stack[:], parameters)
	if err := i.exports[export].CallWithStack(i.inside, i.stack[:max(1, len(parameters))]); err != nil {
		return 0, i.system.because(export, err)
	}
	return i.stack[0], nil
}

// alloc gets n bytes from the module.
func (i *instance) alloc(n int) (uint32, error) {
	if n > maxBytes {
		return 0, fmt.Errorf("%d bytes are more than the module takes (%d)", n, maxBytes)
	}
	ptr, err := i.call("alloc", uint64(n))
	if err != nil {
		return 0, err
	}
	if uint32(ptr) == 0 {
		return 0, fmt.Errorf("the module has no room for %d bytes", n)
	}
	return uint32(ptr), nil
}

// maxBytes is what alloc gives at most (ABI.md).
const maxBytes = 64 << 20

// put copies data into the module. Empty data needs no memory.
func (i *instance) put(data []byte) (uint32, error) {
	if len(data) == 0 {
		return 0, nil
	}
	ptr, err := i.alloc(len(data))
	if err != nil {
		return 0, err
	}
	if !i.memory.Write(ptr, data) {
		return 0, fmt.Errorf("the module gave memory it does not have: %d+%d", ptr, len(data))
	}
	return ptr, nil
}

func (i *instance) free(ptr uint32) error {
	if ptr == 0 {
		return nil
	}
	_, err := i.call("free", uint64(ptr))
	return err
}

// answer copies a packed answer out of the module's memory, which the next
// call may change or move.
func (i *instance) answer(packed uint64) ([]byte, error) {
	view, ok := i.memory.Read(uint32(packed>>32), uint32(packed))
	if !ok {
		return nil, fmt.Errorf("the module gave an answer outside its memory: %d+%d", packed>>32, uint32(packed))
	}
	return append([]byte(nil), view...), nil
}
