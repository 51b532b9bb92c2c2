package sun

import (
	"spareamps/core/detmath"
	"spareamps/core/rig"
)

const (
	groundAlbedo = 0.2 // PVWatts' default; dry soil and grass

	// A panel lying on a roof is cooled from one side only: K by which its NOCT is
	// higher. SAM's table by the gap behind it has 18 K to 13 mm, 11 K to 38 mm,
	// 6 K to 64 mm, 2 K to 89 mm, none beyond (pvpmc.sandia.gov, NOCT page).
	flatMountK   = 18.0
	gapMountK    = 11.0
	roofTiltDeg  = 10.0 // steeper, it stands free; engineering estimate
	moduleShare  = 0.20 // efficiency of the panel itself, of a crystalline module: engineering estimate
	nominalSunWM = 1000.0
)

// PanelOutputW returns the watts at the battery at a sun position in degrees, the
// irradiances of ClearSky or Cloudy in W/m², air in °C and wind in m/s (at
// 10 m height, or the road's where that is more).
//
//	G = B·cos θ + D·(1 + cos β)/2 + 0.2·GHI·(1 − cos β)/2     (1)
//	cos θ = sin h·cos β + cos h·sin β·cos(A − A_p)            (2)
//
// then CellC and PanelW. The sky is isotropic, some per cent low on a tilted
// panel; reflection at low sun, some 3 % of a day on the level (both from
// memory), shade and ageing are neglected. Source of (1): Liu and Jordan 1963, as in PVWatts
// version 1; Duffie and Beckman 1.6 (2).
// Checked: testdata/checks.csv, panel_W, cell_C; TestPanelPlane.
func PanelOutputW(p *rig.Solar, elevationDeg, azimuthDeg, ghi, dni, dhi, ambientC, windMS float64) float64 {
	if !p.Given {
		return 0
	}
	light := (1 - p.Soiling) * planeIrradiance(p, elevationDeg, azimuthDeg, ghi, dni, dhi)
	return p.Efficiency * PanelW(light, CellC(light, ambientC, windMS, MountedNoctC(p), moduleShare), p.PeakW, p.GammaPerK)
}

// MountedNoctC returns the NOCT as the panel is mounted. Where that is not
// stated, a panel nearly level lies on a roof with a small gap, and a steeper
// one stands free.
func MountedNoctC(p *rig.Solar) float64 {
	switch {
	case p.Mounting == "flat_on_roof":
		return p.NoctC + flatMountK
	case p.Mounting == "gap_on_roof", p.Mounting == "" && p.TiltDeg < roofTiltDeg:
		return p.NoctC + gapMountK
	}
	return p.NoctC
}

// planeIrradiance returns the irradiance on the panel.
func planeIrradiance(p *rig.Solar, elevationDeg, azimuthDeg, ghi, dni, dhi float64) float64 {
	sh, ch := detmath.Sincos(elevationDeg)
	sb, cb := detmath.Sincos(p.TiltDeg)
	_, ca := detmath.Sincos(azimuthDeg - p.AzimuthDeg)
	facing := detmath.Max(sh*cb+ch*sb*ca, 0) // (2)
	if sh <= 0 {
		facing = 0
	}
	return dni*facing + dhi*(1+cb)/2 + groundAlbedo*ghi*(1-cb)/2 // (1)
}

// PanelW returns the direct-current watts of a panel at an irradiance in W/m².
//
//	P = P_peak·G/1000·(1 + γ·(T − 25))     (3)
//
// Never below 0. Low light is taken as linear: at 200 W/m² a panel gives
// some 4 % less (from memory). Source: Dobos, PVWatts version 5, NREL/TP-6A20-62641, eq. 8.
func PanelW(irradianceWM2, cellC, peakW, gammaPerK float64) float64 {
	return peakW * irradianceWM2 / nominalSunWM * detmath.Max(1+gammaPerK*(cellC-25), 0) // (3)
}

// CellC returns the cell's temperature in °C, with wind at 10 m in m/s and the
// share of the light a panel makes into current.
//
//	T = T_amb + G/800·(NOCT − 20)·(1 − η/0.9)·9.5/(5.7 + 3.8·0.51·v)     (4)
//
// The heat stored in the panel (some minutes) is neglected. Source: Gilman et
// al., SAM photovoltaic model technical reference, NREL/TP-6A20-64102, NOCT
// model; Duffie and Beckman 23.3.
func CellC(irradianceWM2, ambientC, windMS, noctC, efficiency float64) float64 {
	return ambientC + irradianceWM2/800*(noctC-20)*(1-efficiency/0.9)*9.5/(5.7+3.8*0.51*detmath.Max(windMS, 0)) // (4)
}
