package core

import (
	"slices"
	"strings"

	"spareamps/core/detmath"
	"spareamps/core/jsontext"
	"spareamps/core/rig"
)

// UnknownPrefix begins the name of a block's column that sets an unknown.
const UnknownPrefix = "unknown."

// columnSpreads is how many deviations a column of an unknown reaches to either
// side: one vehicle in 30,000 lies beyond.
const columnSpreads = 4

// columnEnds are the values a column of an unknown takes, rounded outwards to
// hundredths. Volts are counted as in a 24 V system, whose spread is twice that
// of the table.
func (u *Unknown) columnEnds() (least, most float64) {
	far := columnSpreads * u.Spread
	least, most = detmath.Exp(-far), detmath.Exp(far)
	if u.Unit != "1" {
		most = 2 * far
		least = -most
	}
	return detmath.Floor(100*least) / 100, -detmath.Floor(-100*most) / 100
}

// UnknownFields describes the columns of a Block that set an unknown, in the
// order of the table of unknowns. Default is the likeliest value where nothing
// was learned: a factor of 1, or no volts added.
func UnknownFields() []Field {
	list := make([]Field, unknowns)
	for j := range Unknowns {
		u, f := &Unknowns[j], &list[j]
		*f = Field{Path: UnknownPrefix + u.Name, Unit: u.Unit, Meaning: u.Meaning, Where: u.Measure, Source: u.Source}
		f.Min, f.Max = u.columnEnds()
		if u.Unit == "1" {
			f.Default = 1
			f.Meaning += ", as a factor on the likeliest"
		} else {
			f.Meaning += ", added to the likeliest"
		}
	}
	return list
}

// A Scatter says how the unknowns of a rig are spread, what it states and what
// was learned of it being counted. Unknown j of the vehicle at standard normal
// values u is Value(j, z), z = Mean[j] + Σ Factor[j][k]·u[k], Factor being a
// lower triangle.
type Scatter struct {
	Spread, Mean [unknowns]float64
	Factor       [unknowns][unknowns]float64
}

// Value is unknown j at z deviations: a factor, or volts.
func (s *Scatter) Value(j int, z float64) float64 {
	if Unknowns[j].Unit == "1" {
		return detmath.Exp(s.Spread[j] * z)
	}
	return s.Spread[j] * z
}

// Scatter returns how the unknowns of a request's rig are spread. The request
// must be complete.
func (q *Request) Scatter() *Scatter {
	var st study
	st.prepare(q)
	s := &Scatter{Spread: st.spread, Mean: st.posterior.mean, Factor: st.posterior.factor}
	if !st.posterior.on {
		for j := range s.Factor {
			s.Factor[j][j] = 1
		}
	}
	return s
}

// at is where a vehicle keeps unknown j.
func (f *factors) at(j int) *float64 {
	switch j {
	case uFilm:
		return &f.film
	case uInletRise:
		return &f.inletRise
	case uFlow:
		return &f.flow
	case uCutIn:
		return &f.cutIn
	case uVehicle:
		return &f.vehicle
	case uPulley:
		return &f.pulley
	case uContact:
		return &f.contact
	case uIron:
		return &f.iron
	case uBusV:
		return &f.busV
	case uLimitA:
		return &f.limitA
	case uRotorFilm:
		return &f.rotorFilm
	case uPlatesFilm:
		return &f.platesFilm
	case uField:
		return &f.field
	}
	return &f.efficiency
}

// unknownColumn finds the unknown that a column's name sets.
func unknownColumn(path string) (j int, p *Problem) {
	name, _ := strings.CutPrefix(path, UnknownPrefix)
	best, near := 1+max(1, len(name)/3), ""
	for j := range Unknowns {
		if Unknowns[j].Name == name {
			return j, nil
		}
		if d := mistakes(name, Unknowns[j].Name, best); d < best {
			best, near = d, UnknownPrefix+Unknowns[j].Name
		}
	}
	path = string(jsontext.Shown([]byte(path), jsontext.MaxShown))
	bad := plain("unknown", path, "", near, path+" is no unknown")
	if near != "" {
		bad.Message += "; did you mean " + near + "?"
	}
	return -1, &bad
}

// noColumn reports a name that is neither an input's nor an unknown's.
func noColumn(path string) Problem {
	p := inputs.noField(path)
	if j, _ := unknownColumn(path); j >= 0 { // without its prefix
		near := UnknownPrefix + path
		p.Allowed = near
		p.Message = path + " is an unknown, which no input sets; as a column it is " + near
	}
	return p
}

// checkKnown refuses what would be wrong: knowing one of the unknowns that
// readings have tied to each other tells of the others too, which a block does
// not work out.
func (b *Block) checkKnown() (ps []Problem) {
	if b.parts == 0 || !b.q.Rig.LearnedGiven {
		return nil
	}
	learned := &b.q.Rig.Learned
	for j := range Unknowns {
		name := Unknowns[j].Name
		tied := slices.ContainsFunc(learned.Means, func(m rig.Mean) bool { return m.Unknown == name }) ||
			slices.ContainsFunc(learned.Spread, func(s rig.Spread) bool { return s.Unknown == name || s.By == name })
		if tied && slices.Contains(b.study.known, j) {
			path := UnknownPrefix + name
			ps = append(ps, plain("conflict", path, "", "outputs under nominal, or a rig without rig.learned",
				path+" cannot be a column of outputs with confidence: rig.learned ties "+name+" to other unknowns"))
		}
	}
	return ps
}

// know sets an unknown for the rows to come; ok is false where it does not take
// the value.
func (b *Block) know(j int, v float64) (ok bool) {
	if !(v >= b.least[j] && v <= b.most[j]) {
		return false
	}
	if b.study.fixed[j] != v {
		b.study.fixed[j] = v + 0
		b.drawn = false
	}
	return true
}
