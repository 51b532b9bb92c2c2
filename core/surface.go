package core

// Surface thermometers read low, and never high: an infrared thermometer because
// bare metal radiates less than the emissivity it is set to, a contact probe
// because its wire leads heat away. All readings of one kind share that error:
// ten of them tell no more of it than one.
//
// A share k of what would be shown of the part's heat is shown,
//
//	k = exp(−b·exp(s·z)),  z standard normal     (1)
//
// so k lies between 0 and 1 for any z and is smooth in it. b is the median of
// −ln k, s the spread of its logarithm (the nuisances bright_metal, dull_metal
// and contact_probe).
//
// Infrared: k is emissivity over the setting of the thermometer, commonly fixed
// at 0.95, and
//
//	T_read⁴ = T_air⁴ + k·(T⁴ − T_air⁴),  T in kelvin     (2)
//
// the surroundings mirrored in the metal being at the temperature of the outside
// air. From 8 to 14 µm the exponent is 4.6 at 300 K and 3.5 at 400 K (Planck's
// law at 10.5 µm), and 4 serves. Neglected: a hot engine mirrored in the metal, which
// makes the reading higher, so (2) takes a low reading for a hotter part than it
// is: careful.
//
// Emissivities, 8 to 14 µm: aluminium unoxidised 0.02 to 0.1, roughened 0.1 to
// 0.3, oxidised 0.2 to 0.4; steel ground 0.4 to 0.6, cold rolled 0.7 to 0.9; iron
// oxidised 0.5 to 0.9; cast iron oxidised 0.6 to 0.95 (an infrared thermometer
// maker's manual, table of metals); cast aluminium, sandblasted 0.46, paint on
// aluminium 0.92 to 0.94, at 70 °C (a sensor maker's operating instructions, 2015
// edition, appendix).
const (
	infraredSet = 0.95 // emissivity that cheap infrared thermometers are set to: two makers' manuals
	brightE     = 0.46 // median for bright metal: cast aluminium, sandblasted; spread to 0.25 and 0.64
	dullE       = 0.75 // median for oxidised, dark or dirty metal: iron oxidised 0.5 to 0.9; spread to 0.59 and 0.85
	contactLow  = 0.05 // median of −ln k for a contact probe, engineering estimate: 3 K low at 50 K above the air
	zeroK       = 273.15
)

// shares are the shares k of (1) in a vehicle.
type shares struct{ bright, dull, contact float64 }

func sharesOf(p *[parameters]float64) shares {
	return shares{
		bright:  exp(-brightLow * exp(added(p, pBright))),
		dull:    exp(-dullLow * exp(added(p, pDull))),
		contact: exp(-contactLow * exp(added(p, pContact))),
	}
}

// Medians of −ln k for infrared: the logarithm of the setting over the emissivity.
var (
	brightLow = log(infraredSet / brightE)
	dullLow   = log(infraredSet / dullE)
)

// A surface is how a part's temperature was read.
type surface int

const (
	surfaceBright surface = iota
	surfaceDull
	surfacePainted
	surfaceContact
	surfaces
)

// surface tells how the parts' temperatures of an observation were read. An
// infrared thermometer on a surface that is not stated is taken as aimed at
// bright metal.
func (o *Observation) surface() surface {
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

// shown is what a thermometer on a surface shows of a part at partC.
func (k *shares) shown(on surface, partC, airC float64) float64 {
	switch on {
	case surfaceBright:
		return radiated(partC, airC, k.bright)
	case surfaceDull:
		return radiated(partC, airC, k.dull)
	case surfaceContact:
		return airC + k.contact*(partC-airC)
	}
	return partC
}

// part is the inverse of shown: the temperature of a part that is shown so.
func (k *shares) part(on surface, shownC, airC float64) float64 {
	switch on {
	case surfaceBright:
		return radiated(shownC, airC, 1/k.bright)
	case surfaceDull:
		return radiated(shownC, airC, 1/k.dull)
	case surfaceContact:
		return airC + (shownC-airC)/k.contact
	}
	return shownC
}

// radiated is (2), in °C.
func radiated(partC, airC, k float64) float64 {
	air := fourth(airC + zeroK)
	return sqrt(sqrt(larger(air+k*(fourth(partC+zeroK)-air), 0))) - zeroK
}

func fourth(x float64) float64 { return (x * x) * (x * x) }
