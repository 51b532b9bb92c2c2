package sun

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/soniakeys/meeus/v3/base"
	"github.com/soniakeys/meeus/v3/coord"
	"github.com/soniakeys/meeus/v3/julian"
	"github.com/soniakeys/meeus/v3/refraction"
	"github.com/soniakeys/meeus/v3/sidereal"
	"github.com/soniakeys/meeus/v3/solar"
	"github.com/soniakeys/unit"
	"pgregory.net/rapid"

	"spareamps/core/calendar"
	"spareamps/core/detmath"
	"spareamps/core/internal/near"
	"spareamps/testdata"
)

const j2000Midnight = 2451544.5

// dateOf reads "2003-10-17" and, as hours, "19:30:30".
func dateOf(t *testing.T, s string) float64 {
	t.Helper()
	p := strings.Split(s, "-")
	var n [3]int
	for i := range n {
		n[i], _ = strconv.Atoi(p[i])
	}
	d, ok := calendar.Day(n[0], n[1], n[2])
	if !ok {
		t.Fatalf("no date %s", s)
	}
	return d
}

func hoursOf(s string) float64 {
	h := 0.0
	for i, p := range strings.Split(s, ":") {
		v, _ := strconv.ParseFloat(p, 64)
		h += v / []float64{1, 60, 3600}[i]
	}
	return h
}

// rowOf reads the columns of a row of a table.
func rowOf(t *testing.T, tab *testdata.Table, i int, cols ...string) []float64 {
	t.Helper()
	out := make([]float64, len(cols))
	for k, c := range cols {
		v, err := tab.Float(i, c)
		if err != nil {
			t.Fatal(err)
		}
		out[k] = v
	}
	return out
}

func readTable(t *testing.T, name string) testdata.Table {
	t.Helper()
	tab, err := testdata.Read(name)
	if err != nil {
		t.Fatal(err)
	}
	return tab
}

func TestSunPositionPublished(t *testing.T) {
	tab := readTable(t, "sun_position.csv")
	for i, row := range tab.Rows {
		v := rowOf(t, &tab, i, "latitude_deg", "longitude_deg", "elevation_deg", "azimuth_deg", "apparent_ratio")
		h, a := Position(dateOf(t, row[0])+hoursOf(row[1])/24, v[0], v[1])
		const tol = 0.05
		if v[4] == 0 {
			h -= liftOf(h)
		}
		near.Abs(t, row[0]+" elevation", h, v[2], tol)
		near.Abs(t, row[0]+" azimuth", a, v[3], tol)
	}
}

// liftOf is the refraction by the apparent elevation it led to.
func liftOf(apparent float64) float64 {
	h := apparent
	for range 50 {
		h = apparent - airLift(h)
	}
	return airLift(h)
}

// meeusPosition is the apparent position by the longer series, from Meeus'
// chapters 12, 13, 16, 22 and 25.
func meeusPosition(dayUT, lat, lon float64) (elevation, azimuth float64) {
	jd := j2000Midnight + dayUT
	α, δ := solar.ApparentEquatorial(jd + 70.0/86400)
	A, h := coord.EqToHz(α, δ, unit.AngleFromDeg(lat), unit.AngleFromDeg(-lon), sidereal.Apparent(jd))
	e := h.Deg()
	if e > -0.575 {
		e += refraction.Saemundsson(h).Deg()
	} else {
		e += noaaLift(e)
	}
	return e, math.Mod(A.Deg()+540, 360)
}

// noaaLift is NOAA's below the horizon, where Saemundsson's is not valid.
func noaaLift(h float64) float64 { return -20.774 / 3600 / math.Tan(h*math.Pi/180) }

// Any moment of 1950 to 2100 at any place. The azimuth's error counts by the
// distance it makes on the sky.
func TestSunPositionMeeus(t *testing.T) {
	worst := 0.0
	first, last := dayOf(1950, 1, 1), dayOf(2101, 1, 1)
	rapid.Check(t, func(r *rapid.T) {
		d := rapid.Float64Range(first, last).Draw(r, "day")
		lat := rapid.Float64Range(-90, 90).Draw(r, "latitude")
		lon := rapid.Float64Range(-180, 180).Draw(r, "longitude")
		h, a := Position(d, lat, lon)
		wh, wa := meeusPosition(d, lat, lon)
		dh := math.Abs(h - wh)
		da := math.Abs(math.Remainder(a-wa, 360)) * math.Cos(h*math.Pi/180)
		worst = math.Max(worst, math.Max(dh, da))
		if dh > 0.03 || da > 0.03 {
			r.Errorf("day %g at %g, %g: got %g, %g, want %g, %g (Meeus, within 0.03)", d, lat, lon, h, a, wh, wa)
		}
	})
	t.Logf("largest deviation %.4f°", worst)
}

func dayOf(y, m, d int) float64 {
	n, _ := calendar.Day(y, m, d)
	return n
}

// Meeus, Astronomical Algorithms, example 25.a: 1992 October 13.0, right
// ascension 13h 13m 31.4s, declination −7° 47′ 06″, distance 0.99766.
func TestSunVectorExample(t *testing.T) {
	v := newSunVector(dayOf(1992, 10, 13))
	near.Abs(t, "right ascension", detmath.Wrap(detmath.Atan2(v.y, v.x), 360), (13+13.0/60+31.4/3600)*15, 0.015)
	near.Abs(t, "declination", detmath.Atan2(v.z, math.Hypot(v.x, v.y)), -(7 + 47.0/60 + 6.0/3600), 0.01)
	near.Abs(t, "distance", v.au, 0.99766, 1e-4)
	for d := dayOf(1950, 1, 1); d < dayOf(2100, 1, 1); d += 7.3 {
		v := newSunVector(d)
		near.Abs(t, "distance", v.au, solar.Radius(base.J2000Century(j2000Midnight+d)), 3e-4)
	}
}

// At the sun's noon the elevation is 90° less the distance of latitude and
// declination, and the sun stands north or south.
func TestSunAtNoon(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		d := float64(rapid.IntRange(-18000, 36000).Draw(r, "day"))
		lat := rapid.Float64Range(-65, 65).Draw(r, "latitude")
		lon := rapid.Float64Range(-180, 180).Draw(r, "longitude")
		rise, set, ok := SunriseSunset(d, lat, lon, lon/15)
		if !ok {
			return
		}
		// Rise and set differ in declination, so that their middle is not quite noon.
		noon := d + ((rise+set)/2-lon/15)/24
		v := newSunVector(noon)
		decl := detmath.Atan2(v.z, math.Hypot(v.x, v.y))
		h, a := Position(noon, lat, lon)
		want := 90 - math.Abs(lat-decl)
		if got := h - liftOf(h); math.Abs(got-want) > 0.35*math.Cos(want*math.Pi/180)+0.3 {
			r.Errorf("day %g at %g, %g: noon elevation %g, want %g", d, lat, lon, got, want)
		}
		if want < 80 {
			south := 180.0
			if lat < decl {
				south = 0
			}
			if got := math.Abs(math.Remainder(a-south, 360)); got > 5 {
				r.Errorf("day %g at %g, %g: noon azimuth %g, want %g", d, lat, lon, a, south)
			}
		}
		for _, hour := range []float64{rise, set} {
			h, _ := Position(d+(hour-lon/15)/24, lat, lon)
			if got := h - liftOf(h); math.Abs(got+0.833) > 1e-3 {
				r.Errorf("day %g at %g, %g: elevation %g at %g h, want -0.833", d, lat, lon, got, hour)
			}
		}
	})
}

func TestSunRisePublished(t *testing.T) {
	tab := readTable(t, "sun_rise.csv")
	for i, row := range tab.Rows {
		v := rowOf(t, &tab, i, "latitude_deg", "longitude_deg", "offset_h")
		rise, set, ok := SunriseSunset(dateOf(t, row[0]), v[0], v[1], v[2])
		if !ok {
			t.Fatalf("%s: no sunrise", row[0])
		}
		for k, got := range []float64{rise, (rise + set) / 2, set} {
			want := row[4+k]
			if want == "" {
				continue
			}
			tol := 20.0 / 3600
			if k == 1 { // the middle of the day is not quite noon
				tol = 60.0 / 3600
			}
			near.Abs(t, row[0]+" "+tab.Columns[4+k], got, hoursOf(want), tol)
		}
	}
}

// Polar day and night, poles, far clocks and angles beyond a turn.
func TestSunPolarAndWrapped(t *testing.T) {
	june, december := dayOf(2026, 6, 21), dayOf(2026, 12, 21)
	for _, tc := range []struct {
		day, lat, hours float64
		ok              bool
	}{{june, 80, 24, false}, {december, 80, 0, false}, {june, -80, 0, false}, {december, -80, 24, false},
		{june, 90, 24, false}, {december, 90, 0, false}, {june, -90, 0, false}, {december, -90, 24, false}} {
		rise, set, ok := SunriseSunset(tc.day, tc.lat, 20, 1)
		if ok != tc.ok || math.Abs(set-rise-tc.hours) > 1e-9 {
			t.Errorf("day %g at %g: got %g to %g, %t, want %g hours, %t", tc.day, tc.lat, rise, set, ok, tc.hours, tc.ok)
		}
	}
	// At a pole the elevation is the declination all day.
	for _, lat := range []float64{90, -90} {
		a, _ := Position(june, lat, 0)
		b, _ := Position(june, lat, 170)
		near.Abs(t, "elevation at a pole at two longitudes", a, b, 1e-9)
		near.Abs(t, "elevation at a pole at the solstice", a-liftOf(a), math.Copysign(23.436, lat), 0.01)
	}
	// A clock far from the sun only shifts the hours.
	rise, set, _ := SunriseSunset(june, 40, 170, 170.0/15)
	for _, off := range []float64{-12, 0, 14} {
		r, s, ok := SunriseSunset(june, 40, 170, off)
		if !ok || math.Abs(math.Remainder(r-rise-off+170.0/15, 24)) > 0.05 || math.Abs(s-r-set+rise) > 0.05 {
			t.Errorf("clock %+g h: %g to %g, want %g to %g shifted", off, r, s, rise, set)
		}
	}
	h, a := Position(june+0.4, 40, 50)
	for _, turn := range []float64{-360, 360, 720} {
		h1, a1 := Position(june+0.4, 40, 50+turn)
		near.Abs(t, "elevation a turn on", h1, h, 1e-6)
		near.Abs(t, "azimuth a turn on", a1, a, 1e-6)
	}
	nan, inf := math.NaN(), math.Inf(1)
	for _, v := range []float64{nan, inf, -inf, 1e300} {
		h, a := Position(v, v, v)
		r, s, _ := SunriseSunset(v, v, v, v)
		for _, x := range []float64{h, a, r, s} {
			if x-x != 0 {
				t.Errorf("with %g: got %g", v, x)
			}
		}
	}
}

// Apparent elevation rises with the true one, and nothing jumps.
func TestRefraction(t *testing.T) {
	// Saemundsson's own table value: 28.7′ at 0.0° true (Meeus 16: 0.5541° apparent gives 33′).
	near.Abs(t, "refraction at the horizon", airLift(0), 28.98/60, 0.5/60)
	last := -90 + airLift(-90)
	for h := -90.0; h <= 90; h += 0.001 {
		a := h + airLift(h)
		if a < last-1e-9 || a-last > 0.01 {
			t.Fatalf("apparent elevation %g after %g at true %g", a, last, h)
		}
		last = a
	}
}

func TestCivilDay(t *testing.T) {
	// Meeus, Astronomical Algorithms, chapter 7.
	for _, tc := range []struct {
		y, m, d int
		jd      float64
	}{{2000, 1, 1, 2451544.5}, {1999, 1, 1, 2451179.5}, {1987, 1, 27, 2446822.5}, {1987, 6, 19, 2446965.5},
		{1988, 1, 27, 2447187.5}, {1988, 6, 19, 2447331.5}, {1900, 1, 1, 2415020.5}, {1600, 1, 1, 2305447.5}, {1600, 12, 31, 2305812.5}} {
		if got := dayOf(tc.y, tc.m, tc.d) + j2000Midnight; got != tc.jd {
			t.Errorf("%d-%d-%d: Julian day %g, want %g (Meeus, chapter 7)", tc.y, tc.m, tc.d, got, tc.jd)
		}
	}
	for _, d := range [][3]int{{2026, 2, 29}, {1900, 2, 29}, {2026, 4, 31}, {2026, 0, 1}, {2026, 13, 1}, {2026, 1, 0}, {2026, 1, 32}, {0, 1, 1}, {10000, 1, 1}} {
		if n, ok := calendar.Day(d[0], d[1], d[2]); ok {
			t.Errorf("%v is taken for a date, day %g", d, n)
		}
	}
	if _, ok := calendar.Day(2000, 2, 29); !ok {
		t.Error("2000-02-29 is refused")
	}
	// Every day there is, in order.
	prev := [3]int{0, 12, 31}
	for n := dayOf(1, 1, 1); n <= dayOf(9999, 12, 31); n++ {
		y, m, d := calendar.Date(n + 0.75)
		if back, ok := calendar.Day(y, m, d); !ok || back != n {
			t.Fatalf("day %g is %d-%d-%d, which is day %g", n, y, m, d, back)
		}
		next := d == prev[2]+1 && m == prev[1] && y == prev[0] || d == 1 && (m == prev[1]+1 && y == prev[0] || m == 1 && prev[1] == 12 && y == prev[0]+1)
		if !next {
			t.Fatalf("%d-%d-%d after %v", y, m, d, prev)
		}
		prev = [3]int{y, m, d}
	}
	if y, m, d := julian.JDToCalendar(j2000Midnight + 9698.25); true {
		gy, gm, gd := calendar.Date(9698.25)
		if gy != y || gm != m || gd != int(d) {
			t.Errorf("day 9698: got %d-%d-%d, want %d-%d-%g", gy, gm, gd, y, m, d)
		}
	}
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		if y, _, _ := calendar.Date(v); y < 1 || y > 9999 {
			t.Errorf("CivilDate(%g) is in year %d", v, y)
		}
	}
}

func BenchmarkSunPosition(b *testing.B) {
	b.ReportAllocs()
	sum := 0.0
	for i := range b.N {
		h, a := Position(9700+float64(i)/1440, 39.5, 60)
		sum += h + a
	}
	_ = sum
}
