package core

import (
	"math"
	"testing"

	"spareamps/core/internal/near"
	"spareamps/core/internal/tables"
	"spareamps/core/jsontext"
	"spareamps/core/rig"
	"spareamps/testdata"
)

// restedAt is a row of volts on a starter battery, as the air, after a night.
func restedAt(restV, crankV, celsius float64) rig.Observation {
	return rig.Observation{Begins: "cold", EverythingOn: "no", Minutes: 480, AmbientC: celsius, RestV: restV, CrankV: crankV,
		InletC: math.NaN(), CaseC: math.NaN(), CoreC: math.NaN(), PlatesC: math.NaN()}
}

// starterDay is the demo with a starter battery of a kind.
func starterDay(t *testing.T, kind string, rows ...rig.Observation) Request {
	t.Helper()
	q := Demo()
	if err := q.Set("rig.starter_battery.kind", kind); err != nil {
		t.Fatal(err)
	}
	for _, o := range rows {
		q.Observe(o)
	}
	return q
}

// Of rest volts as published, the interval of 90 % holds the published charge.
// Against: testdata/lead_acid_rest.csv.
func TestRestVoltsTellCharge(t *testing.T) {
	tab, err := testdata.Read("lead_acid_rest.csv")
	if err != nil {
		t.Fatal(err)
	}
	for i := range tab.Rows {
		kind, _ := tab.Text(i, "kind")
		want, volts := tables.Figure(t, tab, i, "charge_share"), tables.Figure(t, tab, i, "rest_V")
		l := learnt(t, starterDay(t, kind, restedAt(volts, 0, 25)))
		off := ninety * l.StarterSocOff
		t.Logf("%s at %.2f V: %.2f ± %.2f (90 %%), published %.2f", kind, volts, l.StarterSoc, off, want)
		if math.Abs(l.StarterSoc-want) > off {
			t.Errorf("%s at %.2f V: charge %.3f ± %.3f (90 %%), published %.2f, lead_acid_rest.csv", kind, volts, l.StarterSoc, off, want)
		}
		if l.Verdict != fitNothing || len(l.Means) > 0 {
			t.Errorf("volts of a starter battery tell %s of the alternator: %+v", fitVerdictNames[l.Verdict], l.Means)
		}
	}
}

// Resistances as published, read as volts lost to a known current, put the
// sag where it is: at 1, whatever the charge. Against: testdata/agm_resistance.csv.
func TestCrankVoltsOfPublishedResistance(t *testing.T) {
	tab, err := testdata.Read("agm_resistance.csv")
	if err != nil {
		t.Fatal(err)
	}
	q := starterDay(t, "agm")
	b := starterCell(&q.Rig)
	for i := range tab.Rows {
		soc := tables.Figure(t, tab, i, "charge_share")
		ohm := tables.Figure(t, tab, i, "discharge_mohm") / agmMilliohm * b.ohm(1, 25, false)
		e := b.restV(soc, 25)
		l := learnt(t, starterDay(t, "agm", restedAt(e, e-crankA(&q.Rig, 25)*ohm, 25)))
		if math.Abs(l.Sag-1) > ninety*l.SagOff {
			t.Errorf("charge %v: sag %.3f ± %.3f, want 1, agm_resistance.csv", soc, l.Sag, ninety*l.SagOff)
		}
	}
}

// What cranking volts at 0 °C tell of a battery foretells what it gives at
// -18 °C, by the published ratios. Against: testdata/cranking_by_temperature.csv.
func TestCrankVoltsForetellFrost(t *testing.T) {
	tab, err := testdata.Read("cranking_by_temperature.csv")
	if err != nil {
		t.Fatal(err)
	}
	q := starterDay(t, "flooded")
	b := starterCell(&q.Rig)
	const sag = 1.3 // an aged battery
	for i := range tab.Rows {
		what, _ := tab.Text(i, "what")
		warm, cold := tables.Figure(t, tab, i, "battery_C"), tables.Figure(t, tab, i, "reference_C")
		if what != "rating" {
			continue
		}
		// The current to the same volts is by so much greater as the resistance is
		// smaller: E − I·R = V.
		ohmCold := sag * b.ohm(1, cold, false)
		ohmWarm := ohmCold * (b.restV(1, warm) - coldTestV("SAE")) / (b.restV(1, cold) - coldTestV("SAE")) / tables.Figure(t, tab, i, "current_ratio")
		e := b.restV(1, warm)
		l := learnt(t, starterDay(t, "flooded", restedAt(e, e-crankA(&q.Rig, warm)*ohmWarm, warm)))
		got, off := l.Sag*b.ohm(1, cold, false), ninety*l.SagOff*b.ohm(1, cold, false)
		t.Logf("read at %v °C: resistance at %v °C %.2f ± %.2f mΩ (90 %%), published ratio gives %.2f", warm, cold, 1e3*got, 1e3*off, 1e3*ohmCold)
		if math.Abs(got-ohmCold) > off {
			t.Errorf("read at %v °C: resistance at %v °C %.2f ± %.2f mΩ, by the published ratio %.2f, cranking_by_temperature.csv", warm, cold, 1e3*got, 1e3*off, 1e3*ohmCold)
		}
	}
}

// What is proposed is what a day then takes, and never less careful than what
// was read: the margin of a start does not rise above the margin read.
func TestStarterProposals(t *testing.T) {
	q := starterDay(t, "flooded")
	b := starterCell(&q.Rig)
	for _, c := range []struct {
		sag           float64
		input, others string
	}{{1.5, "rig.starter_battery.health", "rig.engine.cranking_A"}, {0.5, "rig.engine.cranking_A", "rig.starter_battery.health"}, {1, "", ""}} {
		e := b.restV(0.7, 10)
		crankV := e - c.sag*sagV(&q.Rig, &b, e, 10)
		l := learnt(t, starterDay(t, "flooded", restedAt(e, crankV, 10)))
		near.Abs(t, "charge", l.StarterSoc, 0.7, 0.1)
		found := map[string]float64{}
		after := starterDay(t, "flooded")
		for _, p := range l.Proposals {
			found[p.Input] = p.Value
			if p.Input == "day.starter_soc" {
				continue
			}
			if err := after.Set(p.Input, jsontext.NumberText(p.Value)); err != nil {
				t.Fatal(err)
			}
		}
		cell := starterCell(&after.Rig)
		m := restartOf(&after.Rig, &cell, 0.7, 10)
		t.Logf("sag %v: learned %.2f ± %.2f, proposed %v; starting leaves %.2f V, read %.2f V", c.sag, l.Sag, l.SagOff, found, m.volts, crankV)
		if c.sag != 1 && m.volts > crankV+0.15 {
			t.Errorf("sag %v: with %v starting leaves %.2f V, read %.2f V", c.sag, found, m.volts, crankV)
		}
		if _, ok := found[c.input]; c.input != "" && !ok {
			t.Errorf("sag %v: proposed %v, want %s", c.sag, found, c.input)
		}
		if _, ok := found[c.others]; ok {
			t.Errorf("sag %v: proposed %v", c.sag, found)
		}
		if soc, ok := found["day.starter_soc"]; !ok || soc > 0.75 {
			t.Errorf("proposed %v, want starter_soc near 0.7", found)
		}
	}
	// Weak evidence of a full battery is no reason to count on one.
	full := learnt(t, starterDay(t, "flooded", restedAt(b.restV(0.9, 10), 0, 10)))
	for _, p := range full.Proposals {
		t.Errorf("volts of a charge of 0.9 propose %+v", p)
	}
}

// Readings that are wrong, or of something else, make no advice less careful.
func TestStarterReadingsGoTogether(t *testing.T) {
	q := starterDay(t, "flooded")
	b := starterCell(&q.Rig)
	easy := b.restV(0.9, 20) - 0.4*sagV(&q.Rig, &b, b.restV(0.9, 20), 20)
	for _, c := range []struct {
		name string
		rows []rig.Observation
		is   bool // an engine that turns easily, told rightly
	}{
		{"both right", []rig.Observation{restedAt(b.restV(0.9, 20), easy, 20)}, true},
		{"a dead cell", []rig.Observation{restedAt(10.5, 8.5, 20)}, false},
		{"a charger on", []rig.Observation{restedAt(13.6, 12.8, 20)}, false},
		{"a charger on in an earlier morning", []rig.Observation{restedAt(13.6, 12.8, 20), restedAt(b.restV(0.9, 20), 0, 20)}, false},
		{"a dead cell among readings of the alternator", append(DemoFit().Rig.Observations, restedAt(10.5, 8.5, 20)), false},
	} {
		l := learnt(t, starterDay(t, "flooded", c.rows...))
		got := false
		for _, p := range l.Proposals {
			got = got || p.Input == "rig.engine.cranking_A"
			if p.Input == "day.starter_soc" && p.Value > starterSocDefault {
				t.Errorf("%s: proposed %+v", c.name, p)
			}
		}
		if got != c.is {
			t.Errorf("%s: sag %.2f ± %.2f, proposed %+v; cranking_A among them: want %v", c.name, l.Sag, l.SagOff, l.Proposals, c.is)
		}
	}
}

// A charge that a day states is corrected as one that it assumes: downwards to
// what was read, upwards only as far as the confidence allows.
func TestStarterProposalBesideStated(t *testing.T) {
	q := starterDay(t, "flooded")
	b := starterCell(&q.Rig)
	for _, c := range []struct{ stated, charge, least, most float64 }{{0.95, 0.86, 0.82, 0.88}, {0.5, 0.82, 0.5, 0.75}, {0.5, 0.3, 0.25, 0.4}} {
		q := starterDay(t, "flooded", restedAt(b.restV(c.charge, 20), 0, 20))
		q.Day.StarterSoc = c.stated
		l := learnt(t, q)
		if len(l.Proposals) != 1 || l.Proposals[0].Value < c.least || l.Proposals[0].Value > c.most {
			t.Errorf("stated %v, read %v: charge %.2f ± %.2f, proposed %+v; want %v to %v", c.stated, c.charge, l.StarterSoc, l.StarterSocOff, l.Proposals, c.least, c.most)
		}
	}
}

// Two blocks in series err as each of them does, by twice the volts: class 24
// tells no more of a battery than class 12.
func TestStarterReadingsOfTwoBlocks(t *testing.T) {
	read := func(class string, coldA float64) *Learning {
		q := starterDay(t, "flooded")
		if err := q.Set("rig.alternator.class_V", class); err != nil {
			t.Fatal(err)
		}
		q.Rig.StarterBattery.ColdA = coldA // half the current asks for half of it
		b := starterCell(&q.Rig)
		e := b.restV(0.7, 5)
		q.Observe(restedAt(e, e-0.6*sagV(&q.Rig, &b, e, 5), 5))
		return learnt(t, q)
	}
	one, two := read("12", 640), read("24", 320)
	near.Abs(t, "charge", two.StarterSoc, one.StarterSoc, 1e-3)
	near.Abs(t, "its spread", two.StarterSocOff, one.StarterSocOff, 1e-3)
	near.Abs(t, "sag", two.Sag, one.Sag, 1e-3)
	near.Abs(t, "its spread", two.SagOff, one.SagOff, 1e-3)
}

// Where the resistance hangs on a charge that rest volts hardly tell, cranking
// volts tell little of the sag: readings whose rest volts are off by their
// deviation lie within one and a half of the truth.
func TestCrankVoltsOfHalfEmpty(t *testing.T) {
	q := starterDay(t, "flooded")
	b := starterCell(&q.Rig)
	off := instrumentTable[readsRest].noise
	for _, charge := range []float64{0.2, 0.3, 0.4, 0.5, 0.6, 0.85} {
		e := b.restV(charge, 20)
		crankV := e - sagV(&q.Rig, &b, e, 20)
		for _, off := range []float64{-off, off} {
			l := learnt(t, starterDay(t, "flooded", restedAt(e+off, crankV, 20)))
			t.Logf("charge %v off %v: sag %.2f ± %.2f", charge, off, l.Sag, l.SagOff)
			if math.Abs(l.Sag-1) > 1.5*l.SagOff {
				t.Errorf("charge %v, rest volts off by %v: sag %.2f ± %.2f, want 1", charge, off, l.Sag, l.SagOff)
			}
		}
	}
}

// An engine that ran an hour ago turns more easily than on a cold morning.
func TestCrankVoltsOfWarmEngine(t *testing.T) {
	for _, c := range []struct {
		begins  string
		minutes float64
		refused bool
	}{{"warm", 60, true}, {"warm", 359, true}, {"warm", 360, false}, {"cold", 60, false}} {
		o := restedAt(12.5, 10.5, -10)
		o.Begins, o.Minutes = c.begins, c.minutes
		q := starterDay(t, "flooded", o)
		if _, err := Fit(&q); (err != nil) != c.refused {
			t.Errorf("begins %s, %v min: %v, want refused %v", c.begins, c.minutes, err, c.refused)
		}
	}
}

// What is wrong every morning alike is not evened out by many of them.
func TestCrankVoltsOfManyMornings(t *testing.T) {
	q := starterDay(t, "flooded")
	b := starterCell(&q.Rig)
	e := b.restV(0.85, 10)
	var rows []rig.Observation
	var off []float64
	for _, n := range []int{1, 30} {
		for len(rows) < n {
			rows = append(rows, restedAt(e, e-0.85*sagV(&q.Rig, &b, e, 10), 10))
		}
		off = append(off, learnt(t, starterDay(t, "flooded", rows...)).SagOff)
	}
	if off[1] > off[0] || off[1] < 0.7*off[0] {
		t.Errorf("sag after one morning ± %.3f, after 30 ± %.3f; want less, but 0.7 of it or more", off[0], off[1])
	}
}
