package core

import (
	"cmp"

	"spareamps/core/air"
	"spareamps/core/conductor"
	"spareamps/core/detmath"
	"spareamps/core/rig"
)

const (
	pulleyDefault     = 2.8  // modern cars 2.4 to 3.2, from memory
	busDefaultV       = 13.6 // of the 12 V class, hot: mean of the middles at 70 °C of three published bands, 13.20, 13.63 and 13.90 V (testdata/regulator_bands*.csv)
	busDefault24V     = 27.6 // of the 24 V class: test instructions of a 28 V machine of 1998, low end
	efficiencyDefault = 0.90 // converters 0.85 to 0.95, from memory
	// usualLoadShare is the vehicle's own mean demand as a share of the label's
	// power: the geometric mean of testdata/usual_loads.csv, 0.17 to 0.37.
	usualLoadShare = 0.30
	foulingDefault = 0.15 // dusty tracks, vents not looked at; engineering estimate
	never          = 1e9  // A: a limit that nothing can reach
)

// A study is a rig made ready: its shape, the spreads of its unknowns, and the
// vehicles it may be.
type study struct {
	shape      shape
	guard      guard
	junctionC  float64 // limit of the rectifier
	coolantC   float64 // of a water-cooled machine; 0: cooled by air
	class      insulationClass
	spread     [unknowns]float64
	known      []int             // unknowns that a block sets
	fixed      [unknowns]float64 // their values
	posterior  posterior
	lead       conductor.Lead
	hasLead    bool
	charger    rig.Charger
	house      rig.HouseBattery
	beltW      float64
	fouling    float64
	pulley     float64
	busV       float64
	efficiency float64
	idleRpm    float64
	nominalV   float64 // of the class: 12 or 24
	starterAh  float64
	nominal    vehicle
	sample     [sampleSize]vehicle
	crowd      population
	stop       stop
	likeliest  desk
	other      desk
	drawn      vehicle // any other than those of the sample
}

// A vehicle is one that the rig may be: machine, pulley, air and charger with
// the unknowns drawn.
type vehicle struct {
	factors
	machine machine
	ratio   float64
	stand   float64 // on the part of the inlet's rise that standing brings
	v       float64 // V held by the regulator
	eta     float64 // of the charger
}

// prepare makes a study of a request's rig. Whether an input was stated
// decides how wide the unknown it informs is taken.
func (st *study) prepare(q *Request) { st.prepareFor(q, false) }

// prepareFor is prepare for a moment, or for a plan of a day.
func (st *study) prepareFor(q *Request, day bool) {
	r := &q.Rig
	st.class = insulation(r.Alternator.InsulationClass)
	st.pulley = cmp.Or(r.Alternator.PulleyRatio, pulleyDefault)
	st.shape, st.guard = q.shape(st.pulley), guardOf(&r.Alternator)
	st.junctionC = rectifiers[st.shape.kind.rectifier].limitC()
	st.coolantC = coolers[st.shape.kind.cooling].coolantC
	st.nominalV = 12 * classFactor(&r.Alternator)
	usualV := busDefault(classFactor(&r.Alternator))
	if st.guard.kind == variableRegulator {
		usualV = (variableLowV + variableHighV) / 2 * classFactor(&r.Alternator)
	}
	st.busV = cmp.Or(r.Alternator.RegulatorV, usualV)
	st.efficiency = cmp.Or(r.Charger.Efficiency, efficiencyDefault)
	st.fouling = r.Alternator.Fouling
	if !q.states("rig.alternator.fouling") {
		st.fouling = foulingDefault
	}
	st.beltW = r.Alternator.BeltW
	st.idleRpm = r.Engine.IdleRpm
	st.starterAh = r.StarterBattery.CapacityAh
	st.charger, st.house = r.Charger, r.HouseBattery
	st.hasLead = r.Cable.Given
	if st.hasLead {
		st.lead = conductor.NewLead(&r.Cable, st.nominalV)
	}
	for i := range Unknowns {
		u := &Unknowns[i]
		st.spread[i] = u.Spread
		if u.informed(q, day) {
			st.spread[i] = u.Known
		}
	}
	st.spread[uBusV] *= classFactor(&r.Alternator)
	if len(r.Alternator.Points) >= 2 || r.Alternator.MachineGiven {
		st.spread[uCutIn] = Unknowns[uCutIn].Known
		st.spread[uLimitA] = Unknowns[uLimitA].Known
	} else {
		st.spread[uLimitA] = Unknowns[uLimitA].Spread // one point is a label
	}
	st.widen(classFactor(&r.Alternator))
	st.posterior = posterior{}
	if q.Rig.LearnedGiven {
		st.posterior = q.posterior()
	}
	st.likely()
}

// likely makes the likeliest vehicle.
func (st *study) likely() { st.make(&st.nominal, &[unknowns]float64{}) }

// draws fills the sample.
func (st *study) draws() {
	var z [unknowns]float64
	for i := range st.sample {
		for j := range z {
			z[j] = sampleValue(i, j)
		}
		st.make(&st.sample[i], &z)
	}
}

// vehicle draws one vehicle from standard normal values.
func (st *study) vehicle(z *[unknowns]float64) (v vehicle) {
	st.make(&v, z)
	return v
}

// make is vehicle in place. Where a fit has learned from readings, the values
// are spread around what it learned.
func (st *study) make(v *vehicle, z *[unknowns]float64) {
	if st.posterior.on {
		learned := st.posterior.of(z)
		v.factors.draw(&learned, &st.spread)
		v.stand = detmath.Exp(st.spread[uInletRise] * (st.posterior.standing + st.posterior.standingSpread*z[uInletRise]))
	} else {
		v.factors.draw(z, &st.spread)
	}
	for _, j := range st.known {
		*v.factors.at(j) = st.fixed[j]
	}
	if !st.posterior.on {
		v.stand = v.inletRise
	}
	st.shape.make(&v.machine, &v.factors)
	v.ratio = st.pulley * v.pulley
	v.v = st.busV + v.busV
	if st.guard.kind == variableRegulator {
		v.v = detmath.Max(detmath.Min(v.v, variableHighV*st.nominalV/12), variableLowV*st.nominalV/12)
	}
	v.eta = detmath.Min(st.efficiency*v.efficiency, 0.99)
}

// busDefault is the voltage that a hot regulator is taken to hold, by the class
// over 12 V.
func busDefault(classFactor float64) float64 {
	if classFactor > 1 {
		return busDefault24V
	}
	return busDefaultV
}

// Usual returns what an input that is not stated is taken to be, where that
// follows from the rig: the vehicle's loads by the label, the regulator's volts by
// the class. ok is false for other inputs: theirs is the table's default.
func (q *Request) Usual(path string) (v float64, ok bool) {
	if path != "moment.vehicle_loads_W" && path != "rig.alternator.regulator_V" {
		return 0, false
	}
	bare := *q
	bare.Rig.Alternator.RegulatorV = 0
	st := new(study)
	st.prepare(&bare)
	if path == "moment.vehicle_loads_W" {
		return st.usualLoadsW(), true
	}
	return st.busV, true
}

// usualLoadsW is what a vehicle with such a label draws in the mean, in W.
func (st *study) usualLoadsW() float64 { return usualLoadShare * st.shape.ratedA * st.shape.testV }

// A scene is a moment made ready: what is the same for all vehicles.
type scene struct {
	engineRpm   float64
	ambientC    float64
	pressure    float64 // Pa
	riseK       float64 // nominal rise of the inlet air
	measured    bool    // the inlet air was measured: riseK is a fact
	coolantC    float64 // measured, of a water-cooled machine
	coolantRead bool
	vehicleW    float64
	starterA    float64
	houseW      float64
	acceptA     float64 // of the house battery
	cellC       float64 // of the house battery
}

// scene makes a moment ready. minutes after a stop turns it into that of the
// vehicle standing with its engine idling for so long.
func (st *study) scene(q *Request, idleMinutes float64) (s scene) {
	m := &q.Moment
	s.engineRpm, s.ambientC = m.EngineRpm, m.AmbientC
	s.pressure = air.Pressure(m.AltitudeM)
	s.riseK = air.InletRise(m.SpeedKmh)
	s.vehicleW, s.houseW = m.VehicleLoadsW, m.HouseLoadsW
	s.starterA = StarterCurrent(st.starterAh, m.MinutesSinceStart)
	if q.statesField(fieldInletC) && st.coolantC > 0 {
		s.coolantC, s.coolantRead = m.InletC, true
	} else if q.statesField(fieldInletC) {
		s.riseK, s.measured = m.InletC-m.AmbientC, true
	}
	if !q.statesField(fieldVehicleLoadsW) {
		s.vehicleW = st.usualLoadsW()
	}
	cellC := m.HouseBatteryC
	if !q.statesField(fieldHouseBatteryC) {
		cellC = m.AmbientC
	}
	s.acceptA, s.cellC = never, cellC
	if st.house.Given {
		s.acceptA = AcceptedCurrent(&st.house, cellC, m.HouseSoc)
	}
	if idleMinutes > 0 {
		s.engineRpm = st.idleRpm
		soak := air.SoakRise(m.SpeedKmh, idleMinutes)
		if s.measured {
			// The rise to come was not measured: it keeps its spread.
			if !q.statesField(fieldSpeedKmh) {
				soak = detmath.Max(air.MovingRise+air.StandingRise-s.riseK, 0) * (1 - detmath.Exp(-idleMinutes/air.SoakMinutes))
			}
			soak *= detmath.Exp(Unknowns[uInletRise].Spread)
		}
		s.riseK += soak
		if q.statesField(fieldIdleLoadsW) {
			s.vehicleW = m.IdleLoadsW
		}
		s.starterA = StarterCurrent(st.starterAh, m.MinutesSinceStart+idleMinutes)
	}
	return s
}

// operating sets a vehicle's machine into a scene.
func (v *vehicle) operating(st *study, s *scene) (o operating) {
	v.operate(st, s, &o)
	return o
}

// operate is operating in place.
func (v *vehicle) operate(st *study, s *scene, o *operating) {
	airC := s.inletC(v)
	density := s.pressure / (air.GasConstant * (airC + 273.15))
	o.machine = v.machine
	o.set(s.engineRpm*v.ratio, v.v, s.sinkC(st, v, airC), density, v.flow*(1-st.fouling), &v.factors)
	o.airC, o.leadC = airC, air.AlongLead(s.ambientC, airC)
}

// follow is operate for a step in time, in an o that served no other vehicle:
// what follows from the speed stays while that does.
func (v *vehicle) follow(st *study, engineRpm, ambientC, airC, pressure float64, o *operating) {
	if rpm := engineRpm * v.ratio; o.speedRpm != rpm {
		o.machine = v.machine
		o.turn(rpm, v.v, v.flow*(1-st.fouling), &v.factors)
	}
	sinkC := airC
	if st.coolantC > 0 {
		sinkC = v.coolantC(st)
	}
	o.blow(&o.machine, sinkC, pressure/(air.GasConstant*(airC+273.15)), &v.factors)
	o.airC, o.leadC = airC, air.AlongLead(ambientC, airC)
}

// inletC returns the inlet air of a vehicle.
func (s *scene) inletC(v *vehicle) float64 {
	if s.measured {
		return s.ambientC + s.riseK
	}
	return s.ambientC + v.riseK(s.riseK)
}

// coolantC returns the coolant's temperature of a vehicle whose alternator is
// cooled by water: the unknown of the inlet stands for that.
func (v *vehicle) coolantC(st *study) float64 { return st.coolantC * v.inletRise }

// sinkC returns the temperature of the air or coolant that cools a vehicle's
// machine.
func (s *scene) sinkC(st *study, v *vehicle, airC float64) float64 {
	switch {
	case st.coolantC == 0:
		return airC
	case s.coolantRead:
		return s.coolantC
	}
	return v.coolantC(st)
}

// hotBay is the rise of the bay's air at its 95 % edge over the usual one: e^(1.645·0.25).
const hotBay = 1.51

// riseK returns the rise of a vehicle's inlet air from the usual one. Once
// driving was measured, its own factor no longer speaks for standing.
func (v *vehicle) riseK(usual float64) float64 {
	if v.machine.kind.cooling == waterCooled {
		return usual * hotBay // its inlet_rise is the coolant's
	}
	if v.stand == v.inletRise {
		return usual * v.inletRise
	}
	moving := detmath.Min(usual, air.MovingRise)
	return moving*v.inletRise + (usual-moving)*v.stand
}

// otherA returns what the vehicle and its starter battery take, in A.
func (s *scene) otherA(v *vehicle) float64 { return v.otherA(s.vehicleW, s.starterA) }

// otherA returns what takes so many watts by the label, and a starter battery, in A.
func (v *vehicle) otherA(vehicleW, starterA float64) float64 {
	return vehicleW*v.vehicle/v.v + starterA
}
