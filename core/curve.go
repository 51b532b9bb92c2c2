package core

import (
	"spareamps/core/detmath"
	"spareamps/core/rig"
)

// A CurveFit is a measured output curve as three shape numbers.
type CurveFit struct {
	CutInRpm     float64 // at the alternator, at the voltage of the curve
	LimitA       float64
	RX           float64 // R/X at 6000 rpm
	MaxResidualA float64
	OK           bool // false: no three numbers come near the points
}

// Bounds of the fit. A cut-in is sought below the first speed with output.
const (
	fitMinCutIn = 200.0
	fitMinRX    = 0.0
	fitMaxRX    = 0.6
)

// What published curves leave open: between these a fit follows the points
// alone. Beyond, it also pays for the distance, so that two readings far above
// the cut-in, which tell nothing of it, are not taken for a cut-in of 200 rpm:
// that would stand for a winding of five times the resistance.
const (
	fitLowCutIn  = 900.0 // published fits and data 920 to 1340 rpm
	fitHighCutIn = 1400.0
	fitLowRX     = 0.04 // published fits 0.046 to 0.113
	fitHighRX    = 0.12
	fitSpreadCut = 0.25 // of the logarithm } distance that weighs as much as a point
	fitSpreadRX  = 0.05 //                  } missed by fitMiss
	fitMiss      = 0.01 // of the largest current; engineering estimate
)

// FitCurve finds the shape of an output curve at full field by least squares:
// cut-in speed, limit current and R/X at 6000 rpm. Speeds are in rpm of the
// alternator, currents in A. With two points R/X keeps its default; with one,
// the cut-in too.
//
// The limit current enters linearly and is solved outright, so that the search
// runs over two numbers: a coarse grid, then Gauss-Newton steps damped after
// Levenberg and Marquardt. To the squares of the residuals are added those of
// fitBeyond. Checked against gonum/optimize and the published curves in
// testdata/.
func FitCurve(points []rig.Point) CurveFit {
	top := 0.0
	first := 1e9
	for _, p := range points {
		if p.CurrentA > 0 {
			top = max(top, p.CurrentA)
			first = min(first, p.SpeedRpm)
		}
	}
	if top == 0 {
		return CurveFit{}
	}
	best, bestSum := [2]float64{labelCutInRpm, labelRX}, 1e300
	try := func(q [2]float64) {
		if _, sum := fitLimit(points, q); sum < bestSum {
			best, bestSum = q, sum
		}
	}
	switch len(points) {
	case 1:
		best[0] = min(labelCutInRpm, 0.8*first)
	case 2:
		for nc := 0.1; nc < 0.999; nc += 0.01 {
			try([2]float64{nc * first, labelRX})
		}
		best, bestSum = descend(points, best, bestSum, 1)
	default:
		for nc := 0.1; nc < 0.999; nc += 0.04 {
			for _, rx := range [...]float64{0.005, 0.02, 0.05, 0.09, 0.15, 0.25, 0.4} {
				try([2]float64{nc * first, rx})
			}
		}
		best, bestSum = descend(points, best, bestSum, 2)
	}
	fit := CurveFit{CutInRpm: best[0], RX: best[1], OK: true}
	fit.LimitA, _ = fitLimit(points, best)
	for _, p := range points {
		fit.MaxResidualA = max(fit.MaxResidualA, detmath.Abs(fit.Current(p.SpeedRpm)-p.CurrentA))
	}
	if fit.MaxResidualA > 0.25*top {
		fit.OK = false
	}
	return fit
}

// Current returns the fitted output in A at a speed in rpm of the alternator.
func (f CurveFit) Current(speedRpm float64) float64 {
	return curveCurrent(f.CutInRpm, f.LimitA, f.RX, speedRpm)
}

// fitLimit returns the best limit current for a cut-in and R/X, and the sum of
// squares left.
func fitLimit(points []rig.Point, q [2]float64) (limitA, sum float64) {
	var yy, yi float64
	for _, p := range points {
		y := curveCurrent(q[0], 1, q[1], p.SpeedRpm)
		yy += y * y
		yi += y * p.CurrentA
	}
	if yy == 0 {
		return 0, 1e300
	}
	limitA = yi / yy
	for _, p := range points {
		d := limitA*curveCurrent(q[0], 1, q[1], p.SpeedRpm) - p.CurrentA
		sum += d * d
	}
	for _, d := range fitBeyond(points, q) {
		sum += d * d
	}
	return limitA, sum
}

// fitBeyond returns how far a cut-in and R/X are beyond what is usual, in A.
func fitBeyond(points []rig.Point, q [2]float64) [2]float64 {
	top := 0.0
	for _, p := range points {
		top = max(top, p.CurrentA)
	}
	cut := detmath.Log(q[0] / min(max(q[0], fitLowCutIn), fitHighCutIn))
	rx := q[1] - min(max(q[1], fitLowRX), fitHighRX)
	return [2]float64{fitMiss * top * cut / fitSpreadCut, fitMiss * top * rx / fitSpreadRX}
}

// descend improves the first n of a fit's two numbers by damped Gauss-Newton
// steps, the limit current following.
func descend(points []rig.Point, q [2]float64, sum float64, n int) ([2]float64, float64) {
	damp := 1e-3
	scale := [2]float64{q[0], 0.05}
	for range 200 {
		limitA, _ := fitLimit(points, q)
		var a [2][2]float64
		var b [2]float64
		var up, down [2][2]float64
		var upA, downA [2]float64
		for k := range n {
			h := 1e-6 * scale[k]
			up[k], down[k] = q, q
			up[k][k] += h
			if down[k][k] -= h; down[k][1] < fitMinRX {
				down[k][1] = q[1]
			}
			upA[k], _ = fitLimit(points, up[k])
			downA[k], _ = fitLimit(points, down[k])
		}
		for _, p := range points {
			r := limitA*curveCurrent(q[0], 1, q[1], p.SpeedRpm) - p.CurrentA
			var g [2]float64
			for k := range n {
				hi := upA[k] * curveCurrent(up[k][0], 1, up[k][1], p.SpeedRpm)
				lo := downA[k] * curveCurrent(down[k][0], 1, down[k][1], p.SpeedRpm)
				g[k] = scale[k] * (hi - lo) / (up[k][k] - down[k][k])
			}
			for i := range n {
				b[i] -= g[i] * r
				for j := range n {
					a[i][j] += g[i] * g[j]
				}
			}
		}
		moved := false
		for range 12 {
			m := a
			m[0][0] = m[0][0]*(1+damp) + 1e-12
			m[1][1] = m[1][1]*(1+damp) + 1e-12
			det := m[0][0]*m[1][1] - m[0][1]*m[1][0]
			d := [2]float64{(b[0]*m[1][1] - m[0][1]*b[1]) / det, (m[0][0]*b[1] - m[1][0]*b[0]) / det}
			next := q
			for k := range n {
				next[k] += scale[k] * d[k]
			}
			next[0] = max(next[0], fitMinCutIn)
			next[1] = min(max(next[1], fitMinRX), fitMaxRX)
			if _, s := fitLimit(points, next); s < sum {
				moved = sum-s > 1e-13*sum
				q, sum, damp = next, s, damp/5
				break
			}
			damp *= 4
		}
		if !moved {
			break
		}
	}
	return q, sum
}
