package core

import "math"

func sqrt(x float64) float64 { return math.Sqrt(x) }

func abs(x float64) float64 { return math.Abs(x) }

// smaller and larger are min and max of numbers that are never NaN. The
// builtins are calls in WebAssembly, dear on the hot path.
func smaller(a, b float64) float64 {
	if a < b {
		return a
	}
	return b
}

func larger(a, b float64) float64 {
	if a > b {
		return a
	}
	return b
}

// limit returns x within ±most.
func limit(x, most float64) float64 { return smaller(larger(x, -most), most) }

// floor rounds down; x is far below 2^53.
func floor(x float64) float64 {
	n := float64(int64(x))
	if n > x {
		n--
	}
	return n
}
