// Package calendar is civil dates and times of day: days counted from 2000-01-01 of
// the Gregorian calendar (years 1 to 9999, before 1583 extended backwards), and
// minutes since midnight. Exact in whole numbers; a date that does not exist is
// refused by ok = false. Checked against the standard library in the core's tests.
//
//	days, ok := calendar.Day(2026, 7, 24) // 9701, true
package calendar
