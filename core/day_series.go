package core

// A series is a day step by step, or in longer steps: powers and temperatures
// are means, states of charge those at a step's end.
type series struct {
	rows int
	at   []float64 // end of the step, minutes since midnight of the first day
	cols [seriesColumns][]float64
}

// Columns of a series.
const (
	colHouseSoc = iota
	colStarterSoc
	colStarterV
	colChargeW
	colAllowedW
	colCeilingW
	colAlternatorA
	colWindingC
	colAmbientC
	colSunW
	colHouseW
	colVehicleW
	colSpeedKmh
	colEngineRpm
	seriesColumns
)

func (x *series) fill(p *planner, tr *trace) {
	k := int(p.q.Day.SeriesMin/p.stepMin + 0.5)
	if k == 0 {
		return
	}
	x.rows = (len(p.steps) + k - 1) / k
	x.at = make([]float64, x.rows)
	for c := range x.cols {
		x.cols[c] = make([]float64, x.rows)
	}
	for row := range x.rows {
		from, end := row*k, min(row*k+k, len(p.steps))
		var sum [seriesColumns]float64
		for i := from; i < end; i++ {
			s := &p.steps[i]
			allowed, ceiling := 0.0, 0.0
			if s.stretch >= 0 {
				allowed = p.allowed[s.stretch]
			}
			if s.engine {
				ceiling, _ = p.ceilingW(i)
			}
			for c, v := range [...]float64{0, 0, tr.starterV[i], tr.chargeW[i], allowed, ceiling, tr.alternatorA[i], p.windingC[i],
				s.ambientC, s.sunW, s.houseW, s.vehicleW, s.kmh, s.rpm} {
				sum[c] += v
			}
		}
		for c := range sum {
			x.cols[c][row] = sum[c] / float64(end-from)
		}
		x.cols[colHouseSoc][row] = tr.houseSoc[end-1]
		x.cols[colStarterSoc][row] = tr.starterSoc[end-1]
		x.at[row] = p.end(end - 1)
	}
}
