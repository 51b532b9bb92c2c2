package service

import (
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
	"testing"

	"spareamps/core"
)

// blockOf is the binary form of a sweep.
func blockOf(request, inputs, outputs string, rows int, values ...float64) []byte {
	h := fmt.Sprintf(`{"request":%s,"inputs":%s,"outputs":%s,"rows":%d}`, request, inputs, outputs, rows)
	body := binary.LittleEndian.AppendUint32(nil, uint32(len(h)))
	body = append(body, h...)
	for len(body)%8 != 0 {
		body = append(body, 0)
	}
	for _, v := range values {
		body = binary.LittleEndian.AppendUint64(body, math.Float64bits(v))
	}
	return body
}

// Both forms of a sweep give the bits of the core's own block, with as many
// rows as are computed in several parts, good and bad ones.
func TestSweepIsTheCoresBlock(t *testing.T) {
	s := New(Options{})
	for _, c := range []struct {
		inputs, outputs []string
		rows            int
	}{
		{[]string{"moment.ambient_C", "moment.engine_rpm"}, []string{"nominal.input_A", "nominal.output_W"}, 4500},
		{[]string{"moment.ambient_C", "moment.engine_rpm"}, []string{"ceiling.input_A", "advice.output_W"}, 13},
		{[]string{"rig.alternator.pulley_ratio", "moment.ambient_C"}, []string{"nominal.input_A"}, 350},
		{[]string{"moment.ambient_C"}, nil, 5},
		{[]string{"moment.ambient_C"}, []string{"nominal.input_A"}, 0},
		{nil, []string{"ceiling.input_A"}, 1},
		{[]string{"moment.ambient_C"}, []string{"ceiling.limit", "costliest_unknown.unknown"}, 7},
	} {
		in := make([]float64, len(c.inputs)*c.rows)
		for i := range in {
			in[i] = []float64{1.5, 25, 38.25, 900, 1400, 2600, 4000, -300}[(i*i+3*i)%8]
		}
		h := header{Inputs: c.inputs, Outputs: c.outputs}
		block, problem := core.NewBlock(demo(), h.names())
		if problem != nil {
			t.Fatalf("%s", problem)
		}
		want := make([]float64, block.Outputs()*c.rows)
		block.Run(in, want, c.rows)

		inputs, _ := json.Marshal(c.inputs)
		outputs, _ := json.Marshal(c.outputs)
		r := do(t, s, "POST", "/v1/sweep", BlockType, blockOf(string(demo()), string(inputs), string(outputs), c.rows, in...))
		got := text(t, r)
		if r.StatusCode != 200 || len(got) != 8*len(want) {
			t.Fatalf("%v %v: got %d, %d bytes, want %d: %.300s", c.inputs, c.outputs, r.StatusCode, len(got), 8*len(want), got)
		}
		for i := range want {
			if v := binary.LittleEndian.Uint64(got[8*i:]); v != math.Float64bits(want[i]) {
				t.Fatalf("%v %v: value %d is %v, want %v", c.inputs, c.outputs, i, math.Float64frombits(v), want[i])
			}
		}

		columns := make([][]float64, len(c.inputs))
		for k := range columns {
			columns[k] = in[k*c.rows : (k+1)*c.rows]
		}
		body, _ := json.Marshal(map[string]any{"request": json.RawMessage(demo()), "inputs": c.inputs, "outputs": c.outputs, "columns": columns})
		r = do(t, s, "POST", "/v1/sweep", jsonType, body)
		var answer struct {
			Outputs []string
			Columns [][]float64
			Status  []float64
		}
		if err := json.Unmarshal(text(t, r), &answer); err != nil || r.StatusCode != 200 {
			t.Fatalf("%v %v: got %d, %v", c.inputs, c.outputs, r.StatusCode, err)
		}
		all := append(answer.Columns, answer.Status)
		if len(all) != block.Outputs() || len(answer.Outputs) != len(c.outputs) {
			t.Fatalf("%v %v: got %d columns", c.inputs, c.outputs, len(all))
		}
		for i := range want {
			if v := all[i/c.rows][i%c.rows]; v != want[i] {
				t.Fatalf("%v %v as JSON: value %d is %v, want %v", c.inputs, c.outputs, i, v, want[i])
			}
		}
	}
}

// NaN and infinity in a column are values out of range, as in every block.
func TestNotNumbersInABlock(t *testing.T) {
	r := do(t, New(Options{}), "POST", "/v1/sweep", BlockType,
		blockOf(string(demo()), `["moment.ambient_C"]`, `["nominal.input_A"]`, 3, math.NaN(), math.Inf(1), 30))
	got := text(t, r)
	if r.StatusCode != 200 || len(got) != 48 {
		t.Fatalf("got %d, %d bytes", r.StatusCode, len(got))
	}
	for i, want := range []float64{1, 1, 0} {
		if v := math.Float64frombits(binary.LittleEndian.Uint64(got[24+8*i:])); v != want {
			t.Errorf("status %d: got %v, want %v", i, v, want)
		}
	}
}
