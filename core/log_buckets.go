package core

import (
	"math"

	"spareamps/core/detmath"
	"spareamps/core/rig"
)

const (
	logMaxObservations = 1500
	logMaxCells        = 8192 // enough that a base once given up could not have sufficed
)

// The lengths of buckets, in s. Those of logBases are multiples of one another;
// any other is one of the base before it.
var (
	logLengths = [...]float64{10, 20, 30, 60, 120, 300, 600, 1200, 1800, 3600, 7200, 14400, 43200}
	logBases   = [...]float64{10, 60, 300, 1800, 14400, 43200}
)

// A logBucket is what is known of the intervals that end in one stretch of time.
type logBucket struct {
	piece, index int
	lastedS      float64
	endS         float64
	weight, sum  [logMeans]float64 // s; value·s
	reading, at  [4]float64        // inlet to plates
	startSoc     float64
	endSoc       float64
	socAt        float64
	from, to     int
	form         byte
}

// logBuckets gathers a log in stretches of a base, which grows with it, so that
// memory does not.
type logBuckets struct {
	baseS   float64
	list    []logBucket
	piece   int
	started bool
	startS  float64 // of the piece
	dropped int
}

// newLogBuckets makes room for a text of so many bytes, of ten rows a bucket.
func newLogBuckets(bytes int) logBuckets {
	return logBuckets{baseS: logLengths[0], list: make([]logBucket, 0, min(logMaxCells, bytes/200+16))}
}

// begin has the next interval begin a piece.
func (b *logBuckets) begin() {
	b.piece++
	b.started = false
}

// current is the bucket of the last interval; nil before the first of a piece.
func (b *logBuckets) current() *logBucket {
	if !b.started {
		return nil
	}
	return &b.list[len(b.list)-1]
}

// cell finds the bucket of an interval.
func (b *logBuckets) cell(from, to, soc float64) *logBucket {
	if !b.started {
		b.started, b.startS = true, from
	}
	for {
		index := b.index(to)
		if n := len(b.list); n > 0 && b.list[n-1].piece == b.piece && b.list[n-1].index == index {
			return &b.list[n-1]
		}
		if len(b.list) < logMaxCells {
			none := math.NaN()
			b.list = append(b.list, logBucket{piece: b.piece, index: index, reading: [4]float64{none, none, none, none}, startSoc: soc, endSoc: none})
			return &b.list[len(b.list)-1]
		}
		b.coarsen()
	}
}

// index is the bucket that an interval ends in; its own end belongs to it, and
// what a time of many digits was rounded by.
func (b *logBuckets) index(endS float64) int {
	return int(-detmath.Floor(1e-6-(endS-b.startS)/b.baseS)) - 1
}

// coarsen makes room: by the next base, at last by forgetting the older half.
func (b *logBuckets) coarsen() {
	for _, s := range logBases {
		if s > b.baseS {
			b.gather(s)
			return
		}
	}
	b.drop(logMaxCells / 2)
}

func (b *logBuckets) drop(n int) {
	b.dropped += n
	b.list = b.list[:copy(b.list, b.list[n:])]
}

// gather makes buckets of another length, a multiple of the base.
func (b *logBuckets) gather(lengthS float64) {
	by := int(lengthS / b.baseS)
	n := 0
	for i := range b.list {
		c := b.list[i]
		c.index /= by
		if n > 0 && b.list[n-1].piece == c.piece && b.list[n-1].index == c.index {
			b.list[n-1].add(&c)
			continue
		}
		b.list[n] = c
		n++
	}
	b.list, b.baseS = b.list[:n], lengthS
}

// count is how many buckets of another length there would be.
func (b *logBuckets) count(lengthS float64) (n int) {
	by := int(lengthS / b.baseS)
	for i := range b.list {
		if i == 0 || b.list[i-1].piece != b.list[i].piece || b.list[i-1].index/by != b.list[i].index/by {
			n++
		}
	}
	return n
}

// add joins the bucket that follows.
func (c *logBucket) add(d *logBucket) {
	c.lastedS += d.lastedS
	for f := range c.sum {
		c.weight[f] += d.weight[f]
		c.sum[f] += d.sum[f]
	}
	for f, v := range d.reading {
		if v == v {
			c.reading[f], c.at[f] = v, d.at[f]
		}
	}
	if c.startSoc != c.startSoc && c.endSoc != c.endSoc {
		c.startSoc = d.startSoc
	}
	if d.endSoc == d.endSoc {
		c.endSoc, c.socAt = d.endSoc, d.socAt
	}
	c.endS, c.from, c.to, c.form = d.endS, d.from, d.to, d.form
}

// readings takes what was read in a row that ends an interval of the bucket.
func (c *logBucket) readings(w *logRow) {
	for f := range c.reading {
		if v := w.value[logInletC+f]; v == v {
			c.reading[f], c.at[f] = v, w.s
		}
	}
	if v := w.value[logSoc]; v == v {
		c.endSoc, c.socAt = v, w.s
	}
}

// observations makes them of the shortest buckets that are few enough.
func (r *logReader) observations() []rig.Observation {
	b := &r.buckets
	if len(b.list) == 0 {
		return nil
	}
	for _, s := range logLengths {
		if by := s / b.baseS; by == detmath.Floor(by) && by >= 1 && (b.count(s) <= logMaxObservations || s == logLengths[len(logLengths)-1]) {
			b.gather(s)
			break
		}
	}
	if n := len(b.list) - logMaxObservations; n > 0 {
		b.drop(n)
	}
	r.rep.Dropped, r.rep.BucketS = b.dropped, b.baseS
	socUnit := 1.0
	if r.bareSoc && r.largeSoc > 1 {
		socUnit = 0.01
	}
	var means [logMeans]*Field
	for f := logEngineRpm; f < logMeans; f++ {
		means[f] = logInput(logFieldNames[f])
	}
	at := logInput("at")
	rows := make([]rig.Observation, len(b.list))
	for i := range rows {
		c := &b.list[i]
		o := &rows[i]
		c.observe(o, &means, socUnit, len(r.rep.Derived) > 0)
		if !r.infrared && (read(o.CaseC) || read(o.CoreC) || read(o.PlatesC)) {
			o.Thermometer = "contact"
		}
		o.At = logWhen(at, r.text[c.from:c.to], c.endS, c.form)
		o.Begins = "warm"
		if i > 0 && b.list[i-1].piece == c.piece {
			o.Begins = "before"
		}
		r.rep.CoveredMin += o.Minutes
	}
	return rows
}

// observe fills in an observation, within what the table of inputs takes and
// what goes together there.
func (c *logBucket) observe(o *rig.Observation, means *[logMeans]*Field, socUnit float64, derived bool) {
	o.EverythingOn = "no"
	o.Minutes = c.lastedS / 60
	for f, to := range [logMeans]*float64{logEngineRpm: &o.EngineRpm, logSpeedKmh: &o.SpeedKmh, logAmbientC: &o.AmbientC, logAltitudeM: &o.AltitudeM,
		logVehicleLoadsW: &o.VehicleLoadsW, logSettingW: &o.SettingW, logOutputA: &o.OutputA, logBusV: &o.BusV, logChargerV: &o.ChargerV, logChargerInputA: &o.ChargerInputA} {
		if to == nil || !(c.weight[f] > 0) {
			continue
		}
		v := c.sum[f] / c.weight[f]
		k := means[f]
		if f < logConditions {
			v = detmath.Min(detmath.Max(v, k.Min), k.Max) // rounding may have left it
		} else if k.take(v) != "" {
			continue
		}
		*to = v
	}
	for f, to := range [...]*float64{&o.InletC, &o.CaseC, &o.CoreC, &o.PlatesC} {
		*to = math.NaN()
		if c.endS-c.at[f] <= logCarryS && c.reading[f] >= o.AmbientC {
			*to = c.reading[f]
		}
	}
	if v := c.startSoc * socUnit; v >= 0.001 && v <= 1 {
		o.StartSoc = v
	}
	if v := c.endSoc * socUnit; v >= 0.001 && v <= 1 && o.StartSoc > 0 && c.endS-c.socAt <= logCarryS {
		o.EndSoc = v
	}
	if o.ChargerV > o.BusV {
		o.ChargerV = 0
	}
	if o.SettingW == 0 || derived {
		o.ChargerInputA = 0 // a setting worked out of these amps would only confirm itself
	}
}
