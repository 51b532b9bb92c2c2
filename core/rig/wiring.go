package rig

// Wiring is two voltage readings along a lead that carries current: at its
// source and at its far end, each between plus and minus there.
type Wiring struct {
	Given    bool
	SourceV  float64
	FarV     float64
	FarA     float64 // 0: by FarW
	FarW     float64
	AmbientC float64 // along the lead
	MeterV   float64 // the meter's last digit
}
