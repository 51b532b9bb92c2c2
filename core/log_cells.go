package core

import (
	"spareamps/core/jsontext"
	"strconv"
)

const (
	logMaxLine = 64 << 10 // bytes; longer lines are no rows
	logMaxCell = 64       // bytes; longer cells are neither a number nor a time
	logShown   = 50       // names and values that a report repeats
)

// logCell finds the cell that starts at i of a line that ends at end: its text
// from a to b without blanks and quotation marks around it, and where the next
// starts, past end behind the last. A quotation mark opens a cell and closes it
// in the same line; doubled it is one of the text.
func logCell(text []byte, i, end int, separator byte) (a, b, next int, ok bool) {
	for i < end && (text[i] == ' ' || text[i] == '\t' && separator != '\t') {
		i++
	}
	if i < end && text[i] == '"' {
		a = i + 1
		for i = a; ; i++ {
			if i == end {
				return 0, 0, 0, false
			}
			if text[i] == '"' {
				if i+1 == end || text[i+1] != '"' {
					break
				}
				i++
			}
		}
		b = i
		for i++; i < end && text[i] == ' '; i++ {
		}
		if i < end && text[i] != separator {
			return 0, 0, 0, false
		}
	} else {
		a = i
		for i < end && text[i] != separator {
			i++
		}
		b = i
	}
	for b > a && (text[b-1] == ' ' || text[b-1] == '\t') {
		b--
	}
	for a < b && text[a] == ' ' {
		a++
	}
	return a, b, i + 1, true
}

// logSeparator is what parts the cells of a header.
func logSeparator(line []byte) byte {
	separator := byte(',')
	for _, c := range line {
		if c == '\t' {
			return c
		}
		if c == ';' {
			separator = c
		}
	}
	return separator
}

// logBlank says whether a cell tells that nothing was read.
func logBlank(cell []byte) bool {
	if len(cell) > 4 {
		return false
	}
	for _, s := range [...]string{"", "-", "--", "---", "?", "nan", "na", "n/a", "null", "none"} {
		if foldEqual(s, cell) {
			return true
		}
	}
	return false
}

// Powers of ten that a float64 holds exactly.
var exactTens = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// logNumber reads a decimal number, the nearest float64 to it. With comma a
// comma is a point; where both stand it is no number, since nobody knows which
// parts the thousands.
//
// Digits that make an integer below 2^53, divided by a power of ten that is
// exact, are one rounding: Clinger, "How to read floating point numbers
// accurately", PLDI 1990. All else is left to strconv.
func logNumber(cell []byte, comma bool) (v float64, ok bool) {
	if len(cell) == 0 || len(cell) > logMaxCell {
		return 0, false
	}
	i, negative := 0, false
	if cell[0] == '-' || cell[0] == '+' {
		i, negative = 1, cell[0] == '-'
	}
	start, point, n := i, -1, uint64(0)
	for ; i < len(cell); i++ {
		c := cell[i]
		switch {
		case jsontext.IsDigit(c):
			n = n*10 + uint64(c-'0')
			continue
		case (c == '.' || c == ',' && comma) && point < 0:
			point = i
			continue
		}
		break
	}
	count := i - start
	if point >= 0 {
		count--
	}
	if count == 0 {
		return 0, false
	}
	if i == len(cell) && count <= 15 {
		v = float64(n)
		if point >= 0 {
			v /= exactTens[i-1-point]
		}
		if negative {
			v = -v
		}
		return v, true
	}
	if i < len(cell) { // an exponent, and nothing behind
		j := i + 1
		if cell[i]|0x20 == 'e' && j < len(cell) && (cell[j] == '-' || cell[j] == '+') {
			j++
		}
		if cell[i]|0x20 != 'e' || j == len(cell) || jsontext.Digits(cell, j) != len(cell) {
			return 0, false
		}
	}
	var buffer [logMaxCell]byte
	copy(buffer[:], cell)
	if point >= 0 {
		buffer[point] = '.'
	}
	v, _ = strconv.ParseFloat(string(buffer[:len(cell)]), 64) // infinite where too large, for the range to refuse
	return v, true
}
