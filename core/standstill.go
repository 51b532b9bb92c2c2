package core

const (
	evenMinutes = 3.0     // time constant in which a standing machine evens out; engineering estimate
	longStood   = 24 * 60 // min, after which all has the air's temperature
)

// stand takes the parts of a machine whose engine is off through some minutes:
// they even out, and the whole cools to the bay's air without a fan.
//
//	(C/h + G)·T' = C/h·T + G·T_bay     (1)
//
// C is the capacity of all parts, G what still air takes: both grow alike with
// the machine. Implicit, of order 1: for steps of a minute or two.
func (t *temperatures) stand(bayC, minutes float64) {
	const all = windingCapacity + ironCapacity + platesCapacity + rotorCapacity
	const still = ironToBay + platesToBay + rotorToBay // W/K without a fan
	mean := (windingCapacity/all)*t[winding] + (ironCapacity/all)*t[iron] + (platesCapacity/all)*t[plates] + (rotorCapacity/all)*t[rotor]
	k := minutes * (60 * still / all)
	next := (mean + k*bayC) / (1 + k) // (1)
	f := evenMinutes / (minutes + evenMinutes)
	t[winding], t[iron] = next+(t[winding]-mean)*f, next+(t[iron]-mean)*f
	t[plates], t[rotor] = next+(t[plates]-mean)*f, next+(t[rotor]-mean)*f
}
