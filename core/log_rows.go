package core

import (
	"math"
	"spareamps/core/detmath"
	"spareamps/core/jsontext"
	"strconv"
	"strings"
)

// forget is what a reader does where observations begin anew: nothing is
// carried over.
func (r *logReader) forget() {
	for f := range r.last {
		r.last[f] = math.NaN()
	}
	r.has, r.untoldS = false, 0
	r.buckets.begin()
}

// row takes a row of cells; -1, or why it is refused.
func (r *logReader) row(cells *[logFields][2]int) (refused int) {
	var w logRow
	w.from, w.to = cells[logTime][0], cells[logTime][1]
	comma := r.separator != ','
	var day []byte
	if r.unit[logDay] != nil {
		day = r.text[cells[logDay][0]:cells[logDay][1]]
	}
	s, ok := r.clock.read(r.text[w.from:w.to], day, comma, r.unit[logTime])
	if !ok {
		return refusedTime
	}
	w.s, w.form = s, r.clock.form
	if r.has && s < r.prev.s && s >= r.prev.s-logBackS {
		return refusedBack
	}
	for f := logTime + 1; f <= logSoc; f++ {
		w.value[f] = math.NaN()
		if r.unit[f] != nil {
			w.value[f] = r.cell(f, r.text[cells[f][0]:cells[f][1]], comma)
		}
	}
	r.warmerThanAir(&w, cells)
	r.rep.Rows++
	r.follow(&w)
	r.tell(&w)
	r.prev, r.has = w, true
	return -1
}

// warmerThanAir leaves out temperatures below that of the air outside, which the
// table of inputs refuses.
func (r *logReader) warmerThanAir(w *logRow, cells *[logFields][2]int) {
	airC := w.value[logAmbientC]
	if airC != airC {
		if airC = r.constant[logAmbientC]; r.last[logAmbientC] == r.last[logAmbientC] && w.s-r.lastAt[logAmbientC] <= logCarryS {
			airC = r.last[logAmbientC]
		}
	}
	for f := logInletC; f <= logPlatesC; f++ {
		if w.value[f] < airC {
			w.value[f] = math.NaN()
			if x := &r.unread[unreadBelowAir][f]; x.note(r.line) {
				x.Value = string(jsontext.Shown(r.text[cells[f][0]:cells[f][1]], logShown))
			}
		}
	}
}

// cell reads a value; NaN where there is none.
func (r *logReader) cell(f int, cell []byte, comma bool) float64 {
	v, ok := logNumber(cell, comma)
	reason := unreadNumber
	switch u := r.unit[f]; {
	case ok:
		if v = (v + u.shift) * u.factor; v >= r.least[f] && v <= r.most[f] {
			return v
		}
		reason = unreadRange
	case logBlank(cell):
		return math.NaN()
	}
	if x := &r.unread[reason][f]; x.note(r.line) {
		x.Value = string(jsontext.Shown(cell, logShown))
	}
	return math.NaN()
}

// follow books the time since the row before, and what was read at its end.
func (r *logReader) follow(w *logRow) {
	if !r.has {
		return
	}
	p := &r.prev
	dt := w.s - p.s
	switch {
	case dt < 0:
		r.anew(brokenClock)
		return
	case dt > logGapS:
		r.anew(brokenGap)
		return
	case dt == 0:
		// One row told in several: what the later do not tell the earlier did.
		for f := logConditions; f < logMeans; f++ {
			if w.value[f] != w.value[f] {
				w.value[f] = p.value[f]
			}
		}
		if c := r.buckets.current(); c != nil && c.endS == w.s {
			c.readings(w)
		}
		return
	case p.untold != 0:
		r.untoldS += dt
		return
	}
	switch {
	case !r.buckets.started:
		r.untoldS = 0 // of what was before the first there is nothing to tell
	case r.untoldS > logGapS:
		r.breaks[brokenUntold].note(r.line)
		r.untoldS = 0
		r.buckets.begin()
	}
	soc := math.NaN()
	if p.s-r.lastAt[logSoc] <= logCarryS {
		soc = r.last[logSoc]
	}
	c := r.buckets.cell(p.s, w.s, soc)
	c.lastedS += dt + r.untoldS
	r.untoldS = 0
	for f := logEngineRpm; f < logMeans; f++ {
		if v := p.value[f]; v == v {
			c.weight[f] += dt
			c.sum[f] += v * dt
		}
	}
	c.endS, c.from, c.to, c.form = w.s, w.from, w.to, w.form
	c.readings(w)
}

// anew begins anew at this row.
func (r *logReader) anew(why int) {
	r.breaks[why].note(r.line)
	r.forget()
}

// tell fills in the conditions that a row does not tell.
func (r *logReader) tell(w *logRow) {
	if v := w.value[logSoc]; v == v {
		r.last[logSoc], r.lastAt[logSoc] = v, w.s
		if r.bareSoc {
			r.largeSoc = detmath.Max(r.largeSoc, v)
		}
	}
	if r.derives {
		a, v := w.value[logChargerInputA], w.value[logChargerV]
		if v != v {
			v = w.value[logBusV]
		}
		if watt := a * v * r.charger; watt <= r.most[logSettingW] { // not where either is not told
			w.value[logSettingW] = detmath.Max(watt, 0)
		}
	}
	byTrack, joined := [logConditions]float64{}, false
	byTrack[logSpeedKmh], byTrack[logAltitudeM] = r.join(w.s)
	for f := logEngineRpm; f < logConditions; f++ {
		v := w.value[f]
		if v == v {
			r.last[f], r.lastAt[f] = v, w.s
			continue
		}
		if v = r.constant[f]; r.last[f] == r.last[f] && w.s-r.lastAt[f] <= logCarryS {
			v = r.last[f]
		} else if x := byTrack[f]; (f == logSpeedKmh || f == logAltitudeM) && x == x {
			v, joined = x, true
		}
		w.value[f] = v
		required := f == logEngineRpm || f == logAmbientC
		if v != v && (required || r.tracked(f) || r.unit[f] != nil && f != logVehicleLoadsW || f == logSettingW && r.derives) {
			if w.untold == 0 {
				w.untold = f
			}
		}
	}
	if joined {
		r.rep.Joined++
	}
	if w.untold != 0 {
		r.untold[w.untold].note(r.line)
	}
}

func (r *logReader) refuse(why int) { r.refused[why].note(r.line) }

// note counts, and says whether it was the first.
func (f *LogFault) note(line int) bool {
	f.Count++
	if f.Count == 1 {
		f.Line = line
	}
	return f.Count == 1
}

// collect puts what was counted into the report.
func (r *logReader) collect() {
	add := func(list *[]LogFault, f LogFault, reason string, field int) {
		if f.Count == 0 {
			return
		}
		f.Reason = reason
		if field > 0 {
			f.Field = logFieldNames[field]
		}
		*list = append(*list, f)
	}
	for i, f := range r.refused {
		add(&r.rep.Refused, f, logRefusalNames[i], 0)
	}
	for i := range r.unread {
		for field, f := range r.unread[i] {
			add(&r.rep.Unread, f, logUnreadNames[i], field)
		}
	}
	for field, f := range r.untold {
		add(&r.rep.Untold, f, "untold", field)
	}
	for i, f := range r.breaks {
		add(&r.rep.Breaks, f, logBreakNames[i], 0)
	}
}

// whyNone says why a log with a header gave no observation.
func (r *logReader) whyNone() (ps []Problem) {
	for _, f := range [...]int{logEngineRpm, logAmbientC} {
		if r.untold[f].Count == 0 && r.rep.Rows > 0 {
			continue
		}
		if has := r.unit[f] != nil; !has && r.constant[f] != r.constant[f] {
			ps = append(ps, plain("missing", logFieldNames[f], "", logAllowed(f), "the log has no column "+logFieldNames[f]+", and no constant stands in for it"+r.unitless()))
		}
	}
	if len(ps) == 0 {
		ps = append(ps, plain("missing", "log", "", "two rows or more, at most five minutes apart, with engine_rpm and ambient_C", "the log gives no observation: "+r.becameOf()))
	}
	return ps
}

// unitless names columns that a unit behind the name would make known.
func (r *logReader) unitless() string {
	few := r.rep.NoUnit[:min(len(r.rep.NoUnit), 3)]
	if len(few) == 0 {
		return ""
	}
	return "; no unit stands behind " + strings.Join(few, ", ")
}

// becameOf says what became of rows: an error has no report beside it.
func (r *logReader) becameOf() string {
	text := "rows read: " + strconv.Itoa(r.rep.Rows)
	for _, list := range [...]struct {
		what   string
		faults []LogFault
	}{{"rows left out", r.rep.Refused}, {"cells left out", r.rep.Unread}, {"rows without a condition", r.rep.Untold}, {"begun anew", r.rep.Breaks}} {
		for _, f := range list.faults {
			text += "; " + list.what + ": " + strconv.Itoa(f.Count) + ", "
			if text += strings.ReplaceAll(f.Reason, "_", " "); f.Field != "" {
				text += " of " + f.Field
			}
			text += ", first in line " + strconv.Itoa(f.Line)
		}
	}
	return text
}
