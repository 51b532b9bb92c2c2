package core

import (
	"math"
	"spareamps/core/jsontext"
)

// MaxLogBytes is the longest log that LogTextJSON takes: a day of a row a second
// has some 7 MB.
const MaxLogBytes = 20 << 20

// LogTextJSON reads a log as LogJSON does. What was the same all along and the
// log does not tell stands in conditions, an object such as
// {"ambient_C":36,"altitude_m":600}; an empty text: nothing is known.
func LogTextJSON(text, conditions []byte) []byte {
	if len(text) > MaxLogBytes {
		return ErrorJSON("too_large", "log", jsontext.NumberText(float64(len(text))), "at most "+jsontext.NumberText(MaxLogBytes)+" bytes", "the log is longer than is read at a time; cut it by days")
	}
	defaults := NoLogDefaults()
	r := jsontext.Reader{Text: conditions}
	problems, ok := readConditions(&r, &defaults)
	if !ok {
		return ErrorJSON("json", "", "", `{"ambient_C":number,...}`, "not an object of conditions at "+r.Place()+": "+r.Fault)
	}
	if len(problems) > 0 {
		return problemsJSON("bad_input", problems)
	}
	return LogJSON(text, defaults)
}

// readConditions reads an object of conditions by the table of inputs.
func readConditions(r *jsontext.Reader, d *LogDefaults) (problems []Problem, ok bool) {
	if len(r.Text) == 0 {
		return nil, true
	}
	if len(r.Text) > jsontext.MaxBytes {
		return nil, r.Fail("longer than 1 MiB")
	}
	if !r.Start() {
		return nil, false
	}
	if r.Peek() != '{' {
		return nil, r.Unexpected("an object")
	}
	if !r.Open() {
		return nil, false
	}
	for first := true; ; first = false {
		key, more, ok := r.Key(first)
		if !more {
			return problems, ok && r.End()
		}
		name := string(jsontext.Shown(key, jsontext.MaxShown))
		f, to := d.condition(string(key))
		v, value := math.NaN(), ""
		if c := r.Peek(); c == '-' || jsontext.IsDigit(c) {
			text, ok := r.Number()
			if !ok {
				return nil, false
			}
			v, value = jsontext.ParseNumber(text), string(jsontext.Shown(text, jsontext.MaxShown))
		} else if !r.Skip() {
			return nil, false
		}
		switch {
		case len(problems) == jsontext.MaxProblems:
		case f == nil:
			problems = append(problems, plain("unknown", name, "", "engine_rpm, speed_kmh, ambient_C, altitude_m, vehicle_loads_W, setting_W, charger_efficiency", name+" is no condition of a log"))
		case v != v:
			problems = append(problems, plain("type", name, "", "a number, "+f.allowed(), name+" is not a number"))
		case f.take(v) != "":
			problems = append(problems, plain("range", name, value, f.allowed(), name+" is "+value+", allowed is "+f.allowed()))
		case *to == *to:
			problems = append(problems, plain("duplicate", name, value, f.allowed(), name+" is given twice"))
		default:
			*to = v
		}
	}
}

// condition finds what a name sets, and the input whose range it has.
func (d *LogDefaults) condition(name string) (f *Field, to *float64) {
	for i, to := range [...]*float64{&d.EngineRpm, &d.SpeedKmh, &d.AmbientC, &d.AltitudeM, &d.VehicleLoadsW, &d.SettingW} {
		if field := logFieldNames[logEngineRpm+i]; field == name {
			return logInput(field), to
		}
	}
	if name == "charger_efficiency" {
		i, _ := inputs.index("rig.charger.efficiency")
		return &inputs.fields[i], &d.ChargerEfficiency
	}
	return nil, nil
}
