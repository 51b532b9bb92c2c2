package core

import (
	"math"
	"strconv"
)

// labelRequest returns a vehicle known by little more than its alternator's label: an
// hour after the start, with an idle speed of 750 rpm and a charger of 5000 W, which
// never limits. A load that is not a positive number means the usual load.
func labelRequest(classV, ratedA, loadsW, ambientC, engineRpm, speedKmh float64) (Request, error) {
	q := NewRequest()
	var err error
	set := func(path string, v float64) {
		if e := q.Set(path, strconv.FormatFloat(v, 'g', -1, 64)); e != nil {
			err = e
		}
	}
	set("rig.alternator.class_V", classV)
	set("rig.alternator.rated_current_A", ratedA)
	set("rig.engine.idle_rpm", 750)
	set("rig.charger.max_output_W", 5000)
	if loadsW > 0 {
		set("moment.vehicle_loads_W", loadsW)
	}
	set("moment.ambient_C", ambientC)
	set("moment.engine_rpm", engineRpm)
	set("moment.speed_kmh", speedKmh)
	set("moment.minutes_since_start", 60)
	return q, err
}

var labelNames = []string{"class_V", "rated_A", "vehicle_loads_W", "ambient_C", "engine_rpm", "speed_kmh"}

// labelAnswer returns the whole answer for such a vehicle; its watts are NaN if the
// request is refused.
func labelAnswer(a []float64) *Answer {
	q, err := labelRequest(a[0], a[1], a[2], a[3], a[4], a[5])
	var answer *Answer
	if err == nil {
		answer, err = Ceiling(&q)
	}
	if err != nil {
		nan := Setting{OutputW: math.NaN()}
		return &Answer{Ceiling: nan, Nominal: nan, Advice: nan}
	}
	return answer
}
