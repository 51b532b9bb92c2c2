package core

import (
	"cmp"

	"spareamps/core/detmath"
	"spareamps/core/rig"
)

// Current of a starter motor at 20 °C, in A of class 12: a fixed part and a part per
// litre. Petrol follows the upper edge of a workshop manual's bands for a 1.9 L
// engine (1998 models). Diesel is an engineering estimate on the careful side: the
// manual of a 7.3 L engine has 230 to 630 A, this gives 611 A.
const (
	petrolCrankA, petrolCrankPerL = 42, 40
	dieselCrankA, dieselCrankPerL = 100, 70
)

// crankTestC is the engine temperature of that current, in °C.
const crankTestC = 20

// dieselCold is the ratio of a diesel's rise in the cold to that of a petrol engine:
// with it the current doubles at -20 °C ("as much as twice", laautoservice.ca).
// Compression, which does not grow in the cold, is a larger part of a diesel's load.
const dieselCold = 0.77

// Battery voltage needed while cranking, in V of class 12, if the engine's own is
// not stated: 9.6 V at warmFromC and above, falling linearly to 8.5 V at -18 °C, and
// constant below. The line lies on the floors that service manuals state for a load
// test of 15 s, or up to 0.12 V above them. These floors describe the battery, not an
// engine, but by them the manuals judge whether a battery can start the engine. The
// cold-cranking standards let the voltage fall further, to 7.5 V (EN 50342-1, 10 s)
// or 7.2 V (SAE J537, 30 s), both from memory.
// Checked: testdata/load_test_floor.csv.
const (
	warmNeedV  = 9.6
	frostNeedV = 8.5
	needPerK   = 0.8 / 22 // through 9.3 V at 4 °C and 8.5 V at -18 °C
	frostC     = -18
	warmFromC  = frostC + (warmNeedV-frostNeedV)/needPerK // 12.25 °C
)

// usualNeedV returns the voltage needed at a temperature, in V of class 12.
func usualNeedV(celsius float64) float64 {
	return detmath.Clamp(frostNeedV+needPerK*(celsius-frostC), frostNeedV, warmNeedV)
}

// crankA returns the mean current in A that the starter motor takes.
//
//	I = I20·(1 + s·(0.002·x + 1.9e-5·max(x, 0)³)), x = 20 °C − T     (1)
//
// s is 1 for petrol. Valid from -40 to 60 °C. Neglects the inrush before the engine
// turns: the voltage has recovered by the time the engine has to fire. Checked:
// testdata/starter_draw.csv.
func crankA(r *rig.Rig, celsius float64) float64 {
	e := &r.Engine
	a, perL, s := float64(dieselCrankA), float64(dieselCrankPerL), dieselCold
	if e.Fuel == "petrol" {
		a, perL, s = petrolCrankA, petrolCrankPerL, 1
	}
	i20 := cmp.Or(e.CrankingA, (a+perL*cmp.Or(e.DisplacementL, 2.5))/vehicleClassFactor(r))
	x := detmath.ClampAbs(crankTestC-celsius, 65)
	cold := detmath.Max(x, 0)
	return i20 * (1 + s*(0.002*x+1.9e-5*cold*cold*cold)) // (1)
}

// A restart is the state of the battery during an attempt to start the engine.
type restart struct {
	volts    float64 // at the battery while cranking, not below 0
	currentA float64 // current of the starter motor
	needV    float64 // lowest voltage at which the engine starts
	marginV  float64 // volts less needV
}

// restart returns the state of the starter battery during an attempt now.
//
//	V = E(soc, T) − I(T)·R(soc, T)     (1)
//
// The resistance is that after 10 to 30 s, so an attempt of a few seconds has some
// voltage in reserve. Checked: TestRestart, TestLoadTest, TestFrostStart.
func restartOf(r *rig.Rig, b *battery, soc, celsius float64) restart {
	v := crankV(r, b, soc, celsius)
	need := crankNeedV(r, b, soc, celsius)
	return restart{detmath.Max(v, 0), crankA(r, celsius), need, v - need}
}

// crankV is (1) of restart; negative if the battery cannot give the current.
func crankV(r *rig.Rig, b *battery, soc, celsius float64) float64 {
	return b.restV(soc, celsius) - crankA(r, celsius)*b.ohm(soc, celsius, false)
}

// crankNeedV returns the lowest voltage at which the engine starts: the stated one at
// every temperature, or else the usual one.
//
// Cold must not help: an engine that does not start at warmFromC does not start in
// frost. Below warmFromC the need therefore falls only as far as the battery's own
// voltage does. The usual need is linear there and the voltage falls ever faster
// with cold, so the margin is the least over all temperatures up to warmFromC. Checked:
// TestMarginFallsWithCold.
func crankNeedV(r *rig.Rig, b *battery, soc, celsius float64) float64 {
	if r.Engine.CrankingV > 0 {
		return r.Engine.CrankingV
	}
	f := vehicleClassFactor(r)
	need := f * usualNeedV(celsius)
	if celsius < warmFromC {
		lost := crankV(r, b, soc, warmFromC) - crankV(r, b, soc, celsius)
		need = detmath.Max(need, f*warmNeedV-lost)
	}
	return need
}

// leastStartSoc returns the lowest state of charge at which the engine starts; ok is
// false if it does not start even with a full battery. By bisection, to 1e-7 on the
// side that starts.
func leastStartSoc(r *rig.Rig, b *battery, celsius float64) (soc float64, ok bool) {
	starts := func(soc float64) bool { return restartOf(r, b, soc, celsius).marginV >= 0 }
	if !starts(1) {
		return 1, false
	}
	if starts(0) {
		return 0, true
	}
	lo, hi := 0.0, 1.0
	for range 24 {
		if mid := (lo + hi) / 2; starts(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi, true
}

const (
	cutReserve  = 0.1 // charge kept above the least that starts the engine; engineering estimate
	cutLeastSoc = 0.5 // a starter battery ages fast when it is used below half; common practice, no source
)

// A cutOff is the voltage at which to disconnect a load from the starter battery.
type cutOff struct {
	restV   float64 // hours after the load went off
	loadedV float64 // under the load
}

// cutOff returns the recommended cut-off at a temperature, under a load in A: the
// voltage at which the battery still holds a tenth of its capacity above the charge
// that a start needs, and at least half of its capacity. If not even a full battery
// starts the engine, it returns the voltage of a full one.
func cutOffOf(r *rig.Rig, b *battery, celsius, loadA float64) cutOff {
	soc, _ := leastStartSoc(r, b, celsius)
	soc = detmath.Min(detmath.Max(soc+cutReserve, cutLeastSoc), 1)
	v := b.restV(soc, celsius)
	return cutOff{v, v - loadA*b.ohm(soc, celsius, false)}
}
