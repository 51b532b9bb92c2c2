// Package air is the air around the alternator: the atmosphere outside and how much
// hotter the air below the bonnet is.
//
// Pressure and Density follow the standard atmosphere (ISO 2533). The rise of the
// inlet air above ambient is three things: moving (15 K), standing with the engine
// running (35 K) and soaked after the engine was switched off (42 K after 20 min).
// All are single readings of owners or of one publication
// (testdata/underbonnet_air.csv), so the spread of the unknown inlet_rise goes with
// them. Temperatures are in °C, rises in K, speeds in km/h, times in minutes,
// pressure in Pa, density in kg/m³.
//
//	rise := air.InletRise(15) // 22 K, crawling at 15 km/h
package air
