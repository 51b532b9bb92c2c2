package rig

// Solar is a photovoltaic panel with its charger. The zero value gives nothing.
type Solar struct {
	Given      bool
	PeakW      float64 // label, at 1000 W/m² and a cell of 25 °C
	TiltDeg    float64 // from level
	Mounting   string  // "flat_on_roof", "gap_on_roof", "ventilated"; "": by tilt
	AzimuthDeg float64 // where it looks, clockwise from north; no matter when level
	NoctC      float64 // label: cell at 800 W/m², 20 °C, 1 m/s, on an open rack
	GammaPerK  float64 // label: power by cell temperature, as a share: -0.004
	Soiling    float64 // share of the light dust keeps out, 0 to 1
	Efficiency float64 // of the solar charger and its wiring, 0 to 1
}
