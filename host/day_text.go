package main

import (
	"cmp"
	"math"
	"slices"
	"strings"
)

// day prints a plan: what to do in the first lines, then when, then why.
func (g *page) day(a answer, days float64) {
	g.planned(a)
	g.handovers(a)
	g.strips(a, days)
	g.remedies(a)
	g.nights(a)
	g.charging(a)
	g.ledger(a)
	g.remarks(a)
	g.cautions(a)
}

// planned prints the three lines that a person reads before driving.
func (g *page) planned(a answer) {
	g.strong(sentence(a.says("setting")))
	if s := a.says("full"); s != "" {
		g.para("", "House battery "+s+".")
	} else {
		g.para("", "House battery "+a.says("missing")+".")
	}
	start := a.says("no_start")
	if start == "" {
		last := answer{}
		for _, n := range a.rows("nights") {
			last = n
		}
		start = "the engine starts: " + fixed(last.number("cranking_V"), 1) + " V cranking, " + fixed(last.number("needed_V"), 1) + " V needed"
	}
	when := "Tonight "
	if len(a.rows("nights")) > 1 {
		when = "At night "
	}
	g.para("", when+a.says("night")+"; "+start+".")
	for _, code := range []string{"rescue", "self_limiting"} {
		if s := a.says(code); s != "" {
			g.para("", sentence(s))
		}
	}
}

// handovers lists what is to be done at the charger, days alike once.
func (g *page) handovers(a answer) {
	rows := a.rows("handovers")
	if len(rows) == 0 {
		return
	}
	g.head("At the charger")
	wide := g.width >= pageMost
	if wide {
		g.line(left("", 29) + left("set it to", 25) + "if forgotten till the next")
	}
	type part struct {
		rows []answer
		plan string
	}
	var parts []part
	for i, h := range rows {
		if i == 0 || h.number("day") != rows[i-1].number("day") {
			parts = append(parts, part{})
		}
		last := &parts[len(parts)-1]
		last.rows = append(last.rows, h)
		last.plan += h.text("at") + h.text("to") + number(h.number("setting_W")) + " "
	}
	for i := 0; i < len(parts); {
		j := i + 1
		for j < len(parts) && parts[j].plan == parts[i].plan {
			j++
		}
		if len(parts) > 1 {
			from, to := number(parts[i].rows[0].number("day")), number(parts[j-1].rows[0].number("day"))
			if i+1 == j {
				g.line("  Day " + from)
			} else {
				g.line("  Days " + from + " to " + to + " (the first of them)")
			}
		}
		for k, h := range parts[i].rows {
			why, _, _ := strings.Cut(h.text("why"), ",")
			missed := g.forgotten(a, h, i == 0 && k == 0)
			if wide {
				g.para("  "+left(h.text("at"), 7)+left(why, 20)+left(g.handover(h), 25), missed)
			} else {
				g.para("  "+left(h.text("at"), 7), why+": "+g.handover(h)+"; if forgotten: "+missed)
			}
		}
		i = j
	}
}

// handover is what to set the charger to.
func (g *page) handover(h answer) string {
	switch h.text("to") {
	case "charge":
		return "charge, " + fixed(h.number("setting_W"), 0) + " W"
	case "feed":
		return "feed the vehicle's side"
	}
	return "off"
}

// forgotten says what comes of a hand-over that is missed.
func (g *page) forgotten(a, h answer, first bool) string {
	var all []string
	if at := h.text("forgotten_no_start_at"); at != "" {
		all = append(all, "no start from "+at)
	}
	if at := h.text("forgotten_empty_at"); at != "" {
		all = append(all, "power out at "+at)
	} else if at := h.text("forgotten_reserve_at"); at != "" {
		all = append(all, "reserve gone at "+at)
	}
	if soc, ok := h.num("forgotten_soc_then"); ok && soc < a.number("goal.soc_then")-0.005 {
		all = append(all, "only "+percent(soc)+" when due")
	}
	switch {
	case len(all) > 0:
		return strings.Join(all, ", ")
	case first:
		return "(so the day begins)"
	}
	return "no harm"
}

// remedies prints what would help a day that misses its charge.
func (g *page) remedies(a answer) {
	rows := a.rows("remedies")
	if len(rows) == 0 {
		return
	}
	g.head("What would help, each alone")
	for _, r := range rows {
		to := percent(r.number("soc_then"))
		if r.text("reached") == "yes" {
			to = "enough"
		}
		g.para("  "+right(to, 7)+"  ", sentence(r.text("text")+", +"+fixed(r.number("gain_Wh"), 0)+" Wh"))
	}
}

// nights prints what comes between the last drive and the next start.
func (g *page) nights(a answer) {
	rows := a.rows("nights")
	if len(rows) > 1 {
		g.head("Nights: charge, and the start in the morning")
		g.line(left("  after", 14) + right("house lowest", 14) + right("starter", 9) + right("needs", 7) + right("cranking", 9) + right("starts", 7))
		lines := make([]string, len(rows))
		for i, n := range rows {
			need := "more"
			if v, ok := n.num("starter_least_soc"); ok {
				need = percent(v)
			}
			lines[i] = right(percent(n.number("house_low_soc"))+" at "+n.text("house_low_at"), 14) +
				right(percent(n.number("starter_soc")), 9) + right(need, 7) + right(fixed(n.number("cranking_V"), 1)+" V", 9) + right(n.text("starts"), 7)
		}
		for i := 0; i < len(lines); {
			j := i + 1
			for j < len(lines) && lines[j] == lines[i] {
				j++
			}
			days := number(rows[i].number("day"))
			if j > i+1 {
				days += " to " + number(rows[j-1].number("day"))
			}
			g.line("  day " + left(days, 8) + lines[i])
			i = j
		}
	} else {
		g.head("The night")
		for _, n := range rows {
			need := "more than it holds"
			if v, ok := n.num("starter_least_soc"); ok {
				need = percent(v)
			}
			g.para("  ", "Loads on the house side take "+fixed(n.number("house_Wh"), 0)+" Wh from the last drive on. At "+n.text("morning_at")+
				" it is "+fixed(n.number("morning_C"), 0)+" °C; the starter battery is at "+percent(n.number("starter_soc"))+", starting needs "+need+".")
		}
	}
	c := a.at("cut_off")
	g.para("  ", "Cut the vehicle's side off at "+fixed(c.number("rest_V"), 1)+" V at rest, "+fixed(c.number("loaded_V"), 1)+" V under "+
		fixed(c.number("load_A"), 1)+" A: below, the engine may not start in the coolest hour, "+fixed(c.number("coolest_C"), 0)+" °C.")
	if f := a.at("feed"); f.has("posts_V") {
		g.para("  ", "Feeding puts "+fixed(f.number("posts_V"), 1)+" V on the starter battery's posts: "+f.text("verdict")+
			" ("+fixed(f.number("from_V"), 1)+" to "+fixed(f.number("to_V"), 1)+" V would, in this warmth).")
	}
}

// charging prints the times in which the charger charges, and the heat.
func (g *page) charging(a answer) {
	rows := a.rows("stretches")
	if len(rows) == 0 {
		return
	}
	g.head("Charging")
	several := rows[len(rows)-1].number("day") > 1
	for i, s := range rows {
		if i == 8 && len(rows) > 10 {
			g.line("  ... " + itoa(len(rows)-i) + " more: see --json")
			break
		}
		day := ""
		if several {
			day = "day " + number(s.number("day")) + ", "
		}
		g.para("  "+day+s.text("from")+" to "+s.text("to")+"  ", fixed(s.number("setting_W"), 0)+" W of "+fixed(s.number("allowed_W"), 0)+
			" W allowed ("+spaced(s.text("limit"))+"), "+fixed(s.number("charged_Wh"), 0)+" Wh")
	}
	h, c := a.at("hottest_C"), a.at("careful_C")
	g.para("  ", "Hottest, about "+h.text("at")+": winding "+fixed(h.number("stator_winding"), 0)+", diodes "+fixed(h.number("rectifier_junction"), 0)+", rotor "+
		fixed(h.number("rotor"), 0)+" °C in the likeliest vehicle; "+fixed(c.number("stator_winding"), 0)+", "+fixed(c.number("rectifier_junction"), 0)+", "+fixed(c.number("rotor"), 0)+
		" °C in a hot-running one at the highest settings allowed.")
}

// ledger prints where energy came from and went, in kWh. Parts of one thing
// ("alternator: iron") are added up; the answer in JSON has each.
func (g *page) ledger(a answer) {
	g.head("Energy, kWh")
	for _, kind := range [...]struct{ code, lead string }{
		{"source", "in"}, {"use", "used"}, {"loss", "lost"}, {"stored", "kept"},
	} {
		type item struct {
			name string
			kWh  float64
		}
		var items []item
		sum := 0.0
		for _, e := range a.rows("ledger") {
			if e.text("kind") != kind.code {
				continue
			}
			v := e.number("Wh") / 1000
			name, _, _ := strings.Cut(e.text("name"), ": ")
			if kind.code != "source" {
				v = -v
			}
			if kind.code == "stored" && v >= 0 {
				name = strings.Replace(name, "out of", "into", 1)
			}
			sum += v
			if n := len(items); n > 0 && items[n-1].name == name {
				items[n-1].kWh += v
			} else {
				items = append(items, item{name, v})
			}
		}
		slices.SortStableFunc(items, func(a, b item) int { return cmp.Compare(b.kWh, a.kWh) })
		var list []string
		small := 0.0
		for _, i := range items {
			if math.Abs(i.kWh) < 0.05 {
				small += i.kWh
			} else {
				list = append(list, fixed(math.Abs(i.kWh), 1)+" "+i.name)
			}
		}
		if small >= 0.05 {
			list = append(list, fixed(small, 1)+" lesser ones")
		}
		if len(list) > 0 {
			g.para("  "+left(kind.lead, 4)+right(fixed(sum, 1), 6)+":  ", strings.Join(list, "; "))
		}
	}
	if v := a.number("fuel_L"); v >= 0.005 {
		g.para("  ", "Fuel burnt for charging: "+fixed(v, 2)+" L.")
	}
}
