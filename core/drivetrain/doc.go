// Package drivetrain relates road speed, engine speed and fuel: the engine speed of a
// gear, and the extra fuel that shaft power takes from an engine that runs anyway.
// Neglects slip of tyre and converter. Sources stand at the functions.
package drivetrain
