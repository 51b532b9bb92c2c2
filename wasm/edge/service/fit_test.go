package service

import (
	"encoding/json"
	"strings"
	"testing"

	"spareamps/core"
	"spareamps/core/rig"
)

// rowsOf is a request with so many rows of observations, all the same.
func rowsOf(n int, row string) string {
	rig := `{"alternator":{"rated_current_A":90},"observations":[` + strings.Repeat(row+",", n-1) + row + `]}`
	return `{"rig":` + rig + `,"moment":{"engine_rpm":1500,"ambient_C":20}}`
}

func TestSteps(t *testing.T) {
	row := func(begins string, minutes float64) rig.Observation {
		return rig.Observation{Begins: begins, Minutes: minutes, EngineRpm: 1}
	}
	for _, c := range []struct {
		row  rig.Observation
		want int
	}{
		{row("before", 0), 3},
		{row("before", 1), 4},
		{row("before", 5), 4},
		{row("before", 5.01), 5},
		{row("warm", 30), 16},
		{row("cold", 179), 46},
		{row("cold", 180), 46},
		{row("cold", 1440), 46},
		{rig.Observation{Begins: "before", Minutes: 1440}, 291},
	} {
		if got := Steps([]rig.Observation{c.row, c.row}); got != 2*c.want {
			t.Errorf("two rows, %s, %v min: got %d steps, want %d", c.row.Begins, c.row.Minutes, got, 2*c.want)
		}
	}
}

// What a fit may have is the last that is answered; the next says what was
// counted and what is allowed.
func TestStepsAreBounded(t *testing.T) {
	const row = `{"begins":"warm","minutes":20,"engine_rpm":1400,"speed_kmh":20,"ambient_C":30,"core_C":85}` // 14 steps
	s := New(Options{MaxSteps: 3 * 14})
	if r := do(t, s, "POST", "/v1/fit", jsonType, []byte(rowsOf(3, row))); r.StatusCode != 200 {
		t.Errorf("at the bound: got %d %s", r.StatusCode, text(t, r))
	}
	p := problemOf(t, do(t, s, "POST", "/v1/fit", jsonType, []byte(rowsOf(4, row))))
	var list []core.Problem
	if err := json.Unmarshal(p.Problems, &list); err != nil || len(list) != 1 {
		t.Fatalf("got %s, %v", p.Problems, err)
	}
	if q := list[0]; p.Status != 413 || p.Code != "too_many_steps" || q.Field != "rig.observations" || q.Value != "56" || q.Allowed != "at most 42" {
		t.Errorf("got %d %+v", p.Status, q)
	}
}
