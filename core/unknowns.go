package core

import (
	"spareamps/core/detmath"
	"spareamps/core/rig"
)

// An Unknown is something a label does not tell. It multiplies a quantity by
// exp(spread·z), or adds spread·z to it, z being standard normal.
type Unknown struct {
	Name    string
	Meaning string
	Unit    string  // "1" for a factor
	Spread  float64 // standard deviation: of the logarithm for a factor, else in Unit
	Known   float64 // the spread left once Input is stated
	Input   string  // the input that informs it; "" if none does yet
	Measure string  // what to observe to know it better
	Source  string
}

// Indices of the unknowns; the order is that of the table and of the sample's
// columns, most influential first.
const (
	uFilm = iota
	uInletRise
	uFlow
	uCutIn
	uVehicle
	uPulley
	uContact
	uIron
	uBusV
	uLimitA
	uRotorFilm
	uPlatesFilm
	uField
	uEfficiency
	unknowns
)

// Unknowns is the table of what is sampled.
var Unknowns = [unknowns]Unknown{
	uFilm: {"air_film", "how much heat passes from windings and core to the air", "1", 0.15, 0.15, "",
		"measure the case temperature after 30 minutes at a known setting", "engineering estimate"},
	uInletRise: {"inlet_rise", "how far the air at the alternator is above ambient", "1", 0.25, 0.02, "moment.inlet_C",
		"measure the air temperature at the alternator's inlet, driving as now", "engineering estimate: owners' logs give 14 to 17 K moving, 42 K after a stop"},
	uFlow: {"air_flow", "how much air the fan moves through the vents", "1", 0.22, 0.15, "rig.alternator.fouling",
		"look at the vents with a light, brush them clean and state fouling", "engineering estimate"},
	uCutIn: {"cut_in_speed", "at what speed output begins", "1", 0.06, 0.025, "rig.alternator.idle_current_A",
		"read the idle current off the label, or clamp the output at idle with everything on", "published cut-in speeds 920 to 1340 rpm"},
	uVehicle: {"vehicle_loads", "what the vehicle itself draws", "1", 0.20, 0.08, "moment.vehicle_loads_W",
		"clamp the vehicle's own draw with the charger off", "engineering estimate: published load tables differ by 30 % between cars of a kind; with 0.25 more than 2 % of vehicles with usual loads would pass a limit at idle (survive_test.go)"},
	uPulley: {"pulley_ratio", "how often the alternator turns per engine turn", "1", 0.06, 0.005, "rig.alternator.pulley_ratio",
		"measure both pulleys' diameters", "modern cars 2.4 to 3.2"},
	uContact: {"slot_contact", "how much heat passes from winding to core", "1", 0.20, 0.20, "",
		"measure the case temperature after 30 minutes at a known setting", "engineering estimate"},
	uIron: {"iron_loss", "how much heat is made in the core", "1", 0.20, 0.20, "",
		"measure the case temperature at high speed and little load", "engineering estimate: two efficiency maps lie 25 % above and below the model"},
	uBusV: {"bus_voltage", "what voltage the regulator holds", "V", 0.35, 0.05, "rig.alternator.regulator_V",
		"measure the volts at the alternator with the engine hot and running", "middles of three published regulator bands at 70 °C: 13.2 to 13.9 V, each 0.2 to 0.33 V wide"},
	uLimitA: {"limit_current", "how much it gives at high speed against the label", "1", 0.03, 0.015, "rig.alternator.points[].current_A",
		"clamp the output at 2000 engine rpm with everything on", "fits of published curves: within 3 %"},
	uRotorFilm: {"rotor_film", "how much heat passes from the rotor to the air", "1", 0.20, 0.20, "",
		"nothing cheap: it stays as it is", "engineering estimate"},
	uPlatesFilm: {"rectifier_film", "how much heat passes from the rectifier to the air", "1", 0.20, 0.20, "",
		"measure the rectifier plate after 10 minutes at a known setting, engine off", "engineering estimate"},
	uField: {"full_field", "how much field current there is when hot", "1", 0.04, 0.04, "",
		"clamp the output at 2000 engine rpm, hot, with everything on", "published rotors 1.8 to 2.2 ohm"},
	uEfficiency: {"charger_efficiency", "how much of its input the charger gives out", "1", 0.03, 0.01, "rig.charger.efficiency",
		"measure watts into and out of the charger", "converters 0.85 to 0.95, from memory"},
}

// informed tells whether a request states what informs an unknown. A plan of a
// day has loads of its own, for all of it or for each leg with the engine on, and
// an inlet temperature of now tells nothing of the hours to come.
func (u *Unknown) informed(q *Request, day bool) bool {
	switch {
	case u.Input == "":
		return false
	case day && u.Input == "moment.inlet_C":
		return false
	case day && u.Input == "moment.vehicle_loads_W":
		return q.states("day.vehicle_loads_W") || statesLoads(&q.Day)
	}
	return q.states(u.Input)
}

// statesLoads tells whether each leg with the engine on says what the vehicle
// draws.
func statesLoads(d *rig.Day) bool {
	for i := range d.Legs {
		if l := &d.Legs[i]; (l.Kind == "drive" || l.Engine == "on") && l.VehicleLoadsW == 0 {
			return false
		}
	}
	return len(d.Legs) > 0
}

// factors is one plausible vehicle: the unknowns applied.
type factors struct {
	film, inletRise, flow, cutIn, vehicle, pulley, contact, iron float64
	busV                                                         float64 // V added
	limitA, rotorFilm, platesFilm, field, efficiency             float64
}

// draw applies standard normal values z times spreads. The nominal vehicle is
// draw of zeros.
func draw(z, spread *[unknowns]float64) (f factors) {
	f.draw(z, spread)
	return f
}

// draw is the function of that name in place.
func (f *factors) draw(z, spread *[unknowns]float64) {
	f.film = detmath.Exp(spread[uFilm] * z[uFilm])
	f.inletRise = detmath.Exp(spread[uInletRise] * z[uInletRise])
	f.flow = detmath.Exp(spread[uFlow] * z[uFlow])
	f.cutIn = detmath.Exp(spread[uCutIn] * z[uCutIn])
	f.vehicle = detmath.Exp(spread[uVehicle] * z[uVehicle])
	f.pulley = detmath.Exp(spread[uPulley] * z[uPulley])
	f.contact = detmath.Exp(spread[uContact] * z[uContact])
	f.iron = detmath.Exp(spread[uIron] * z[uIron])
	f.busV = spread[uBusV] * z[uBusV]
	f.limitA = detmath.Exp(spread[uLimitA] * z[uLimitA])
	f.rotorFilm = detmath.Exp(spread[uRotorFilm] * z[uRotorFilm])
	f.platesFilm = detmath.Exp(spread[uPlatesFilm] * z[uPlatesFilm])
	f.field = detmath.Exp(spread[uField] * z[uField])
	f.efficiency = detmath.Exp(spread[uEfficiency] * z[uEfficiency])
}
