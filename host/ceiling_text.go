package main

import "strings"

// ceiling prints an answer: what to do in the first lines, then why, then what
// would allow more, then cautions.
func (g *page) ceiling(a answer) {
	g.answer(a)
	g.ladder(a)
	g.temperatures(a)
	g.holds(a)
	g.unknowns(a)
	g.remarks(a)
	g.fit(a)
	g.cautions(a)
}

// answer prints the sentences of the answer. Those that a table below shows in
// full are left to it.
func (g *page) answer(a answer) {
	told := map[string]bool{"hold": true, "unknown": true, "ageing": true, "self_limiting": true}
	for _, code := range []string{"setting", "zero", "limit", "confidence"} {
		told[code] = true
		s := a.says(code)
		switch {
		case s == "":
		case code == "setting":
			g.strong(sentence(s))
		default:
			g.para("", sentence(s))
		}
	}
	for _, s := range a.rows("says") {
		if !told[s.text("code")] {
			g.para("", sentence(s.text("text")))
		}
	}
}

// temperatures prints the machine at the ceiling.
func (g *page) temperatures(a answer) {
	if w := a.number("ceiling.output_W"); w > 0 {
		g.head("At the ceiling of now, " + fixed(w, 0) + " W: temperatures in °C")
	} else {
		g.head("With the charger off: temperatures in °C")
	}
	share := fixed(100*a.number("ceiling.confidence"), 0) + " % edge"
	g.line(left("", 22) + right("likeliest", 10) + right(share, 10) + right("held to", 10))
	degrees := func(path string) string {
		if v, ok := a.num(path); ok {
			return fixed(v, 0)
		}
		return "-"
	}
	for _, t := range [...]struct{ name, label string }{
		{"stator_winding", "stator winding, mean"},
		{"rotor", "rotor winding, mean"},
		{"rectifier_junction", "rectifier junction"},
		{"stator_core", "stator core"},
		{"inlet_air", "air at the inlet"},
	} {
		g.line("  " + left(t.label, 20) + right(degrees("temperatures_C."+t.name), 10) +
			right(degrees("careful_C."+t.name), 10) + right(degrees("design_C."+t.name), 10))
	}
	g.alternator(a.at("alternator"))
	g.wiring(a.at("wiring"))
	for _, code := range []string{"self_limiting", "ageing"} {
		if s := a.says(code); s != "" {
			g.para("  ", sentence(s))
		}
	}
}

// alternator prints what the machine gives and takes.
func (g *page) alternator(m answer) {
	if m.number("available_A") <= 0 {
		g.para("  ", "Alternator: gives nothing at "+fixed(m.number("speed_rpm"), 0)+" rpm.")
		return
	}
	g.para("  ", "Alternator: "+amps(m.number("current_A"))+" of the "+amps(m.number("available_A"))+" it can give at "+
		fixed(m.number("speed_rpm"), 0)+" rpm, "+amps(m.number("other_A"))+" of them for the vehicle; "+
		fixed(m.number("bus_V"), 1)+" V; takes "+fixed(m.number("shaft_W"), 0)+" W from the belt, efficiency "+
		fixed(100*m.number("efficiency"), 0)+" %.")
	l := m.at("losses_W")
	g.para("  ", "Heat made in it: winding "+fixed(l.number("stator_copper"), 0)+" W, rectifier "+fixed(l.number("rectifier"), 0)+
		" W, iron "+fixed(l.number("iron"), 0)+" W, field "+fixed(l.number("field"), 0)+" W, friction and fan "+
		fixed(l.number("mechanical"), 0)+" W.")
}

// wiring prints the lead.
func (g *page) wiring(w answer) {
	if w.has("drop_V") {
		s := "Lead: loses " + fixed(w.number("drop_V"), 2) + " V, leaves " + fixed(w.number("charger_V"), 1) +
			" V at the charger, conductor at " + fixed(w.number("conductor_C"), 0) + " °C; carries " + amps(w.number("ampacity_A"))
		if f, ok := w.num("fuse_continuous_A"); ok {
			s += ", its fuse " + amps(f)
		}
		g.para("  ", s+" without end in this heat.")
	}
}

// holds prints for how long more may be drawn.
func (g *page) holds(a answer) {
	headed := false
	for _, h := range a.rows("hold") {
		if m, ok := h.num("minutes"); ok && m < 1 {
			continue
		}
		if !headed {
			since := "from now"
			if strings.Contains(a.says("hold"), "was off") {
				since = "if the charger was off until now"
			}
			g.head("More for a while, " + since + ", then back to " + fixed(a.number("ceiling.output_W"), 0) + " W")
			headed = true
		}
		s := "  " + right(fixed(h.number("output_W"), 0)+" W", 7)
		if v, ok := h.num("input_A"); ok {
			s += right(amps(v)+" in", 10)
		}
		if m, ok := h.num("minutes"); ok {
			s += right(fixed(floor(m), 0)+" min", 9) + "   then " + spaced(h.text("limit"))
		} else {
			s += right("an hour", 9)
		}
		g.line(s)
	}
}

// dearest is the least a measurement is worth telling of, in A.
const dearest = 0.5

// unknowns prints which measurements would buy amps.
func (g *page) unknowns(a answer) {
	headed := false
	for _, u := range a.rows("unknowns") {
		cost := u.number("cost_A")
		if cost < dearest {
			continue
		}
		if !headed {
			g.head("What would buy more amps: knowing, each alone")
			headed = true
		}
		g.para("  "+right("+"+fixed(cost, 1)+" A", 8)+"  ", spaced(u.text("unknown"))+": "+u.text("measure"))
	}
}

func (g *page) remarks(a answer) {
	rows := a.rows("validity")
	if len(rows) == 0 {
		return
	}
	g.head("How far to trust this")
	for _, v := range rows {
		g.para("  - ", v.text("message")+" ("+v.text("code")+")")
	}
}

func (g *page) fit(a answer) {
	f := a.at("fit")
	if !f.has("cut_in_rpm") {
		return
	}
	g.para("", "Measured curve: output begins at "+fixed(f.number("cut_in_rpm"), 0)+" rpm, limit "+amps(f.number("limit_current_A"))+
		", R/X "+fixed(f.number("r_over_x_6000"), 3)+" at 6000 rpm; misses a point by at most "+amps(f.number("max_residual_A"))+".")
}

func (g *page) cautions(a answer) {
	var list []string
	for _, c := range a.rows("cautions") {
		if s, ok := c.value.(string); ok {
			list = append(list, s)
		}
	}
	if len(list) == 0 {
		return
	}
	g.head("Cautions")
	for _, s := range list {
		g.para("  - ", strings.TrimSpace(s))
	}
}

func floor(v float64) float64 { return float64(int64(v)) }
