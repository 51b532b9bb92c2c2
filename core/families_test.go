package core

import (
	"math"
	"slices"
	"strings"
	"testing"

	"spareamps/core/air"
	"spareamps/core/detmath"
	"spareamps/core/internal/near"
	"spareamps/core/internal/tables"
	"spareamps/core/limit"
	"spareamps/core/rig"
	"spareamps/testdata"
)

// Every number that differs between families has a row with its source, and the
// model uses this number.
func TestFamilyNumbers(t *testing.T) {
	tab, err := testdata.Read("alternator_families.csv")
	if err != nil {
		t.Fatal(err)
	}
	spread := func(list []prior, unknown int) float64 {
		for _, p := range list {
			if p.unknown == unknown {
				return p.times
			}
		}
		return 1
	}
	fan, water := &coolers[separateFan], &coolers[waterCooled]
	standard, avalanche, mosfet := &rectifiers[standardDiodes], &rectifiers[avalancheDiodes], &rectifiers[mosfets]
	hairpin, six := &stators[hairpinStator], &stators[sixPhaseStator]
	used := map[string]float64{
		"separate_fan fan_rpm": fan.fanRpm, "separate_fan flow_spread_ratio": spread(fan.priors, uFlow),
		"water coolant_C": water.coolantC, "water coolant_spread_ratio": spread(water.priors, uInletRise),
		"water winding_W_per_K": water.links.w, "water core_W_per_K": water.links.s, "water plates_W_per_K": water.links.d,
		"water rotor_W_per_K": water.links.r, "water stream_W_per_K": water.streamW,
		"standard junction_C": standard.mostC, "standard junction_K_per_W": standard.perW, "standard two_drop_V": standard.dropV, "standard margin_K": rectifierMarginK,
		"avalanche junction_C": avalanche.mostC, "avalanche junction_K_per_W": avalanche.perW, "avalanche two_drop_V": avalanche.dropV,
		"mosfet junction_C": mosfet.mostC, "mosfet junction_K_per_W": mosfet.perW, "mosfet two_drop_V": mosfet.dropV, "mosfet plates_spread_ratio": spread(mosfet.priors, uPlatesFilm),
		"hairpin copper_ratio": hairpin.copper, "hairpin slots_ratio": hairpin.slots / windingToIron, "hairpin contact_spread_ratio": spread(hairpin.priors, uContact),
		"six_phase armature_ratio": six.armature / armatureIron, "six_phase bridges": six.bridges, "six_phase iron_spread_ratio": spread(six.priors, uIron),
		"variable low_V": variableLowV, "variable high_V": variableHighV, "variable spread_V": variableSpreadV,
	}
	for i := range tab.Rows {
		text := func(col string) string {
			s, err := tab.Text(i, col)
			if err != nil {
				t.Fatal(err)
			}
			return s
		}
		name := text("kind") + " " + text("quantity")
		if text("source") == "" || text("trust") == "" {
			t.Errorf("%s: no source, or no word on how sure it is", name)
		}
		want, ok := used[name]
		if !ok {
			if q := text("quantity"); q != "set_in" && q != "efficiency_share" {
				t.Errorf("%s is in the table, but not in the model", name)
			}
			continue
		}
		near.Abs(t, name, want, tables.Figure(t, tab, i, "value"), 1e-12)
		delete(used, name)
	}
	for name := range used {
		t.Errorf("%s is in the model, but not in the table", name)
	}
	// The data sheet's edge is no design value.
	near.Abs(t, "avalanche: junction at the sheet's continuous rating", 150+0.9*40*0.95, avalanche.mostC, 1)
	near.Abs(t, "standard: design value", standard.limitC(), 160, 0)
	if avalanche.limitC() > 170 {
		t.Errorf("avalanche diodes are held to %v °C, want 170 at most", avalanche.limitC())
	}
}

// weighted is the efficiency of a label's machine in the test of Decision (EU)
// 2017/785.
func weighted(a rig.Alternator) float64 {
	m, sum := mappedOf(a), 0.0
	for _, p := range euTest {
		f := draw(&[unknowns]float64{}, &[unknowns]float64{})
		o := newOperating(m, p.speedRpm, 14.3, 23, air.Density(0, 23), 1, &f)
		at := o.seek(fullField, 0, new(o.start()))
		if at.out.a > a.RatedCurrentA/2 {
			at = o.seek(fixedCurrent, a.RatedCurrentA/2, &at)
		}
		w := 14.3 * at.out.a
		sum += p.weight * w / (w + o.losses(&at).Total())
	}
	return sum
}

// A MOSFET rectifier raises the weighted efficiency by about the distance that
// Decision (EU) 2016/588 requires of an efficient alternator: from the baseline of
// 0.67 to 0.738. Such machines save losses in other ways too, so their gain is larger.
func TestFamilyEfficiency(t *testing.T) {
	label := rig.Alternator{RatedCurrentA: 150, RatedSpeedRpm: 6000, PolePairs: 6, ClassV: "12"}
	usual := weighted(label)
	for _, c := range []struct {
		rectifier, stator string
		least, most       float64 // points above the usual machine
	}{
		{"mosfet", "classic", 0.04, 0.10},
		{"standard", "hairpin", 0, 0.05}, // its copper's gain is taken as lost again at speed
		{"standard", "six_phase", 0.0, 0.03},
		{"mosfet", "hairpin", 0.04, 0.13},
	} {
		a := label
		a.Rectifier, a.Stator = c.rectifier, c.stator
		got := weighted(a)
		t.Logf("%s, %s: %.3f, the usual machine %.3f", c.rectifier, c.stator, got, usual)
		if d := got - usual; d < c.least || d > c.most {
			t.Errorf("%s, %s: %.3f above the usual machine's efficiency, want %.3f to %.3f", c.rectifier, c.stator, d, c.least, c.most)
		}
	}
}

// with is the demo with some inputs changed.
func with(t *testing.T, pairs ...string) Request {
	t.Helper()
	q := Demo()
	for i := 0; i < len(pairs); i += 2 {
		if err := q.Set(pairs[i], pairs[i+1]); err != nil {
			t.Fatal(err)
		}
	}
	return q
}

const altPath = "rig.alternator."

// Stating the families that are assumed anyway changes no bit of the answer.
func TestFamiliesAssumed(t *testing.T) {
	q := Demo()
	named := with(t, altPath+"cooling", "own_fan", altPath+"rectifier", "standard", altPath+"stator", "classic", altPath+"regulator", "fixed")
	if got, want := string(answered(t, &named).JSON()), string(answered(t, &q).JSON()); got != want {
		t.Errorf("got %s\nwant %s", got, want)
	}
	// What was learned before there were families stays learned.
	if got := q.fingerprint(); got != "233072d04b2462ae" {
		t.Errorf("the demo's mark is %s, was 233072d04b2462ae", got)
	}
	if got := named.fingerprint(); got != q.fingerprint() {
		t.Errorf("named families have the mark %s, want %s", got, q.fingerprint())
	}
	marks := map[string]bool{}
	for _, pair := range [][2]string{{"cooling", "water"}, {"rectifier", "mosfet"}, {"stator", "hairpin"}, {"regulator", "variable"}} {
		other := with(t, altPath+pair[0], pair[1])
		marks[other.fingerprint()] = true
	}
	if marks[q.fingerprint()] || len(marks) != 4 {
		t.Errorf("families do not change the mark each by itself: %v", marks)
	}
}

// A rectifier that withstands more never has a lower limit than standard diodes, in
// any vehicle: transistors everywhere, avalanche diodes where the limit can bind. In
// cold air their larger thermal resistance outweighs their temperature, far beyond
// the rated current.
func TestRectifierFamilies(t *testing.T) {
	for _, r := range trials(51, 60, 0) {
		own := func(kind string) (list [sampleSize]float64) {
			q := r.q
			q.Rig.Alternator.Rectifier = kind
			q.Rig.Alternator.Machine.DiodeDropV = twoDiodesV / 2
			q.given[inputs.mustIndex(altPath+"machine.diode_drop_V")>>6] &^= 1 << (inputs.mustIndex(altPath+"machine.diode_drop_V") & 63)
			st := new(study)
			st.prepare(&q)
			for i := range list {
				var z [unknowns]float64
				for j := range z {
					z[j] = sampleValue(i, j)
				}
				z[uPlatesFilm] = 0 // the families differ in that spread
				v := st.vehicle(&z)
				o := v.operating(st, &r.now)
				list[i] = o.rectifierA(st.junctionC)
			}
			return list
		}
		standard, avalanche, mosfet := own("standard"), own("avalanche"), own("mosfet")
		for i := range standard {
			if mosfet[i] < standard[i] || avalanche[i] < standard[i] && standard[i] < 1.3*r.st.shape.ratedA {
				t.Fatalf("vehicle %d: standard %.1f A, avalanche %.1f, MOSFET %.1f\n%s", i, standard[i], avalanche[i], mosfet[i], r.q.JSON())
			}
		}
	}
}

// A machine that lowers its own output has the same ceiling as one that does not:
// at the moment, through a stop and for a limited time; but the heat limit is named
// output.
func TestSelfLimiting(t *testing.T) {
	renamed := 0
	for _, r := range trials(52, 60, 0) {
		fixed, own := r.q, r.q
		fixed.Rig.Alternator.Regulator, fixed.Rig.Alternator.LimitA, fixed.Rig.Alternator.LimitC = "fixed", 0, 0
		own.Rig.Alternator.Regulator, own.Rig.Alternator.LimitA, own.Rig.Alternator.LimitC = "self_limiting", 0, 0
		a, b := answered(t, &fixed), answered(t, &own)
		same := func(what string, x, y Setting) {
			if x.InputA != y.InputA || x.OutputW != y.OutputW {
				t.Errorf("%s: fixed %v A, %v W; self-limiting %v A, %v W\n%s", what, x.InputA, x.OutputW, y.InputA, y.OutputW, own.JSON())
			}
			if byHeat(x.Limit) {
				renamed++
				if y.Limit != limit.Output {
					t.Errorf("%s: fixed by %s, self-limiting by %s, want output\n%s", what, limit.Table[x.Limit].Name, limit.Table[y.Limit].Name, own.JSON())
				}
			}
			if byHeat(y.Limit) {
				t.Errorf("%s: a self-limiting machine is limited by %s\n%s", what, limit.Table[y.Limit].Name, own.JSON())
			}
		}
		same("ceiling", a.Ceiling, b.Ceiling)
		same("nominal", a.Nominal, b.Nominal)
		same("after idle", a.AfterIdle, b.AfterIdle)
		if a.Holds != b.Holds {
			t.Errorf("%d hold times, want %d", b.Holds, a.Holds)
		}
		for i := range b.Limits {
			if l := &b.Limits[i]; byHeat(l.Limit) && l.InputA < never {
				t.Errorf("%s stands at %v A beside output\n%s", limit.Table[l.Limit].Name, l.InputA, own.JSON())
			}
		}
		if b.Limits[0].Limit == limit.Output && b.Limits[0].InputA-b.Ceiling.InputA > 0.100001+1e-9*b.Ceiling.InputA && b.Ceiling.InputA > 0 {
			t.Logf("output alone allows %v A, all together %v", b.Limits[0].InputA, b.Ceiling.InputA)
		}
		if !slices.ContainsFunc(b.Says, func(s Sentence) bool { return s.Code == "self_limiting" }) ||
			slices.ContainsFunc(a.Says, func(s Sentence) bool { return s.Code == "self_limiting" }) {
			t.Error("what protects itself is not said, or said where nothing does")
		}
	}
	if renamed < 40 {
		t.Errorf("only %d limits were by heat: the draws are dull", renamed)
	}
}

// The same over a day and on the way.
func TestSelfLimitingDay(t *testing.T) {
	fixed, own := Demo(), with(t, altPath+"regulator", "self_limiting")
	p, o := planOf(t, &fixed), planOf(t, &own)
	for i := range p.Stretches {
		x, y := p.Stretches[i], o.Stretches[i]
		want := x.Limit
		if byHeat(want) {
			want = limit.Output
		}
		if x.AllowedW != y.AllowedW || y.Limit != want {
			t.Errorf("stretch %d: %v W by %s, want %v W by %s", i, y.AllowedW, limit.Table[y.Limit].Name, x.AllowedW, limit.Table[want].Name)
		}
	}
	f, r := follow(t)
	g, err := NewFollower(&own)
	if err != nil {
		t.Fatal(err)
	}
	for range 60 {
		f.Advance(&r, 1)
		g.Advance(&r, 1)
	}
	x, y := f.Allowed(&r), g.Allowed(&r)
	if x.OutputW != y.OutputW || byHeat(y.Limit) {
		t.Errorf("on the way: %v W by %s, want %v W by output", y.OutputW, limit.Table[y.Limit].Name, x.OutputW)
	}
	a, err := PlanDay(&own)
	if err != nil {
		t.Fatal(err)
	}
	if !slices.ContainsFunc(a.Says, func(s Sentence) bool { return s.Code == "self_limiting" }) {
		t.Error("the day does not say that the machine protects itself")
	}
}

// An external regulator caps the output at its setting, less a reserve of a tenth, and
// lowers it when the case reaches the set temperature; no other limit rises.
func TestExternalRegulator(t *testing.T) {
	q := Demo()
	usual := answered(t, &q)
	for _, amp := range []string{"45", "60", "80", "300"} {
		q := with(t, altPath+"regulator", "external", altPath+"limit_A", amp)
		a := answered(t, &q)
		most := 0.9*q.Rig.Alternator.LimitA - a.OtherA
		if a.Ceiling.InputA > detmath.Max(most, 0)+1e-6 || a.Ceiling.InputA > usual.Ceiling.InputA {
			t.Errorf("set to %s A: ceiling %v A beside %v A of the vehicle's own", amp, a.Ceiling.InputA, a.OtherA)
		}
		if amp == "60" && a.Ceiling.Limit != limit.Output {
			t.Errorf("set to %s A: limited by %s, want output", amp, limit.Table[a.Ceiling.Limit].Name)
		}
		if amp == "300" && (a.Ceiling != usual.Ceiling || a.AfterIdle != usual.AfterIdle) {
			t.Errorf("set to %s A: %v, want what no setting gives, %v", amp, a.Ceiling, usual.Ceiling)
		}
		if a.AvailableA > q.Rig.Alternator.LimitA {
			t.Errorf("set to %s A: %v A are said to be there", amp, a.AvailableA)
		}
	}
	last := 0.0
	for _, c := range []string{"80", "95", "110", "125", "150"} {
		q := with(t, altPath+"regulator", "external", altPath+"limit_C", c)
		a := answered(t, &q)
		if a.Ceiling.InputA < last-1e-9 || a.Ceiling.InputA > usual.Ceiling.InputA {
			t.Errorf("case at %s °C: ceiling %v A, at the setting before %v, usual %v", c, a.Ceiling.InputA, last, usual.Ceiling.InputA)
		}
		last = a.Ceiling.InputA
		if a.Ceiling.InputA < usual.Ceiling.InputA && a.Ceiling.Limit != limit.Output {
			t.Errorf("case at %s °C: limited by %s, want output", c, limit.Table[a.Ceiling.Limit].Name)
		}
		st := new(study)
		st.prepare(&q)
		now := st.scene(&q, 0)
		o := st.nominal.operating(st, &now)
		p, _ := o.carry(a.Nominal.InputA + now.otherA(&st.nominal))
		if got := o.inletC + caseShare*(p.t[iron]-o.inletC); got > q.Rig.Alternator.LimitC+0.1 {
			t.Errorf("case at %s °C: %v °C at the likeliest vehicle's ceiling", c, got)
		}
	}
	if last != usual.Ceiling.InputA {
		t.Errorf("case at 150 °C: ceiling %v A, want the usual %v", last, usual.Ceiling.InputA)
	}
}

// Road speed and vents do not affect a water-cooled machine; thinner air inside it, by
// heat or altitude, costs some per cent. Shaft speed does not affect a separate fan.
func TestCoolingFamilies(t *testing.T) {
	heat := func(pairs ...string) (a *Answer, c ceilings) {
		q := with(t, pairs...)
		a = answered(t, &q)
		st := new(study)
		st.prepare(&q)
		now := st.scene(&q, 0)
		w := newWarmFor(st, &now)
		c, _ = st.nominal.limits(st, &now, &w)
		return a, c
	}
	const cooling = altPath + "cooling"
	_, cool := heat(cooling, "water", "moment.ambient_C", "0")
	for _, pair := range [][2]string{{"moment.ambient_C", "45"}, {"moment.altitude_m", "3000"}, {"moment.speed_kmh", "90"}, {altPath + "fouling", "0.8"}} {
		_, c := heat(cooling, "water", "moment.ambient_C", "0", pair[0], pair[1])
		for _, lim := range []int{limit.Output, limit.Rectifier, limit.Rotor, limit.Winding} {
			what := "water, " + pair[0] + ": " + limit.Table[lim].Name
			if pair[0] == "moment.ambient_C" || pair[0] == "moment.altitude_m" {
				if c[lim] > cool[lim]+1e-6 || c[lim] < 0.95*cool[lim] {
					t.Errorf("%s: %v A in thinner air inside, %v A before", what, c[lim], cool[lim])
				}
				continue
			}
			near.Abs(t, what, c[lim], cool[lim], 1e-6)
		}
	}
	_, cooler := heat(cooling, "water", "moment.inlet_C", "80")
	_, hotter := heat(cooling, "water", "moment.inlet_C", "105")
	if !(cooler[limit.Rectifier] > cool[limit.Rectifier] && cool[limit.Rectifier] > hotter[limit.Rectifier]) {
		t.Errorf("rectifier with coolant of 80, 95, 105 °C: %v, %v, %v A", cooler[limit.Rectifier], cool[limit.Rectifier], hotter[limit.Rectifier])
	}
	a, _ := heat(cooling, "water")
	if a.State.InletC > 70 {
		t.Errorf("the air at the inlet of a water-cooled machine is said to be %v °C", a.State.InletC)
	}
	_, slow := heat(cooling, "separate_fan", "moment.engine_rpm", "800")
	_, own := heat(cooling, "own_fan", "moment.engine_rpm", "800")
	if slow[limit.Rectifier] <= own[limit.Rectifier] {
		t.Errorf("at idle a separate fan leaves the rectifier %v A, the own fan %v A", slow[limit.Rectifier], own[limit.Rectifier])
	}
	q := with(t, cooling, "separate_fan", "moment.engine_rpm", "1154") // 3000 rpm of the alternator
	own3000 := with(t, "moment.engine_rpm", "1154")
	near.Abs(t, "separate fan at 3000 rpm", answered(t, &q).Nominal.InputA, answered(t, &own3000).Nominal.InputA, 0.11)
}

// A regulator that varies: every vehicle's bus lies within its voltages, and a
// charger that needs more than the lowest may stop.
func TestVariableRegulator(t *testing.T) {
	for _, class := range []string{"12", "24"} {
		pairs := []string{altPath + "regulator", "variable", altPath + "class_V", class}
		q := with(t, pairs...)
		st := new(study)
		st.prepare(&q)
		st.draws()
		k, low, high := st.nominalV/12, math.Inf(1), math.Inf(-1)
		for i := range st.sample {
			low, high = min(low, st.sample[i].v), max(high, st.sample[i].v)
		}
		if low != variableLowV*k || high != variableHighV*k {
			t.Errorf("class %s: bus from %v to %v V, want %v to %v", class, low, high, variableLowV*k, variableHighV*k)
		}
	}
	q := with(t, altPath+"regulator", "variable", "rig.charger.min_input_V", "12.8")
	a := answered(t, &q)
	if a.Ceiling.InputA != 0 || a.Ceiling.Limit != limit.CableDrop || !slices.ContainsFunc(a.Validity, func(f Flag) bool { return f.Code == "bus_low" }) {
		t.Errorf("a charger from 12.8 V on: %v A by %s, flags %v", a.Ceiling.InputA, limit.Table[a.Ceiling.Limit].Name, a.Validity)
	}
	q = with(t, altPath+"regulator", "variable", "rig.charger.min_input_V", "9", altPath+"regulator_V", "14.2")
	if a := answered(t, &q); a.Ceiling.InputA <= 0 {
		t.Errorf("a charger from 9 V on: %v A by %s", a.Ceiling.InputA, limit.Table[a.Ceiling.Limit].Name)
	}
}

// Conflicting inputs are reported, and 48 V is refused in plain words.
func TestFamilyProblems(t *testing.T) {
	const label = `{"rig":{"alternator":{"rated_current_A":120`
	const moment = `}},"moment":{"engine_rpm":1400,"ambient_C":20}}`
	for _, c := range []struct{ text, code, field, says string }{
		{`,"regulator":"external"`, "missing", "limit_A", "current limit of the external regulator"},
		{`,"limit_A":80`, "conflict", "limit_A", "this regulator is fixed"},
		{`,"regulator":"variable","limit_C":100`, "conflict", "limit_C", "this regulator is variable"},
		{`,"cooling":"oil"`, "choice", "cooling", "own_fan, separate_fan, water"},
		{`,"class_V":48`, "choice", "class_V", "48 V machines are not covered"},
	} {
		_, err := Decode([]byte(label + c.text + moment))
		e, ok := err.(*InputError)
		if !ok || len(e.Problems) != 1 || e.Problems[0].Code != c.code || e.Problems[0].Field != altPath+c.field || !strings.Contains(e.Problems[0].Message, c.says) {
			t.Errorf("%s: got %v, want %s of %s that says %q", c.text, err, c.code, c.field, c.says)
		}
	}
	for _, text := range []string{`,"regulator":"external","limit_A":80`, `,"regulator":"external","limit_C":100`, `,"regulator":"external","limit_A":80,"limit_C":100`} {
		if _, err := Decode([]byte(label + text + moment)); err != nil {
			t.Errorf("%s: %v", text, err)
		}
	}
}

// A description by parameters has the rectifier's own drop, unless it says another.
func TestFamilyDrop(t *testing.T) {
	text := `{"rig":{"alternator":{"rectifier":"mosfet","machine":{"pole_pairs":6,"flux_Wb":0.0134,"inductance_H":0.00012,"resistance_ohm":0.037DROP}}},"moment":{"engine_rpm":1400,"ambient_C":20}}`
	for _, c := range []struct {
		drop string
		want float64
	}{{"", 0.3}, {`,"diode_drop_V":0.95`, 1.9}, {`,"diode_drop_V":0.1`, 0.2}} {
		q, err := Decode([]byte(strings.Replace(text, "DROP", c.drop, 1)))
		if err != nil {
			t.Fatal(err)
		}
		near.Abs(t, "two drops in V with "+c.drop, q.shape(2.8).dropV, c.want, 1e-12)
	}
}

// One voltage says nothing about a variable regulator, and the fit uses the priors of
// each family.
func TestFamilyFit(t *testing.T) {
	q := DemoFit()
	for _, pair := range [][2]string{{altPath + "cooling", "water"}, {altPath + "cooling", "separate_fan"}, {altPath + "rectifier", "mosfet"}, {altPath + "stator", "hairpin"}, {altPath + "regulator", "variable"}, {altPath + "regulator", "self_limiting"}} {
		q := q
		if err := q.Set(pair[0], pair[1]); err != nil {
			t.Fatal(err)
		}
		a, err := Fit(&q)
		if err != nil {
			t.Fatalf("%s %s: %v", pair[0], pair[1], err)
		}
		l := a.Learning
		t.Logf("%s: %s, misfit %.1f of %d readings", pair[1], fitVerdictNames[l.Verdict], l.Misfit, len(l.Readings))
		if pair[1] == "variable" && slices.ContainsFunc(l.Readings, func(r Residual) bool { return r.Kind == readsBus }) {
			t.Error("a voltage of a regulator that varies is counted")
		}
		if pair[1] == "water" {
			near.Abs(t, "prior of the coolant", l.Parameters[uInletRise].Prior, coolantSpread*Unknowns[uInletRise].Spread, 1e-12)
		}
	}
}
