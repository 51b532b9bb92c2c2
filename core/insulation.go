package core

import "spareamps/core/detmath"

// An insulation class, by its letter.
type insulationClass struct {
	letter   string
	hottestC float64 // IEC 60085 thermal class
	hotSpotK float64 // hottest spot above the winding's mean: IEC 60034-1 (class less 40 °C ambient and the rise by resistance); N and R: engineering estimate
}

var insulationClasses = [...]insulationClass{
	{"A", 105, 5},
	{"E", 120, 5},
	{"B", 130, 10},
	{"F", 155, 10},
	{"H", 180, 15},
	{"N", 200, 20},
	{"R", 220, 20},
}

// lifeStepK halves the life of insulation: Montsinger's rule, 8 to 12 K in
// practice. Value from memory.
const lifeStepK = 10

// insulation returns the class with a letter, H if there is none such.
func insulation(letter string) insulationClass {
	for _, c := range insulationClasses {
		if c.letter == letter {
			return c
		}
	}
	return insulation("H")
}

// windingLimitC is the mean winding temperature the ceiling keeps to, in °C:
// the class, less the hot-spot allowance, less one life step in hand. Class H:
// 180 − 15 − 10 = 155 °C.
func (c insulationClass) windingLimitC() float64 { return c.hottestC - c.hotSpotK - lifeStepK }

// rotorLimitC is the mean field-winding temperature the ceiling keeps to, in
// °C: the class, less the hot-spot allowance, without a life step in hand.
// Engineering estimate.
func (c insulationClass) rotorLimitC() float64 { return c.hottestC - c.hotSpotK }

// ageing returns how fast insulation ages at a mean winding temperature,
// against its ageing at the design value: 2 means half the life.
//
//	2^((t − t_design)/10 K)     (1)
func (c insulationClass) ageing(windingC float64) float64 {
	return detmath.Exp(0.6931471805599453 * (windingC - c.windingLimitC()) / lifeStepK) // (1)
}
