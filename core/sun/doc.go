// Package sun is what the sun and the day's heat bring: position of the sun, clear and
// cloudy sky, a flat or tilted panel, and the air's course over a day.
//
// Position lies within 0.01° of Meeus' longer series from 1950 to 2100;
// ClearSky is the Ineichen and Perez model with a dusty turbidity, on the careful
// side of measured sums; a panel follows PVWatts and SAM's NOCT model, and the air
// Parton and Logan's curve. Angles in degrees, irradiance in W/m², days in universal
// time from 2000-01-01, hours in local time. Sources stand at the functions; checks
// in testdata/checks.csv, sun_position.csv, sun_rise.csv, clear_sky.csv, diurnal.csv.
package sun
