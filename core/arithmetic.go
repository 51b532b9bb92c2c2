package core

import "math"

func sqrt(x float64) float64 { return math.Sqrt(x) }

func abs(x float64) float64 { return math.Abs(x) }

// limit returns x within ±most.
func limit(x, most float64) float64 { return min(max(x, -most), most) }

// floor rounds down; x is far below 2^53.
func floor(x float64) float64 {
	n := float64(int64(x))
	if n > x {
		n--
	}
	return n
}
