package core_test

import (
	"errors"
	"fmt"

	"spareamps/core"
	"spareamps/core/limit"
)

// slowDriving is a rig by its label, with clean vents, crawling in the heat.
func slowDriving() core.Request {
	q := core.NewRequest()
	for path, value := range map[string]string{
		"rig.alternator.rated_current_A": "120",
		"rig.alternator.idle_current_A":  "60",
		"rig.alternator.fouling":         "0",
		"moment.engine_rpm":              "1400",
		"moment.speed_kmh":               "15",
		"moment.ambient_C":               "36",
		"moment.vehicle_loads_W":         "350",
	} {
		if err := q.Set(path, value); err != nil {
			panic(err)
		}
	}
	return q
}

func ExampleCeiling() {
	q := slowDriving()
	a, err := core.Ceiling(&q)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f W: %s\n", a.Ceiling.OutputW, limit.Table[a.Ceiling.Limit].Meaning)
	// Output:
	// 557 W: the stator winding at its design temperature
}

// An Advisor answers again and again in the same memory; text goes in and out
// as it does through the module.
func ExampleAdvisor_CeilingJSON() {
	q := slowDriving()
	var d core.Advisor
	fmt.Printf("%.60s…\n", d.CeilingJSON(q.JSON()))
	fmt.Printf("%s\n", d.CeilingJSON([]byte(`{"rig":`)))
	// Output:
	// {"advice":{"output_W":294,"output_A":20.416666666666668,"dra…
	// {"error":{"code":"json","problems":[{"code":"json","field":"","value":"","allowed":"","message":"not valid json at line 1, column 8 (byte 7): the text ends where a value is due"}]}}
}

// All that is wrong is told at once.
func ExampleDecode() {
	_, err := core.Decode([]byte(`{"rig":{"alternator":{"rated_current_A":9999}},"moment":{"engine_rpm":1400,"ambiant_C":36}}`))
	var e *core.InputError
	if errors.As(err, &e) {
		for _, p := range e.Problems {
			fmt.Println(p.Code, p.Message)
		}
	}
	// Output:
	// range rig.alternator.rated_current_A is 9999, allowed is 10 to 600 A
	// unknown moment.ambiant_C is not known; did you mean moment.ambient_C?
	// missing moment.ambient_C is missing: -40 to 60 °C
}

// The gentlest setting that still fills the battery by camp.
func ExamplePlanDay() {
	q := core.Demo()
	a, err := core.PlanDay(&q)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(a.Plan.Reached, len(a.Says) > 0)
	// Output:
	// true true
}

// Many moments of one rig, column by column.
func ExampleBlock() {
	q := slowDriving()
	b, refused := core.NewBlock(q.JSON(), []byte("moment.engine_rpm\n\nceiling.output_W"))
	if refused != nil {
		fmt.Printf("%s\n", refused)
		return
	}
	rpm := []float64{900, 1400, 2000, 99999}
	out := make([]float64, b.Outputs()*len(rpm))
	b.Run(rpm, out, len(rpm))
	fmt.Println("watts:", out[:4])
	fmt.Println("status:", out[4:])
	// Output:
	// watts: [409 557 637 0]
	// status: [0 0 0 1]
}
