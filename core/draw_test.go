package core

import (
	"cmp"
	"hash/fnv"
	"math"
	"math/rand"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"spareamps/core/jsontext"
	"spareamps/core/rig"
)

// A picker chooses: rapid where a failure should shrink, a seeded source where
// many cases are counted.
type picker interface {
	between(name string, lo, hi float64) float64
	below(name string, n int) int
}

type rapidPicker struct{ *rapid.T }

func (p rapidPicker) between(name string, lo, hi float64) float64 {
	return rapid.Float64Range(lo, hi).Draw(p.T, name)
}

func (p rapidPicker) below(name string, n int) int { return rapid.IntRange(0, n-1).Draw(p.T, name) }

type seededPicker struct{ *rand.Rand }

func (p seededPicker) between(_ string, lo, hi float64) float64 { return lo + (hi-lo)*p.Float64() }
func (p seededPicker) below(_ string, n int) int                { return p.Intn(n) }

// usual is where most rigs and moments lie; fields that are not here are drawn
// from all that the table allows.
var usual = map[string][2]float64{
	"rig.engine.displacement_L": {1, 5}, "rig.engine.cranking_A": {100, 500}, "rig.engine.tyre_diameter_m": {0.6, 0.9},
	"rig.charger.feed_W": {0, 500}, "rig.charger.feed_efficiency": {0.8, 0.96}, "rig.charger.feed_idle_W": {0, 10},
	"rig.house_battery.reserve": {0, 0.4}, "rig.house_battery.self_W": {0, 5}, "rig.house_battery.resistance_mohm": {1, 20},
	"rig.starter_battery.cold_cranking_A": {300, 900}, "rig.starter_battery.health": {0.5, 1},
	"confidence":                            {0.5, 0.99},
	"rig.alternator.rated_current_A":        {45, 250},
	"rig.alternator.pole_pairs":             {6, 8},
	"rig.alternator.rated_speed_rpm":        {5000, 7000},
	"rig.alternator.idle_speed_rpm":         {1500, 1800},
	"rig.alternator.pulley_ratio":           {2.2, 3.2},
	"rig.alternator.fouling":                {0, 0.5},
	"rig.alternator.belt_W":                 {1500, 8000},
	"rig.alternator.limit_A":                {30, 200},
	"rig.alternator.limit_C":                {80, 130},
	"rig.engine.idle_rpm":                   {600, 1000},
	"rig.cable.area_mm2":                    {6, 70},
	"rig.cable.length_m":                    {1, 10},
	"rig.cable.terminations":                {2, 10},
	"rig.cable.termination_mohm":            {0.05, 0.5},
	"rig.cable.insulation_C":                {80, 125},
	"rig.cable.fuse_A":                      {30, 200},
	"rig.cable.max_drop":                    {0.03, 0.1},
	"rig.charger.max_input_A":               {20, 150},
	"rig.charger.max_output_W":              {200, 2000},
	"rig.charger.efficiency":                {0.85, 0.96},
	"rig.charger.min_input_V":               {9, 13},
	"rig.charger.step_W":                    {1, 50},
	"rig.house_battery.capacity_Ah":         {50, 400},
	"rig.house_battery.nominal_V":           {12, 13},
	"rig.house_battery.max_charge_A":        {20, 200},
	"rig.starter_battery.capacity_Ah":       {40, 110},
	"moment.engine_rpm":                     {650, 3500},
	"moment.speed_kmh":                      {0, 120},
	"moment.ambient_C":                      {-15, 48},
	"moment.altitude_m":                     {0, 3500},
	"moment.vehicle_loads_W":                {150, 1200},
	"moment.idle_loads_W":                   {150, 1500},
	"moment.house_loads_W":                  {0, 300},
	"moment.house_soc":                      {0, 0.95},
	"moment.house_battery_C":                {12, 45},
	"moment.inlet_C":                        {10, 105},
	"moment.setting_W":                      {0, 600},
	"moment.minutes_since_start":            {0, 240},
	"rig.alternator.idle_current_A":         {0, 0}, // by the rated current
	"rig.alternator.machine.pole_pairs":     {6, 8},
	"rig.alternator.machine.diode_drop_V":   {0.8, 1.1},
	"rig.alternator.machine.reference_C":    {20, 120},
	"rig.alternator.machine.flux_Wb":        {0, 0}, // by an output curve
	"rig.alternator.machine.inductance_H":   {0, 0},
	"rig.alternator.machine.resistance_ohm": {0, 0},
}

// drawRequest draws a request that Check takes. wild is the share of numbers
// drawn from all the table allows; the rest are usual ones.
func drawRequest(p picker, wild float64) Request {
	q := NewRequest()
	factor := 1.0 // of the voltage class
	number := func(path string, lo, hi float64) float64 {
		f := &inputs.fields[inputs.mustIndex(path)]
		if p.between(path+" wild", 0, 1) < wild {
			lo, hi = f.Min, f.Max
		}
		v := p.between(path, lo, hi)
		if f.Kind == Whole {
			v = math.Round(v)
		}
		v = math.Min(math.Max(v, f.Min), f.Max)
		if !inputs.setNum(&q, inputs.mustIndex(path), v) {
			panic("core: the table refuses " + path + " " + jsontext.NumberText(v))
		}
		return v
	}
	choose := func(path, value string) {
		if err := q.Set(path, value); err != nil {
			panic("core: the table refuses " + path + " " + value)
		}
	}
	if p.below("class", 4) == 0 {
		choose("rig.alternator.class_V", "24")
		factor = 2
	}

	// The alternator leads by one of three descriptions.
	cutIn := p.between("cut in", 800, 1400)
	limitA := p.between("limit", 45, 260)
	rx := p.between("r over x", 0.03, 0.12)
	kind := p.below("kind", 5)
	switch kind {
	case 0:
		n := 1 + p.below("points", 7)
		engine := p.below("engine speeds", 2) == 0
		ratio := 1.0
		if engine {
			choose("rig.alternator.points_speed", "engine")
			ratio = number("rig.alternator.pulley_ratio", 2.2, 3.2)
		}
		for i := range n {
			rpm := 1500 + (8000-1500)*(float64(i)+p.between("at", 0.2, 0.8))/float64(n)
			a := curveCurrent(cutIn, limitA, rx, rpm) * p.between("error", 0.97, 1.03)
			choose(rowPath("rig.alternator.points[].speed_rpm", i), jsontext.NumberText(math.Max(rpm/ratio, 100)))
			choose(rowPath("rig.alternator.points[].current_A", i), jsontext.NumberText(a))
		}
	case 1:
		poles := number("rig.alternator.machine.pole_pairs", 6, 8)
		drop := number("rig.alternator.machine.diode_drop_V", 0.8, 1.1)
		m := newMachine(poles, 13.5*factor, 2*drop, cutIn, limitA, rx)
		number("rig.alternator.machine.flux_Wb", m.flux, m.flux)
		number("rig.alternator.machine.inductance_H", m.l, m.l)
		number("rig.alternator.machine.resistance_ohm", m.r, m.r)
		number("rig.alternator.machine.reference_C", 20, 120)
	default:
		a := number("rig.alternator.rated_current_A", 45, 250)
		if p.below("idle current", 2) == 0 {
			inputs.setNum(&q, inputs.mustIndex("rig.alternator.idle_current_A"), math.Max(1, a*p.between("idle share", 0.3, 0.6)))
			number("rig.alternator.idle_speed_rpm", 1500, 1800)
		}
	}

	for i := range inputs.fields {
		f := &inputs.fields[i]
		switch {
		case q.given.has(i), !ofCeiling(f.Path), strings.Contains(f.Path, "[]"), strings.Contains(f.Path, ".machine."),
			strings.HasPrefix(f.Path, "rig.alternator.idle_"), f.Path == "rig.alternator.rated_current_A",
			f.Path == "rig.alternator.class_V", isFamily(i), f.Path == "rig.alternator.points_speed", f.Path == "rig.cable.awg",
			!inputs.inForce(&q, f.Path) && f.Need != Required:
			continue
		case strings.HasPrefix(f.Path, "rig.cable.") && !q.Rig.Cable.Given,
			strings.HasPrefix(f.Path, "rig.charger.") && !q.Rig.Charger.Given,
			strings.HasPrefix(f.Path, "rig.house_battery.") && !q.Rig.HouseBattery.Given:
			continue // filled below
		case f.Need != Required && p.below(f.Path+" stated", 2) == 0:
			continue
		}
		drawField(p, &q, f, factor, number, choose)
	}
	for _, group := range []string{"rig.cable.", "rig.charger.", "rig.house_battery."} {
		if p.below(group+" given", 4) == 0 {
			continue
		}
		for i := range inputs.fields {
			f := &inputs.fields[i]
			if !strings.HasPrefix(f.Path, group) || f.Path == "rig.cable.awg" ||
				f.Need != Required && f.Path != "rig.cable.area_mm2" && p.below(f.Path+" stated", 2) == 0 {
				continue
			}
			drawField(p, &q, f, factor, number, choose)
		}
	}
	if q.Rig.Cable.Given && p.below("awg", 4) == 0 {
		q.Rig.Cable.AreaMM2 = 0
		i := inputs.mustIndex("rig.cable.area_mm2")
		q.given[i>>6] &^= 1 << (i & 63)
		choose("rig.cable.awg", awgSizes[p.below("awg size", len(awgSizes))])
	}
	if kind == 1 && q.Check("rig.alternator") != nil { // wild parameters that give nothing
		m := newMachine(6, 13.5*factor, twoDiodesV, cutIn, limitA, rx)
		q.Rig.Alternator.Machine = rig.Machine{PolePairs: 6, FluxWb: m.flux, InductanceH: m.l, ResistanceOhm: m.r, DiodeDropV: twoDiodesV / 2, ReferenceC: labelCopperC}
		q.Rig.Alternator.RatedSpeedRpm = 6000
	}
	if a := &q.Rig.Alternator; a.IdleCurrentA > 0 && a.IdleSpeedRpm >= a.RatedSpeedRpm {
		a.IdleSpeedRpm = math.Max(1000, 0.5*a.RatedSpeedRpm)
	}
	if b := &q.Rig.HouseBattery; b.ChargeV > 0 {
		b.ChargeV = math.Max(b.ChargeV, math.Min(1.05*cmp.Or(b.NominalV, 12.8), 80))
	}
	drawFamilies(p, &q, choose)
	if err := q.Check(ForCeiling...); err != nil {
		panic("core: drawRequest: " + err.Error() + "\n" + string(q.JSON()))
	}
	return q
}

// drawFamilies draws the families of the alternator: half of all are the usual
// ones. From a seeded source they come by the rest of the request, which so stays
// that of the seed.
func drawFamilies(p picker, q *Request, choose func(path, value string)) {
	if _, ok := p.(seededPicker); ok {
		h := fnv.New64a()
		h.Write(q.JSON())
		p = seededPicker{rand.New(rand.NewSource(int64(h.Sum64() >> 1)))}
	}
	if p.below("families", 2) == 0 {
		return
	}
	one := func(path string, names []string) string {
		name := names[p.below(path, len(names))]
		choose(path, name)
		return name
	}
	one("rig.alternator.cooling", coolingNames)
	one("rig.alternator.rectifier", rectifierNames)
	one("rig.alternator.stator", statorNames)
	if one("rig.alternator.regulator", regulatorNames) != "external" {
		return
	}
	which := p.below("external by", 3)
	if which != 0 {
		choose("rig.alternator.limit_A", jsontext.NumberText(p.between("limit_A", 30, 200)))
	}
	if which != 1 {
		choose("rig.alternator.limit_C", jsontext.NumberText(p.between("limit_C", 80, 130)))
	}
}

// ofCeiling says whether a field is one that a ceiling may depend on.
func ofCeiling(path string) bool {
	for _, other := range []string{"day", "wiring", "rig.solar", "rig.inverter", "rig.observations", "rig.learned"} {
		if within(path, other) {
			return false
		}
	}
	return true
}

// drawField draws one field that is outside lists.
func drawField(p picker, q *Request, f *Field, factor float64, number func(string, float64, float64) float64, choose func(string, string)) {
	switch {
	case f.Kind == Choice:
		choose(f.Path, f.Choices[p.below(f.Path, len(f.Choices))])
	case f.Path == "rig.alternator.test_V":
		choose(f.Path, jsontext.NumberText(factor*p.between(f.Path, 13, 14.5)))
	case f.Path == "rig.alternator.regulator_V":
		choose(f.Path, jsontext.NumberText(factor*p.between(f.Path, 12.8, 14.9)))
	case f.Path == "rig.charger.min_input_V":
		number(f.Path, 9*factor, 13*factor)
	case f.Path == "rig.house_battery.charge_V":
		v := cmp.Or(q.Rig.HouseBattery.NominalV, 12.8)
		number(f.Path, v, math.Min(1.2*v, f.Max))
	default:
		r, ok := usual[f.Path]
		if !ok {
			r = [2]float64{f.Min, f.Max}
		}
		number(f.Path, r[0], r[1])
	}
}

// Every number of the table that is no list's and no voltage of a class has a
// usual range within its own.
func TestDrawKnowsTheTable(t *testing.T) {
	for i := range inputs.fields {
		f := &inputs.fields[i]
		r, ok := usual[f.Path]
		switch {
		case f.Kind == Choice || !ofCeiling(f.Path) || strings.Contains(f.Path, "[]") || strings.HasSuffix(f.Path, "_V"):
		case !ok:
			t.Errorf("%s has no usual range", f.Path)
		case r[1] > 0 && (r[0] < f.Min || r[1] > f.Max):
			t.Errorf("%s: usual %v is beyond %v to %v", f.Path, r, f.Min, f.Max)
		}
	}
	p := seededPicker{rand.New(rand.NewSource(1))}
	n, zero := 400, 0
	for range n {
		q := drawRequest(p, 0.1)
		a, err := Ceiling(&q)
		if err != nil {
			t.Fatal(err)
		}
		if a.Ceiling.InputA == 0 {
			zero++
		}
	}
	if zero > n*2/3 || zero < n/50 {
		t.Errorf("%d of %d drawn requests have no ceiling: the draws are dull", zero, n)
	}
	t.Logf("%d of %d drawn requests have a ceiling of zero", zero, n)
}
