package core

import (
	"spareamps/core/detmath"
	"spareamps/core/rig"
)

// Parameters of a fit: the unknowns of the ceiling, then what the instruments
// and the rest of the rig add. All are standard normal before any reading.
const (
	pThermometer = unknowns + iota
	pClamp
	pVoltmeter
	pCase
	pLead
	pHouse
	pStanding
	pDischarge
	pSag
	pBright // from here on: errors by surface
	pDull
	pSurface
	parameters
)

// A Nuisance is what has to be found beside the unknowns for readings to tell
// of them. It multiplies a quantity by exp(spread·z), or adds spread·z to it.
type Nuisance struct {
	Name    string
	Meaning string
	Unit    string // "1" for a factor
	Spread  float64
	Source  string
}

// Nuisances is the table of parameters beyond the unknowns.
var Nuisances = [parameters - unknowns]Nuisance{
	{"thermometer", "by how much the thermometer reads too high, the same at every reading", "K", 2, "from memory: cheap infrared thermometers and thermocouples 2 K"},
	{"clamp_meter", "by how much the clamp meter reads too high, the same at every reading", "1", 0.02, "from memory: 2 to 3 % of the reading"},
	{"voltmeter", "by how much the voltmeter reads too high, the same at every reading", "1", 0.004, "from memory: hand-held meters 0.5 %"},
	{"case_share", "how much of the core's rise above the inlet's air the housing shows", "1", 0.1, "engineering estimate: 0.85 of it"},
	{"lead", "resistance of the charger's lead against its size", "1", 0.25, "engineering estimate: contacts age"},
	{"house_capacity", "capacity of the house battery against its label", "1", 0.1, "engineering estimate: age takes some"},
	{"standing_rise", "how far the air at the inlet rises standing, beyond what driving tells", "1", 0.25, "as inlet_rise: the air below a standing bonnet need not follow that of a moving one"},
	{"starter_discharge", "how much charge the starter battery lacked, last read at rest", "1", 0.8, "engineering estimate: two in three lack 7 to 33 %"},
	{"cranking_sag", "how far the starter battery's volts fall while the engine is turned", "1", 0.35, "engineering estimate: ratings per Ah differ by a factor of 2 (cold_ratings.csv), the currents of starters of one size by as much (starter_draw.csv)"},
	{"bright_metal", "by how much an infrared thermometer reads too low on bright metal or an unstated surface, the same at every reading", "1", 1.15, "engineering estimate from tables of emissivity, see surface.go"},
	{"dull_metal", "by how much an infrared thermometer reads too low on oxidised, dark or dirty metal, the same at every reading", "1", 1, "engineering estimate from tables of emissivity, see surface.go"},
	{"surface_reading", "by how much a contact probe, or an infrared thermometer on matt paint or tape, reads too low, the same at every reading", "1", 1, "engineering estimate, see surface.go"},
}

// added is what parameter i of the nuisances adds at p, in its unit; of a factor,
// to its logarithm.
func added(p *[parameters]float64, i int) float64 { return Nuisances[i-unknowns].Spread * p[i] }

// caseShare is the likeliest share of the core's rise that the housing shows.
const caseShare = 0.85

// An instrument is one quantity that may be read, with the error of one
// reading beyond what all of a kind share: of the instrument, of the place and
// the minute, and of the model there. One standard deviation is the root of
// noise² + (share·reading)².
type instrument struct {
	field  string // of an observation
	at     func(o *rig.Observation) *float64
	unit   string
	noise  float64
	share  float64
	source string
}

const (
	readsOutput = iota
	readsBus
	readsInlet
	readsCase
	readsCore
	readsPlates
	readsDrop
	readsInput
	readsCharge
	readsRest
	readsCrank
	instruments
)

var instrumentTable = [instruments]instrument{
	readsOutput: {"output_A", func(o *rig.Observation) *float64 { return &o.OutputA }, "A", 1, 0.02, "engineering estimate: engine speed is read to 2 %"},
	readsBus:    {"bus_V", func(o *rig.Observation) *float64 { return &o.BusV }, "V", 0.08, 0, "engineering estimate: regulators follow their own temperature"},
	readsInlet:  {"inlet_C", func(o *rig.Observation) *float64 { return &o.InletC }, "°C", 2.5, 0, "engineering estimate: the air there is not even"},
	readsCase:   {"case_C", func(o *rig.Observation) *float64 { return &o.CaseC }, "°C", 4, 0, "engineering estimate"},
	readsCore:   {"core_C", func(o *rig.Observation) *float64 { return &o.CoreC }, "°C", 4, 0, "engineering estimate"},
	readsPlates: {"plates_C", func(o *rig.Observation) *float64 { return &o.PlatesC }, "°C", 5, 0, "engineering estimate: plates are not even"},
	readsDrop:   {"charger_V", func(o *rig.Observation) *float64 { return &o.ChargerV }, "V", 0.015, 0, "common practice, no source: the last digit of two readings"},
	readsInput:  {"charger_input_A", func(o *rig.Observation) *float64 { return &o.ChargerInputA }, "A", 0.3, 0.01, "from memory: the last digits of a clamp meter"},
	readsCharge: {"end_soc", func(o *rig.Observation) *float64 { return &o.EndSoc }, "1", 0.02, 0, "engineering estimate: two readings of a battery monitor"},
	readsRest:   {"rest_V", func(o *rig.Observation) *float64 { return &o.RestV }, "V", 0.06, 0, "engineering estimate: published sets of rest volts differ by 0.1 V (lead_acid_rest.csv), a night leaves some surface charge"},
	readsCrank:  {"crank_V", func(o *rig.Observation) *float64 { return &o.CrankV }, "V", 0.2, 0, "engineering estimate: the display swings with the strokes, and the resistance is that of a longer start"},
}

// deviation is the standard deviation of one reading.
func (t *instrument) deviation(value float64) float64 {
	return detmath.Sqrt(t.noise*t.noise + t.share*t.share*value*value)
}
