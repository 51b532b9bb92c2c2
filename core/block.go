package core

import "strings"

// A Block answers many requests that differ in a few numbers, column by
// column. Make one with NewBlock; one block serves one goroutine.
//
// A column may also set an unknown, which a request cannot: see UnknownFields.
// The likeliest vehicle then has that value, and so has each of those that the
// confidence counts over.
type Block struct {
	q       Request
	columns []int // fields, by index in the table of inputs; unknown j is -1-j
	outs    []int // outputs, by index in the table of outputs
	parts   want
	rigOnly bool // no column changes the rig
	ready   bool
	drawn   bool // the vehicles have the unknowns that are known
	study   study
	answer  Answer

	least, most [unknowns]float64 // ends of the columns of unknowns
}

// NewBlock prepares a block: a request that holds what all rows share, and
// names of columns: paths of inputs and unknowns one a line, an empty line,
// output paths one a line. Its second result is nil, or the error object.
func NewBlock(request, names []byte) (*Block, []byte) {
	b := &Block{q: NewRequest(), rigOnly: true}
	ps := inputs.read(request, &b.q, "")
	ins, outs, _ := strings.Cut(string(names), "\n\n")
	for _, path := range lines(ins) {
		if strings.HasPrefix(path, UnknownPrefix) {
			j, problem := unknownColumn(path)
			if problem != nil {
				ps = append(ps, *problem)
				continue
			}
			b.columns = append(b.columns, -1-j)
			b.study.known = append(b.study.known, j)
			b.least[j], b.most[j] = Unknowns[j].columnEnds()
			if j == uBusV && b.q.Rig.Alternator.Regulator == "variable" {
				b.least[j], b.most[j] = -variableColumnV, variableColumnV
			}
			continue
		}
		i, ok := inputs.index(path)
		switch {
		case !ok:
			ps = append(ps, noColumn(path))
			continue
		case inputs.fields[i].num == nil || strings.Contains(path, "[]"):
			ps = append(ps, plain("type", path, "", "a number outside lists", path+" cannot be a column: it is not one number"))
			continue
		}
		b.columns = append(b.columns, i)
		if strings.HasPrefix(path, "rig.") {
			b.rigOnly = false
		}
		f := &inputs.fields[i]
		if !b.q.given.has(i) {
			inputs.setNum(&b.q, i, min(max(1, f.Min), f.Max)) // so that it is not missing
		}
	}
	for _, path := range lines(outs) {
		i := outputs.index(path)
		if i < 0 || !outputs.outputs[i].IsColumn() {
			ps = append(ps, plain("unknown", path, "", "a number outside lists of the table of outputs", "there is no output column "+path))
			continue
		}
		b.outs = append(b.outs, i)
		b.parts |= partOf(path)
	}
	if len(ps) == 0 {
		ps = inputs.checkMissing(&b.q, ForCeiling...)
	}
	if len(ps) == 0 && b.rigOnly {
		ps = b.q.check()
	}
	if len(ps) == 0 { // of lists, so the same in every row
		ps = append(b.q.checkObservations(), b.checkKnown()...)
	}
	if len(ps) > 0 {
		return nil, problemsJSON("bad_input", ps)
	}
	return b, nil
}

// lines splits text, leaving out empty lines.
func lines(text string) (l []string) {
	for line := range strings.SplitSeq(text, "\n") {
		if line != "" {
			l = append(l, line)
		}
	}
	return l
}

// partOf says which part of an answer an output belongs to.
func partOf(path string) want {
	top, _, _ := strings.Cut(path, ".")
	switch top {
	case "nominal":
		return 0
	case "advice", "after_idle":
		return wantCeiling | wantIdle
	case "costliest_unknown":
		return wantCeiling | wantCosts
	case "ceiling", "fit":
		return wantCeiling
	}
	return wantCeiling | wantState
}

// Inputs returns the number of input columns.
func (b *Block) Inputs() int { return len(b.columns) }

// Outputs returns the number of output columns: those named, and status.
func (b *Block) Outputs() int { return len(b.outs) + 1 }

// column is an output as a block gives it.
func (o *Output) column(a *Answer) float64 {
	if o.code != nil {
		return float64(o.code(a, 0))
	}
	if v := o.num(a, 0); v < never {
		return v
	}
	return 0
}

// Run answers rows requests. Column c of row i is in[c·rows+i]; results are
// laid likewise in out, a name as its index in the output's Codes. The last
// output column is status: 0, or 1 + the number of the column whose value is out
// of range, or 1 + the number of columns where the values do not go together.
// The other results of such a row are 0, as is a result that never binds.
func (b *Block) Run(in, out []float64, rows int) {
	status := out[len(b.outs)*rows:]
	for i := range rows {
		status[i] = b.row(in, rows, i)
		for c, o := range b.outs {
			v := 0.0
			if status[i] == 0 {
				v = outputs.outputs[o].column(&b.answer)
			}
			out[c*rows+i] = v
		}
	}
}

// row answers row i into b.answer and returns its status.
func (b *Block) row(in []float64, rows, i int) float64 {
	for c, field := range b.columns {
		if v := in[c*rows+i]; field < 0 && !b.know(-1-field, v) || field >= 0 && !inputs.setNum(&b.q, field, v) {
			return float64(1 + c)
		}
	}
	if !b.rigOnly && b.q.check() != nil {
		return float64(1 + len(b.columns))
	}
	anew := !b.ready || !b.rigOnly
	if anew {
		b.study.prepare(&b.q)
		b.ready = true
	} else if !b.drawn {
		b.study.likely()
	}
	if (anew || !b.drawn) && b.parts != 0 {
		b.study.draws()
	}
	b.drawn = true
	if b.parts != 0 {
		b.answer = Answer{}
	}
	b.study.answer(&b.q, &b.answer, b.parts)
	return 0
}

// index finds an output by its path.
func (t *outputTable) index(path string) int {
	for i := range t.outputs {
		if t.outputs[i].Path == path {
			return i
		}
	}
	return -1
}
