package core

import (
	"spareamps/core/air"
	"spareamps/core/detmath"
	"spareamps/core/rig"
)

// A Learning is what a fit makes of a rig's observations.
type Learning struct {
	Verdict     int // fitGood and on
	Converged   bool
	Iterations  int
	Starts      int     // from how many points the search set out
	Agreeing    int     // how many of them ended at the same place
	Misfit      float64 // sum of squared residuals in deviations, those of outliers cut, and of squared parameters
	Readings    []Residual
	Parameters  [parameters]Estimate
	rig.Learned // what the rig may keep
	Moments     [fitMoments]Gain
	Next        []Suggestion
	LeadOhm     float64 // 0: nothing read along it
	LeadSpread  float64
	HouseAh     float64 // 0: no charge read
	HouseAhOff  float64

	StarterSoc    float64 // at the last reading at rest; 0: none
	StarterSocOff float64
	Sag           float64 // of the volts while the engine is turned, against what was expected; 0: not read
	SagOff        float64
	Proposals     []Proposal

	Keep bool // whether what was learned may be relied on
}

// Verdicts on a fit.
const (
	fitGood = iota
	fitNothing
	fitContradiction
	fitUnsettled
	fitVerdicts
)

var fitVerdictNames = [fitVerdicts]string{"learned", "nothing_learned", "contradiction", "not_converged"}

// A Residual is one reading beside what the likeliest vehicle would show.
type Residual struct {
	Row       int
	Kind      int // index into the table of instruments
	Value     float64
	Expected  float64
	Deviation float64
	Outlier   bool
}

// sigmas is how far a reading lies from what is expected, in deviations.
func (r *Residual) sigmas() float64 { return (r.Value - r.Expected) / r.Deviation }

// An Estimate is a parameter before and after the readings, in spreads.
type Estimate struct {
	Prior    float64 // its spread before, in its unit
	Mean     float64
	Spread   float64 // 1 where nothing was learned
	Informed bool
}

const (
	huberAt       = 2.0  // deviations beyond which a reading pulls no harder
	outlierAt     = 3.5  // and beyond which it is called an outlier
	fitStep       = 1e-3 // of a parameter, for sensitivities
	fitSettled    = 1e-4
	fitMost       = 40
	farthest      = 6.0   // spreads a parameter may go
	tooFar        = 3.0   // spreads of an unknown that contradict what is plausible
	uninformed    = 0.97  // variance above which nothing is claimed to be learned
	anyLoadW      = 400.0 // engineering estimate: 150 to 1000 W
	anyLoadSpread = 0.5
	unsettled     = 8.0   // how much less a temperature tells at the start of a run whose own start is not known
	settling      = 15.0  // min in which that goes
	alikeMinutes  = 20.0  // min, engineering estimate: the machine's own time constants
	allTheOutput  = 1e4   // A: more than there is
	steadyAfter   = 60.0  // min, after which a warm machine is taken as at rest
	atRestAfter   = 180.0 // and any: settling takes ten to twenty
)

// A fitter works out a fit: maximum a posteriori over the parameters, the
// readings' errors normal within huberAt deviations and pulling no harder
// beyond (Huber).
//
//	minimise ½·|θ|² + Σ ρ((y − f(θ))/σ)     (1)
//
// by Levenberg's and Marquardt's method, sensitivities by a step of each
// parameter through the transient model itself. The posterior is normal around
// that point with the inverse of the matrix (2), outliers telling nothing.
//
//	A = I + Σ Jᵀ·J     (2)
//
// Sources: Huber, "Robust estimation of a location parameter", Ann. Math. Stat.
// 35 (1964); Marquardt, SIAM J. Appl. Math. 11 (1963); the damping by how much of
// the promised descent came, Fletcher, AERE-R 6799 (1971), from memory. Checked: fit_test.go
// against gonum's minimiser and SciPy's, against a sampler, and by coverage.
type fitter struct {
	q      *Request
	st     *study
	rows   []rig.Observation
	rested *rig.Observation // the last with volts at rest
	cell   battery          // the starter battery
	values []Residual       // one for each reading, in order
	out    []float64
	moved  []float64
	jac    [][parameters]float64 // of expected values over their deviations
	o      operating
	v      vehicle

	told    func(step int) bool // before each step of the searches; false ends them; nil: nobody is
	steps   int
	stopped bool
}

// set lays out the readings of a request.
func (f *fitter) set(st *study, q *Request) {
	f.q, f.st, f.rows = q, st, q.Rig.Observations
	f.values, f.rested, f.cell = f.values[:0], nil, starterCell(&q.Rig)
	mornings := 0.0
	for i := range f.rows {
		if f.rows[i].RestV > 0 {
			f.rested = &f.rows[i]
		}
		if f.rows[i].CrankV > 0 {
			mornings++
		}
	}
	since, known := 0.0, true // since a run began, and whether its start is known
	for i := range f.rows {
		r := &f.rows[i]
		if r.Begins != "before" {
			// A log may begin with any temperatures, a machine have stopped at any.
			since = 0
			known = r.Begins == "cold" || r.EngineRpm > 0 && (r.Minutes > 5 || i+1 == len(f.rows) || f.rows[i+1].Begins != "before")
		}
		if r.EngineRpm > 0 { // at a standstill no start is forgotten
			since += r.Minutes
		}
		for kind := range instrumentTable {
			t := &instrumentTable[kind]
			v := *t.at(r)
			if !read(v) || !f.tells(r, kind) {
				continue
			}
			d := f.deviation(r, kind, v)
			if r.Begins == "before" {
				// Readings of one run share most of their error: so many minutes of
				// it tell as much as one reading.
				d *= detmath.Sqrt(detmath.Max(alikeMinutes/detmath.Max(r.Minutes, 0.1), 1))
			}
			if kind == readsCrank {
				// Half of what is wrong, engineering estimate, is the battery's model,
				// so the same every morning: many tell no more than two.
				d *= detmath.Sqrt((1 + mornings) / 2)
			}
			if !known && t.unit == "°C" {
				d *= 1 + unsettled*detmath.Exp(-since/settling)
			}
			f.values = append(f.values, Residual{Row: i, Kind: kind, Value: v, Deviation: d})
		}
	}
	n := len(f.values)
	f.out, f.moved = make([]float64, n), make([]float64, n)
	f.jac = make([][parameters]float64, n)
}

// tells says whether a value that was read is compared with the model: an
// output is, where it is all there is, and else drives the model; a sagging
// voltage drives it. Volts at rest tell of the day they were read on, so only
// the last are compared; others say where a start set out.
func (f *fitter) tells(r *rig.Observation, kind int) bool {
	switch kind {
	case readsOutput:
		return r.EverythingOn == "yes" && r.EngineRpm > 0
	case readsBus:
		// A regulator that varies tells nothing by one voltage.
		return r.EverythingOn != "yes" && r.EngineRpm > 0 && f.st.guard.kind != variableRegulator
	case readsDrop, readsInput:
		return f.st.charger.Given && r.SettingW > 0 && (kind == readsInput || f.st.hasLead)
	case readsCharge:
		return f.st.house.Given && r.StartSoc > 0 && r.SettingW > 0
	case readsRest:
		return r == f.rested
	case readsCrank:
		return r.RestV > 0
	}
	return true
}

// expect finds what each reading would show in the vehicle of parameters p.
func (f *fitter) expect(p *[parameters]float64, out []float64) {
	st, v, o := f.st, &f.v, &f.o
	var z [unknowns]float64
	copy(z[:], p[:])
	st.make(v, &z)
	base := v.v
	v.stand = detmath.Exp(added(p, pStanding))
	thermoK := added(p, pThermometer)
	clamp := detmath.Exp(added(p, pClamp))
	volt := detmath.Exp(added(p, pVoltmeter))
	share := detmath.Min(caseShare*detmath.Exp(added(p, pCase)), 1)
	leadF := detmath.Exp(added(p, pLead))
	house := detmath.Exp(added(p, pHouse))
	lead := st.leadOrNone()
	low := sharesOf(p)

	var t temperatures
	riseK, x, ran, stood := 0.0, 0.5, 0.0, 0.0
	next := 0
	for i := range f.rows {
		r := &f.rows[i]
		target := air.InletRise(r.SpeedKmh)
		switch {
		case r.EngineRpm == 0:
			ran = 0
			riseK, stood = f.stand(r, &t, riseK, stood, thermoK)
		case r.Begins == "before":
			riseK = air.EngineOnRise(riseK, target, r.Minutes)
			ran += r.Minutes
		case r.Begins == "cold":
			riseK, ran = target, r.Minutes
		default:
			riseK, ran = target, 60+r.Minutes
		}
		loadW, spread := f.load(r)
		s := scene{engineRpm: r.EngineRpm, ambientC: r.AmbientC, pressure: air.Pressure(r.AltitudeM), riseK: riseK,
			vehicleW: loadW, starterA: StarterCurrent(st.starterAh, ran), acceptA: never}
		if read(r.InletC) && st.coolantC > 0 {
			s.coolantC, s.coolantRead = r.InletC-thermoK, true
		} else if read(r.InletC) {
			s.measured, s.riseK = true, r.InletC-thermoK-r.AmbientC
		}
		v.vehicle = detmath.Exp(spread * p[uVehicle])
		v.v = base
		if r.BusV > 0 {
			v.v = r.BusV / volt
		}
		v.operate(st, &s, o)
		inputA := 0.0
		if r.SettingW > 0 {
			inputA = detmath.Min(v.inputFor(r.SettingW, lead, o.leadC), allTheOutput)
		}
		currentA := inputA + s.otherA(v)
		switch {
		case r.EverythingOn == "yes":
			currentA = allTheOutput
		case r.OutputA > 0:
			currentA = r.OutputA / clamp
		}
		currentA = detmath.Min(currentA, st.guard.mostA)
		if r.EngineRpm > 0 {
			stood = 0
			x = f.heat(r, &s, currentA, &t, x)
		}

		for ; next < len(f.values) && f.values[next].Row == i; next++ {
			y := 0.0
			switch f.values[next].Kind {
			case readsOutput:
				full, _ := o.full(t[rotor])
				y = detmath.Min(o.at(full, t[winding]).a, st.guard.mostA) * clamp
			case readsBus:
				y = base * volt
			case readsInlet:
				y = r.AmbientC + v.riseK(riseK) + thermoK
				if st.coolantC > 0 {
					y = v.coolantC(st) + thermoK
				}
			case readsCase:
				y = low.shown(surfaceOf(r), o.inletC+share*(t[iron]-o.inletC), r.AmbientC) + thermoK
			case readsCore:
				y = low.shown(surfaceOf(r), t[iron], r.AmbientC) + thermoK
			case readsPlates:
				y = low.shown(surfaceOf(r), t[plates], r.AmbientC) + thermoK
			case readsDrop:
				through := inputA
				if r.ChargerInputA > 0 {
					through = r.ChargerInputA / clamp
				}
				y = r.BusV - through*lead.Ohm(through, o.leadC)*leadF
			case readsInput:
				y = inputA * clamp
			case readsCharge:
				b := &st.house
				y = r.StartSoc + r.SettingW*r.Minutes/60/(houseChargeV(b)*b.CapacityAh*house)
			case readsRest:
				y = f.cell.restV(starterSoc(p), r.AmbientC) * volt
			case readsCrank:
				y = r.RestV - volt*detmath.Exp(added(p, pSag))*sagV(&f.q.Rig, &f.cell, r.RestV/volt, r.AmbientC)
			}
			out[next] = y
		}
	}
}

// load returns what the vehicle drew under an observation, in W, and its spread.
//
// A ceiling takes loads that are not known for high, which is careful. Here that
// would make a hot machine look well cooled: so they are taken for anything
// between those of a bare diesel and of one with everything on.
func (f *fitter) load(r *rig.Observation) (watts, spread float64) {
	switch m := &f.q.Moment; {
	case r.VehicleLoadsW > 0:
		return r.VehicleLoadsW, Unknowns[uVehicle].Known
	case m.VehicleLoadsW > 0:
		return m.VehicleLoadsW, Unknowns[uVehicle].Spread
	}
	return anyLoadW, anyLoadSpread
}

// stand takes the machine's temperatures through the minutes of an observation
// with the engine off. It returns the rise of the bay's air at their end and for
// how long the engine has been off.
func (f *fitter) stand(r *rig.Observation, t *temperatures, riseK, stood, thermoK float64) (rise, since float64) {
	switch r.Begins {
	case "cold":
		riseK, stood = 0, longStood
		for i := range t {
			t[i] = r.AmbientC
		}
	case "warm": // it may have stopped just now or long ago
		riseK, stood = air.InletRise(0), 0
		for i := range t {
			t[i] = r.AmbientC + f.v.riseK(riseK)
		}
	}
	const most = 1.0 // min: as in a day
	n := -detmath.Floor(-r.Minutes / most)
	h := r.Minutes / detmath.Max(n, 1)
	for range int(n) {
		stood += h
		riseK = air.EngineOffRise(riseK, stood, h)
		bayC := r.AmbientC + f.v.riseK(riseK)
		if read(r.InletC) {
			bayC = r.InletC - thermoK
		}
		t.stand(bayC, h)
	}
	return riseK, stood
}

// heat takes the machine's temperatures through the minutes of an observation
// with the engine on and returns the field share at its end.
func (f *fitter) heat(r *rig.Observation, s *scene, currentA float64, t *temperatures, x float64) float64 {
	o := &f.o
	switch {
	case r.Minutes >= atRestAfter:
		p, _ := o.carry(currentA)
		*t = p.t
		return p.x
	case r.Begins == "warm":
		idle := detmath.Min(s.otherA(&f.v), currentA)
		if r.Minutes >= steadyAfter {
			idle = currentA
		}
		p, _ := o.carry(idle)
		*t, x = p.t, p.x
		if r.Minutes >= steadyAfter {
			return x
		}
	case r.Begins == "cold":
		for i := range t {
			t[i] = r.AmbientC
		}
		x = 0.5
	}
	h := detmath.Min(detmath.Max(0.5, r.Minutes/30), 2)
	if r.Begins == "before" {
		h = 2 // the machine is already on its way
	}
	for at := 0.0; at < r.Minutes; h *= 1.25 {
		h = detmath.Min(detmath.Min(h, 5), r.Minutes-at)
		x = o.step(t, currentA, h*60, x)
		at += h
	}
	return x
}
