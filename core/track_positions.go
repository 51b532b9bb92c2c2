package core

import "spareamps/core/detmath"

// byPositions parts the fixes into pieces without gap or impossible jump.
func (r *resampler) byPositions(ix []int32) {
	var piece []int32
	for n, i := range ix {
		if len(piece) > 0 {
			b := piece[len(piece)-1]
			next := i
			if n+1 < len(ix) {
				next = ix[n+1]
			}
			alone := next == i
			switch {
			case r.gap(b, i):
				r.legs++
				r.walk(piece)
				piece = piece[:0]
			case r.s(i)-r.s(b) < 0.9 && !alone: // thinned to one a second
				continue
			case r.fast(b, i):
				r.jump(i)
				if alone || !r.fast(b, next) || r.fast(i, next) {
					continue
				}
				// Those before were elsewhere: no way leads from there.
				r.walk(piece)
				piece = piece[:0]
			case !alone && r.spike(b, i, next):
				r.jump(i)
				continue
			}
		}
		piece = append(piece, i)
	}
	r.walk(piece)
}

func (r *resampler) metres(i, j int32) float64 {
	a, b := &r.points[i], &r.points[j]
	return trackMetres(a.LatDeg, a.LonDeg, b.LatDeg, b.LonDeg)
}

func (r *resampler) fast(i, j int32) bool {
	return r.metres(i, j)*3.6 > trackMaxKmh*detmath.Max(r.s(j)-r.s(i), 1)
}

// spike says whether a fix lies so far beside its neighbours that no vehicle
// could have been there in between.
func (r *resampler) spike(i, j, k int32) bool {
	a, b := r.metres(i, j), r.metres(j, k)
	if !(a > trackNoiseM && b > trackNoiseM) {
		return false
	}
	before, after := detmath.Max(r.s(j)-r.s(i), 1), detmath.Max(r.s(k)-r.s(j), 1)
	// v is the change of velocity, by the law of cosines from the triangle.
	c, p, q := r.metres(i, k), a/before, b/after
	v := detmath.Sqrt(detmath.Max(0, p*p+q*q-p*q*(c*c-a*a-b*b)/(a*b)))
	return v > trackMaxAcc*(before+after)/2
}

// walk measures a piece in chords and finds its stops.
func (r *resampler) walk(piece []int32) {
	n := len(piece)
	if n < 2 {
		return
	}
	r.legs += n - 1
	var lat, lon, since, in, dLat, dLon, count float64 // the anchor; the last fix near it; the mean of those
	out, stands := 0, false
	anchor := func(j int) {
		lat, lon = r.smooth(piece, j)
		since, in = r.s(piece[j]), r.s(piece[j])
		dLat, dLon, count, out, stands = 0, 0, 0, 0, false
	}
	move := func(t0, t1, d float64) {
		if t1 > t0 {
			r.move(t0, t1, 3.6*d/(t1-t0), 3.6*d/(t1-t0))
		}
	}
	anchor(0)
	for j := 1; j < n; j++ {
		y, x := r.smooth(piece, j)
		t, d := r.s(piece[j]), trackMetres(lat, lon, y, x)
		if d <= trackNoiseM {
			in, out = t, 0
			if stands {
				continue
			}
			dLat, dLon, count = dLat+y-lat, dLon+turn(x-lon), count+1
			if t-since >= trackDwellS {
				y, x = lat+dLat/count, lon+dLon/count
				d = trackMetres(lat, lon, y, x)
				move(since, since+d/trackCrawlMS, d)
				lat, lon, since, stands = y, x, since+d/trackCrawlMS, true
			} else if j == n-1 {
				move(since, t, d)
			}
			continue
		}
		if !stands {
			move(since, t, d)
			anchor(j)
			continue
		}
		if out == 0 {
			out = j
		}
		if j == out || t-r.s(piece[out]) < trackLeaveS {
			continue
		}
		j = out
		y, x = r.smooth(piece, j)
		t, d = r.s(piece[j]), trackMetres(lat, lon, y, x)
		move(detmath.Max(since, detmath.Min(in, t-d/trackCrawlMS)), t, d)
		anchor(j)
	}
}

// smooth is the mean of a fix and as many on either side as lie within
// trackSmoothS, of pairs no further apart than trackNoiseM. Beyond twice that
// the vehicle moves.
func (r *resampler) smooth(piece []int32, j int) (lat, lon float64) {
	p := &r.points[piece[j]]
	y, x, n := 0.0, 0.0, 1.0
	for w := 1; w <= j && j+w < len(piece); w++ {
		a, b := &r.points[piece[j-w]], &r.points[piece[j+w]]
		d := r.metres(piece[j-w], piece[j+w])
		if b.S-p.S > trackSmoothS || p.S-a.S > trackSmoothS || d > 2*trackNoiseM {
			break
		}
		if d <= trackNoiseM {
			y += a.LatDeg + b.LatDeg - 2*p.LatDeg
			x += turn(a.LonDeg-p.LonDeg) + turn(b.LonDeg-p.LonDeg)
			n += 2
		}
	}
	return p.LatDeg + y/n, p.LonDeg + x/n
}

// turn brings a difference of longitudes across the date line into ±180°.
func turn(deg float64) float64 {
	switch {
	case deg > 180:
		return deg - 360
	case deg < -180:
		return deg + 360
	}
	return deg
}

// trackMetres returns the distance of two near points on the WGS 84 ellipsoid,
// in metre, from latitudes and longitudes in degrees.
//
//	s² = (M·Δφ)² + (N·cos φ·Δλ)²                (1)
//	N = a/√(1 − e²·sin²φ), M = N·(1 − e²)/(1 − e²·sin²φ)  (2)
//
// with the radii of curvature M and N at the mean latitude φ. Between 70° S and
// 70° N within 1e-6 of the geodesic up to 10 km and 1e-4 up to 100 km. Source:
// a and 1/f of NIMA TR8350.2 (WGS 84); (2) is Torge, Geodesy, section 4.1, from
// memory. Checked: TestTrackMetres.
func trackMetres(lat0, lon0, lat1, lon1 float64) float64 {
	const (
		a  = 6378137.0         // m
		f  = 1 / 298.257223563 // flattening
		e2 = f * (2 - f)       // eccentricity squared
	)
	sin, cos := detmath.Sincos((lat0 + lat1) / 2)
	w := 1 - e2*sin*sin
	n := a / detmath.Sqrt(w) // (2)
	north := n * (1 - e2) / w * (lat1 - lat0) * detmath.Degree
	east := n * cos * turn(lon1-lon0) * detmath.Degree
	return detmath.Sqrt(north*north + east*east) // (1)
}
