package core

import (
	"spareamps/core/detmath"
	"spareamps/core/drivetrain"
)

// balance fills in the ledger, the fuel and the hottest temperatures.
func (p *planner) balance(a *Plan, tr *trace) {
	f := &tr.flows
	shaft, hot := p.alternatorLosses(tr, false)
	bare, _ := p.alternatorLosses(tr, true)
	a.Likeliest = State{WindingC: hot.windingC, CoreC: hot.coreC, JunctionC: hot.junctionC, RotorC: hot.rotorC}
	a.HottestAt = p.end(hot.at)
	c := &p.carefulPeak
	a.Careful = State{WindingC: c.windingC, CoreC: c.coreC, JunctionC: c.junctionC, RotorC: c.rotorC}
	chargerWh := 0.0
	busV := p.st.nominal.v
	for i := range p.steps {
		if p.steps[i].engine {
			chargerWh += (tr.alternatorA[i]*busV - p.steps[i].vehicleW - tr.starterA[i]*busV) * p.stepMin / 60
		}
	}
	a.FuelL = drivetrain.FuelL(p.q.Rig.Engine.Fuel, detmath.Max(chargerWh+shaft.Total()-bare.Total(), 0))

	add := func(kind, name string, wh float64) {
		if wh != 0 {
			a.Ledger = append(a.Ledger, Entry{kind, name, wh})
		}
	}
	add("source", "engine shaft", f.alternator+shaft.Total())
	add("source", "sun", f.sun)
	add("stored", "out of the house battery", -f.houseStored)
	add("stored", "out of the starter battery", -f.starterStore)
	house, vehicle := 0.0, 0.0
	for i := range p.loads {
		l := &p.q.Day.Loads[i]
		add("use", l.Name, -p.loads[i].wh)
		if l.Side == "vehicle" {
			vehicle += p.loads[i].wh
		} else {
			house += p.loads[i].wh
		}
	}
	self := p.q.Rig.HouseBattery.SelfW * float64(len(p.steps)) * p.stepMin / 60
	add("use", "the vehicle itself", -(f.driving + f.parked - vehicle))
	add("use", "not served, nothing left", f.short)
	add("loss", "alternator: stator copper", -shaft.StatorCopper)
	add("loss", "alternator: rectifier", -shaft.Rectifier)
	add("loss", "alternator: field", -shaft.Field)
	add("loss", "alternator: iron", -shaft.Iron)
	add("loss", "alternator: friction and fan", -shaft.Mechanical)
	add("loss", "lead", -f.lead)
	add("loss", "charger", -f.charger)
	add("loss", "charger while feeding", -f.feeding)
	add("loss", "inverter", -(f.house - house - self))
	add("loss", "house battery", -f.houseLoss)
	add("loss", "house battery's own electronics", -self)
	add("loss", "starter battery", -f.starterLoss)
}

// alternatorLosses takes the likeliest alternator through the day and returns
// its losses in Wh, and how hot it gets. Without the charger it carries the
// vehicle's side and the starter battery alone.
func (p *planner) alternatorLosses(tr *trace, bare bool) (lost Losses, hot peak) {
	h := newDayHeat(&p.st.nominal, new(operating), p.steps[0].ambientC)
	for i := range p.steps {
		s := &p.steps[i]
		if !s.engine {
			h.rest(s.ambientC, p.stepMin)
		} else {
			w := tr.chargeW[i]
			if bare {
				w = 0
			}
			h.run(p.st, s, &p.used[s.bin], w, detmath.Max(tr.starterA[i], 0), p.stepMin, i, &lost)
		}
		if !bare {
			p.windingC[i] = h.t[winding]
		}
	}
	return lost, h.hottest
}
