// Package detmath is arithmetic whose results are the same to the last bit on every
// engine: natively on amd64, in a browser, in wazero's compiler and interpreter.
//
// The standard library's Exp, Log, Pow and trigonometric functions are assembly on
// some architectures and differ there by 1 to 4 units in the last place; the ones
// here are plain arithmetic on float64. Sqrt, Abs and rounding are exact everywhere.
// On arm64 the compiler may fuse multiplication and addition, which leaves
// differences of about 1e-14.
//
// Exp and Log are within 1 ulp, Pow within 1e-14 of the result for usual exponents,
// Sincos within 3e-14 (portable_test.go and angle_test.go compare them with
// arbitrary precision and with the standard library). Arguments are finite; no
// function returns an error.
//
//	w := detmath.Pow(3000.0/2000, 1.45) // 1.8003
package detmath
