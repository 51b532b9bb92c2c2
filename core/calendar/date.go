package calendar

import "spareamps/core/detmath"

// dayNumber2000 is what the count of days of Day gives for 2000-01-01
// before it is subtracted.
const dayNumber2000 = 730425

// Day returns the days from 2000-01-01 to a date of the Gregorian
// calendar, years 1 to 9999 (before 1583 extended backwards). ok is false for
// a date that does not exist.
//
// Years are counted from March, so that the leap day ends one.
func Day(year, month, day int) (days float64, ok bool) {
	if year < 1 || year > 9999 || month < 1 || month > 12 || day < 1 || day > 31 {
		return 0, false
	}
	y, m := year, month-3
	if m < 0 {
		y, m = y-1, m+12
	}
	// 153 days in the five months from March, and from August.
	days = float64(365*y + y/4 - y/100 + y/400 + (153*m+2)/5 + day - 1 - dayNumber2000)
	cy, cm, cd := Date(days)
	return days, cy == year && cm == month && cd == day
}

// Date returns the date of a time in days from 2000-01-01, of years 1 to
// 9999; times outside are taken as the nearest.
func Date(days float64) (year, month, day int) {
	const first, last = -730119, 2921939 // 0001-01-01, 9999-12-31
	n := int(detmath.Floor(detmath.Min(detmath.Max(days, first), last))) + dayNumber2000
	// The mean year is 365.2425 days; the estimate is never too low by a year.
	y := (10000*n + 14780) / 3652425
	d := n - (365*y + y/4 - y/100 + y/400)
	if d < 0 {
		y--
		d = n - (365*y + y/4 - y/100 + y/400)
	}
	m := (5*d + 2) / 153
	day = d - (153*m+2)/5 + 1
	if m >= 10 {
		return y + 1, m - 9, day
	}
	return y, m + 3, day
}
