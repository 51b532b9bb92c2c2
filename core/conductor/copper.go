package conductor

// CopperAlpha is the temperature coefficient of annealed copper at 20 °C, 1/K.
// Source: IEC 60028.
const CopperAlpha = 0.00393

// Copper returns the resistance of copper at tC over that at 20 °C.
//
//	cu(t) = 1 + α20·(t − 20)     (1)
//
// For −40 to 200 °C, within 0.3 % of handbook tables. Never below 0.5.
// Source: IEC 60028. Checked: testdata/checks.csv, copper_ratio.
func Copper(tC float64) float64 {
	c := 1 + CopperAlpha*(tC-20) // (1)
	if c < 0.5 {
		return 0.5
	}
	return c
}
