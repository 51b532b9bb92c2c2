package main

import (
	"encoding/hex"
	"fmt"
	"strings"
)

// The parameters of SAE J1979 mode 01 that a follower reads, with the formulas
// of the standard; a, b are the data bytes. Lengths of others are not known,
// so what stands behind one in a response of many is lost.
var pids = map[byte]struct {
	bytes int
	field string
	value func(a, b float64) float64
}{
	0x0c: {2, "engine_rpm", func(a, b float64) float64 { return (256*a + b) / 4 }},
	0x0d: {1, "speed_kmh", func(a, _ float64) float64 { return a }},
	0x42: {2, "bus_V", func(a, b float64) float64 { return (256*a + b) / 1000 }},
	0x46: {1, "ambient_C", func(a, _ float64) float64 { return a - 40 }},
}

// mode01 is the mode of a response: that of the request, 0x01, plus 0x40.
const mode01 = 0x41

// isPIDs tells whether a line looks like a response rather than a record.
func isPIDs(line string) bool {
	digits := strings.Map(dropBlanks, line)
	return len(digits) >= 6 && strings.Trim(digits, "0123456789abcdefABCDEF") == "" && strings.Contains(strings.ToLower(digits), "41")
}

func dropBlanks(r rune) rune {
	if r == ' ' || r == '\t' || r == '>' || r == '\r' {
		return -1
	}
	return r
}

// readPIDs reads a response such as "41 0C 1A F8": with or without blanks, with
// several parameters, and with or without what a CAN adapter puts before it, an
// identifier of 11 or 29 bits and a length. It sets what it finds.
func readPIDs(text string, set func(field string, value float64)) error {
	digits := strings.Map(dropBlanks, strings.TrimSpace(text))
	switch lower := strings.ToLower(digits); {
	case strings.HasPrefix(lower, "7e") && len(lower)%2 == 1:
		digits = digits[3:]
	case strings.HasPrefix(lower, "18daf1") && len(lower) > 8:
		digits = digits[8:]
	}
	data, err := hex.DecodeString(digits)
	if err != nil {
		return fmt.Errorf("not pairs of hexadecimal digits")
	}
	if len(data) > 1 && data[0] != mode01 && data[1] == mode01 { // a length first; what is behind is filling
		n := int(data[0])
		if n > len(data)-1 {
			return fmt.Errorf("a response of %d bytes, of which %d came", n, len(data)-1)
		}
		data = data[1 : 1+n]
	}
	if len(data) < 2 || data[0] != mode01 {
		return fmt.Errorf("no response to mode 01")
	}
	for data = data[1:]; len(data) > 0; {
		pid, ok := pids[data[0]]
		if !ok {
			return fmt.Errorf("parameter %02X is not one of 0C, 0D, 42, 46", data[0])
		}
		if len(data) < 1+pid.bytes {
			return fmt.Errorf("parameter %02X has %d bytes of %d", data[0], len(data)-1, pid.bytes)
		}
		set(pid.field, pid.value(float64(data[1]), float64(data[pid.bytes])))
		data = data[1+pid.bytes:]
	}
	return nil
}
