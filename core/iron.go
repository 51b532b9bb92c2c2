package core

import (
	"math"

	"spareamps/core/detmath"
)

// A heldFlux holds the flux in a machine's iron at one speed while the bus fixes
// the terminal voltage. The bus clamps the phase voltage to a square wave of
// fixed height, so the main flux under load falls with speed at any field strength;
// the stator currents add harmonics that grow with the output.
//
//	φ = min(ψ², ψb²) + 2·ψb·ρ·I + (ρ² + h/I∞²)·I²     (1)
//	ψb = (2/π)·(V + 2·Vd)/(ω·ψ0),  ρ = (π/3)·R/(ω·ψ0)
//
// φ is the iron loss as a share of the open-circuit loss at full field and the
// same speed; ψ is the flux share of the field, ψ0 the flux linkage at full field,
// I∞ the limit current. Without output, (1) is the measured open-circuit loss.
// The calibration finds h, the share of the armature's harmonics and leakage at
// the limit current, mostly from two efficiency maps
// (testdata/bus_aux_efficiency.csv, truck_28v_efficiency.csv): the mean loss ratio
// at each speed lies within 0.8 to 1.25 of the map's own level (TestEfficiencyMaps).
// The levels themselves differ: the model makes 0.75 of the loss of the truck map and
// 1.24 of that of the bus map.
//
// Valid for a rectifier on a stiff bus. Neglects the saliency of the rotor and the
// temperature of the copper in ρ.
type heldFlux struct {
	most  float64 // ψb²
	perA  float64 // 1/A
	perA2 float64 // 1/A²
}

// armatureIron is h of (1): 0.55 ± 0.09 from the calibration with the hottest sensor
// in use, 0.44 ± 0.08 with the sensor's place left open. The cells of a map share more
// error than the calibration knows of, so the ± is too small.
const armatureIron = 0.55

// heldFlux returns the held flux of a machine at speed omega (electrical rad/s).
func (m *machine) heldFlux(omega float64, g *gauge) heldFlux {
	const fundamental = 2 * 1.7320508075688772 / math.Pi // of the square wave, relative to the line peak at cut-in
	b := fundamental * g.perFlux
	rho := math.Pi / 3 * m.r / (omega * m.flux)
	k := math.Pi / 3 * m.l / m.flux // 1/I∞
	return heldFlux{b * b, 2 * b * rho, rho*rho + stators[m.kind.stator].armature*k*k}
}

// share returns φ of (1).
func (h *heldFlux) share(p *output) float64 {
	return detmath.MinStraight(p.ps*p.ps, h.most) + p.a*(h.perA+h.perA2*p.a)
}

// shares returns φ and its two slopes: with respect to the field share at a fixed
// output, and to the output.
func (h *heldFlux) shares(p *output) (share, dx, dA float64) {
	share = p.ps * p.ps
	dx = 2 * p.ps * p.dps
	if share > h.most {
		share, dx = h.most, 0
	}
	return share + p.a*(h.perA+h.perA2*p.a), dx, h.perA + 2*h.perA2*p.a
}
