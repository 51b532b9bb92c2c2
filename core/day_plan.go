package core

import (
	"spareamps/core/air"
	"spareamps/core/detmath"
)

// A Plan is the answer about a day. Times are in minutes since midnight of the
// first day; never and above means that it does not happen.
type Plan struct {
	SettingW float64 // of the charger, all day; in a stretch less where that allows less
	SettingA float64 // the same at the house battery's charging voltage
	DrawA    float64 // what it draws at the charger's input, likeliest
	Why      string  // "gentlest", "most", "given"
	AskedW   float64 // the setting to try, as given; 0: none was
	Reached  bool    // the wanted charge is reached by the wanted time, on every day, and every start succeeds
	AllowedW float64 // the highest setting that any stretch allows
	FullAt   float64
	WantSoc  float64
	WantBy   float64 // on the first day that misses it, else on the first
	SocThen  float64
	MissWh   float64 // missing then

	NoStartAt float64 // first time from which the engine would not start
	FailedAt  float64 // first start that fails; what comes after is as if it had not
	PauseWh   float64 // taken from the starter battery by a charger left on in pauses
	LowSoc    float64 // lowest charge of the house battery in all
	LowAt     float64
	EmptyAt   float64 // first time at which something has no power
	ShortWh   float64 // what was asked for and could not be served
	SunFrost  bool    // the sun would charge a frozen battery

	StarterSoc float64 // at the end
	HouseSoc   float64

	Stretches []StretchRow
	Handovers []Handover
	Nights    []Night
	Remedies  []Remedy
	Rescue    Rescue
	CutOff    CutOffRow
	Ledger    []Entry
	FuelL     float64 // burnt for charging

	Likeliest State // hottest of the day at this setting, likeliest vehicle
	Careful   State // the same at the highest settings, careful vehicle
	HottestAt float64

	Series series

	Start float64 // of the first day, minutes since midnight
	Step  float64 // min
}

// A StretchRow is a time between two hand-overs in which the charger charges.
type StretchRow struct {
	From, To  float64
	AllowedW  float64
	SettingW  float64
	Limit     int
	ChargedWh float64
}

// A Handover is something to do at the charger, and what comes of forgetting it.
type Handover struct {
	At       float64
	To       direction
	SettingW float64
	Why      string
	Missed   Missed
}

// Missed is what comes of a hand-over that is forgotten until the next.
type Missed struct {
	NoStartAt float64 // the engine does not start from then on
	ReserveAt float64 // the house battery passes its reserve
	EmptyAt   float64 // something is left without power
	TooMuchAt float64 // a limit of the alternator is passed: the setting before is too much
	Limit     int     // which
	SocThen   float64 // house battery when the wanted charge is due next; negative: not within the plan
}

// A Night is the longest pause that begins in a day, and the start after it.
type Night struct {
	Day        float64
	From       float64 // begin of the long pause
	LowSoc     float64 // of the house battery, from the last drive on
	LowAt      float64
	ReserveAt  float64
	EmptyAt    float64
	Morning    float64 // time of the start
	MorningC   float64
	StarterSoc float64
	StarterV   float64 // at rest
	LeastSoc   float64 // needed to start
	CrankingV  float64
	NeedV      float64
	Starts     bool
	HouseWh    float64 // taken from the house battery meanwhile
}

// A Remedy is something that would help a day that misses its charge.
type Remedy struct {
	Code    string
	Text    string
	SocThen float64
	GainWh  float64
	Reached bool
}

// A Rescue is what bringing back a starter battery would take after a night in
// which its loads were left on it.
type Rescue struct {
	StarterSoc float64 // in the morning after
	LeastSoc   float64
	NeedWh     float64 // out of the house battery; 0: it starts
	NeedSoc    float64 // the same as a share of the house battery
	Enough     bool    // the reserve holds that
}

// A CutOffRow is where the vehicle's side should be cut off to keep the engine
// startable, and whether the feed's voltage may stay on the starter battery.
type CutOffRow struct {
	CoolestC    float64
	LoadA       float64
	RestV       float64
	LoadedV     float64
	FeedV       float64 // at the starter battery's posts; 0: no feed
	FeedVerdict string
	FloatLowV   float64
	FloatHighV  float64
}

// An Entry is one line of the ledger. Sources are positive, uses and losses
// negative, what went into a battery negative too: all add up to zero.
type Entry struct {
	Kind string // "source", "use", "loss", "stored"
	Name string
	Wh   float64
}

// plan fills in the answer about a day that was laid.
func (p *planner) plan() *Plan {
	q := p.q
	a := &Plan{Start: q.Day.Start, Step: p.stepMin, WantSoc: q.Day.WantSoc, FullAt: never}
	if q.states("day.setting_W") {
		a.SettingW, a.AskedW, a.Why = q.Day.SettingW, q.Day.SettingW, "given"
		a.Reached = p.shortfall(&daySetting{a.SettingW, p.allowed}) <= 0
	} else if a.SettingW, a.Reached = p.gentlest(); a.Reached {
		a.Why = "gentlest"
	} else {
		a.Why = "most"
	}
	for _, w := range p.allowed {
		a.AllowedW = detmath.Max(a.AllowedW, w)
	}
	// A setting above what is allowed is counted as what is allowed.
	a.SettingW = detmath.Min(a.SettingW, detmath.Max(a.AllowedW, 0))
	a.SettingA = a.SettingW / p.st.chargeV()
	a.DrawA = p.st.nominal.inputFor(a.SettingW, p.st.leadOrNone(), p.warmest()+air.EngineSpaceRise)
	x := &daySetting{a.SettingW, p.allowed}
	p.handovers(a, x)
	tr := p.newTrace()
	r := p.simulateNoting(x, tr, a.Handovers)
	a.HouseSoc, a.StarterSoc = r.houseSoc, r.starterSoc
	if r.fullStep >= 0 {
		a.FullAt = p.end(r.fullStep)
	}
	a.NoStartAt, a.FailedAt = p.at(r.noStart), never
	if r.failed >= 0 {
		a.FailedAt, a.Reached = p.begin(r.failed), false
	}
	p.lowStarter = 1
	for _, soc := range tr.starterSoc {
		p.lowStarter = detmath.Min(p.lowStarter, soc)
	}
	a.LowSoc, a.LowAt = r.lowSoc, p.at(r.lowStep)
	a.EmptyAt, a.ShortWh = p.at(r.empty), tr.flows.short
	for i := range p.steps {
		s := &p.steps[i]
		a.SunFrost = a.SunFrost || s.sunW > 1 && p.frozen(s)
		if !s.engine && s.to == charge {
			a.PauseWh += tr.chargeW[i] / p.st.efficiency * p.stepMin / 60
		}
	}
	p.goal(a, tr)
	p.stretchRows(a, x, tr)
	p.nights(a, tr)
	p.forget(a, x)
	p.rescue(a, x)
	p.cutOff(a)
	p.balance(a, tr)
	a.Series.fill(p, tr)
	return a
}

// end is the time at the end of a step.
func (p *planner) end(i int) float64 { return p.q.Day.Start + float64(i+1)*p.stepMin }

// begin is the time at the begin of a step.
func (p *planner) begin(i int) float64 { return p.q.Day.Start + float64(i)*p.stepMin }

// at turns a step that may be −1 into a time.
func (p *planner) at(i int) float64 {
	if i < 0 {
		return never
	}
	return p.end(i)
}

func (p *planner) warmest() float64 {
	c := p.steps[0].ambientC
	for i := range p.steps {
		c = detmath.Max(c, p.steps[i].ambientC)
	}
	return c
}

// goal says what charge there is when it is due: on the day that misses most.
func (p *planner) goal(a *Plan, tr *trace) {
	a.SocThen = 2
	for _, i := range p.dues {
		if tr.houseSoc[i] < a.SocThen {
			a.SocThen, a.WantBy = tr.houseSoc[i], p.end(i)
		}
	}
	if !a.Reached {
		a.MissWh = detmath.Max(p.house.storedWh(a.WantSoc)-p.house.storedWh(a.SocThen), 0)
	}
}

func (p *planner) stretchRows(a *Plan, x *daySetting, tr *trace) {
	for k := range p.stretches {
		s := &p.stretches[k]
		row := StretchRow{From: p.begin(s.from), To: p.end(s.to - 1), AllowedW: s.allowedW, SettingW: detmath.Min(x.watts, s.allowedW), Limit: p.st.guard.shownAs(s.limit)}
		for i := s.from; i < s.to; i++ {
			row.ChargedWh += tr.chargeW[i] * p.stepMin / 60
		}
		a.Stretches = append(a.Stretches, row)
	}
}

// nights fills in the long pauses and the starts after them.
func (p *planner) nights(a *Plan, tr *trace) {
	for k, x := range p.nightly {
		n := Night{Day: float64(k + 1), LowSoc: 2, From: p.begin(x.from), ReserveAt: never, EmptyAt: never}
		for i := x.from; i < x.to; i++ {
			s := &p.steps[i]
			if tr.houseSoc[i] < n.LowSoc {
				n.LowSoc, n.LowAt = tr.houseSoc[i], p.end(i)
			}
			if n.ReserveAt >= never && tr.houseSoc[i] < p.q.Rig.HouseBattery.Reserve-rounding {
				n.ReserveAt = p.end(i)
			}
			if n.EmptyAt >= never && (tr.houseSoc[i] <= 1e-6 || tr.starterSoc[i] <= 1e-6) {
				n.EmptyAt = p.end(i)
			}
			n.HouseWh += s.houseW * p.stepMin / 60
		}
		last := x.to - 1
		n.Morning, n.MorningC = p.end(last), p.steps[last].ambientC
		n.StarterSoc = tr.starterSoc[last]
		n.StarterV = p.starter.restV(n.StarterSoc, n.MorningC)
		c := restartOf(&p.q.Rig, &p.starter, n.StarterSoc, n.MorningC)
		n.CrankingV, n.NeedV, n.LeastSoc = c.volts, c.needV, p.leastSoc(n.MorningC)
		n.Starts = c.marginV >= 0
		a.Nights = append(a.Nights, n)
	}
}

// cutOff says where the vehicle's side should be cut off in the coolest hour.
func (p *planner) cutOff(a *Plan) {
	r := &a.CutOff
	night, draw, warm := 1e9, 0.0, 0.0
	n, fed := 0.0, 0.0
	for i := range p.steps {
		s := &p.steps[i]
		night = detmath.Min(night, s.ambientC)
		if !s.engine {
			draw += s.vehicleW
			n++
			if s.to == feed {
				warm += s.ambientC
				fed++
			}
		}
	}
	r.CoolestC = night
	if n > 0 {
		r.LoadA = draw / n / p.starter.restV(0.7, night)
	}
	c := cutOffOf(&p.q.Rig, &p.starter, night, r.LoadA)
	r.RestV, r.LoadedV = c.restV, c.loadedV
	if fed == 0 {
		return
	}
	k := p.st.nominalV / 12
	feedV := p.feedV()
	celsius := warm / fed
	current := detmath.Min(draw/detmath.Max(n, 1), p.q.Rig.Charger.FeedW) / feedV
	r.FeedV = feedV - current*p.st.leadOhm(current, celsius)
	r.FloatLowV, r.FloatHighV = floatRange(p.q.Rig.StarterBattery.Kind, k, celsius)
	r.FeedVerdict = verdictWords[judgeFeed(p.q.Rig.StarterBattery.Kind, k, r.FeedV, celsius)]
}

// verdictWords says what a feed's voltage does to the starter battery.
var verdictWords = [...]string{
	feedTooLow:  "does not keep it full",
	feedStays:   "may stay on",
	feedHours:   "for some hours only",
	feedTooHigh: "too high",
}
