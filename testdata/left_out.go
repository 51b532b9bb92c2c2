package testdata

// A Prediction is a measured point of a machine that the calibration left out: a row
// of left_out.csv.
type Prediction struct {
	Source    string // the machine left out
	Case      string
	Predicted float64
	Lo, Hi    float64 // bound 90 %
	Measured  float64
}

// Inside says whether the measurement lies within the bounds.
func (p *Prediction) Inside() bool { return p.Measured >= p.Lo && p.Measured <= p.Hi }

// leftOutMost is the largest number of rows counted per source: more points of one
// machine are not more machines.
const leftOutMost = 4

// leftOutMachines are the sources of left_out.csv that are whole machines. If only a
// log of the van is left out, the van's other logs predict it, which proves less.
var leftOutMachines = []string{"van", "bench275", "truck", "bus", "fleet"}

// LeftOuts reads left_out.csv: at most four steady points of each machine left out,
// evenly spread over its rows from the first to the last.
func LeftOuts() ([]Prediction, error) {
	t, err := Read("left_out.csv")
	if err != nil {
		return nil, err
	}
	var out []Prediction
	for _, source := range leftOutMachines {
		var all []Prediction
		for i := range t.Rows {
			name, err := t.Text(i, "left_out")
			if err != nil {
				return nil, err
			}
			kind, err := t.Text(i, "kind")
			if err != nil {
				return nil, err
			}
			if name != source || kind != "steady" {
				continue // a bound is not a measurement
			}
			p := Prediction{Source: name}
			if p.Case, err = t.Text(i, "case"); err != nil {
				return nil, err
			}
			for _, f := range []struct {
				col string
				to  *float64
			}{{"predicted_number", &p.Predicted}, {"low_number", &p.Lo}, {"high_number", &p.Hi}, {"measured_number", &p.Measured}} {
				if *f.to, err = t.Float(i, f.col); err != nil {
					return nil, err
				}
			}
			all = append(all, p)
		}
		n := min(len(all), leftOutMost)
		for k := range n {
			at := 0
			if n > 1 {
				at = k * (len(all) - 1) / (n - 1)
			}
			out = append(out, all[at])
		}
	}
	return out, nil
}
