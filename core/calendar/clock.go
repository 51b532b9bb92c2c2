package calendar

import "spareamps/core/detmath"

// AppendClock writes minutes since midnight as a time of day; 1440 is 24:00.
func AppendClock(dst []byte, minutes float64) []byte {
	n := int(minutes + 0.5)
	return AppendTwo(append(AppendTwo(dst, n/60), ':'), n%60)
}

func AppendTwo(dst []byte, n int) []byte { return append(dst, byte('0'+n/10%10), byte('0'+n%10)) }

// ClockText is the time of day of minutes counted over midnight.
func ClockText(minutes float64) string {
	n := detmath.Floor(minutes + 0.5)
	n -= 1440 * detmath.Floor(n/1440)
	return string(AppendClock(nil, n))
}
