package core

// sampleSize is the number of plausible vehicles the confidence counts over.
const sampleSize = 128

// normalQuantile holds the quantiles of the standard normal distribution at
// (k + ½)/128, k = 64 to 127; the lower half is their mirror image.
//
// Code of sample_test.go recomputes it.
var normalQuantile = [sampleSize / 2]float64{
	0.0097916732, 0.0293787757, 0.0489771572, 0.0685943705, 0.0882380194, 0.1079157795,
	0.1276354191, 0.1474048216, 0.1672320084, 0.1871251622, 0.2070926527, 0.2271430625,
	0.2472852153, 0.2675282061, 0.2878814328, 0.3083546313, 0.3289579126, 0.3497018036,
	0.3705972911, 0.3916558711, 0.4128896014, 0.4343111612, 0.4559339156, 0.4777719889,
	0.4998403449, 0.5221548776, 0.5447325130, 0.5675913235, 0.5907506581, 0.6142312891,
	0.6380555809, 0.6622476825, 0.6868337486, 0.7118421959, 0.7373040004, 0.7632530437,
	0.7897265199, 0.8167654153, 0.8444150774, 0.8727258946, 0.9017541138, 0.9315628300,
	0.9622231953, 0.9938159079, 1.0264330631, 1.0601804794, 1.0951806528, 1.1315765584,
	1.1695366102, 1.2092612317, 1.2509917155, 1.2950224067, 1.3417178411, 1.3915374880,
	1.4450725798, 1.5031029431, 1.5666885861, 1.6373253828, 1.7172281175, 1.8098922385,
	1.9213507743, 2.0635278983, 2.2662268092, 2.6600674686,
}

// lattice is a shifted rank-1 lattice: point i has, for unknown j, the
// quantile (i·step[j] + shift[j]) mod 128. Each unknown runs through all 128
// quantiles once, and the points fill the space of all more evenly than chance
// would. Found by search (sample_test.go): of the candidates tried, the one
// whose ceilings are safe for nearest the share they say, over varied rigs.
var lattice = [unknowns]struct{ step, shift uint8 }{
	{25, 106}, {45, 115}, {15, 7}, {19, 75}, {7, 3}, {81, 109}, {93, 57},
	{111, 120}, {99, 125}, {59, 120}, {63, 110}, {85, 103}, {53, 127}, {67, 94},
}

// sampleValue returns unknown j's standard normal value at point i.
func sampleValue(i, j int) float64 {
	return normalAt((i*int(lattice[j].step) + int(lattice[j].shift)) & (sampleSize - 1))
}

// normalAt returns the sample's k-th smallest standard normal value.
func normalAt(k int) float64 {
	if k >= sampleSize/2 {
		return normalQuantile[k-sampleSize/2]
	}
	return -normalQuantile[sampleSize/2-1-k]
}

// tolerated returns how many vehicles of the sample may fall below a ceiling
// of a confidence: at most the share 1 − confidence.
func tolerated(confidence float64) int {
	return int((1-confidence)*sampleSize + 1e-9)
}

// kth returns the k-th smallest (from 0) of v, which it reorders.
func kth(v []float64, k int) float64 {
	lo, hi := 0, len(v)-1
	for lo < hi {
		p := v[(lo+hi)/2]
		i, j := lo, hi
		for i <= j {
			for v[i] < p {
				i++
			}
			for v[j] > p {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return v[k]
		}
	}
	return v[k]
}
