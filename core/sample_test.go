package core

import (
	"flag"
	"fmt"
	"math"
	"math/rand"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"spareamps/core/internal/near"
)

var searchLattice = flag.Bool("search-lattice", false, "search for a better lattice and print it")

// samplePoint returns the standard normal values of point i.
func samplePoint(i int) (z [unknowns]float64) {
	for j := range z {
		z[j] = sampleValue(i, j)
	}
	return z
}

// The quantiles are those of the normal distribution.
func TestNormalQuantiles(t *testing.T) {
	for k, got := range normalQuantile {
		want := distuv.UnitNormal.Quantile((float64(k) + sampleSize/2 + 0.5) / sampleSize)
		near.Abs(t, fmt.Sprintf("quantile %d", k), got, want, 5e-11)
	}
}

// Each unknown runs through all quantiles once, no two unknowns alike.
func TestLatticeIsLatin(t *testing.T) {
	for j := range lattice {
		seen := map[float64]bool{}
		for i := range sampleSize {
			seen[sampleValue(i, j)] = true
		}
		if len(seen) != sampleSize {
			t.Errorf("unknown %s takes %d values, want %d", Unknowns[j].Name, len(seen), sampleSize)
		}
		for m := range j {
			if lattice[m].step == lattice[j].step {
				t.Errorf("%s and %s move together", Unknowns[m].Name, Unknowns[j].Name)
			}
		}
		if z := samplePoint(5); z[j] != sampleValue(5, j) {
			t.Errorf("samplePoint and sampleValue part at unknown %d", j)
		}
	}
}

// The rank that a confidence asks for, and its selection.
func TestTolerated(t *testing.T) {
	before := sampleSize
	for c := 0.5; c <= 0.99; c += 0.001 {
		k := tolerated(c)
		if float64(k) > (1-c)*sampleSize+1e-6 || k > before {
			t.Errorf("confidence %v tolerates %d of %d, after %d", c, k, sampleSize, before)
		}
		before = k
	}
	rng := rand.New(rand.NewSource(1))
	for range 300 {
		v := make([]float64, 1+rng.Intn(200))
		for i := range v {
			v[i] = float64(rng.Intn(50))
		}
		k := rng.Intn(len(v))
		sorted := slices.Sorted(slices.Values(v))
		if got := kth(v, k); got != sorted[k] {
			t.Fatalf("%d-th smallest is %v, want %v", k, got, sorted[k])
		}
	}
}

// A crowd is many vehicles that a rig may be, by chance: the ceilings of all, in
// rising order.
type crowd struct {
	*trial
	all []float64
}

// below returns the share of vehicles whose own ceiling is below a current.
func (c *crowd) below(currentA float64) float64 {
	n, _ := slices.BinarySearch(c.all, currentA)
	return float64(n) / float64(len(c.all))
}

// quantile returns the current that is safe for a share of the vehicles.
func (c *crowd) quantile(confidence float64) float64 {
	return c.all[int((1-confidence)*float64(len(c.all)))]
}

// crowds returns the demo and n more rigs whose ceiling is uncertain, each with
// many vehicles drawn by chance.
func crowds(n, vehicles int, seed int64) []*crowd {
	p := seededPicker{rand.New(rand.NewSource(seed))}
	var list []*crowd
	add := func(q Request) {
		c := &crowd{trial: newTrial(q)}
		if c.ceiling < 3 {
			return
		}
		for range vehicles {
			var z [unknowns]float64
			for i := range z {
				z[i] = p.NormFloat64()
			}
			c.all = append(c.all, c.st.leastAt(&c.now, &c.w, &z))
		}
		slices.Sort(c.all)
		// A rating of the charger or the battery alone tells nothing of the sample.
		if c.all[len(c.all)/2]-c.all[len(c.all)/50] > 0.05*c.all[len(c.all)/2] {
			list = append(list, c)
		}
	}
	add(Demo())
	for len(list) <= n {
		q := drawRequest(p, 0)
		q.Confidence = 0.95
		add(q)
	}
	return list
}

var calibrated = []float64{0.8, 0.9, 0.95, 0.975}

// A calibration is how the sample's ceilings stand to those of the crowds at one
// confidence.
type calibration struct {
	confidence   float64
	bias, spread float64 // A, sample less crowd
	covered      float64 // share of vehicles for which the ceiling is safe, mean over rigs
	least, most  float64 // over rigs
	rms          float64 // of the coverage less the confidence
}

func calibrate(list []*crowd, ceilingOf func(c *crowd, confidence float64) float64) (out []calibration) {
	for _, conf := range calibrated {
		k := calibration{confidence: conf, least: 1}
		n := float64(len(list))
		for _, c := range list {
			got := ceilingOf(c, conf)
			d := got - c.quantile(conf)
			k.bias += d / n
			k.spread += d * d / n
			cov := 1 - c.below(got)
			if math.Abs(d) < 1e-6 {
				cov = conf // a rating sets both
			}
			k.covered += cov / n
			k.least, k.most = math.Min(k.least, cov), math.Max(k.most, cov)
			k.rms += (cov - conf) * (cov - conf) / n
		}
		k.spread, k.rms = math.Sqrt(k.spread-k.bias*k.bias), math.Sqrt(k.rms)
		out = append(out, k)
	}
	return out
}

func (k calibration) String() string {
	return fmt.Sprintf("confidence %.3f: covered %.4f (%.3f to %.3f, rms %.4f), ceiling off by %+.2f A, spread %.2f A",
		k.confidence, k.covered, k.least, k.most, k.rms, k.bias, k.spread)
}

// sampled is the ceiling of a rig by its own sample.
func sampled(c *crowd, confidence float64) float64 {
	p := &c.st.crowd
	return p.quantile(&p.least, tolerated(confidence))
}

// The ceiling is safe for the share of vehicles it says: the sample against many
// vehicles drawn by chance, over varied rigs.
func TestSampleIsCalibrated(t *testing.T) {
	n, vehicles := 30, 20000
	if testing.Short() {
		n, vehicles = 10, 4000
	}
	for _, k := range calibrate(crowds(n, vehicles, 95), sampled) {
		t.Log(k)
		if k.covered < k.confidence-0.005 || k.least < k.confidence-0.05 {
			t.Errorf("%v: want a mean within 0.005 and none below by 0.05", k)
		}
	}
}

// A candidate is a lattice like that of the sample: a step and a shift for each
// unknown.
type candidate [unknowns]struct{ step, shift int }

// least returns a rig's ceilings over a candidate's points, in rising order.
func (l *candidate) least(c *crowd) [sampleSize]float64 {
	var v [sampleSize]float64
	for i := range v {
		var z [unknowns]float64
		for j := range z {
			k := (i*l[j].step + l[j].shift) & (sampleSize - 1)
			if k >= sampleSize/2 {
				z[j] = normalQuantile[k-sampleSize/2]
			} else {
				z[j] = -normalQuantile[sampleSize/2-1-k]
			}
		}
		v[i] = c.st.leastAt(&c.now, &c.w, &z)
	}
	slices.Sort(v[:])
	return v
}

// cost is the mean square of the coverage less the confidence over rigs and
// confidences; too little coverage counts double. Where a rating sets both, as
// it does for many vehicles at once, there is nothing to miss.
func (l *candidate) cost(list []*crowd) float64 {
	sum := 0.0
	for _, c := range list {
		v := l.least(c)
		for _, conf := range calibrated {
			got := v[tolerated(conf)]
			d := 1 - c.below(got) - conf
			if math.Abs(got-c.quantile(conf)) < 1e-6 {
				continue
			}
			if d < 0 {
				d *= 2
			}
			sum += d * d
		}
	}
	return sum / float64(len(list)*len(calibrated))
}

// free says whether unknown j may take a step: no other has it, or its mirror
// image.
func (l *candidate) free(j, step int) bool {
	for m := range l {
		if m != j && (l[m].step == step || l[m].step == sampleSize-step) {
			return false
		}
	}
	return true
}

// Search for a lattice: from random ones, change the step and shift of one
// unknown at a time and keep what covers better. What is found is judged on rigs
// that the search has not seen.
//
//	go test ./core -run TestSearchLattice -search-lattice -v -timeout 1h
func TestSearchLattice(t *testing.T) {
	if !*searchLattice {
		return // a tool, not a test
	}
	rng := rand.New(rand.NewSource(2026))
	train, judge := crowds(150, 10000, 1), crowds(150, 10000, 2)
	random := func() (l candidate) {
		for j := range l {
			for l[j].step == 0 || !l.free(j, l[j].step) {
				l[j].step = 1 + 2*rng.Intn(sampleSize/2)
			}
			l[j].shift = rng.Intn(sampleSize)
		}
		return l
	}
	best, bestCost := candidate{}, math.Inf(1)
	for j := range best {
		best[j].step, best[j].shift = int(lattice[j].step), int(lattice[j].shift)
	}
	t.Logf("the sample in use: %.3e seen, %.3e unseen", best.cost(train), best.cost(judge))
	for range 6 {
		l, cost := candidate{}, math.Inf(1)
		for range 60 {
			if c := random(); c.cost(train) < cost {
				l, cost = c, c.cost(train)
			}
		}
		for stale := 0; stale < 120; stale++ {
			next := l
			j := rng.Intn(unknowns)
			next[j].shift = rng.Intn(sampleSize)
			if rng.Intn(2) == 0 {
				if step := 1 + 2*rng.Intn(sampleSize/2); next.free(j, step) {
					next[j].step = step
				}
			}
			if c := next.cost(train); c < cost {
				l, cost, stale = next, c, 0
			}
		}
		unseen := l.cost(judge)
		t.Logf("%.3e seen, %.3e unseen: %v", cost, unseen, l)
		if cost+unseen < bestCost {
			best, bestCost = l, cost+unseen
		}
	}
	t.Logf("best: %v", best)
	for _, k := range calibrate(judge, func(c *crowd, conf float64) float64 { v := best.least(c); return v[tolerated(conf)] }) {
		t.Log(k)
	}
}
