package core

import (
	"spareamps/core/conductor"
	"spareamps/core/detmath"
)

// The charger is a load of constant power: it draws what its output needs,
// whatever the voltage at its terminals.
//
//	P_out = η·I·(V_bus − I·R)     (1)

// outputW returns the charger's output in W at an input current.
func outputW(efficiency, busV, currentA, ohm float64) float64 {
	return efficiency * currentA * (busV - currentA*ohm) // (1)
}

// inputA returns the input current in A that an output in W draws through a
// lead; ok is false where the lead cannot bring that power.
//
//	I·V − I²·R(I) = P/η     (2)
//
// R grows with the current's own heat, R = a + b·I². The smaller root is
// sought by Newton's method from the current without a lead, which is below it.
func inputA(w, efficiency, busV float64, l *conductor.Lead, ambientC float64) (currentA float64, ok bool) {
	p := detmath.Max(w, 0) / efficiency
	a, b := l.OhmLaw(ambientC)
	i := p / busV
	for range 40 {
		ii := i * i
		slope := busV - i*(2*a+4*b*ii)
		if slope <= 0 {
			return 0, false
		}
		d := (p - i*busV + ii*(a+b*ii)) / slope // (2)
		i += d
		if d <= 1e-8*i { // the next is far smaller, but where the lead brings no more
			return i, true
		}
	}
	return 0, false
}

// roundDown returns w in whole steps, never above w.
func roundDown(w, step float64) float64 {
	if w <= 0 {
		return 0
	}
	if step <= 0 {
		return w
	}
	n := detmath.Floor(w/step + 1e-9)
	return n * step
}
