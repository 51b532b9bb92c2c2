package core

import (
	"strings"
	"testing"
)

// What does not go together in observations, and in what was learned, is refused
// by its field, in a request and before the first row of a block.
func TestObservationConflicts(t *testing.T) {
	const row = `"minutes":30,"engine_rpm":1400,"ambient_C":30`
	for field, rig := range map[string]string{
		"rig.observations[0].begins":          `"observations":[{"begins":"before",` + row + `}]`,
		"rig.observations[0].end_soc":         `"observations":[{"end_soc":0.6,` + row + `}]`,
		"rig.observations[1].charger_V":       `"observations":[{` + row + `},{"bus_V":13.2,"charger_V":13.5,` + row + `}]`,
		"rig.observations[0].charger_V":       `"observations":[{"charger_V":13.5,` + row + `}]`,
		"rig.observations[0].charger_input_A": `"observations":[{"charger_input_A":20,` + row + `}]`,
		"rig.observations[0].rest_V":          `"observations":[{"rest_V":12.6,` + row + `}]`,
		"rig.observations[0].crank_V":         `"observations":[{"crank_V":10.6,` + row + `}]`,
		"rig.observations[1].rest_V":          `"observations":[{` + row + `},{"rest_V":12.6,"minutes":59,"engine_rpm":0,"ambient_C":30}]`,
		"rig.observations[1].crank_V":         `"observations":[{` + row + `},{"rest_V":10.6,"crank_V":12.6,"minutes":480,"engine_rpm":0,"ambient_C":30}]`,
		"rig.learned.spread[0].by":            `"learned":{"spread":[{"unknown":"air_film","by":"air_flow","value":0.5}]}`,
		"rig.learned.spread[1].by":            `"learned":{"spread":[{"unknown":"air_flow","by":"air_film","value":0.5},{"unknown":"air_film","by":"air_film","value":0}]}`,
	} {
		request := `{"rig":{"alternator":{"rated_current_A":120},` + rig + `},"moment":{"engine_rpm":1400,"ambient_C":36}}`
		_, err := Decode([]byte(request))
		e, ok := err.(*InputError)
		if !ok || len(e.Problems) != 1 || e.Problems[0].Field != field || e.Problems[0].Code != "conflict" {
			t.Errorf("%s: got %v, want one conflict at %s", rig, err, field)
		}
		for _, columns := range []string{"moment.ambient_C", "rig.alternator.fouling"} {
			if _, problem := NewBlock([]byte(request), []byte(columns+"\n\nceiling.input_A\n")); !strings.Contains(string(problem), `"`+field+`"`) {
				t.Errorf("a block over %s, %s: got %s, want a conflict at %s", columns, rig, problem, field)
			}
		}
	}
}
