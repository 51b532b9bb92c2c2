package core

import (
	"fmt"
	"testing"

	"spareamps/core/conductor"
	"spareamps/core/detmath"
	"spareamps/core/internal/near"
	"spareamps/core/limit"
)

// A vehicle at its own ceiling meets the limit that it names and passes none: by
// its steady point there.
func TestOwnCeilingMeetsItsLimit(t *testing.T) {
	met := [limit.All]int{}
	for _, r := range trials(21, 150, 0.05) {
		for i := 0; i < sampleSize; i += 16 {
			v := &r.st.sample[i]
			w := r.w
			c, o := v.limits(r.st, &r.now, &w)
			a := c.least()
			if a <= 0 || a >= never {
				continue
			}
			lim := c.lowest()
			met[lim]++
			total := a + r.now.otherA(v)
			p, available := o.carry(total)
			what := fmt.Sprintf("%s at %.2f A", limit.Table[lim%limit.Count].Name, a)
			if over, node := r.beyond(&o, &p.t, p.out.a); over > 0.01 {
				t.Errorf("%s: node %d passes its limit by %.3f K\n%s", what, node, over, r.q.JSON())
			}
			near.Abs(t, what+": carried in A", p.out.a, total, 1e-3+1e-5*total)
			if p.out.a > (1-outputReserve)*available*(1+1e-4)+1e-3 {
				t.Errorf("%s: %.3f A of %.3f A leave no tenth in hand\n%s", what, p.out.a, available, r.q.JSON())
			}
			l := o.losses(&p)
			shaft := o.busV*p.out.a + l.Total()
			if r.st.beltW > 0 && shaft > r.st.beltW*(1+1e-4) {
				t.Errorf("%s: the belt carries %.1f W of %.1f W\n%s", what, shaft, r.st.beltW, r.q.JSON())
			}
			switch lim {
			case limit.Winding:
				near.Abs(t, what+": winding in °C", p.t[winding], r.limitC(winding, o.inletC), 0.02)
			case limit.Rotor:
				near.Abs(t, what+": rotor in °C", p.t[rotor], r.limitC(rotor, o.inletC), 0.02)
			case limit.Rectifier:
				near.Abs(t, what+": junction in °C", p.t[plates]+o.junctionPerA()*p.out.a, r.st.junctionC, 0.02)
			case limit.Output:
				near.Share(t, what+": share of the output", p.out.a, (1-outputReserve)*detmath.Min(available, r.st.guard.mostA), 1e-3)
			case limit.Case:
				near.Abs(t, what+": case in °C", o.inletC+caseShare*(p.t[iron]-o.inletC), r.st.guard.caseC, 0.02)
			case limit.Belt:
				near.Share(t, what+": shaft power", shaft, r.st.beltW, 1e-4)
			}
			if r.st.hasLead {
				ld := &r.st.lead
				if got := ld.ConductorC(a, o.leadC); got > ld.InsulationC+0.01 && o.leadC < ld.InsulationC {
					t.Errorf("%s: conductor at %.1f °C\n%s", what, got, r.q.JSON())
				}
				if got := a * ld.Ohm(a, o.leadC); got > ld.MaxDropV+1e-6 || v.v-got < r.st.charger.MinInputV-1e-6 {
					t.Errorf("%s: the lead drops %.3f V\n%s", what, got, r.q.JSON())
				}
				if ld.FuseA > 0 && a > conductor.FuseContinuous(ld.FuseA, o.airC)+1e-9 {
					t.Errorf("%s: fuse\n%s", what, r.q.JSON())
				}
			}
			if r.st.charger.Given {
				if r.st.charger.MaxInputA > 0 && a > r.st.charger.MaxInputA+1e-9 {
					t.Errorf("%s: charger's input\n%s", what, r.q.JSON())
				}
				if w := v.outputAt(r.st, a, o.leadC); w > r.st.charger.MaxOutputW*(1+1e-6) {
					t.Errorf("%s: charger's output %v W\n%s", what, w, r.q.JSON())
				}
			}
			if r.st.house.Given {
				if w := v.outputAt(r.st, a, o.leadC) - r.now.houseW; w > r.now.acceptA*houseChargeV(&r.st.house)*(1+1e-6)+1e-6 {
					t.Errorf("%s: the house battery is given %v W\n%s", what, w, r.q.JSON())
				}
			}
		}
	}
	t.Logf("binding limits met: %v", met)
	for i, n := range met {
		if n == 0 && i != limit.CableHeat {
			t.Errorf("no vehicle drawn meets %s: the draws are dull", limit.Table[i%limit.Count].Name)
		}
	}
}
