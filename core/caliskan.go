package core

import "math"

// closedFormCurrent returns the mean direct current, in A, of a claw-pole
// machine behind its bridge, by the fundamental-frequency closed form.
//
//	V1 = (2/π)·(Vo + 2·Vd)                                        (1)
//	I1 = (−R·V1 + √((R·V1)² + (R² + X²)·(Vs² − V1²)))/(R² + X²)   (2)
//	Idc = (3/π)·I1                                                (3)
//
// vs is the peak EMF of a phase in V, x = ωL > 0 and r >= 0 its reactance and
// resistance in ohm, all of the star equivalent; vo the voltage at the B+ post
// and vd the drop of one diode in V. No current where Vs <= V1.
//
// Neglects every harmonic of the bridge's voltage. Against the bridge solved
// exactly, with R/X up to 0.3, it is high by 1 % at 4 times the cut-in speed,
// 3 % at 2.5 times, 6 % at 2 times, 15 to 20 % at 1.5 times and 40 to 57 % at
// 1.25 times, and it puts the cut-in itself 10 % too high: a cross-check, not
// the model. Source: Caliskan, Perreault, Jahns, Kassakian, "Analysis of
// three-phase rectifiers with constant-voltage loads", IEEE Transactions on
// Circuits and Systems I, 2003; title and equations from memory, the equations
// derived again. Checked: TestClosedForm, testdata/rivas_output.csv.
func closedFormCurrent(vs, x, r, vo, vd float64) float64 {
	v1 := 2 / math.Pi * (vo + 2*vd) // (1)
	if vs <= v1 {
		return 0
	}
	z := r*r + x*x
	rv := r * v1
	i1 := (-rv + math.Sqrt(rv*rv+z*(vs-v1)*(vs+v1))) / z // (2)
	return 3 / math.Pi * i1                              // (3)
}
