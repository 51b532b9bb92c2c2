package detmath

import "math"

func Sqrt(x float64) float64 { return math.Sqrt(x) }

func Abs(x float64) float64 { return math.Abs(x) }

// Min and Max are those of numbers that are never NaN. The builtins are calls in
// WebAssembly, expensive on the hot path.
func Min(a, b float64) float64 {
	if a < b {
		return a
	}
	return b
}

func Max(a, b float64) float64 {
	if a > b {
		return a
	}
	return b
}

// ClampAbs returns x within ±most.
func ClampAbs(x, most float64) float64 { return Min(Max(x, -most), most) }

// Clamp returns x within lo and hi.
func Clamp(x, lo, hi float64) float64 { return Min(Max(x, lo), hi) }

// Floor rounds down; x is far below 2^53.
func Floor(x float64) float64 {
	n := float64(int64(x))
	if n > x {
		n--
	}
	return n
}

// RoundOff is taken off the number of cells in a row, so that the end of the last
// cell is not the beginning of one more.
const RoundOff = 0x1p-51

// A number of magnitude up to 2^51 and wholeUnit add up to a number whose last
// bit counts ones: adding it rounds to a whole number, half to even, and leaves
// that number in the lowest bits. WebAssembly's own conversion to integers is
// several times as expensive.
const WholeUnit = 0x1.8p52

// MinStraight and MaxStraight are Min and Max without a branch, but for rounding:
// in WebAssembly Go compiles a branch into a jump table.
func MinStraight(a, b float64) float64 { return 0.5 * (a + b - math.Abs(a-b)) }

func MaxStraight(a, b float64) float64 { return 0.5 * (a + b + math.Abs(a-b)) }
