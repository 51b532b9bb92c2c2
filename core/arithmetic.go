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

// limitTo returns x within lo and hi.
func limitTo(x, lo, hi float64) float64 { return smaller(larger(x, lo), hi) }

// floor rounds down; x is far below 2^53.
func floor(x float64) float64 {
	n := float64(int64(x))
	if n > x {
		n--
	}
	return n
}

// roundOff is taken off the number of cells in a row, so that the end of the last
// cell is not the beginning of one more.
const roundOff = 0x1p-51

// A number of magnitude up to 2^51 and wholeUnit add up to a number whose last
// bit counts ones: adding it rounds to a whole number, half to even, and leaves
// that number in the lowest bits. WebAssembly's own conversion to integers is
// several times as dear.
const wholeUnit = 0x1.8p52

// straightMin and straightMax are smaller and larger without a branch, but for
// rounding: in WebAssembly Go takes a branch by way of a table of all the places
// it may go to.
func straightMin(a, b float64) float64 { return 0.5 * (a + b - math.Abs(a-b)) }

func straightMax(a, b float64) float64 { return 0.5 * (a + b + math.Abs(a-b)) }
