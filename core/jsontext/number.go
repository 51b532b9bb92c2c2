package jsontext

import (
	"math"
	"strconv"
)

// AppendNumber writes the shortest text that reads back as v; null where v
// is not finite.
func AppendNumber(dst []byte, v float64) []byte {
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
func NumberText(v float64) string { return string(AppendNumber(nil, v)) }

// PlainNumber reads what people write for a number in a flag or a table cell:
// decimal digits, so neither NaN, infinity, hexadecimal nor digit separators.
// Too large a number comes back infinite, for the range check to refuse.
func PlainNumber(s string) (v float64, ok bool) {
	for i := 0; i < len(s); i++ {
		switch c := s[i]; {
		case IsDigit(c), c == '.', c == '+', c == '-', c == 'e', c == 'E':
		default:
			return 0, false
		}
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil || math.IsInf(v, 0)
}

// ParseNumber converts a number the reader has checked; too large is infinite.
func ParseNumber(text []byte) float64 {
	v, _ := strconv.ParseFloat(string(text), 64)
	return v
}
