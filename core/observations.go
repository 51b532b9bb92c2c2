package core

import (
	"math"

	"spareamps/core/jsontext"
	"spareamps/core/rig"
)

var observationGroups = [...]Group{
	{Path: "rig.observations[]", Optional: true, MaxRows: 3000, Meaning: "what was read on this vehicle, from which a fit learns",
		rows:   func(q *Request) int { return len(q.Rig.Observations) },
		resize: func(q *Request, n int) { q.Rig.Observations = resized(q.Rig.Observations, n) }},
	{Path: "rig.learned", Optional: true, Meaning: "what a fit learned from the readings; written by it, not by hand",
		given: func(q *Request) *bool { return &q.Rig.LearnedGiven }},
	{Path: "rig.learned.means[]", Optional: true, MaxRows: unknowns, Meaning: "where the unknowns most likely lie",
		rows:   func(q *Request) int { return len(q.Rig.Learned.Means) },
		resize: func(q *Request, n int) { q.Rig.Learned.Means = resized(q.Rig.Learned.Means, n) }},
	{Path: "rig.learned.spread[]", Optional: true, MaxRows: unknowns * (unknowns + 1) / 2, Meaning: "how far they spread around that, and together",
		rows:   func(q *Request) int { return len(q.Rig.Learned.Spread) },
		resize: func(q *Request, n int) { q.Rig.Learned.Spread = resized(q.Rig.Learned.Spread, n) }},
}

var (
	beginnings   = []string{"warm", "cold", "before"}
	thermometers = []string{"infrared", "contact"}
	surfaceNames = []string{"bright", "dull", "painted"}
)

// unknownNames are the names of the table of unknowns.
var unknownNames = func() (names []string) {
	for i := range Unknowns {
		names = append(names, Unknowns[i].Name)
	}
	return names
}()

func (q *Request) observation(i int) *rig.Observation { return &q.Rig.Observations[i] }

// observationFields are the inputs of readings: first the conditions, then what was
// read.
var observationFields = [...]Field{
	{Path: "rig.observations[].at", Kind: Text, Need: Optional, Max: 40,
		Meaning: "when it was read", Where: "watch",
		text: func(q *Request, i int) *string { return &q.observation(i).At }},
	{Path: "rig.observations[].begins", Kind: Choice, Choices: beginnings, DefaultText: "warm",
		Meaning: "how hot the alternator was before: warm, as without charging under these conditions; cold, as the air; before, as the reading above left it, which with the engine off is the only one that tells",
		Where:   "what was done before", Source: "driving, charger off",
		text: func(q *Request, i int) *string { return &q.observation(i).Begins }},
	{Path: "rig.observations[].minutes", Unit: "min", Need: Required, Min: 0, Max: 1440,
		Meaning: "for how long these conditions had lasted when it was read", Where: "watch",
		num: func(q *Request, i int) *float64 { return &q.observation(i).Minutes }},
	{Path: "rig.observations[].engine_rpm", Unit: "rpm", Need: Required, Min: 0, Max: 8000,
		Meaning: "engine speed meanwhile", Where: "tachometer",
		num: func(q *Request, i int) *float64 { return &q.observation(i).EngineRpm }},
	{Path: "rig.observations[].speed_kmh", Unit: "km/h", Min: 0, Max: 200, Default: 0,
		Meaning: "road speed meanwhile", Where: "speedometer", Source: "standing",
		num: func(q *Request, i int) *float64 { return &q.observation(i).SpeedKmh }},
	{Path: "rig.observations[].ambient_C", Unit: "°C", Need: Required, Min: -40, Max: 60,
		Meaning: "air temperature outside, in the shade", Where: "thermometer",
		num: func(q *Request, i int) *float64 { return &q.observation(i).AmbientC }},
	{Path: "rig.observations[].altitude_m", Unit: "m", Min: -430, Max: 6000, Default: 0,
		Meaning: "altitude above sea level", Where: "map", Source: "sea level",
		num: func(q *Request, i int) *float64 { return &q.observation(i).AltitudeM }},
	{Path: "rig.observations[].vehicle_loads_W", Unit: "W", Need: Optional, Min: 0, Max: 8000,
		Meaning: "what the vehicle itself drew; not given: as at the moment asked, or anything from 150 to 1000 W", Where: "clamp meter at the starter battery's lead, charger off, times volts",
		num: func(q *Request, i int) *float64 { return &q.observation(i).VehicleLoadsW }},
	{Path: "rig.observations[].setting_W", Unit: "W", Min: 0, Max: 10000, Default: 0,
		Meaning: "charger's output meanwhile", Where: "charger's display", Source: "charger off",
		num: func(q *Request, i int) *float64 { return &q.observation(i).SettingW }},
	{Path: "rig.observations[].everything_on", Kind: Choice, Choices: yesNo, DefaultText: "no",
		Meaning: "whether so much was on that the volts sagged: the alternator gives all it can", Where: "lights, fans, rear window, charger at full; volts fall below the regulator's", Source: "the usual reading",
		text: func(q *Request, i int) *string { return &q.observation(i).EverythingOn }},
	{Path: "rig.observations[].thermometer", Kind: Choice, Need: Optional, Choices: thermometers,
		Meaning: "instrument that read case_C, core_C and plates_C: infrared (aimed from a distance) or contact (a probe pressed on or fixed to the metal); not given: infrared", Where: "your instrument",
		text: func(q *Request, i int) *string { return &q.observation(i).Thermometer }},
	{Path: "rig.observations[].surface", Kind: Choice, Need: Optional, Choices: surfaceNames,
		Meaning: "surface at which you aimed the infrared thermometer: painted (matt paint or tape), dull (oxidised, dark or dirty metal) or bright (bare metal, reads 20 to 30 K low); not given: bright, the careful choice", Where: "look at the spot; with the engine cold, a dab of matt paint or a strip of matt tape makes the reading far more useful",
		text: func(q *Request, i int) *string { return &q.observation(i).Surface }},

	{Path: "rig.observations[].output_A", Unit: "A", Need: Optional, Min: 0.1, Max: 1000,
		Meaning: "alternator's output", Where: "clamp meter round the alternator's thick lead",
		num: func(q *Request, i int) *float64 { return &q.observation(i).OutputA }},
	{Path: "rig.observations[].bus_V", Unit: "V", Need: Optional, Min: 8, Max: 32,
		Meaning: "voltage at the alternator, or where the charger's lead begins", Where: "voltmeter, engine running",
		num: func(q *Request, i int) *float64 { return &q.observation(i).BusV }},
	{Path: "rig.observations[].inlet_C", Unit: "°C", Need: Optional, Min: -40, Max: 150,
		Meaning: "air at the alternator's inlet", Where: "probe tied beside the alternator before driving",
		num: func(q *Request, i int) *float64 { return &q.observation(i).InletC }},
	{Path: "rig.observations[].case_C", Unit: "°C", Need: Optional, Min: -40, Max: 300,
		Meaning: "alternator's housing, at the end away from the rectifier", Where: "infrared thermometer on a dab of matt paint or a strip of matt tape, or a contact probe; engine off, within a minute",
		num: func(q *Request, i int) *float64 { return &q.observation(i).CaseC }},
	{Path: "rig.observations[].core_C", Unit: "°C", Need: Optional, Min: -40, Max: 300,
		Meaning: "stator core, the bare laminations between the housings", Where: "the same",
		num: func(q *Request, i int) *float64 { return &q.observation(i).CoreC }},
	{Path: "rig.observations[].plates_C", Unit: "°C", Need: Optional, Min: -40, Max: 300,
		Meaning: "rectifier's plates behind the rear cover", Where: "the same",
		num: func(q *Request, i int) *float64 { return &q.observation(i).PlatesC }},
	{Path: "rig.observations[].charger_V", Unit: "V", Need: Optional, Min: 8, Max: 32,
		Meaning: "voltage at the charger's input, at the same time as bus_V", Where: "the same voltmeter",
		num: func(q *Request, i int) *float64 { return &q.observation(i).ChargerV }},
	{Path: "rig.observations[].charger_input_A", Unit: "A", Need: Optional, Min: 0.1, Max: 1000,
		Meaning: "current into the charger", Where: "clamp meter round one conductor of its lead",
		num: func(q *Request, i int) *float64 { return &q.observation(i).ChargerInputA }},
	{Path: "rig.observations[].start_soc", Unit: "1", Need: Optional, Min: 0.001, Max: 1,
		Meaning: "house battery's state of charge when these conditions began", Where: "battery monitor",
		num: func(q *Request, i int) *float64 { return &q.observation(i).StartSoc }},
	{Path: "rig.observations[].end_soc", Unit: "1", Need: Optional, Min: 0.001, Max: 1,
		Meaning: "house battery's state of charge at their end", Where: "battery monitor",
		num: func(q *Request, i int) *float64 { return &q.observation(i).EndSoc }},
	{Path: "rig.observations[].rest_V", Unit: "V", Need: Optional, Min: 6, Max: 30,
		Meaning: "starter battery's voltage after an hour or more, better a night, with engine, charger and lights off; the last such reading tells its charge", Where: "voltmeter on its posts; after a drive, lights on for a minute first",
		num: func(q *Request, i int) *float64 { return &q.observation(i).RestV }},
	{Path: "rig.observations[].crank_V", Unit: "V", Need: Optional, Min: 3, Max: 30,
		Meaning: "the same while the starter turns the engine, at the start that ends that rest, six hours or more after the engine last ran", Where: "the same voltmeter, a second into the start; somebody else turns the key",
		num: func(q *Request, i int) *float64 { return &q.observation(i).CrankV }},

	{Path: "rig.learned.from", Kind: Text, Need: Optional, Max: 16,
		Meaning: "mark of the alternator it was learned for; of another, or none, it is not counted", Where: "a fit writes it",
		text: func(q *Request, _ int) *string { return &q.Rig.Learned.From }},
	{Path: "rig.learned.standing_mean", Unit: "1", Min: -8, Max: 8, Default: 0,
		Meaning: "where the inlet air's rise standing most likely lies, in spreads of inlet_rise", Where: "a fit writes it", Source: "as by the label",
		num: func(q *Request, _ int) *float64 { return &q.Rig.Learned.StandingMean }},
	{Path: "rig.learned.standing_spread", Unit: "1", Min: 0, Max: 2, Default: 1,
		Meaning: "how far it spreads around that", Where: "a fit writes it", Source: "as by the label",
		num: func(q *Request, _ int) *float64 { return &q.Rig.Learned.StandingSpread }},
	{Path: "rig.learned.means[].unknown", Kind: Choice, Need: Required, Choices: unknownNames,
		Meaning: "name in the table of unknowns", Where: "a fit writes it",
		text: func(q *Request, i int) *string { return &q.Rig.Learned.Means[i].Unknown }},
	{Path: "rig.learned.means[].mean", Unit: "1", Need: Required, Min: -8, Max: 8,
		Meaning: "where it most likely lies, in spreads", Where: "a fit writes it",
		num: func(q *Request, i int) *float64 { return &q.Rig.Learned.Means[i].Mean }},
	{Path: "rig.learned.spread[].unknown", Kind: Choice, Need: Required, Choices: unknownNames,
		Meaning: "unknown that is spread", Where: "a fit writes it",
		text: func(q *Request, i int) *string { return &q.Rig.Learned.Spread[i].Unknown }},
	{Path: "rig.learned.spread[].by", Kind: Choice, Need: Required, Choices: unknownNames,
		Meaning: "direction in which it is, itself or one above it in the table", Where: "a fit writes it",
		text: func(q *Request, i int) *string { return &q.Rig.Learned.Spread[i].By }},
	{Path: "rig.learned.spread[].value", Unit: "1", Need: Required, Min: -4, Max: 4,
		Meaning: "how far, in spreads", Where: "a fit writes it",
		num: func(q *Request, i int) *float64 { return &q.Rig.Learned.Spread[i].Value }},
}

// read says whether a number was read.
func read(v float64) bool { return v == v && v != 0 }

// fingerprint marks the description of the alternator and of the charger's
// efficiency: all that the unknowns multiply. 64-bit FNV-1a.
func (q *Request) fingerprint() string {
	const prime = 1099511628211
	h := uint64(14695981039346656037)
	add := func(b byte) { h = (h ^ uint64(b)) * prime }
	families := 0
	for i := range inputs.fields {
		f := &inputs.fields[i]
		place := byte(i - families)
		if isFamily(i) {
			// A description that states no family keeps the fingerprint it had
			// before families were added.
			families++
			if place = byte(128 + families); f.IsText() && *f.text(q, 0) == f.DefaultText {
				continue
			}
		}
		if !within(f.Path, "rig.alternator") && f.Path != "rig.charger.efficiency" || !q.given.has(i) && f.Need != Defaulted {
			continue
		}
		rows := 1
		if g := inputs.listOf(f.Path); g >= 0 {
			rows = inputs.groups[g].rows(q)
		}
		for row := range rows {
			add(place)
			if f.IsText() {
				for _, b := range []byte(*f.text(q, row)) {
					add(b)
				}
				continue
			}
			bits := math.Float64bits(*f.num(q, row))
			for range 8 {
				add(byte(bits))
				bits >>= 8
			}
		}
	}
	const hex = "0123456789abcdef"
	var text [16]byte
	for i := range text {
		text[i] = hex[h>>(60-4*i)&15]
	}
	return string(text[:])
}

// A posterior is how the unknowns spread once readings are counted: z = mean +
// factor·u, u being standard normal, factor a lower triangle.
type posterior struct {
	on     bool
	mean   [unknowns]float64
	factor [unknowns][unknowns]float64

	standing, standingSpread float64
}

// of returns the unknowns at standard normal values.
func (p *posterior) of(u *[unknowns]float64) (z [unknowns]float64) {
	for i := range z {
		s := p.mean[i]
		for j := range i + 1 {
			s += p.factor[i][j] * u[j]
		}
		z[i] = s
	}
	return z
}

// posterior reads what a rig has learned, if it still holds for it.
func (q *Request) posterior() (p posterior) {
	l := &q.Rig.Learned
	if !q.Rig.LearnedGiven || l.From != q.fingerprint() {
		return p
	}
	p.on = true
	p.standing, p.standingSpread = l.StandingMean, l.StandingSpread
	for i := range unknowns {
		p.factor[i][i] = 1
	}
	for _, m := range l.Means {
		p.mean[unknownIndex(m.Unknown)] = m.Mean
	}
	for _, s := range l.Spread {
		p.factor[unknownIndex(s.Unknown)][unknownIndex(s.By)] = s.Value
	}
	return p
}

// unknownIndex finds an unknown by a name that the table of inputs has let
// through.
func unknownIndex(name string) int {
	for i := range Unknowns {
		if Unknowns[i].Name == name {
			return i
		}
	}
	return 0
}

// checkObservations says what does not go together in readings and in what was
// learned from them.
func (q *Request) checkObservations() (ps []Problem) {
	conflict := func(field string, row int, value, allowed, message string) {
		ps = append(ps, plain("conflict", rowPath(field, row), value, allowed, message))
	}
	for i := range q.Rig.Observations {
		r := &q.Rig.Observations[i]
		for kind := readsInlet; kind <= readsPlates; kind++ {
			t := &instrumentTable[kind]
			if v := *t.at(r); read(v) && v < r.AmbientC {
				field := "rig.observations[]." + t.field
				allowed := jsontext.NumberText(r.AmbientC) + " to " + jsontext.NumberText(inputs.fields[inputs.mustIndex(field)].Max) + " °C"
				conflict(field, i, jsontext.NumberText(v), allowed,
					rowPath(field, i)+" is "+jsontext.NumberText(v)+", allowed is "+allowed+": no part of an alternator is colder than the air outside (ambient_C); read both again")
			}
		}
		switch {
		case i == 0 && r.Begins == "before":
			conflict("rig.observations[].begins", i, r.Begins, "warm or cold", "there is no reading above the first")
		case r.EndSoc > 0 && r.StartSoc == 0:
			conflict("rig.observations[].end_soc", i, jsontext.NumberText(r.EndSoc), "with start_soc", "a charge at the end says nothing without that at the start")
		case r.ChargerV > 0 && r.BusV == 0:
			conflict("rig.observations[].charger_V", i, jsontext.NumberText(r.ChargerV), "with bus_V", "the charger's volts say nothing of the lead without those where it begins")
		case r.ChargerV > r.BusV && r.BusV > 0:
			conflict("rig.observations[].charger_V", i, jsontext.NumberText(r.ChargerV), "at most bus_V", "the charger's volts are above those where its lead begins: are the two swapped?")
		case r.RestV > 0 && (r.EngineRpm > 0 || r.Minutes < restMinutes):
			conflict("rig.observations[].rest_V", i, jsontext.NumberText(r.RestV), "with engine_rpm 0 and minutes of 60 or more", "volts of a battery tell its charge after an hour with the engine off; sooner they show too much")
		case r.CrankV > 0 && r.RestV == 0:
			conflict("rig.observations[].crank_V", i, jsontext.NumberText(r.CrankV), "with rest_V", "the volts while the engine is turned say nothing without those at rest before")
		case r.CrankV >= r.RestV && r.CrankV > 0:
			conflict("rig.observations[].crank_V", i, jsontext.NumberText(r.CrankV), "below rest_V", "the volts while the engine is turned are not below those at rest: are the two swapped?")
		case r.CrankV > 0 && r.Begins != "cold" && r.Minutes < coldMinutes:
			conflict("rig.observations[].crank_V", i, jsontext.NumberText(r.CrankV), "with begins cold or minutes of 360 or more", "an engine that has stood for less than six hours may still be warm and turn more easily than on a cold morning")
		case r.ChargerInputA > 0 && r.SettingW == 0:
			conflict("rig.observations[].charger_input_A", i, jsontext.NumberText(r.ChargerInputA), "with setting_W", "a current into the charger says nothing without its setting")
		}
	}
	for i := range q.Rig.Learned.Spread {
		s := &q.Rig.Learned.Spread[i]
		a, b := unknownIndex(s.Unknown), unknownIndex(s.By)
		if b > a || a == b && s.Value <= 0 {
			conflict("rig.learned.spread[].by", i, s.By, "the unknown itself with a value above 0, or one above it in the table", "what was learned is not a lower triangle; fit again")
		}
	}
	return ps
}

// Learn puts what a fit learned into a request's rig.
func (q *Request) Learn(l rig.Learned) {
	q.Rig.Learned, q.Rig.LearnedGiven = l, true
	for i := range inputs.fields {
		if within(inputs.fields[i].Path, "rig.learned") {
			q.given.add(i)
		}
	}
}

// Observe adds an observation to a request's rig.
func (q *Request) Observe(o rig.Observation) {
	q.Rig.Observations = append(q.Rig.Observations, o)
	for i := range inputs.fields {
		if within(inputs.fields[i].Path, "rig.observations") {
			q.given.add(i)
		}
	}
}
