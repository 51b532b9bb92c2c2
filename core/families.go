package core

import (
	"spareamps/core/detmath"
	"spareamps/core/limit"
	"spareamps/core/rig"
)

// Families of alternators. A label does not tell how a machine is cooled, which
// rectifier and which stator it has, or what its regulator does when the machine
// gets hot. The rig may state each of the four; the first of each list is assumed
// otherwise, and with these nothing of the model changes.
//
//	cooling    own_fan       the stream follows the shaft's speed and the vents' state
//	           separate_fan  the stream is that of the own fan at 3000 rpm, at any speed
//	           water         the coolant takes the heat: neither speed, nor dust, nor the
//	                         air below the bonnet matters to the machine
//	rectifier  standard      diodes of 175 °C
//	           avalanche     press-fit avalanche diodes
//	           mosfet        transistors that conduct in the place of diodes
//	stator     classic       round wire, three phases
//	           hairpin       bars: less copper loss, closer to the core
//	           six_phase     two windings of three phases, each with its own bridge
//	regulator  fixed         holds one voltage
//	           variable      12.4 to 15 V, as the engine's computer asks
//	           self_limiting lowers the output when the machine is hot
//	           external      lowers the output at a current or case temperature that is set
//
// Where the regulator lowers the output by itself, going beyond the ceiling costs
// bus voltage, not the machine: such limits are reported as that of output
// (shownAs). Their numbers stay those of the heat they stand for, since no maker
// prints the temperature at which its regulator sets in.
//
// Every number has a row in testdata/alternator_families.csv with its source;
// those without a published figure are engineering estimates, and the answer says
// so. Valid for 12 and 24 V claw-pole machines. Neglects that a machine without a
// fan of its own spends less on windage: its mechanical loss stays that with one.
// Checked: families_test.go.

// Indices of the families; 0 is assumed where a rig states none.
const (
	ownFan = iota
	separateFan
	waterCooled
	coolings
)

const (
	standardDiodes = iota
	avalancheDiodes
	mosfets
	rectifierKinds
)

const (
	classicStator = iota
	hairpinStator
	sixPhaseStator
	statorKinds
)

const (
	fixedRegulator = iota
	variableRegulator
	selfLimitingRegulator
	externalRegulator
	regulatorKinds
)

// Names of the families, as the inputs have them.
var (
	coolingNames   = []string{ownFan: "own_fan", separateFan: "separate_fan", waterCooled: "water"}
	rectifierNames = []string{standardDiodes: "standard", avalancheDiodes: "avalanche", mosfets: "mosfet"}
	statorNames    = []string{classicStator: "classic", hairpinStator: "hairpin", sixPhaseStator: "six_phase"}
	regulatorNames = []string{fixedRegulator: "fixed", variableRegulator: "variable", selfLimitingRegulator: "self_limiting", externalRegulator: "external"}
)

// Where the families stand in the table of inputs.
var firstFamily, lastFamily = inputs.mustIndex("rig.alternator.cooling"), inputs.mustIndex("rig.alternator.limit_C")

// isFamily says whether an input chooses a family, or belongs to one.
func isFamily(i int) bool { return i >= firstFamily && i <= lastFamily }

// kinds are the families of a machine, as indices into their tables.
type kinds struct{ cooling, rectifier, stator uint8 }

// A prior is by how many times the spread of an unknown is that of the first
// family.
type prior struct {
	unknown int
	times   float64
}

// A cooler is how a family is cooled. Conductances are those of the 150 A machine.
type cooler struct {
	links    links   // W/K to air or coolant; by air at 3000 rpm
	streamW  float64 // W/K that air or coolant carries
	fanRpm   float64 // 0: the fan turns with the shaft
	coolantC float64 // of a hot engine; 0: cooled by air
	priors   []prior
}

var coolers = [coolings]cooler{
	ownFan: {links: links{windingToAir, ironToAir, platesToAir, rotorToAir}, streamW: streamW},
	separateFan: {
		links: links{windingToAir, ironToAir, platesToAir, rotorToAir}, streamW: streamW,
		fanRpm: 3000,                   // rpm of the own fan that moves as much; engineering estimate
		priors: []prior{{uFlow, 1.3}}}, // engineering estimate: fans and ducts differ
	waterCooled: {
		links: links{
			w: 2.5,  // end turns by the air inside: as at 3000 rpm of the own fan; engineering estimate
			s: 12.0, // core pressed into the jacket; engineering estimate
			d: 8.0,  // rectifier on a cooled plate; engineering estimate
			r: 1.5,  // rotor by the air inside; engineering estimate
		},
		streamW:  360, // W/K: 6 L/min of half glycol; engineering estimate
		coolantC: 95,  // published: 82 to 95 °C in working diesel engines; the upper end
		priors: []prior{
			{uFlow, 0}, // no air flows
			{uInletRise, coolantSpread},
			{uFilm, 1.3}, {uPlatesFilm, 1.3}, {uRotorFilm, 1.3}, // engineering estimate
		}},
}

// coolantSpread makes the spread of the inlet's rise one of the coolant's 95 °C:
// 5 K. Engineering estimate.
const coolantSpread = 0.2

// rectifierMarginK is how far the design value lies below the junction's maximum:
// by so much is the hottest diode above the mean of all. Engineering estimate.
const rectifierMarginK = 15.0

// A rectifierKind is a family's rectifier.
type rectifierKind struct {
	mostC  float64 // °C at the junction
	perW   float64 // K/W, junction to case, of one
	dropV  float64 // V, two in series near rated current
	priors []prior
}

var rectifiers = [rectifierKinds]rectifierKind{
	standardDiodes: {
		mostC: 175,          // °C, published: data sheets of 50 A press-fit diodes
		perW:  junctionPerW, // K/W
		dropV: twoDiodesV,   // V
	},
	avalancheDiodes: {
		mostC: 184,        // °C at the sheet's own continuous rating: 40 A and 0.95 V by 0.9 K/W over a case of 150 °C; its absolute maximum is 200
		perW:  0.9,        // K/W, published maximum
		dropV: twoDiodesV, // V; the sheet: at most 0.99 V each at 100 A
	},
	mosfets: {
		mostC:  175,                           // °C, usual of automotive power transistors; from memory
		perW:   junctionPerW,                  // K/W; engineering estimate: as of a diode
		dropV:  0.3,                           // V: two of 1.2 mΩ, hot, at 120 A; engineering estimate
		priors: []prior{{uPlatesFilm, 1.25}}}, // engineering estimate: carriers differ more than plates
}

// limitC is the junction temperature in °C that the ceiling keeps to.
func (r *rectifierKind) limitC() float64 { return r.mostC - rectifierMarginK }

// A statorKind is a family's stator.
type statorKind struct {
	slots    float64 // W/K from winding to core, of the 150 A machine
	copper   float64 // resistance over that of the first family
	armature float64 // h of heldFlux
	bridges  float64 // sets of six diodes
	priors   []prior
}

var stators = [statorKinds]statorKind{
	classicStator: {slots: windingToIron, copper: 1, armature: armatureIron, bridges: 1},
	hairpinStator: {
		slots:    1.3 * windingToIron, // flat sides lie against the slot; engineering estimate
		copper:   0.8,                 // 0.55 of a slot is copper with round wire, published; 0.70 with bars, engineering estimate
		armature: armatureIron, bridges: 1,
		priors: []prior{{uContact, 1.25}}}, // engineering estimate
	sixPhaseStator: {
		slots: windingToIron, copper: 1,
		armature: 0.5 * armatureIron,      // 30° between the windings cancel the 5th and 7th harmonic of the field; engineering estimate
		bridges:  2,                       // by construction
		priors:   []prior{{uIron, 1.25}}}, // engineering estimate
}

// Voltages of a variable regulator, per 12 V class.
const (
	variableLowV    = 12.4                                // V; common practice, no source; published extremes: 12.0 to 15.5
	variableHighV   = 15.0                                // V; published: 15 or more while slowing down
	variableSpreadV = 0.8                                 // V: nine in ten between the two; engineering estimate
	variableColumnV = 2 * columnSpreads * variableSpreadV // V: ends of a block's column, as in a 24 V system
)

// kindOf is the place of a name in a list, 0 if it is not there. Inlined it would
// make the module larger by half a kilobyte.
//
//go:noinline
func kindOf(names []string, name string) uint8 {
	for i, n := range names {
		if n == name {
			return uint8(i)
		}
	}
	return 0
}

// kindsOf returns the families of an alternator.
func kindsOf(a *rig.Alternator) kinds {
	return kinds{kindOf(coolingNames, a.Cooling), kindOf(rectifierNames, a.Rectifier), kindOf(statorNames, a.Stator)}
}

// shape is that of the alternator; where parameters lead and say nothing of the
// diodes, the drop is the family's.
func (q *Request) shape(pulley float64) shape {
	a := &q.Rig.Alternator
	drop := a.Machine.DiodeDropV
	if drop == twoDiodesV/2 && !q.states("rig.alternator.machine.diode_drop_V") {
		drop = rectifiers[kindsOf(a).rectifier].dropV / 2
	}
	return shapeWith(a, pulley, drop)
}

// A guard is what a regulator does about heat and current.
type guard struct {
	kind  uint8
	mostA float64 // output that an external regulator allows; never: no setting
	caseC float64 // case temperature at which an external regulator lowers the output; never: no setting
}

func guardOf(a *rig.Alternator) guard {
	g := guard{kindOf(regulatorNames, a.Regulator), never, never}
	if g.kind == externalRegulator {
		g.mostA, g.caseC = stated(a.LimitA, never), stated(a.LimitC, never)
	}
	return g
}

// coreC is the core's temperature at which an external regulator lowers the
// output, the machine being cooled at inletC: the housing shows a share of the
// core's rise.
func (g *guard) coreC(inletC float64) float64 {
	if g.caseC >= never {
		return never
	}
	return inletC + (g.caseC-inletC)/caseShare
}

// protects says whether the machine lowers its output by itself.
func (g *guard) protects() bool { return g.kind >= selfLimitingRegulator }

// merges says whether limits of heat are reported as that of output.
func (g *guard) merges() bool { return g.kind == selfLimitingRegulator || g.caseC < never }

// shownAs is the limit of the table as which a limit is reported.
func (g *guard) shownAs(lim int) int {
	if lim == limit.Case || g.kind == selfLimitingRegulator && byHeat(lim) {
		return limit.Output
	}
	return lim
}

// byHeat says whether a limit is a temperature within the machine.
func byHeat(lim int) bool {
	return lim == limit.Winding || lim == limit.Rectifier || lim == limit.Rotor || lim == limit.Case
}

// bySlowHeat says whether it is one that takes minutes to reach.
func bySlowHeat(lim int) bool { return byHeat(lim) && lim != limit.Rectifier }

func (st *study) spreadBy(list []prior) {
	for _, p := range list {
		st.spread[p.unknown] *= p.times
	}
}

// flag adds a remark on the validity of an answer.
//
//go:noinline
func (a *Answer) flag(code, field, message string) {
	a.Validity = append(a.Validity, Flag{code, field, message})
}

// widen applies the families' priors to the spreads of the unknowns.
func (st *study) widen(class float64) {
	k := st.shape.kind
	st.spreadBy(coolers[k.cooling].priors)
	st.spreadBy(rectifiers[k.rectifier].priors)
	st.spreadBy(stators[k.stator].priors)
	if st.guard.kind == variableRegulator {
		st.spread[uBusV] = variableSpreadV * class
	}
}

// merged is a vehicle's own ceiling by output where limits of heat are reported
// as that.
func (g *guard) merged(c *ceilings) float64 {
	least := never
	for lim, a := range c {
		if g.shownAs(lim) == limit.Output {
			least = detmath.Min(least, a)
		}
	}
	return least
}

// merged is the same at a confidence, for the sample.
func (p *population) merged(g *guard, k int) float64 {
	var c ceilings
	for i := range p.sorted {
		for lim := range c {
			c[lim] = p.own[lim][i]
		}
		p.sorted[i] = g.merged(&c)
	}
	return kth(p.sorted[:], k)
}

// show puts the limits of an answer under the names that are reported. mergedA
// and nominalA are the output's own ceilings with the limits of heat that it
// stands for.
func (g *guard) show(a *Answer, mergedA, nominalA, sideW float64) {
	for i := range a.Limits {
		l := &a.Limits[i]
		switch {
		case l.Limit == limit.Output:
			l.InputA, l.NominalA = detmath.Max(mergedA, 0), detmath.Max(nominalA, 0)
		case g.shownAs(l.Limit) == limit.Output:
			l.InputA, l.NominalA = never, never
		}
	}
	sortLimits(&a.Limits)
	a.Ceiling.Limit = a.binding(sideW)
	a.AfterIdle.Limit = g.shownAs(a.AfterIdle.Limit)
	if a.AdviceIdle {
		a.Advice.Limit = a.AfterIdle.Limit
	} else {
		a.Advice.Limit = a.Ceiling.Limit
	}
	for i := range a.Hold[:a.Holds] {
		a.Hold[i].Limit = g.shownAs(a.Hold[i].Limit)
	}
}

// ownWords says what a machine that lowers its output by itself does; empty where
// it does not.
func (g *guard) ownWords() string {
	const drains = " the bus voltage falls and the starter battery drains"
	switch {
	case g.kind == selfLimitingRegulator:
		return "this alternator lowers its own output when hot: beyond the ceiling" + drains + "; the machine is not damaged"
	case g.kind != externalRegulator:
		return ""
	case g.mostA >= never:
		return "the external regulator lowers the output at a case of " + fixed(g.caseC, 0) + " °C: beyond that" + drains + "; nothing is damaged"
	case g.caseC >= never:
		return "the external regulator holds the output to " + amps(g.mostA) + ": beyond that" + drains + "; heat has limits of its own"
	}
	return "the external regulator holds the output to " + amps(g.mostA) + " and a case of " + fixed(g.caseC, 0) + " °C: beyond that" + drains + "; nothing is damaged"
}

const cautionDrains = "where the alternator lowers its output, the starter battery feeds the loads: watch its voltage"

// familyFlags says where a family rests on estimates, or asks for attention.
func (st *study) familyFlags(a *Answer) {
	k := st.shape.kind
	const alt = "rig.alternator."
	if k.cooling == separateFan {
		a.flag("cooling_estimate", alt+"cooling", "no figures of machines with a separate fan are published: its air flow is an engineering estimate")
	} else if k.cooling == waterCooled {
		a.flag("cooling_estimate", alt+"cooling", "no heat figures of water-cooled machines are published: engineering estimates, with coolant at "+fixed(coolers[waterCooled].coolantC, 0)+" °C unless inlet_C is stated")
	}
	if k.rectifier == mosfets {
		a.flag("rectifier_estimate", alt+"rectifier", "the heat of MOSFET rectifiers is an engineering estimate")
	}
	if k.stator != classicStator {
		a.flag("stator_estimate", alt+"stator", "what this stator spares in heat is an engineering estimate")
	}
	if st.guard.kind == variableRegulator && st.charger.Given {
		low := variableLowV * st.nominalV / 12
		need := st.charger.MinInputV
		if st.hasLead {
			need += st.lead.maxDropV
		}
		if st.charger.MinInputV > 0 && low < need {
			a.flag("bus_low", alt+"regulator", "this alternator goes down to "+fixed(low, 1)+" V at times: the charger may then stop at its lowest input voltage")
		}
	}
}
