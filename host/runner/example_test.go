package runner_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"spareamps/host/runner"
)

// A rig by its label, clean vents, in a moment of slow driving.
const request = `{
	"rig": {"alternator": {"rated_current_A": 120, "idle_current_A": 60, "fouling": 0}},
	"moment": {"engine_rpm": 1400, "speed_kmh": 15, "ambient_C": 36, "vehicle_loads_W": 350}
}`

// sandboxed runs the module that belongs to this source tree; a program that
// ships the module reads its own file instead.
func sandboxed(ctx context.Context) (*runner.Runner, error) {
	module, _, err := runner.Module(ctx, "")
	if err != nil {
		return nil, err
	}
	return runner.New(ctx, module, runner.Options{
		CacheDir:    runner.CacheDir(), // machine code: the second start is quick
		MemoryPages: 1024,              // 64 MiB for each instance
		Instances:   2,                 // calls at a time
	})
}

// One small interface, two engines, the same answer.
func ExampleEngine() {
	ctx := context.Background()
	r, err := sandboxed(ctx)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, engine := range []runner.Engine{new(runner.Native), r} {
		text, err := engine.Ceiling(ctx, []byte(request))
		if err != nil {
			fmt.Println(err)
			return
		}
		var answer struct {
			Ceiling struct {
				OutputW float64 `json:"output_W"`
				Limit   string
			}
		}
		if err := json.Unmarshal(text, &answer); err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%.0f W, set by %s\n", answer.Ceiling.OutputW, answer.Ceiling.Limit)
		_ = engine.Close(ctx)
	}
	// Output:
	// 557 W, set by stator_winding
	// 557 W, set by stator_winding
}

// Many moments in columns.
func ExampleRunner_Block() {
	ctx := context.Background()
	r, err := sandboxed(ctx)
	if err != nil {
		fmt.Println(err)
		return
	}
	defer r.Close(ctx)
	rpm := []float64{900, 1400, 2000}
	out := make([]float64, 2*len(rpm)) // one output, and the status
	err = r.Block(ctx, []byte(request), []byte("moment.engine_rpm\n\nceiling.output_W"), rpm, out, len(rpm))
	fmt.Println(out[:3], out[3:], err)
	// Output:
	// [409 557 637] [0 0 0] <nil>
}

// A cancelled block ends between two chunks; what was written by then is good.
func ExampleRunner_Block_cancelled() {
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	r, err := sandboxed(ctx)
	if err != nil {
		fmt.Println(err)
		return
	}
	defer r.Close(context.Background())
	cancel()
	err = r.Block(ctx, []byte(request), []byte("\n\nceiling.output_W"), nil, make([]float64, 2), 1)
	fmt.Println(errors.Is(err, context.Canceled))
	// Output:
	// true
}

// What is wrong with a request of a block comes as the module's own object.
func ExampleRefusedError() {
	ctx := context.Background()
	err := new(runner.Native).Block(ctx, []byte(`{}`), []byte("moment.warmth_C\n\n"), []float64{1}, []float64{0}, 1)
	var refused *runner.RefusedError
	if errors.As(err, &refused) {
		var object struct {
			Error struct {
				Problems []struct{ Field, Code string }
			}
		}
		_ = json.Unmarshal(refused.JSON, &object)
		for _, p := range object.Error.Problems {
			fmt.Println(p.Code, p.Field)
		}
	}
	// Output:
	// unknown moment.warmth_C
}
