package core

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

const shortLog = "time_s,engine_rpm,output_A,bus_V\n0,1400,60,13.8\n30,1400,61,13.8\nx,1400,61,13.8\n60,1400,62,13.8\n"

// Conditions as text are those of ReadLog; what is no condition is refused.
func TestLogTextJSON(t *testing.T) {
	same := NoLogDefaults()
	same.AmbientC, same.AltitudeM, same.SettingW, same.ChargerEfficiency = 36, 600, 450, 0.93
	for _, c := range []struct {
		conditions string
		want       []byte
	}{
		{"", LogJSON([]byte(shortLog), NoLogDefaults())},
		{" {} ", LogJSON([]byte(shortLog), NoLogDefaults())},
		{`{"ambient_C":36,"altitude_m":6e2,"setting_W":450,"charger_efficiency":0.93}`, LogJSON([]byte(shortLog), same)},
	} {
		if got := LogTextJSON([]byte(shortLog), []byte(c.conditions)); string(got) != string(c.want) {
			t.Errorf("%q: got %s, want %s", c.conditions, got, c.want)
		}
	}
	for conditions, want := range map[string][]string{
		`[]`: {"json"}, `{`: {"json"}, `7`: {"json"}, `{"ambient_C":36,}`: {"json"}, `{"ambient_C":1.}`: {"json"}, `{} {}`: {"json"},
		`{"ambient_C":"36"}`: {"bad_input", "type ambient_C"}, `{"ambient_C":null}`: {"bad_input", "type ambient_C"},
		`{"ambient_C":1e9,"engine_rpm":-1}`: {"bad_input", "range ambient_C", "range engine_rpm"}, `{"ambient_C":1e999}`: {"bad_input", "range ambient_C"},
		`{"output_A":5}`: {"bad_input", "unknown output_A"}, `{"charger_efficiency":2}`: {"bad_input", "range charger_efficiency"},
		`{"a":{"b":[1,{}]}}`: {"bad_input", "unknown a"}, `{"ambient_C":36,"ambient_C":20}`: {"bad_input", "duplicate ambient_C"},
	} {
		var got struct {
			Error struct {
				Code     string
				Problems []struct{ Code, Field, Allowed, Message string }
			}
		}
		text := LogTextJSON([]byte(shortLog), []byte(conditions))
		if err := json.Unmarshal(text, &got); err != nil {
			t.Fatalf("%s: %s: %v", conditions, text, err)
		}
		codes := []string{got.Error.Code}
		for _, p := range got.Error.Problems {
			if got.Error.Code != "json" {
				codes = append(codes, p.Code+" "+p.Field)
			}
			if p.Allowed == "" || p.Message == "" {
				t.Errorf("%s: %+v", conditions, p)
			}
		}
		if d := cmp.Diff(want, codes); d != "" {
			t.Errorf("%s: %s", conditions, d)
		}
	}
	if text := LogTextJSON([]byte(strings.Repeat("\n", MaxLogBytes+1)), nil); !strings.HasPrefix(string(text), `{"error":{"code":"too_large"`) {
		t.Errorf("a log above the limit: %.200s", text)
	}
}

// An error has no report beside it: its message says what became of the rows.
func TestLogErrorSaysWhy(t *testing.T) {
	for log, want := range map[string]string{
		"time_s,engine_rpm,ambient_C\n0,1400\n30,1400,30\nx,1400,30\n":      "rows read: 1; rows left out: 1, time, first in line 4; rows left out: 1, cells, first in line 2",
		"time_s,engine_rpm,ambient_C\n0,1400,-99\n30,1400,-99\n":            "rows read: 2; cells left out: 2, range of ambient_C, first in line 2; rows without a condition: 2, untold of ambient_C, first in line 2",
		"time_s,engine_rpm,ambient_C\n0,1400,30\n900,1400,30\n":             "rows read: 2; begun anew: 1, gap, first in line 3",
		"time_s,engine_rpm,ambient temp\n0,1400,30\n30,1400,30\n":           "no column ambient_C, and no constant stands in for it; no unit stands behind ambient temp",
		"time_s,engine_rpm,ambient_C\n" + strings.Repeat("1", 1<<20) + "\n": "rows read: 0; rows left out: 1, long, first in line 2",
	} {
		if got := string(LogTextJSON([]byte(log), nil)); !strings.Contains(got, want) || len(got) > 2000 {
			t.Errorf("%.80q: got %.2000s, want %q in it", log, got, want)
		}
	}
}
