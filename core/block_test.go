package core

import (
	"fmt"
	"math"
	"math/rand"
	"slices"
	"strings"
	"testing"
)

// plainInputs are the inputs that may be a column, and plainOutputs the outputs.
func plainInputs() (list []int) {
	for i := range inputs.fields {
		if f := &inputs.fields[i]; f.num != nil && !strings.Contains(f.Path, "[]") && !strings.Contains(f.Path, ".machine.") {
			list = append(list, i)
		}
	}
	return list
}

func plainOutputs() (list []int) {
	for i := range outputs.outputs {
		if outputs.outputs[i].IsColumn() {
			list = append(list, i)
		}
	}
	return list
}

// newTestBlock makes a block of a request.
func newTestBlock(t testing.TB, q *Request, columns, outs []int) *Block {
	t.Helper()
	var names strings.Builder
	for _, i := range columns {
		fmt.Fprintln(&names, inputs.fields[i].Path)
	}
	names.WriteString("\n")
	for _, i := range outs {
		fmt.Fprintln(&names, outputs.outputs[i].Path)
	}
	b, problem := NewBlock(q.JSON(), []byte(names.String()))
	if problem != nil {
		t.Fatalf("%s\n%s\n%s", problem, q.JSON(), names.String())
	}
	return b
}

// A block answers each row as Ceiling does, to the bit, for every number of an
// answer; says of a row it does not take which column is at fault; and does not
// depend on the rows before.
func TestBlockIsCeiling(t *testing.T) {
	n := 40
	if testing.Short() {
		n = 12
	}
	const rows = 9
	rng := rand.New(rand.NewSource(71))
	p := seededPicker{rng}
	all, outs := plainInputs(), plainOutputs()
	taken, refused, conflicts := 0, 0, 0
	for range n {
		q := drawRequest(p, 0.05)
		columns := make([]int, 0, 4)
		for len(columns) < 1+rng.Intn(4) {
			i := all[rng.Intn(len(all))]
			if path := inputs.fields[i].Path; inputs.inForce(&q, path) && !strings.HasSuffix(path, "rated_current_A") && !strings.Contains(fmt.Sprint(columns), fmt.Sprint(i)) &&
				!(strings.HasSuffix(path, "area_mm2") && q.Rig.Cable.AWG != "") {
				columns = append(columns, i)
			}
		}
		in := make([]float64, len(columns)*rows)
		for c, field := range columns {
			f := &inputs.fields[field]
			for i := range rows {
				lo, hi := f.Min, f.Max
				if r, ok := usual[f.Path]; ok && r[1] > 0 && rng.Intn(4) > 0 {
					lo, hi = r[0], r[1]
				}
				v := p.between("", lo, hi)
				if f.Kind == Whole {
					v = math.Round(v)
				}
				switch rng.Intn(25) {
				case 0:
					v = f.Max + 1 + math.Abs(f.Max)
				case 1:
					v = math.NaN()
				}
				in[c*rows+i] = v
			}
		}
		b := newTestBlock(t, &q, columns, outs)
		if b.Inputs() != len(columns) || b.Outputs() != len(outs)+1 {
			t.Fatalf("%d inputs and %d outputs, want %d and %d", b.Inputs(), b.Outputs(), len(columns), len(outs)+1)
		}
		out := make([]float64, b.Outputs()*rows)
		b.Run(in, out, rows)
		for i := range rows {
			row, status := q, 0
			for c, field := range columns {
				if !inputs.setNum(&row, field, in[c*rows+i]) {
					status = 1 + c
					break
				}
			}
			var a *Answer
			if status == 0 {
				var err error
				if a, err = Ceiling(&row); err != nil {
					status = 1 + len(columns)
					conflicts++
				}
			} else {
				refused++
			}
			if got := out[len(outs)*rows+i]; got != float64(status) {
				t.Errorf("row %d: status %v, want %d\n%s", i, got, status, row.JSON())
				continue
			}
			if status == 0 {
				taken++
			}
			for c, o := range outs {
				want := 0.0
				if out := &outputs.outputs[o]; a != nil && out.code != nil {
					// By the name in the answer as it is written.
					name := strings.Trim(string(out.append(nil, a, 0)), `"`)
					want = float64(slices.Index(out.Codes, name))
				} else if a != nil {
					if want = out.num(a, 0); want >= never {
						want = 0
					}
				}
				if got := out[c*rows+i]; math.Float64bits(got+0) != math.Float64bits(want+0) {
					t.Errorf("row %d: %s is %v, Ceiling gives %v\n%s", i, outputs.outputs[o].Path, got, want, row.JSON())
				}
			}
		}

		// Backwards, one block for all.
		back, other := make([]float64, len(in)), make([]float64, len(out))
		for c := range columns {
			for i := range rows {
				back[c*rows+i] = in[c*rows+rows-1-i]
			}
		}
		b.Run(back, other, rows)
		for c := range b.Outputs() {
			for i := range rows {
				if got, want := other[c*rows+rows-1-i], out[c*rows+i]; math.Float64bits(got) != math.Float64bits(want) {
					t.Errorf("row %d, output %d: %v in reverse order, %v before\n%s", i, c, got, want, q.JSON())
				}
			}
		}
	}
	t.Logf("%d rows answered, %d refused, %d in conflict", taken, refused, conflicts)
	if taken < rows*n/2 || refused == 0 || conflicts == 0 && !testing.Short() { // a dozen requests may have none
		t.Errorf("%d rows answered, %d refused, %d in conflict: the rows are dull", taken, refused, conflicts)
	}
}

// A row takes no memory, whether columns change the moment, the rig, or both.
func TestBlockTakesNoMemory(t *testing.T) {
	q := Demo()
	index := func(paths ...string) (list []int) {
		for _, p := range paths {
			list = append(list, inputs.mustIndex(p))
		}
		return list
	}
	for _, columns := range [][]int{
		index("moment.engine_rpm", "moment.ambient_C"),
		index("confidence"),
		index("rig.alternator.fouling", "rig.cable.length_m", "moment.speed_kmh"),
	} {
		b := newTestBlock(t, &q, columns, plainOutputs())
		const rows = 4
		in, out := make([]float64, len(columns)*rows), make([]float64, b.Outputs()*rows)
		for c, field := range columns {
			for i := range rows {
				f := &inputs.fields[field]
				r := usual[f.Path]
				in[c*rows+i] = r[0] + (r[1]-r[0])*(float64(i)+0.5)/rows
			}
		}
		b.Run(in, out, rows)
		for i := range rows {
			if s := out[(b.Outputs()-1)*rows+i]; s != 0 {
				t.Fatalf("row %d: status %v", i, s)
			}
		}
		if n := testing.AllocsPerRun(20, func() { b.Run(in, out, rows) }); n != 0 {
			t.Errorf("columns %v: %v allocations for %d rows, want 0", columns, n, rows)
		}
	}
}

// What cannot be a block is refused with all that is wrong.
func TestBlockRefuses(t *testing.T) {
	demo := Demo()
	for _, c := range []struct{ name, request, names, want string }{
		{"unknown input", string(demo.JSON()), "moment.engine_rmp\n\nceiling.input_A", "engine_rpm"},
		{"a choice", string(demo.JSON()), "rig.alternator.class_V\n\nceiling.input_A", "not one number"},
		{"a list", string(demo.JSON()), "rig.alternator.points[].speed_rpm\n\nceiling.input_A", "not one number"},
		{"unknown output", string(demo.JSON()), "moment.engine_rpm\n\nceiling.input", "no output column"},
		{"a free text", string(demo.JSON()), "moment.engine_rpm\n\ncostliest_unknown.measure", "no output column"},
		{"a list of names", string(demo.JSON()), "moment.engine_rpm\n\nlimits[].limit", "no output column"},
		{"a list of answers", string(demo.JSON()), "moment.engine_rpm\n\nlimits[].input_A", "no output column"},
		{"missing", "{}", "moment.engine_rpm\n\nceiling.input_A", "ambient_C"},
		{"no JSON", "{", "moment.engine_rpm\n\nceiling.input_A", "error"},
	} {
		b, problem := NewBlock([]byte(c.request), []byte(c.names))
		if b != nil || !strings.Contains(string(problem), c.want) || !strings.Contains(string(problem), `"error"`) {
			t.Errorf("%s: got block %v and %s, want a refusal with %q", c.name, b != nil, problem, c.want)
		}
	}
}

// What a row costs in a block of 2000: go test ./core -run '^$' -bench Block
func BenchmarkBlock(b *testing.B) {
	q := Demo()
	for _, c := range []struct {
		name, names string
		low, high   []float64
	}{
		{"moment", "moment.engine_rpm\nmoment.ambient_C\n\nnominal.input_A", []float64{700, 15}, []float64{2700, 40}},
		{"rig", "moment.engine_rpm\nrig.cable.length_m\n\nnominal.input_A", []float64{700, 2}, []float64{2700, 8}},
		{"confidence", "moment.engine_rpm\nmoment.ambient_C\n\nceiling.input_A", []float64{700, 15}, []float64{2700, 40}},
	} {
		b.Run(c.name, func(b *testing.B) {
			block, problem := NewBlock(q.JSON(), []byte(c.names))
			if problem != nil {
				b.Fatal(string(problem))
			}
			rows := 2000
			if c.name == "confidence" {
				rows = 50
			}
			in, out := make([]float64, len(c.low)*rows), make([]float64, block.Outputs()*rows)
			for i := range rows {
				for k := range c.low {
					in[k*rows+i] = c.low[k] + (c.high[k]-c.low[k])*float64(i*(7*k+1)%rows)/float64(rows)
				}
			}
			for b.Loop() {
				block.Run(in, out, rows)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*rows), "ns/row")
		})
	}
}
