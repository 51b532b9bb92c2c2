package core

import (
	"math"
	"strconv"
)

// appendJSONNumber writes the shortest text that reads back as v; null where v
// is not finite.
func appendJSONNumber(dst []byte, v float64) []byte {
	a := math.Abs(v)
	switch {
	case !(a <= math.MaxFloat64):
		return append(dst, "null"...)
	case v == 0: // -0 too
		return append(dst, '0')
	case a < 1e-6 || a >= 1e21:
		dst = strconv.AppendFloat(dst, v, 'e', -1, 64)
		if n := len(dst); dst[n-2] == '0' && (dst[n-3] == '-' || dst[n-3] == '+') { // 1e-7, not 1e-07
			dst = append(dst[:n-2], dst[n-1])
		}
		return dst
	}
	return strconv.AppendFloat(dst, v, 'f', -1, 64)
}

//go:noinline
func numberText(v float64) string { return string(appendJSONNumber(nil, v)) }

// plainNumber reads what people write for a number in a flag or a table cell:
// decimal digits, so neither NaN, infinity, hexadecimal nor digit separators.
// Too large a number comes back infinite, for the range check to refuse.
func plainNumber(s string) (v float64, ok bool) {
	for i := 0; i < len(s); i++ {
		switch c := s[i]; {
		case isDigit(c), c == '.', c == '+', c == '-', c == 'e', c == 'E':
		default:
			return 0, false
		}
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil || math.IsInf(v, 0)
}

// jsonNumber converts a number the reader has checked; too large is infinite.
func jsonNumber(text []byte) float64 {
	v, _ := strconv.ParseFloat(string(text), 64)
	return v
}

// take says why f does not take v: "range", "type" for a fraction where a
// whole number is due, or "".
func (f *Field) take(v float64) (code string) {
	if !(v >= f.Min && v <= f.Max) { // NaN fails both
		return "range"
	}
	if f.Kind == Whole && v != math.Trunc(v) {
		return "type"
	}
	return ""
}
