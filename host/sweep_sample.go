package main

import (
	"math"
	"math/bits"
	"strings"

	"spareamps/core"
)

// A sweepSpread says how one input scatters from sample to sample.
type sweepSpread struct {
	field  *core.Field
	law    byte      // 'u' evenly from a to b; 'n' normal; 'l' its logarithm normal
	a, b   float64   // ends, or centre and standard deviation
	stated bool      // the centre is a; else the rig's own value
	known  float64   // deviation where the rig states the value; 0: b
	centre []float64 // by rig
	wide   []float64 // deviation, by rig
}

// unknownInputs are the unknowns that an input sets as it is: a factor on it,
// or volts added. The others (films, contact, iron, ...) no input sets.
var unknownInputs = map[string]string{
	"vehicle_loads": "moment.vehicle_loads_W", "pulley_ratio": "rig.alternator.pulley_ratio",
	"bus_voltage": "rig.alternator.regulator_V", "charger_efficiency": "rig.charger.efficiency",
}

// spreadOf reads NAME=a..b (even), NAME=a~sd or NAME=~sd (normal),
// NAME=a*sd or NAME=*sd (logarithm normal), or the name of an unknown.
func spreadOf(text string) (*sweepSpread, *core.Problem) {
	const forms = "NAME=LEAST..MOST, NAME=CENTRE~DEVIATION, NAME=~DEVIATION, NAME=CENTRE*DEVIATION, NAME=*DEVIATION or the name of an unknown"
	bad := func(why string) (*sweepSpread, *core.Problem) {
		return nil, &core.Problem{Code: "type", Field: "--spread", Value: text, Allowed: forms, Message: "--spread is " + text + ": " + why}
	}
	name, law, given := strings.Cut(text, "=")
	if !given {
		return unknownSpread(name, bad)
	}
	f, problem := sweepField(name)
	if problem != nil {
		return nil, problem
	}
	if f.Kind == core.Choice {
		return bad("a choice does not scatter")
	}
	s := &sweepSpread{field: f}
	var left, right string
	var ok bool
	if left, right, ok = strings.Cut(law, ".."); ok {
		s.law, s.stated = 'u', true
	} else if at := strings.IndexAny(law, "~*"); at >= 0 {
		left, right = law[:at], law[at+1:]
		s.law, s.stated = 'n', left != ""
		if law[at] == '*' {
			s.law = 'l'
		}
	} else {
		return bad("allowed is " + forms)
	}
	okA := true
	if s.stated {
		s.a, okA = fieldValue(f, left)
	}
	b, okB := plainFloat(right)
	s.b = b
	switch {
	case !okA:
		return bad(f.Path + " is " + left + ", allowed is " + f.Allowed())
	case s.law == 'u':
		if _, ok := fieldValue(f, right); !ok || b <= s.a {
			return bad("the upper end is " + right + ", allowed is more than " + left + " and " + f.Allowed())
		}
	case !okB || b <= 0:
		return bad("a standard deviation is a number above 0")
	}
	return s, nil
}

func unknownSpread(name string, bad func(string) (*sweepSpread, *core.Problem)) (*sweepSpread, *core.Problem) {
	for i := range core.Unknowns {
		u := &core.Unknowns[i]
		if u.Name != strings.ReplaceAll(name, "-", "_") {
			continue
		}
		path := unknownInputs[u.Name]
		if path == "" {
			return bad("no input sets this unknown; of the unknowns vehicle_loads, pulley_ratio, bus_voltage and charger_efficiency can be sampled, and any input with a spread of your own")
		}
		f, _ := sweepField(path)
		s := &sweepSpread{field: f, law: 'l', b: u.Spread, known: u.Known}
		if u.Unit != "1" {
			s.law = 'n'
		}
		return s, nil
	}
	return bad("neither NAME=SPREAD nor the name of an unknown")
}

// about gives a spread around the rig's own value that value, from a request.
// ok is false where there is none.
func (s *sweepSpread) about(q *core.Request) (ok bool) {
	v, wide := s.a, s.b
	if !s.stated {
		a, err := readAnswer(q.JSON())
		if err != nil {
			return false
		}
		twice := 1.0 // a system of 24 V: twice the volts
		if q.Rig.Alternator.ClassV == "24" && s.field.Path == "rig.alternator.regulator_V" {
			twice = 2
		}
		if v, ok = a.num(s.field.Path); ok {
			if s.known > 0 {
				wide = s.known * twice
			}
		} else if v = s.field.Default * twice; v == 0 && s.field.Need != core.Defaulted {
			return false
		} else if s.known > 0 {
			wide *= twice
		}
	}
	s.centre, s.wide = append(s.centre, v), append(s.wide, wide)
	return s.law != 'l' || v > 0
}

// middle is a value amid the spread of the rig laid last.
func (s *sweepSpread) middle() float64 {
	if s.law == 'u' {
		return (s.a + s.b) / 2
	}
	return s.centre[len(s.centre)-1]
}

// A sampler draws spreads. Its draws depend on the number of the sample alone,
// so that any part of a sweep can be computed by itself.
type sampler struct {
	spreads []*sweepSpread
	n       int64
	random  bool
	seed    uint64
	step    []uint64 // of the even sequence, in units of 2^-64
	shift   []uint64
}

// newSampler prepares n draws. The even sequence is a Kronecker sequence
// (H. Niederreiter, Random Number Generation and Quasi-Monte Carlo Methods,
// 1992, section 3.1): point i is the fraction of shift + i·step in each
// dimension. The steps are the powers of 1/g, g^(d+1) = g + 1 (common
// practice, no source).
func newSampler(spreads []*sweepSpread, n int64, random bool, seed uint64) *sampler {
	s := &sampler{spreads: spreads, n: n, random: random, seed: seed}
	d := float64(len(spreads))
	g := 2.0
	for range 200 {
		g = math.Pow(1+g, 1/(d+1))
	}
	for j := range spreads {
		s.step = append(s.step, uint64(math.Ldexp(math.Pow(1/g, float64(j+1)), 64))|1)
		shift := uint64(1) << 63
		if seed != 0 {
			shift = mix(seed + uint64(j)*golden)
		}
		s.shift = append(s.shift, shift)
	}
	return s
}

const golden = 0x9e3779b97f4a7c15

// mix is the finalizer of SplitMix64 (Steele, Lea, Flood, Fast splittable
// pseudorandom number generators, 2014).
func mix(x uint64) uint64 {
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

// value draws spread j of sample i for a rig; what lies outside the input's
// range is put at its end.
func (s *sampler) value(i int64, j, rig int) float64 {
	bitsOf := s.shift[j] + uint64(i)*s.step[j]
	if s.random {
		bitsOf = mix(mix(s.seed+golden*uint64(i+1)) + bits.RotateLeft64(golden, 17)*uint64(j+1))
	}
	u := (float64(bitsOf>>11) + 0.5) / (1 << 53)
	p := s.spreads[j]
	v := 0.0
	switch p.law {
	case 'u':
		v = p.a + u*(p.b-p.a)
	case 'n':
		v = p.centre[rig] + p.wide[rig]*normal(u)
	case 'l':
		v = p.centre[rig] * math.Exp(p.wide[rig]*normal(u))
	}
	if p.field.Kind == core.Whole {
		v = math.Round(v)
	}
	return min(max(v, p.field.Min), p.field.Max)
}

// normal is the quantile of the standard normal distribution.
func normal(u float64) float64 { return math.Sqrt2 * math.Erfinv(2*u-1) }
