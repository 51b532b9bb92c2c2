package core

import "spareamps/core/detmath"

// A symmetric is a matrix by its lower triangle.
type symmetric [parameters][parameters]float64

// factor replaces the matrix by its Cholesky factor; it is positive definite by
// its making: the identity and what is added to it.
func (a *symmetric) factor() {
	for j := range a {
		d := a[j][j]
		for k := range j {
			d -= a[j][k] * a[j][k]
		}
		a[j][j] = detmath.Sqrt(detmath.Max(d, 1e-12))
		for i := j + 1; i < len(a); i++ {
			s := a[i][j]
			for k := range j {
				s -= a[i][k] * a[j][k]
			}
			a[i][j] = s / a[j][j]
		}
	}
}

// solve replaces b by what the factored matrix takes to b.
func (a *symmetric) solve(b *[parameters]float64) {
	for i := range b {
		for k := range i {
			b[i] -= a[i][k] * b[k]
		}
		b[i] /= a[i][i]
	}
	for i := len(b) - 1; i >= 0; i-- {
		for k := i + 1; k < len(b); k++ {
			b[i] -= a[k][i] * b[k]
		}
		b[i] /= a[i][i]
	}
}

// inverse returns all of the inverse of the factored matrix.
func (a *symmetric) inverse() (inv symmetric) {
	for j := range inv {
		var e [parameters]float64
		e[j] = 1
		a.solve(&e)
		for i := range e {
			inv[i][j] = e[i]
		}
	}
	return inv
}
