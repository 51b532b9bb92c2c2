package core

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
//	I = (V − √(V² − 4·R·P/η))/(2·R)     (2), R at the current's own heat
func inputA(w, efficiency, busV float64, l *lead, ambientC float64) (currentA float64, ok bool) {
	if w <= 0 {
		return 0, true
	}
	p := w / efficiency
	i := p / busV
	for range 60 {
		r := l.ohm(i, ambientC)
		disc := busV*busV - 4*r*p
		if disc < 0 {
			return 0, false
		}
		// (2), in the form that stands R = 0
		next := 2 * p / (busV + sqrt(disc))
		d := abs(next - i)
		i = next
		if d < 1e-11*i {
			return i, true
		}
	}
	return i, true
}

// roundDown returns w in whole steps, never above w.
func roundDown(w, step float64) float64 {
	if w <= 0 {
		return 0
	}
	if step <= 0 {
		return w
	}
	n := floor(w/step + 1e-9)
	return n * step
}
