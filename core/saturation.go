package core

import "spareamps/core/detmath"

// saturationStep is the spacing of the nodes below, in field share.
const saturationStep = 0.125

// maxField is the largest field share the curves cover.
const maxField = 2.0

// A node of a saturation curve: value and slope against field share.
type node struct{ y, slope float64 }

// fluxCurve is the open-circuit flux linkage against field current, both as
// shares of full field (1 = 4.75 A on the machine measured): the mean over
// four speeds, which agree within 3 % above a field share of 0.3 and within 6 %
// at 0.2. Remanence is neglected. Above 1.05 it is extended by x^0.12 (engineering estimate).
//
// Source: Sarafianos et al. 2015, open-circuit measurements of a 180 A
// claw-pole machine. Checked: testdata/sarafianos_open_circuit.csv.
var fluxCurve = [17]node{
	{0.0000, 2.1246}, {0.2545, 1.9431}, {0.4868, 1.7077}, {0.6842, 1.3190},
	{0.8257, 0.8060}, {0.9040, 0.4674}, {0.9506, 0.2778}, {0.9782, 0.1948},
	{1.0000, 0.1387}, {1.0144, 0.1085}, {1.0272, 0.0983}, {1.0390, 0.0908},
	{1.0499, 0.0841}, {1.0601, 0.0783}, {1.0696, 0.0735}, {1.0785, 0.0690},
	{1.0868, 0.0646},
}

// inductanceCurve is the synchronous inductance against field current, as
// shares of the values at full field, from the same machine. Above 1.05 it is
// extended by x^−0.6 (engineering estimate).
//
// Source: as fluxCurve. Checked: testdata/sarafianos_inductance.csv.
var inductanceCurve = [17]node{
	{1.7562, 0}, {1.7488, -0.0964}, {1.7150, -0.3878}, {1.6294, -0.7626},
	{1.5219, -1.0443}, {1.3558, -1.2848}, {1.2004, -1.0660}, {1.0837, -0.7798},
	{1.0000, -0.5944}, {0.9332, -0.4948}, {0.8756, -0.4216}, {0.8271, -0.3611},
	{0.7849, -0.3146}, {0.7481, -0.2763}, {0.7155, -0.2463}, {0.6863, -0.2196},
	{0.6605, -0.1935},
}

// curveAt returns a curve's value and slope at field share x by cubic Hermite
// interpolation; x is clamped to [0, maxField].
func curveAt(c *[17]node, x float64) (y, slope float64) {
	i, t := saturationCell(x)
	return hermite(&c[i&15], &c[i&15+1], t)
}

// saturationCell returns the cell of a field share and the share of it passed.
func saturationCell(x float64) (i int, t float64) {
	u := x * (1 / saturationStep)
	if u < 0 {
		u = 0
	}
	if u > 16*(1-detmath.RoundOff) {
		u = 16 * (1 - detmath.RoundOff)
	}
	i = int(int32(u))
	return i, u - float64(i)
}

// hermite returns the cubic through two nodes, and its slope, at the share t of
// the way between them.
//
//	y = a + t·(m0 + t·((3d − 2m0 − m1) + t·(m0 + m1 − 2d)))
func hermite(a, b *node, t float64) (y, slope float64) {
	d := b.y - a.y
	m0, m1 := a.slope*saturationStep, b.slope*saturationStep
	c2 := 3*d - 2*m0 - m1
	c3 := m0 + m1 - 2*d
	return a.y + t*(m0+t*(c2+t*c3)), (m0 + t*(2*c2+t*3*c3)) * (1 / saturationStep)
}

// A saturationCubic is both curves over one cell, as polynomials of the share of
// it passed: flux first, then inductance.
type saturationCubic struct{ f0, f1, f2, f3, l0, l1, l2, l3 float64 }

// saturationCells are fluxCurve and inductanceCurve. TestSaturationCells makes
// them.
var saturationCells = [16]saturationCubic{
	{0.0, 0.265575, -0.01053749999999995, -0.0005374999999999686, 1.7562, 0.0, -0.01015000000000022, 0.0027500000000001464},
	{0.2545, 0.2428875, -0.002337499999999937, -0.00824999999999998, 1.7488, -0.01205, -0.028824999999999497, 0.007074999999999665},
	{0.4868, 0.2134625, 0.00040000000000006697, -0.016462500000000047, 1.715, -0.048475, -0.06452500000000039, 0.027400000000000257},
	{0.6842, 0.164875, -0.006000000000000116, -0.01737499999999992, 1.6294, -0.095325, -0.0013124999999998, -0.010862500000000136},
	{0.8257, 0.10075, -0.0250249999999999, 0.0025749999999999384, 1.5219, -0.1305375, -0.07662500000000042, 0.04106250000000028},
	{0.904, 0.058425, -0.01177500000000007, -4.999999999995286e-05, 1.3558, -0.1606, -0.011749999999999955, 0.016949999999999965},
	{0.9506, 0.034725, -0.011000000000000124, 0.0038750000000000867, 1.2004, -0.13325, 0.013875000000000609, 0.0026749999999995944},
	{0.9782, 0.02435, -0.0006374999999998743, -0.0019125000000000808, 1.0837, -0.097475, 0.018149999999999694, -0.004374999999999796},
	{1.0, 0.0173375, -0.005037500000000092, 0.00210000000000006, 1.0, -0.0743, 0.0100500000000001, -0.0025500000000000522},
	{1.0144, 0.0135625, -0.001012500000000232, 0.0002500000000001529, 0.9332, -0.06185, 0.0036000000000000476, 0.00064999999999997},
	{1.0272, 0.0122875, -0.0005249999999999023, 3.749999999993342e-05, 0.8756, -0.0527, 0.005037499999999695, -0.0008374999999997967},
	{1.039, 0.01135, -0.0005124999999996053, 6.249999999973638e-05, 0.8271, -0.0451375, 0.0030000000000002802, -6.25000000001874e-05},
	{1.0499, 0.0105125, -0.0002125000000000373, -9.999999999997511e-05, 0.7849, -0.039325, 0.0027874999999998318, -0.0002624999999998878},
	{1.0601, 0.0097875, -0.0002624999999998063, -2.5000000000129086e-05, 0.7481, -0.0345375, 0.0020625000000001094, -0.0001250000000000695},
	{1.0696, 0.0091875, -0.00030000000000027574, 1.2500000000185973e-05, 0.7155, -0.0307875, 0.0014249999999999853, 0.00016250000000000986},
	{1.0785, 0.008625, -0.00042500000000007983, 0.00010000000000005144, 0.6863, -0.02745, 0.0016874999999998627, -3.74999999999126e-05},
}
