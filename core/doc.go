// Package core says how hard a house battery may be charged from an alternator
// right now, and why.
//
// The chain, each link in the file of its name:
//
//	label or curve -> machine -> bridge -> losses -> network (heat) -> limits -> ceiling
//	                                         ^
//	ambient, road speed, altitude, dust -> inlet, air
//
// Ceiling answers a Request. The same request gives the same bits on every
// engine: the package has no state, no clock, no randomness, does no I/O, and
// in its arithmetic uses only + - * / and square root (on architectures with
// fused multiply-add results may differ by about 1e-14).
//
// Units are in the names: AmbientC is °C, SpeedRpm is 1/min at the alternator
// unless a name says engine, shares and efficiencies run from 0 to 1, and
// everything else is SI. Currents are means at the B+ post in ampere, voltages
// are above chassis.
//
// What no label tells (thermal conductances, air at the inlet, state of the
// vents) is in the table of unknowns, each with a spread and its source. The
// ceiling is a low quantile over a fixed sample of them.
package core
