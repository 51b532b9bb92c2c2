package core

import (
	"cmp"

	"spareamps/core/detmath"
	"spareamps/core/limit"
	"spareamps/core/rig"
)

// Families of alternators. A label does not state the cooling, the rectifier, the
// stator, or the behaviour of the regulator when the machine gets hot. The rig may
// state each of the four. The core assumes the first of each list otherwise, and
// with these the model is unchanged.
//
//	cooling    own_fan       the air stream follows shaft speed and fouling of the vents
//	           separate_fan  the air stream of an own fan at 3000 rpm, at any shaft speed
//	           water         the coolant takes the heat: speed, dust and the air below the
//	                         bonnet do not affect the machine
//	rectifier  standard      diodes with a maximum of 175 °C
//	           avalanche     press-fit avalanche diodes
//	           mosfet        transistors that conduct instead of diodes
//	stator     classic       round wire, three phases
//	           hairpin       bars: less copper loss, better contact with the core
//	           six_phase     two windings of three phases, each with its own bridge
//	regulator  fixed         holds one voltage
//	           variable      12.4 to 15 V, as the engine control unit requests
//	           self_limiting lowers the output when the machine is hot
//	           external      lowers the output at a set current or case temperature
//
// If the regulator lowers the output by itself, exceeding the ceiling lowers the
// bus voltage but does not damage the machine: the answer reports such heat limits
// as output (shownAs). Their numbers stay those of the heat limits, since no maker
// publishes the temperature at which its regulator starts to act.
//
// Every number has a row in testdata/alternator_families.csv with its source; a
// number without a published figure is an engineering estimate, and the answer
// says so. Valid for 12 and 24 V claw-pole machines. Neglects the lower windage of
// a machine without its own fan: its mechanical loss is that of a machine with one.
// Checked: families_test.go.

// Indices of the families; a rig that states none has 0.
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

// Indices of the first and last family input in the table of inputs.
var firstFamily, lastFamily = inputs.mustIndex("rig.alternator.cooling"), inputs.mustIndex("rig.alternator.limit_C")

// isFamily says whether an input selects a family or belongs to one.
func isFamily(i int) bool { return i >= firstFamily && i <= lastFamily }

// kinds are the families of a machine, as indices into their tables.
type kinds struct{ cooling, rectifier, stator uint8 }

// A prior is the factor by which the spread of an unknown exceeds that of the
// first family.
type prior struct {
	unknown int
	times   float64
}

// A cooler holds the cooling of a family. Conductances are those of the 150 A
// machine.
type cooler struct {
	links    links   // W/K to air or coolant; by air at 3000 rpm
	streamW  float64 // W/K carried by air or coolant
	fanRpm   float64 // 0: the fan turns with the shaft
	coolantC float64 // of a hot engine; 0: cooled by air
	priors   []prior
}

var coolers = [coolings]cooler{
	ownFan: {links: links{windingToAir, ironToAir, platesToAir, rotorToAir}, streamW: streamW},
	separateFan: {
		links: links{windingToAir, ironToAir, platesToAir, rotorToAir}, streamW: streamW,
		fanRpm: 3000,                   // rpm at which an own fan moves as much air; engineering estimate
		priors: []prior{{uFlow, 1.3}}}, // engineering estimate: fans and ducts differ
	waterCooled: {
		links: links{
			w: 2.5,  // end turns by the air inside, which turns with the shaft: as with the own fan up to 3000 rpm; engineering estimate
			s: 12.0, // core pressed into the jacket; engineering estimate
			d: 8.0,  // rectifier on a cooled plate; engineering estimate
			r: 1.5,  // rotor by the air inside, likewise; engineering estimate
		},
		streamW:  360, // W/K: 6 L/min of half glycol; engineering estimate
		coolantC: 95,  // published: 82 to 95 °C in working diesel engines; the upper end
		priors: []prior{
			{uFlow, 0}, // no air flows
			{uInletRise, coolantSpread},
			{uFilm, 1.3}, {uPlatesFilm, 1.3}, {uRotorFilm, 1.3}, // engineering estimate
		}},
}

// coolantSpread scales the spread of the inlet rise to that of the coolant's 95 °C,
// which is 5 K. Engineering estimate.
const coolantSpread = 0.2

// rectifierMarginK is the distance of the design temperature below the junction's
// maximum, since the hottest diode is that much above the mean of all diodes.
// Engineering estimate.
const rectifierMarginK = 15.0

// A rectifierKind holds the rectifier constants of a family.
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
		mostC:  175,                           // °C, usual for automotive power transistors; from memory
		perW:   junctionPerW,                  // K/W; engineering estimate: as for a diode
		dropV:  0.3,                           // V: two of 1.2 mΩ, hot, at 120 A; engineering estimate
		priors: []prior{{uPlatesFilm, 1.25}}}, // engineering estimate: carriers differ more than plates
}

// limitC returns the junction temperature in °C that the ceiling respects.
func (r *rectifierKind) limitC() float64 { return r.mostC - rectifierMarginK }

// A statorKind holds the stator constants of a family.
type statorKind struct {
	slots    float64 // W/K from winding to core, of the 150 A machine
	copper   float64 // resistance relative to the first family
	armature float64 // h of heldFlux
	bridges  float64 // sets of six diodes
	priors   []prior
}

var stators = [statorKinds]statorKind{
	classicStator: {slots: windingToIron, copper: 1, armature: armatureIron, bridges: 1},
	hairpinStator: {
		slots:    1.3 * windingToIron, // flat sides lie against the slot; engineering estimate
		copper:   1,                   // bars fill 0.70 of a slot, round wire 0.55, but lose more by skin and proximity at speed; engineering estimate
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

// kindOf returns the index of a name in a list, 0 if the list lacks it. Inlining it
// would make the module half a kilobyte larger.
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

// shape returns the alternator's shape. If the alternator is given by machine
// parameters without a diode drop, the drop is the family's.
func (q *Request) shape(pulley float64) shape {
	a := &q.Rig.Alternator
	drop := a.Machine.DiodeDropV
	if drop == twoDiodesV/2 && !q.states("rig.alternator.machine.diode_drop_V") {
		drop = rectifiers[kindsOf(a).rectifier].dropV / 2
	}
	return shapeWith(a, pulley, drop)
}

// A guard holds how a regulator limits heat and current.
type guard struct {
	kind  uint8
	mostA float64 // output that an external regulator allows; never: no limit
	caseC float64 // case temperature at which an external regulator lowers the output; never: no limit
}

func guardOf(a *rig.Alternator) guard {
	g := guard{kindOf(regulatorNames, a.Regulator), never, never}
	if g.kind == externalRegulator {
		g.mostA, g.caseC = cmp.Or(a.LimitA, never), cmp.Or(a.LimitC, never)
	}
	return g
}

// coreC returns the core temperature at which an external regulator lowers the
// output of a machine cooled at inletC: the housing shows a share of the core's
// rise.
func (g *guard) coreC(inletC float64) float64 {
	if g.caseC >= never {
		return never
	}
	return inletC + (g.caseC-inletC)/caseShare
}

// protects says whether the machine lowers its output by itself.
func (g *guard) protects() bool { return g.kind >= selfLimitingRegulator }

// merges says whether heat limits are reported as output.
func (g *guard) merges() bool { return g.kind == selfLimitingRegulator || g.caseC < never }

// shownAs returns the limit under whose name a limit is reported.
func (g *guard) shownAs(lim int) int {
	if lim == limit.Case || g.kind == selfLimitingRegulator && byHeat(lim) {
		return limit.Output
	}
	return lim
}

// byHeat says whether a limit is a temperature inside the machine.
func byHeat(lim int) bool {
	return lim == limit.Winding || lim == limit.Rectifier || lim == limit.Rotor || lim == limit.Case
}

// bySlowHeat says whether a limit is such a temperature that takes minutes to
// reach.
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

// merged returns the lowest ceiling of one vehicle among the limits that are
// reported as output.
func (g *guard) merged(c *ceilings) float64 {
	least := never
	for lim, a := range c {
		if g.shownAs(lim) == limit.Output {
			least = detmath.Min(least, a)
		}
	}
	return least
}

// merged returns the k-th lowest of these over the sample.
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

// show puts the limits of an answer under their reported names. mergedA and
// nominalA are the ceilings of output, merged with the heat limits that are
// reported as output.
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

// ownWords describes a machine that lowers its output by itself; empty for any
// other.
func (g *guard) ownWords() string {
	const drains = " the bus voltage falls and the starter battery drains"
	switch {
	case g.kind == selfLimitingRegulator:
		return "this alternator lowers its own output when hot: beyond the ceiling" + drains + ", but the machine is not damaged"
	case g.kind != externalRegulator:
		return ""
	case g.mostA >= never:
		return "the external regulator lowers the output when the case reaches " + fixed(g.caseC, 0) + " °C: beyond that" + drains + "; nothing is damaged"
	case g.caseC >= never:
		return "the external regulator limits the output to " + amps(g.mostA) + ": beyond that" + drains + "; the heat limits still apply"
	}
	return "the external regulator limits the output to " + amps(g.mostA) + " and the case to " + fixed(g.caseC, 0) + " °C: beyond that" + drains + "; nothing is damaged"
}

const cautionDrains = "when the alternator lowers its output, the starter battery feeds the loads: watch its voltage"

// familyFlags reports families that rest on estimates or need attention.
func (st *study) familyFlags(a *Answer) {
	k := st.shape.kind
	const alt = "rig.alternator."
	if k.cooling == separateFan {
		a.flag("cooling_estimate", alt+"cooling", "no figures are published for machines with a separate fan: its air flow is an engineering estimate")
	} else if k.cooling == waterCooled {
		a.flag("cooling_estimate", alt+"cooling", "no heat figures are published for water-cooled machines: the answer uses engineering estimates, with coolant at "+fixed(coolers[waterCooled].coolantC, 0)+" °C unless inlet_C is stated")
	}
	if k.rectifier == mosfets {
		a.flag("rectifier_estimate", alt+"rectifier", "the heat of a MOSFET rectifier is an engineering estimate")
	}
	if k.stator != classicStator {
		a.flag("stator_estimate", alt+"stator", "the lower heat of this stator is an engineering estimate")
	}
	if st.guard.kind == variableRegulator && st.charger.Given {
		low := variableLowV * st.nominalV / 12
		need := st.charger.MinInputV
		if st.hasLead {
			need += st.lead.MaxDropV
		}
		if st.charger.MinInputV > 0 && low < need {
			a.flag("bus_low", alt+"regulator", "this alternator sometimes drops to "+fixed(low, 1)+" V: the charger may then stop because its input voltage is too low")
		}
	}
}
