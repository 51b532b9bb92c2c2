package core

import (
	"spareamps/core/detmath"
	"spareamps/core/rig"
)

// Thermometers on a surface read low, and never high: an infrared thermometer
// because bare metal radiates less than its emissivity setting assumes, or because
// its spot is wider than the paint; a contact probe because its wire conducts heat
// away. All readings of one kind share that error: ten readings tell no more about
// it than one.
//
// The thermometer shows a share k of the part's rise above the air,
//
//	k = exp(−b·ln(1 + exp(s·z))/ln 2),  z standard normal     (1)
//
// which lies between 0 and 1 for any z and is smooth in it. b is the median of
// −ln k, s the spread of the nuisances bright_metal, dull_metal and
// surface_reading.
//
// Infrared on metal: k is the metal's emissivity over the thermometer's setting,
// and
//
//	L(T_read) = L(T_air) + k·(L(T) − L(T_air)),  L(T) = 1/(exp(c/T) − 1)     (2)
//
// by Planck's law at one wavelength that represents the band of 8 to 14 µm, with
// the surroundings that the metal reflects as warm as the outside air: within 0.6 K
// of the integral over the band, up to 160 °C. Neglects a hot engine reflected in
// the metal: it raises the reading, so (2) makes the part hotter than it is, which
// is careful.
//
// Matt paint, tape and contact probes:
//
//	T_read = T_air + k·(T − T_air)     (3)
//
// Emissivities, 8 to 14 µm: aluminium unoxidised 0.02 to 0.1, roughened 0.1 to
// 0.3, oxidised 0.2 to 0.4; steel ground 0.4 to 0.6, cold rolled 0.7 to 0.9; iron
// oxidised 0.5 to 0.9; cast iron oxidised 0.6 to 0.95 (an infrared thermometer
// maker's manual, table of metals); at 70 °C cast aluminium, sandblasted, 0.46,
// paint on aluminium 0.92 to 0.94 (a sensor maker's operating instructions, 2015,
// appendix). Contact: several tenths of a kelvin at best, several kelvins when
// hot (National Physical Laboratory, good practice in surface thermometry).
const (
	infraredSet = 0.95               // emissivity setting of cheap thermometers: two makers' manuals
	brightE     = 0.46               // median on bright metal: cast aluminium, sandblasted; two of three within 0.21 and 0.71: a part at 90 °C in air of 35 °C reads 25 K low, two of three 11 to 40 K
	dullE       = 0.75               // median on oxidised, dark or dirty metal: engineering estimate from those tables; two of three within 0.61 and 0.85: 10 K low, two of three 4 to 17 K
	surfaceLow  = 0.06               // median of −ln k by (3), engineering estimate: 2.9 K low at 50 K above the air, two of three within 1.3 and 5.4
	planckK     = 14388 / 10.2       // K, c of (2): the second radiation constant, CODATA, over a wavelength that fits the band
	ln2         = 0.6931471805599453 // ln 2
	zeroK       = 273.15             // 0 °C in K
)

// A surface says how the temperature of a part was read.
type surface int

const (
	surfaceBright surface = iota
	surfaceDull
	surfacePainted
	surfaceContact
	surfaces
)

// surface returns how the part temperatures of an observation were read. If the
// surface is not stated, it takes an infrared thermometer as aimed at bright metal,
// the careful choice.
func surfaceOf(o *rig.Observation) surface {
	switch {
	case o.Thermometer == "contact":
		return surfaceContact
	case o.Surface == "painted":
		return surfacePainted
	case o.Surface == "dull":
		return surfaceDull
	}
	return surfaceBright
}

// shares are the shares k of (1), by surface.
type shares [surfaces]float64

func sharesOf(p *[parameters]float64) (k shares) {
	share := func(b float64, i int) float64 { return detmath.Exp(-b / ln2 * detmath.Log(1+detmath.Exp(added(p, i)))) } // (1)
	k[surfaceBright] = share(detmath.Log(infraredSet/brightE), pBright)
	k[surfaceDull] = share(detmath.Log(infraredSet/dullE), pDull)
	k[surfacePainted] = share(surfaceLow, pSurface)
	k[surfaceContact] = k[surfacePainted]
	return k
}

// shown returns the reading of a part at partC.
func (k *shares) shown(on surface, partC, airC float64) float64 {
	return scaled(on, partC, airC, k[on])
}

// part returns the temperature of a part that reads shownC.
func (k *shares) part(on surface, shownC, airC float64) float64 {
	return scaled(on, shownC, airC, 1/k[on])
}

func scaled(on surface, c, airC, k float64) float64 {
	if on != surfaceBright && on != surfaceDull {
		return airC + k*(c-airC) // (3)
	}
	air := radiance(airC)
	shown := air + k*(radiance(c)-air) // (2)
	return planckK/detmath.Log(1+1/shown) - zeroK
}

// radiance is L of (2).
func radiance(c float64) float64 { return 1 / (detmath.Exp(planckK/(c+zeroK)) - 1) }
