package core

// Day plans a day: the gentlest setting that reaches the wanted charge, the
// hand-overs, the night, the ledger.
//
// Its error is an *InputError; a request from DecodeDay gives none.
func PlanDay(q *Request) (*Answer, error) { return new(Advisor).Day(q) }

// Day is PlanDay in the advisor's memory; its answer holds until the next call.
func (d *Advisor) Day(q *Request) (*Answer, error) { return d.dayBy(q, dayStepMinutes) }

// dayBy is Day in steps of so many minutes.
func (d *Advisor) dayBy(q *Request, stepMin float64) (*Answer, error) {
	if err := q.Check(ForDay...); err != nil {
		return nil, err
	}
	a := &d.answer
	*a = Answer{Confidence: q.Confidence, Validity: a.Validity[:0], Says: a.Says[:0], Cautions: a.Cautions[:0]}
	d.study.prepareFor(q, true)
	d.study.draws()
	p := &d.planner
	p.st, p.stepMin, p.known = &d.study, stepMin, p.known[:0]
	p.lay(q)
	a.Plan = p.plan()
	if !a.Plan.Reached {
		p.remedy(a.Plan)
	}
	p.remarks(a)
	return a, nil
}

// DayJSON answers a request about a day in JSON as CeilingJSON does one about a
// moment.
func (d *Advisor) DayJSON(request []byte) []byte {
	return d.reply(request, DecodeDay, (*Advisor).Day, &dayOutputs)
}

// DayJSON is Advisor.DayJSON in memory of its own.
func DayJSON(request []byte) []byte { return new(Advisor).DayJSON(request) }
