package core

import (
	"slices"

	"spareamps/core/jsontext"
	"spareamps/core/rig"
)

// A Request is one question: a rig, a moment, and how sure the answer is to be.
//
// Make one with NewRequest (every default in place) or Decode (from JSON).
// A zero in an optional field means "not given".
type Request struct {
	Rig        rig.Rig
	Moment     rig.Moment
	Day        rig.Day
	Wiring     rig.Wiring
	Confidence float64 // share of plausible machines for which the answer is safe, 0.5 to 0.99

	given given // which fields were stated, by index in the table of inputs
}

// NewRequest returns a request with every default in place. Set what is
// known, by Set or in the struct; a zero left in an optional field means that
// it is not known.
func NewRequest() Request {
	var q Request
	inputs.defaults(&q)
	return q
}

// ForCeiling and ForDay are the sections of a request that each question reads.
var (
	ForCeiling = []string{"confidence", "rig", "moment"}
	ForDay     = []string{"confidence", "rig", "day"}
)

// Decode reads a request for a ceiling from JSON. Its error is an *InputError
// with all that is wrong with the text.
func Decode(text []byte) (Request, error) { return decodeFor(text, ForCeiling) }

// DecodeDay reads a request for a day's plan.
func DecodeDay(text []byte) (Request, error) { return decodeFor(text, ForDay) }

func decodeFor(text []byte, sections []string) (Request, error) {
	q := NewRequest()
	return q, inputError(q.withConflicts(inputs.decode(text, &q, sections...), sections))
}

// Demo returns the demo request: the rig, moment and day of the examples.
func Demo() Request {
	q, err := Decode(inputs.demo())
	if err == nil {
		err = q.Lay([]byte(demoRows), "day")
	}
	if err != nil {
		panic("core: demo: " + err.Error())
	}
	return q
}

// Set sets one field, by its path in the table of inputs, from text.
func (q *Request) Set(path, value string) error { return inputError(inputs.set(q, path, value)) }

// Lay reads JSON over what q holds, at the object of a path: "" is the request,
// "rig" its rig. What is missing is not asked for; see Check.
func (q *Request) Lay(text []byte, path string) error {
	return inputError(inputs.read(text, q, path))
}

// CheckAfter is Check for a request in which problems were found already: it
// returns those and what does not only follow from them.
func (q *Request) CheckAfter(found []Problem, sections ...string) []Problem {
	return q.withConflicts(inputs.appendMissing(found, q, sections), sections)
}

// Check says what is still missing within sections ("rig", "moment"; none
// means all), or does not go together.
func (q *Request) Check(sections ...string) error {
	return inputError(q.withConflicts(inputs.checkMissing(q, sections...), sections))
}

// withConflicts adds what does not go together to problems found before, unless
// it may only follow from one of them.
func (q *Request) withConflicts(ps []Problem, sections []string) []Problem {
	found := ps
	cs := append(q.check(), q.checkObservations()...)
	if inSections("day", sections) {
		cs = append(cs, q.checkDay(slices.Contains(sections, "day"))...)
	}
	if slices.Contains(sections, "wiring") {
		cs = q.checkWiring(cs)
	}
	for _, c := range cs {
		follows := false
		for i := range found {
			f := found[i].Field
			group, _ := splitPath(c.Field)
			follows = follows || f == "" || within(c.Field, f) || within(f, c.Field) || c.Code == "missing" && within(f, group)
		}
		if !follows {
			ps = append(ps, c)
		}
	}
	return ps
}

// JSON returns the request with the fields that were stated.
func (q *Request) JSON() []byte { return inputs.encode(nil, q) }

// states says whether a field was stated, or set in the struct.
func (q *Request) states(path string) bool { return q.statesField(inputs.mustIndex(path)) }

func (q *Request) statesField(i int) bool {
	if q.given.has(i) {
		return true
	}
	f := &inputs.fields[i]
	if f.Need != Optional || f.num == nil {
		return false
	}
	if f.Kind == Clock {
		return *f.num(q, 0) != unset
	}
	return *f.num(q, 0) != 0
}

// check says what does not go together.
func (q *Request) check() (ps []Problem) {
	a := &q.Rig.Alternator
	conflict := func(field, value, allowed, message string) {
		ps = append(ps, plain("conflict", field, value, allowed, message))
	}
	for i := range inputs.fields {
		f := &inputs.fields[i]
		if f.num == nil || inputs.listOf(f.Path) >= 0 || !inputs.inForce(q, f.Path) ||
			*f.num(q, 0) == 0 && (f.Need == Optional || !q.given.has(i)) {
			continue
		}
		if v := *f.num(q, 0); f.Kind == Clock && f.Need == Optional && v == unset {
			continue
		} else if code := f.take(v); code != "" {
			ps = append(ps, f.problem(code, f.Path, jsontext.NumberText(v)))
		}
	}
	given := 0
	for _, g := range [...]bool{a.RatedCurrentA > 0, len(a.Points) > 0, a.MachineGiven} {
		if g {
			given++
		}
	}
	if given == 0 {
		ps = append(ps, plain("missing", "rig.alternator.rated_current_A", "", "10 to 600 A",
			"rig.alternator.rated_current_A is missing: the second current on the label, or else points or machine"))
	}
	if a.IdleCurrentA > 0 && a.RatedCurrentA > 0 {
		if a.IdleCurrentA >= a.RatedCurrentA {
			conflict("rig.alternator.idle_current_A", jsontext.NumberText(a.IdleCurrentA), "below rated_current_A", "the idle current is not below the rated current")
		}
		if a.IdleSpeedRpm >= a.RatedSpeedRpm {
			conflict("rig.alternator.idle_speed_rpm", jsontext.NumberText(a.IdleSpeedRpm), "below rated_speed_rpm", "the idle speed is not below the rated speed")
		}
	}
	if a.TestV > 0 && (a.TestV > 18) != (a.ClassV == "24") {
		conflict("rig.alternator.test_V", jsontext.NumberText(a.TestV), "12 to 18 V in class 12, 18 to 30 V in class 24", "the test voltage is not of the voltage class")
	}
	if a.RegulatorV > 0 && (a.RegulatorV > 18) != (a.ClassV == "24") {
		conflict("rig.alternator.regulator_V", jsontext.NumberText(a.RegulatorV), "12 to 18 V in class 12, 18 to 31 V in class 24", "the regulator's voltage is not of the voltage class")
	}
	top := 0.0
	for i := range a.Points {
		top = max(top, a.Points[i].CurrentA)
		for j := range i {
			if a.Points[j].SpeedRpm == a.Points[i].SpeedRpm {
				conflict(rowPath("rig.alternator.points[].speed_rpm", i), jsontext.NumberText(a.Points[i].SpeedRpm), "a speed once", "two points have the same speed")
			}
		}
	}
	for i := range a.Points {
		for j := range a.Points {
			if p, q := a.Points[i], a.Points[j]; q.SpeedRpm > p.SpeedRpm && q.CurrentA < 0.9*p.CurrentA {
				conflict(rowPath("rig.alternator.points[].current_A", j), jsontext.NumberText(q.CurrentA), "a curve that does not fall with speed by more than a tenth", "the output falls with speed")
				break
			}
		}
	}
	if len(a.Points) > 0 && top < 1 {
		conflict("rig.alternator.points", "", "a current of 1 A or more", "no point has any output")
	}
	if a.MachineGiven {
		if m := machineOfParameters(&a.Machine, labelTestV(a)); curveCurrent(m.cutInRpm(labelTestV(a)), m.limitA(), m.rx(), a.RatedSpeedRpm) < 1 {
			conflict("rig.alternator.machine", "", "an output of 1 A or more at rated_speed_rpm", "this machine gives nothing at rated_speed_rpm")
		}
	}
	if a.Regulator != "external" {
		for _, l := range [...]struct {
			field string
			v     float64
		}{{"rig.alternator.limit_A", a.LimitA}, {"rig.alternator.limit_C", a.LimitC}} {
			if l.v > 0 {
				conflict(l.field, jsontext.NumberText(l.v), "left out, or regulator external", "only an external regulator has this setting, but this regulator is "+a.Regulator)
			}
		}
	} else if a.LimitA == 0 && a.LimitC == 0 {
		ps = append(ps, plain("missing", "rig.alternator.limit_A", "", "10 to 600 A",
			"rig.alternator.limit_A is missing: state the current limit of the external regulator, or limit_C, its case temperature limit"))
	}
	if len(a.Points) > 0 && a.PointsSpeed == "engine" && a.PulleyRatio == 0 {
		ps = append(ps, plain("missing", "rig.alternator.pulley_ratio", "", "1 to 5",
			"rig.alternator.pulley_ratio is missing: points against engine speed need it"))
	}
	if c := &q.Rig.Cable; c.Given && c.AreaMM2 == 0 && c.AWG == "" {
		ps = append(ps, plain("missing", "rig.cable.area_mm2", "", "0.5 to 300 mm²", "rig.cable.area_mm2 is missing, or else awg"))
	}
	if c := &q.Rig.Cable; c.AreaMM2 > 0 && c.AWG != "" {
		conflict("rig.cable.awg", c.AWG, "area_mm2 or awg", "the cable has both area_mm2 and awg")
	}
	if b := &q.Rig.HouseBattery; b.ChargeV > 0 && b.ChargeV < houseNominalV(b) {
		conflict("rig.house_battery.charge_V", jsontext.NumberText(b.ChargeV), "at least nominal_V", "the charging voltage is below the nominal voltage")
	}
	return ps
}

// given is a set of field indices.
type given [4]uint64

func (g *given) add(i int)      { g[i>>6] |= 1 << (i & 63) }
func (g *given) has(i int) bool { return g[i>>6]&(1<<(i&63)) != 0 }
