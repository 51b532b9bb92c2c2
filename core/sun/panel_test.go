package sun

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"spareamps/core/detmath"
	"spareamps/core/internal/near"
	"spareamps/core/rig"
)

func plainPanel() rig.Solar {
	return rig.Solar{Given: true, PeakW: 100, NoctC: 45, GammaPerK: -0.004, Soiling: 0.05, Efficiency: 0.9}
}

// dayWh is a panel's day at 39.5° N, 600 m, 26 °C.
func dayWh(p *rig.Solar, day, cloud float64) float64 {
	wh := 0.0
	for m := range 1440 {
		ut := day + float64(m)/1440
		h, a := Position(ut, 39.5, 0)
		g, b, d := Cloudy(h, ut, 600, cloud)
		wh += PanelOutputW(p, h, a, g, b, d, 26, 2) / 60
	}
	return wh
}

// A late July day on a level panel has some 7.9 kWh/m² of clear sky; heat takes
// a tenth, dust a twentieth, the charger a tenth.
func TestPanelDay(t *testing.T) {
	p := plainPanel()
	day := dayOf(2026, 7, 24)
	clear := dayWh(&p, day, 0)
	if clear < 560 || clear > 660 {
		t.Errorf("a clear July day of 100 W: got %.0f Wh, want 560 to 660 (engineering estimate)", clear)
	}
	t.Logf("clear July day of 100 W: %.1f Wh", clear)
	last := clear
	for _, n := range []float64{0.25, 0.5, 0.75, 1} {
		wh := dayWh(&p, day, n)
		if wh >= last {
			t.Errorf("cloud %g: %g Wh, no less than %g", n, wh, last)
		}
		last = wh
	}
	for name, change := range map[string]func(*rig.Solar){
		"soiling": func(p *rig.Solar) { p.Soiling = 0.2 }, "heat": func(p *rig.Solar) { p.NoctC = 50 }, "charger": func(p *rig.Solar) { p.Efficiency = 0.8 },
	} {
		q := plainPanel()
		change(&q)
		if wh := dayWh(&q, day, 0); wh >= clear {
			t.Errorf("%s: %g Wh, no less than %g", name, wh, clear)
		}
	}
	q := plainPanel()
	q.PeakW *= 2
	near.Share(t, "twice the peak", dayWh(&q, day, 0), 2*clear, 1e-12)
	if wh := dayWh(&rig.Solar{PeakW: 100, Efficiency: 1}, day, 0); wh != 0 {
		t.Errorf("no panel: %g Wh", wh)
	}
}

// By the mounting SAM adds 18, 11 or 0 K to NOCT; not stated, a panel is taken as
// before. Air behind a panel is worth watts.
func TestPanelMounting(t *testing.T) {
	p := plainPanel()
	for _, c := range []struct {
		mounting  string
		tilt, add float64
	}{{"flat_on_roof", 0, 18}, {"flat_on_roof", 30, 18}, {"gap_on_roof", 30, 11}, {"ventilated", 0, 0}, {"", 0, 11}, {"", 9.9, 11}, {"", 10, 0}} {
		p.Mounting, p.TiltDeg = c.mounting, c.tilt
		near.Abs(t, c.mounting, MountedNoctC(&p)-p.NoctC, c.add, 1e-12)
	}
	p.TiltDeg = 0
	day := dayOf(2026, 7, 24)
	last := 0.0
	for _, m := range []string{"flat_on_roof", "gap_on_roof", "ventilated"} {
		p.Mounting = m
		wh := dayWh(&p, day, 0)
		if wh <= last {
			t.Errorf("%s: %.1f Wh, no more than %.1f", m, wh, last)
		}
		t.Logf("%s: %.1f Wh", m, wh)
		last = wh
	}
	// The published value at 1000 W/m², 25 °C, 1 m/s, NOCT 45 and 20 %.
	p.Mounting = "ventilated"
	near.Abs(t, "SAM", CellC(1000, 25, 1, MountedNoctC(&p), 0.2), 55.2308, 1e-3)
}

// Tilted to the sun a panel has the beam in full; turned away, none.
func TestPanelPlane(t *testing.T) {
	p := rig.Solar{TiltDeg: 90 - 35, AzimuthDeg: 200}
	near.Abs(t, "facing the sun", planeIrradiance(&p, 35, 200, 0, 800, 0), 800, 1e-9)
	near.Abs(t, "a turn on", planeIrradiance(&p, 35, 200-360, 0, 800, 0), 800, 1e-9)
	near.Abs(t, "facing away", planeIrradiance(&p, 30, 20, 0, 800, 0), 0, 0)
	near.Abs(t, "sky and ground", planeIrradiance(&p, 30, 20, 500, 0, 100), 100*(1+math.Sin(35*detmath.Degree))/2+0.2*500*(1-math.Sin(35*detmath.Degree))/2, 1e-9)
	level := rig.Solar{}
	near.Abs(t, "level", planeIrradiance(&level, 30, 77, 500, 800, 100), 500, 1e-9)
	// 60° between panel and sun: Duffie and Beckman's cosine.
	wall := rig.Solar{TiltDeg: 90, AzimuthDeg: 180}
	near.Abs(t, "a wall", planeIrradiance(&wall, 0.0001, 120, 0, 800, 0), 400, 0.01)
}

func TestPanelNeverNegative(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		p := rig.Solar{Given: true, PeakW: 100, TiltDeg: rapid.Float64Range(0, 90).Draw(r, "tilt"), AzimuthDeg: rapid.Float64Range(-360, 720).Draw(r, "azimuth"),
			NoctC: 47, GammaPerK: -0.005, Efficiency: 1}
		h := rapid.Float64Range(-90, 90).Draw(r, "elevation")
		g, b, d := ClearSky(h, 0, 0)
		w := PanelOutputW(&p, h, rapid.Float64Range(0, 360).Draw(r, "sun"), g, b, d, rapid.Float64Range(-40, 60).Draw(r, "air"), rapid.Float64Range(0, 40).Draw(r, "wind"))
		if !(w >= 0 && w < 200) || h <= 0 && w != 0 {
			r.Errorf("%+v with the sun at %g: %g W", p, h, w)
		}
	})
	if w := PanelW(1000, 400, 100, -0.005); w != 0 {
		t.Errorf("a cell of 400 °C: %g W, want 0", w)
	}
}
