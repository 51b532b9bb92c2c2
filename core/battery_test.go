package core

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"spareamps/core/detmath"
	"spareamps/core/internal/near"
	"spareamps/core/internal/tables"
	"spareamps/core/rig"
	"spareamps/testdata"
)

// drawBattery draws a house or starter battery with its rig.
func drawBattery(t *rapid.T) (*rig.Rig, battery, bool) {
	q := NewRequest()
	r := &q.Rig
	r.Alternator.ClassV = rapid.SampledFrom([]string{"12", "24"}).Draw(t, "class")
	if rapid.Bool().Draw(t, "house") {
		r.HouseBattery = rig.HouseBattery{Given: true,
			Chemistry:  rapid.SampledFrom([]string{"lifepo4", "lead-acid", "flooded", "agm", "gel"}).Draw(t, "chemistry"),
			CapacityAh: rapid.Float64Range(1, 5000).Draw(t, "capacity"),
			NominalV:   rapid.SampledFrom([]float64{0, 2, 12, 12.8, 24, 25.6, 48, 60}).Draw(t, "nominal"),
			Milliohm:   rapid.SampledFrom([]float64{0, 0.1, 5, 1000}).Draw(t, "resistance"),
		}
		return r, houseCell(r), true
	}
	r.StarterBattery = rig.StarterBattery{
		Kind:       rapid.SampledFrom([]string{"flooded", "efb", "agm", "gel"}).Draw(t, "kind"),
		CapacityAh: rapid.Float64Range(5, 400).Draw(t, "capacity"),
		ColdA:      rapid.SampledFrom([]float64{0, 50, 640, 3000}).Draw(t, "cold"),
		ColdBy:     rapid.SampledFrom([]string{"SAE", "EN"}).Draw(t, "by"),
		Health:     rapid.Float64Range(0.2, 1).Draw(t, "health"),
	}
	r.Engine.Fuel = rapid.SampledFrom([]string{"diesel", "petrol"}).Draw(t, "fuel")
	r.Engine.DisplacementL = rapid.Float64Range(0.1, 20).Draw(t, "litres")
	r.Engine.CrankingA = rapid.SampledFrom([]float64{0, 20, 300, 3000}).Draw(t, "cranking")
	r.Engine.CrankingV = rapid.SampledFrom([]float64{0, 6, 9, 24}).Draw(t, "least")
	return r, starterCell(r), false
}

func finite(xs ...float64) bool {
	for _, x := range xs {
		if x-x != 0 {
			return false
		}
	}
	return true
}

// Every answer of a battery is a number; rest voltage rises with charge,
// discharge resistance falls with charge and warmth, and the shares are shares.
func TestBatteryProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, b, _ := drawBattery(t)
		soc, c := rapid.Float64Range(0, 1).Draw(t, "soc"), rapid.Float64Range(-40, 85).Draw(t, "celsius")
		fuller := soc + (1-soc)*rapid.Float64Range(0, 1).Draw(t, "fuller")
		warmer := c + (85-c)*rapid.Float64Range(0, 1).Draw(t, "warmer")
		amps := rapid.Float64Range(0, 3000).Draw(t, "amps")
		bus := rapid.Float64Range(0, 60).Draw(t, "bus")
		v, r, in := b.restV(soc, c), b.ohm(soc, c, false), b.ohm(soc, c, true)
		kept, drawn, takes := b.coulombic(soc), b.drawn(amps, c), b.chargeA(bus, soc, c)
		if !finite(v, r, in, kept, drawn, takes) || v <= 0 || r <= 0 || in <= 0 {
			t.Fatalf("at %v, %v °C: %v V, %v Ω, %v Ω charging, kept %v, drawn %v, takes %v A", soc, c, v, r, in, kept, drawn, takes)
		}
		if kept < 0.5 || kept > 1 || drawn < 1 || b.coulombic(fuller) > kept {
			t.Errorf("at %v, %v °C, %v A: kept %v (fuller %v), drawn %v", soc, c, amps, kept, b.coulombic(fuller), drawn)
		}
		if b.drawn(amps*1.1, c) < drawn || b.drawn(amps, warmer) > drawn {
			t.Errorf("drawn %v at %v A and %v °C: more current or warmth the wrong way", drawn, amps, c)
		}
		if got := b.restV(fuller, c); fuller > soc+1e-9 && got <= v {
			t.Errorf("rest voltage %v at %v, %v at %v", v, soc, got, fuller)
		}
		if b.ohm(fuller, c, false) > r || b.ohm(soc, warmer, false) > r {
			t.Errorf("%v Ω at %v, %v °C; fuller %v, warmer %v", r, soc, c, b.ohm(fuller, c, false), b.ohm(soc, warmer, false))
		}
		if bus <= v && takes != 0 || takes > 0 && v+takes*in > bus*(1+1e-12) {
			t.Errorf("rest %v V, bus %v V: takes %v A at %v Ω", v, bus, takes, in)
		}
		if got := b.chargeA(bus+0.1, soc, c); got < takes {
			t.Errorf("takes %v A at %v V, %v A at 0.1 V more", takes, bus, got)
		}
	})
}

// A smaller charge, a colder morning or a worse battery never makes the margin
// greater; the least charge that starts is where the margin is nought.
func TestRestart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, b, house := drawBattery(t)
		if house {
			t.Skip()
		}
		soc, c := rapid.Float64Range(0, 1).Draw(t, "soc"), rapid.Float64Range(-40, 60).Draw(t, "celsius")
		fuller := soc + (1-soc)*rapid.Float64Range(0, 1).Draw(t, "fuller")
		warmer := c + (60-c)*rapid.Float64Range(0, 1).Draw(t, "warmer")
		m := restartOf(r, &b, soc, c)
		if !finite(m.volts, m.currentA, m.needV, m.marginV) || m.volts < 0 || m.currentA <= 0 {
			t.Fatalf("restart %+v", m)
		}
		if got := restartOf(r, &b, fuller, c); got.marginV < m.marginV {
			t.Errorf("margin %v at %v, %v at %v", m.marginV, soc, got.marginV, fuller)
		}
		if got := restartOf(r, &b, soc, warmer); got.marginV < m.marginV {
			t.Errorf("margin %v at %v °C, %v at %v °C", m.marginV, c, got.marginV, warmer)
		}
		better := *r
		better.StarterBattery.Health += (1 - better.StarterBattery.Health) / 2
		bb := starterCell(&better)
		if got := restartOf(&better, &bb, soc, c); got.marginV < m.marginV {
			t.Errorf("margin %v, %v with more health", m.marginV, got.marginV)
		}
		least, ok := leastStartSoc(r, &b, c)
		switch at := restartOf(r, &b, least, c); {
		case !ok && (least != 1 || at.marginV >= 0):
			t.Errorf("least %v, not ok, margin %v", least, at.marginV)
		case ok && (at.marginV < 0 || least > 1e-6 && restartOf(r, &b, least-1e-6, c).marginV >= 0):
			t.Errorf("least %v: margin %v there, %v below", least, at.marginV, restartOf(r, &b, least-1e-6, c).marginV)
		}
		cut := cutOffOf(r, &b, c, 10)
		if cut.restV < b.restV(least, c) || cut.loadedV >= cut.restV || cut.restV > b.restV(1, c) {
			t.Errorf("cut-off %+v, at the least charge %v V", cut, b.restV(least, c))
		}
	})
}

// The examples that a person would try: a used battery on a warm day, and a
// half-empty one in hard frost. Common practice, no source.
func TestRestartExamples(t *testing.T) {
	for _, c := range []struct {
		soc, celsius float64
		starts       bool
	}{{0.85, 20, true}, {1, 0, true}, {0.6, 20, true}, {0.4, -18, false}, {0.1, 20, false}} {
		if m := restartMargin(70, 640, 0.8, c.soc, c.celsius, 2.5); (m >= 0) != c.starts {
			t.Errorf("70 Ah, 640 A (EN), health 0.8, %v full, %v °C, 2.5 L diesel: margin %.2f V, want starts %v", c.soc, c.celsius, m, c.starts)
		}
	}
	r := starterRig(0, 70, 640, 0.8, "EN")
	r.Engine.DisplacementL = 2.5
	r.Alternator.ClassV = "24"
	b := starterCell(&r)
	m := restartOf(&r, &b, 0.85, 20)
	r.Alternator.ClassV = "12"
	b12 := starterCell(&r)
	m12 := restartOf(&r, &b12, 0.85, 20)
	near.Abs(t, "class 24 needs", m.needV, 19.2, 1e-12)
	near.Abs(t, "class 24 takes half the current", m.currentA, m12.currentA/2, 1e-9)
	near.Abs(t, "class 24 at rest", b.restV(0.7, 5), 2*b12.restV(0.7, 5), 1e-9)
	near.Abs(t, "class 24 resistance", b.ohm(0.7, 5, false), 2*b12.ohm(0.7, 5, false), 1e-12)
	t.Logf("warm, 85 %%: %+v; cut-off there with 5 A %+v", m12, cutOffOf(&r, &b12, 20, 5))
	for _, c := range []float64{40, 20, 10, 0, -5, -10} {
		soc, ok := leastStartSoc(&r, &b12, c)
		t.Logf("%v °C: least charge %.2f (%v), cut-off %.2f V, takes %.0f A", c, soc, ok, cutOffOf(&r, &b12, c, 0).restV, crankA(&r, c))
	}
}

// A diesel with a charged battery of 800 A (EN) starts at -18 °C; with a
// half-dead one, or a half-empty one in its last years, it does not. The need
// lies on the published floors or above, and above what the standards let the
// voltage fall to.
func TestFrostStart(t *testing.T) {
	for _, c := range []struct {
		health, soc, litres float64
		starts              bool
	}{{1, 1, 2.5, true}, {1, 0.85, 2.5, true}, {0.9, 1, 2.5, true}, {1, 1, 3, true}, {0.5, 1, 2.5, false}, {0.5, 0.5, 2.5, false}, {0.6, 0.5, 2, false}, {1, 0.2, 2.5, false}} {
		m := restartMargin(90, 800, c.health, c.soc, -18, c.litres)
		if (m >= 0) != c.starts {
			t.Errorf("90 Ah, 800 A (EN), health %v, %v full, -18 °C, %v L diesel: margin %.2f V, want starts %v", c.health, c.soc, c.litres, m, c.starts)
		}
		t.Logf("health %v, %v full, %v L diesel: margin %.2f V", c.health, c.soc, c.litres, m)
	}
	tab, err := testdata.Read("load_test_floor.csv")
	if err != nil {
		t.Fatal(err)
	}
	for i := range tab.Rows {
		c, floor := tables.Figure(t, tab, i, "battery_C"), tables.Figure(t, tab, i, "least_V")
		if got := usualNeedV(c); got < floor-1e-9 || got > floor+0.13 {
			t.Errorf("load_test_floor.csv at %v °C: %.3f V needed, the floor %v V", c, got, floor)
		}
	}
	if usualNeedV(-40) < coldTestV("EN") {
		t.Errorf("%v V needed in hard frost: below the standard's", usualNeedV(-40))
	}
	r := starterRig(0, 90, 800, 1, "EN")
	b := starterCell(&r)
	r.Engine.CrankingV = 9
	for _, c := range []float64{-18, 20} {
		near.Abs(t, "stated by the maker", restartOf(&r, &b, 1, c).needV, 9, 0)
	}
}

// The margin falls with every degree of cold, for any battery and starter motor,
// however well or badly they suit each other.
func TestMarginFallsWithCold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, b, house := drawBattery(t)
		if house {
			t.Skip()
		}
		soc := rapid.Float64Range(0, 1).Draw(t, "soc")
		last := restartOf(r, &b, soc, 60)
		for c := 59.75; c >= -40; c -= 0.25 {
			m := restartOf(r, &b, soc, c)
			if m.marginV > last.marginV+1e-9 {
				t.Fatalf("margin %v at %v °C, %v a quarter of a kelvin warmer", m.marginV, c, last.marginV)
			}
			if m.needV > detmath.Max(warmNeedV*vehicleClassFactor(r), r.Engine.CrankingV)+1e-9 {
				t.Fatalf("%v V needed at %v °C", m.needV, c)
			}
			last = m
		}
	})
}

// The published tables, within what each says.
func TestLeadAcidTables(t *testing.T) {
	tab, err := testdata.Read("lead_acid_rest.csv")
	if err != nil {
		t.Fatal(err)
	}
	for i := range tab.Rows {
		kind, _ := tab.Text(i, "kind")
		soc, want := tables.Figure(t, tab, i, "charge_share"), tables.Figure(t, tab, i, "rest_V")
		b := leadBattery(kind, 1, 50, 1, 0.2)
		near.Abs(t, kind+" at rest, lead_acid_rest.csv", b.restV(soc, 25), want, 0.02)
	}
	if tab, err = testdata.Read("agm_resistance.csv"); err != nil {
		t.Fatal(err)
	}
	r := rig.Rig{HouseBattery: rig.HouseBattery{Given: true, Chemistry: "agm", CapacityAh: 25, NominalV: 12}}
	b := houseCell(&r)
	for i := range tab.Rows {
		soc := tables.Figure(t, tab, i, "charge_share")
		tol := 0.1
		if soc >= 0.8 {
			tol = 0.3
		}
		near.Abs(t, "discharge, agm_resistance.csv", 1e3*b.ohm(soc, 25, false), tables.Figure(t, tab, i, "discharge_mohm"), tol)
		near.Abs(t, "charge, agm_resistance.csv", 1e3*b.ohm(soc, 25, true), tables.Figure(t, tab, i, "charge_mohm"), 0.1)
	}
	if tab, err = testdata.Read("capacity_cold.csv"); err != nil {
		t.Fatal(err)
	}
	for i := range tab.Rows {
		if c := tables.Figure(t, tab, i, "battery_C"); c <= 25 {
			near.Abs(t, "capacity_cold.csv", 1/b.drawn(0, c), tables.Figure(t, tab, i, "capacity_share"), 0.02+1e-9)
		} else {
			near.Abs(t, "no gain in warmth", b.drawn(0, c), 1, 0)
		}
	}
}

func TestLifePO4Tables(t *testing.T) {
	tab, err := testdata.Read("lifepo4_rest.csv")
	if err != nil {
		t.Fatal(err)
	}
	for i := range tab.Rows {
		soc, want := tables.Figure(t, tab, i, "charge_share"), tables.Figure(t, tab, i, "rest_V")
		got := lfpRest.at(soc)
		switch {
		case soc >= 0.1 && soc <= 0.95:
			near.Abs(t, "lifepo4_rest.csv", got, want, 0.005)
		default:
			t.Logf("lifepo4_rest.csv at %v: %.3f V, the table %.3f V (%+.3f)", soc, got, want, got-want)
		}
	}
	if tab, err = testdata.Read("lifepo4_resistance.csv"); err != nil {
		t.Fatal(err)
	}
	b := battery{warm: &lfpWarm}
	b.lay(lfpRest, lfpOut, lfpIn, 1, 47.83)
	worst := 0.0
	for i := range tab.Rows {
		soc := tables.Figure(t, tab, i, "charge_share")
		for _, col := range []struct {
			name     string
			c, share float64
			charging bool
		}{{"discharge_10C_mohm", 10, 0.12, false}, {"discharge_25C_mohm", 25, 0.08, false}, {"discharge_40C_mohm", 40, 0.12, false},
			{"charge_10C_mohm", 10, 0.12, true}, {"charge_25C_mohm", 25, 0.08, true}, {"charge_40C_mohm", 40, 0.12, true}} {
			want := tables.Figure(t, tab, i, col.name)
			got := b.ohm(soc, col.c, col.charging)
			if soc < 0.2 {
				t.Logf("lifepo4_resistance.csv at %v, %s: %.1f mΩ, the table %.1f", soc, col.name, got, want)
				continue
			}
			near.Abs(t, col.name, got, want, col.share*want)
			worst = math.Max(worst, math.Abs(got/want-1))
		}
	}
	t.Logf("from 20 %% on within %.1f %%", 100*worst)
}

// The model's reserve minutes beside the published, and the load test's floor
// beside the voltage of a battery that just passes at 20 °C.
func TestLoadTest(t *testing.T) {
	tab, err := testdata.Read("reserve_capacity.csv")
	if err != nil {
		t.Fatal(err)
	}
	for i := range tab.Rows {
		a, want := tables.Figure(t, tab, i, "cold_A"), tables.Figure(t, tab, i, "reserve_min")
		got := reserveMinutes(0, 0.6*want, a)
		near.Abs(t, "reserve_capacity.csv", got, want, 0.08*want)
		near.Abs(t, "half the rating", a/2, tables.Figure(t, tab, i, "load_test_A"), 5)
		t.Logf("%v A, %v min: %.0f min (%+.1f %%)", a, want, got, 100*(got/want-1))
	}
	if tab, err = testdata.Read("load_test_floor.csv"); err != nil {
		t.Fatal(err)
	}
	lo, hi := 0.1, 1.0
	for range 50 {
		if mid := (lo + hi) / 2; loadTestV(600, mid, 20) >= 9.6 {
			hi = mid
		} else {
			lo = mid
		}
	}
	if hi < 0.4 || hi > 0.7 {
		t.Errorf("the floor of 9.6 V at 20 °C is met with a health of %.2f, want 0.4 to 0.7", hi)
	}
	t.Logf("health at the floor at 20 °C: %.2f", hi)
	for i := range tab.Rows {
		c, want := tables.Figure(t, tab, i, "battery_C"), tables.Figure(t, tab, i, "least_V")
		if got := loadTestV(600, 1, c); got < want {
			t.Errorf("load_test_floor.csv: a new battery has %.2f V at %v °C, want %v or more", got, c, want)
		}
		t.Logf("%v °C: new %.2f V, at the floor's health %.2f V, the floor %v V", c, loadTestV(600, 1, c), loadTestV(600, hi, c), want)
	}
	if tab, err = testdata.Read("cranking_by_temperature.csv"); err != nil {
		t.Fatal(err)
	}
	for i := range tab.Rows {
		what, _ := tab.Text(i, "what")
		got := crankingA(600, tables.Figure(t, tab, i, "battery_C")) / crankingA(600, tables.Figure(t, tab, i, "reference_C"))
		want := tables.Figure(t, tab, i, "current_ratio")
		if what == "rating" {
			near.Abs(t, "cranking_by_temperature.csv", got, want, 0.05*want)
		}
		t.Logf("%s: %.2f, published %.2f", what, got, want)
	}
	if tab, err = testdata.Read("starter_draw.csv"); err != nil {
		t.Fatal(err)
	}
	for i := range tab.Rows {
		fuel, _ := tab.Text(i, "engine")
		n := 0.0
		if fuel == "petrol" {
			n = 1
		}
		got := starterDrawA(n, tables.Figure(t, tab, i, "litres_number"), tables.Figure(t, tab, i, "battery_C"))
		low, high := tables.Figure(t, tab, i, "low_A"), tables.Figure(t, tab, i, "high_A")
		if got < low || got > high {
			t.Errorf("starter_draw.csv row %d: %.0f A, want %v to %v", i+1, got, low, high)
		}
	}
}

// Without a rating the battery has that of the worse published ones.
func TestColdRatingByCapacity(t *testing.T) {
	r := starterRig(0, 70, 0, 1, "EN")
	b := starterCell(&r)
	near.Abs(t, "7 A per Ah by SAE", (b.restV(1, -18)-7.2)/b.ohm(1, -18, false), 490, 1e-6)
	r = starterRig(0, 70, 640, 0.5, "EN")
	b = starterCell(&r)
	near.Abs(t, "EN rating, half health", (b.restV(1, -18)-7.5)/b.ohm(1, -18, false), 320, 1e-6)
	near.Abs(t, "half the capacity", b.capacityAh, 35, 0)
}

// A start's charge is put back within minutes; a discharged battery takes
// more, for hours; a full one holds a trickle.
func TestChargeA(t *testing.T) {
	r := starterRig(0, 70, 640, 1, "EN")
	b := starterCell(&r)
	if got := b.chargeA(14.4, 0.5, 25); got < 15 || got > 25 {
		t.Errorf("half full at 14.4 V: %.1f A, want about 0.3 A/Ah", got)
	}
	if got := b.chargeA(13.8, 1, 25); got < 0.2 || got > 0.7 {
		t.Errorf("full at 13.8 V: %.2f A, want a trickle below 0.01 A/Ah", got)
	}
	if warm, cold := b.chargeA(14, 0.7, 25), b.chargeA(14, 0.7, -10); cold > 0.6*warm {
		t.Errorf("at -10 °C %.1f A after %.1f A at 25 °C", cold, warm)
	}
	near.Abs(t, "on a bus below its rest voltage", b.chargeA(12.2, 0.9, 25), 0, 0)
}

func BenchmarkBattery(b *testing.B) {
	r := starterRig(0, 70, 640, 0.8, "EN")
	c := starterCell(&r)
	sum := 0.0
	b.ReportAllocs()
	for i := range b.N {
		soc := float64(i&1023) / 1024
		sum += c.restV(soc, 20) + c.ohm(soc, 20, true) + c.drawn(10, 5) + c.chargeA(14, soc, 20) + c.integral(soc)
	}
	if sum == 0 {
		b.Fatal(sum)
	}
}
