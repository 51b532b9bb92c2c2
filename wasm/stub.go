//go:build wasip1

package main

const abiMajor, abiMinor = 1, 0

type blockRunner interface {
	Inputs() int
	Outputs() int
	Run(in, out []float64, rows int)
}
type stubBlock struct{ in, out int }

func (s *stubBlock) Inputs() int  { return s.in }
func (s *stubBlock) Outputs() int { return s.out }
func (s *stubBlock) Run(in, out []float64, rows int) {
	for i := 0; i < rows; i++ {
		sum := 0.0
		for c := 0; c < s.in; c++ {
			sum += in[c*rows+i]
		}
		for c := 0; c < s.out-1; c++ {
			out[c*rows+i] = sum * float64(c+1)
		}
		out[(s.out-1)*rows+i] = 0
	}
}
func ceilingJSON(request []byte) []byte {
	if string(request) == "panic" {
		panic("stub")
	}
	return append([]byte(`{"echo":`), append(append([]byte{}, request...), '}')...)
}
func aboutJSON() []byte                  { return []byte(`{"version":"stub","abi":"1.0"}`) }
func quantityJSON(request []byte) []byte { return []byte(`{"value":1}`) }
func errorJSON(code, field, value, allowed, message string) []byte {
	return []byte(`{"error":{"code":"` + code + `","problems":[{"field":"` + field + `","value":"` + value + `","allowed":"` + allowed + `","message":"` + message + `"}]}}`)
}
func newBlock(request, names []byte) (blockRunner, []byte) {
	b := &stubBlock{}
	n := &b.in
	start := 0
	for i := 0; i <= len(names); i++ {
		if i == len(names) || names[i] == '\n' {
			if i == start {
				if n == &b.out {
					break
				}
				n = &b.out
			} else {
				*n++
			}
			start = i + 1
		}
	}
	b.out++
	return b, nil
}
