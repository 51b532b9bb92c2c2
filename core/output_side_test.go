package core

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"spareamps/core/limit"
	"spareamps/core/rig"
)

// roomy is the demo at speed, with an alternator, a lead and a battery beside
// which an 800 W charger is small.
func roomy() Request {
	q := Demo()
	q.Rig.Alternator = rig.Alternator{RatedCurrentA: 400, RatedSpeedRpm: 6000, IdleSpeedRpm: 1800, ClassV: "12", PolePairs: 6, PulleyRatio: 2.6, InsulationClass: "H"}
	q.Rig.Cable.AreaMM2, q.Rig.Cable.LengthM, q.Rig.Cable.FuseA, q.Rig.Cable.InsulationC = 120, 2, 300, 150
	q.Rig.Charger.MaxOutputW, q.Rig.Charger.MaxInputA, q.Rig.Charger.StepW = 800, 0, 20
	q.Rig.HouseBattery.CapacityAh = 400
	q.Moment.EngineRpm, q.Moment.SpeedKmh, q.Moment.AmbientC = 3000, 80, 20
	q.Moment.HouseBatteryC = 35
	inputs.setNum(&q, inputs.mustIndex("moment.house_battery_C"), 35)
	return q
}

// A charger rated 800 W may be set to 800 W if nothing else limits it, whatever is
// known about its efficiency, at every confidence and for any lead.
func TestChargerRatingInFull(t *testing.T) {
	for _, confidence := range []float64{0.5, 0.8, 0.95, 0.99} {
		for _, efficiency := range []float64{0, 0.8, 0.97} {
			for _, watts := range []float64{800, 790, 1001} {
				q := roomy()
				q.Confidence, q.Rig.Charger.Efficiency, q.Rig.Charger.MaxOutputW = confidence, efficiency, watts
				want := roundDown(watts, q.Rig.Charger.StepW)
				a := answered(t, &q)
				for name, s := range map[string]Setting{"ceiling": a.Ceiling, "nominal": a.Nominal, "after_idle": a.AfterIdle} {
					if name == "after_idle" && s.OutputW < want && s.Limit != limit.ChargerOutput {
						continue // at idle even that alternator may give less
					}
					if s.OutputW != want || s.Limit != limit.ChargerOutput {
						t.Errorf("rated %v W, confidence %v, efficiency %v: %s %v W by %s, want %v W by charger_output", watts, confidence, efficiency, name, s.OutputW, limit.Table[s.Limit].Name, want)
					}
				}
				if a.Limits[0].Limit != limit.ChargerOutput || a.Ceiling.InputA > a.Limits[0].InputA || a.Ceiling.DrawA > a.Ceiling.InputA+0.1 {
					t.Errorf("rated %v W: ceiling %+v, first limit %+v", watts, a.Ceiling, a.Limits[0])
				}
				for _, u := range a.Unknowns {
					if Unknowns[u.Unknown].Name == "efficiency" && u.CostA > 1e-6 {
						t.Errorf("not knowing the efficiency costs %v A of a charger at its rating", u.CostA)
					}
				}
			}
		}
	}
}

// The same holds for the acceptance of a house battery: 20 A at 13.8 V are 276 W.
func TestHouseBatteryInFull(t *testing.T) {
	q := roomy()
	q.Rig.Charger.StepW = 1
	q.Rig.HouseBattery.MaxChargeA = 20
	a := answered(t, &q)
	if a.Ceiling.OutputW != 276 || a.Ceiling.Limit != limit.HouseBattery || a.AfterIdle.OutputW != 276 {
		t.Errorf("ceiling %+v, after idling %+v: want 276 W by house_battery", a.Ceiling, a.AfterIdle)
	}
}

// A setting on the output side exceeds the limits of the input side in no more
// vehicles than the confidence allows; if the charger could do more, it is not the
// limit.
func TestOutputSideIsSafe(t *testing.T) {
	bound, joint := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		r := newTrial(drawRequest(rapidPicker{t}, 0.05))
		a := new(Answer)
		r.st.answer(&r.q, a, wantCeiling)
		if a.Ceiling.OutputW <= 0 {
			return
		}
		over := 0
		for i := range r.st.sample {
			v := &r.st.sample[i]
			c, o := v.limits(r.st, &r.now, &r.w)
			c[limit.ChargerOutput], c[limit.HouseBattery] = never, never
			if v.inputFor(a.Ceiling.OutputW, r.st.leadOrNone(), o.leadC) > c.least()*(1+1e-6)+1e-6 {
				over++
			}
		}
		if over > r.k {
			t.Errorf("%d vehicles pass a limit at %v W, tolerated %d\n%s", over, a.Ceiling.OutputW, r.k, r.q.JSON())
		}
		side := r.st.outputSide(&r.now)
		if a.Ceiling.OutputW > side.w*(1+1e-9) {
			t.Errorf("%v W, the output side allows %v\n%s", a.Ceiling.OutputW, side.w, r.q.JSON())
		}
		if inWatts(a.Ceiling.Limit) {
			bound++
			if want := r.st.inSteps(side.w); math.Abs(a.Ceiling.OutputW-want) > 1e-6 {
				t.Errorf("%s sets %v W, it allows %v\n%s", limit.Table[a.Ceiling.Limit].Name, a.Ceiling.OutputW, want, r.q.JSON())
			}
		} else if inWatts(a.Limits[0].Limit) {
			joint++
		}
	})
	t.Logf("%d bound on the output side, %d by several together", bound, joint)
}
