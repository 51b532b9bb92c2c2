package core

import "spareamps/core/jsontext"

// What a column of a log may tell. Up to logChargerInputA a bucket has its mean,
// the first of them being conditions; of temperatures it has the last.
const (
	logTime = iota
	logEngineRpm
	logSpeedKmh
	logAmbientC
	logAltitudeM
	logVehicleLoadsW
	logSettingW
	logOutputA
	logBusV
	logChargerV
	logChargerInputA
	logInletC
	logCaseC
	logCoreC
	logPlatesC
	logSoc
	logDay // of a time of day beside it
	logFields

	logConditions = logSettingW + 1
	logMeans      = logChargerInputA + 1
)

// logFieldNames are those of the table of inputs, where there is one.
var logFieldNames = [logFields]string{"time", "engine_rpm", "speed_kmh", "ambient_C", "altitude_m", "vehicle_loads_W", "setting_W",
	"output_A", "bus_V", "charger_V", "charger_input_A", "inlet_C", "case_C", "core_C", "plates_C", "soc", "date"}

// A logUnit turns what a column has into our unit: (value + shift)·factor.
type logUnit struct {
	names         []string // one of them stands behind the column's name; none: nothing does
	shift, factor float64
}

var (
	logBare    = []logUnit{{nil, 0, 1}}
	logSeconds = []logUnit{{[]string{"s", "sec", "seconds"}, 0, 1}, {[]string{"ms"}, 0, 1e-3}}
	logRpm     = []logUnit{{[]string{"rpm", "1_min", "r_min", "min_1"}, 0, 1}}
	logSpeeds  = []logUnit{{[]string{"kmh", "km_h", "kph"}, 0, 1}, {[]string{"mph", "mi_h"}, 0, 1.609344}, {[]string{"ms", "m_s", "mps"}, 0, 3.6}}
	logDegrees = []logUnit{{[]string{"C", "deg_C", "celsius"}, 0, 1}, {[]string{"F", "deg_F", "fahrenheit"}, -32, 5.0 / 9}}
	logMetres  = []logUnit{{[]string{"m"}, 0, 1}, {[]string{"ft", "feet"}, 0, 0.3048}}
	logWatts   = []logUnit{{[]string{"W", "watt", "watts"}, 0, 1}, {[]string{"kW"}, 0, 1000}}
	logAmps    = []logUnit{{[]string{"A", "amp", "amps"}, 0, 1}}
	logVolts   = []logUnit{{[]string{"V", "volt", "volts"}, 0, 1}, {[]string{"mV"}, 0, 1e-3}}
	logPercent = []logUnit{{[]string{"%", "pct", "percent"}, 0, 0.01}, {[]string{"fraction"}, 0, 1}}
)

// logColumns is the table of what a header may say. Case, blanks, underscores
// and brackets do not count: "Bus (V)" is bus_V. The first name is the one to
// recommend. Names of parameters are those of SAE J1979 mode 01 or their
// numbers; without a unit they have the standard's. A range wider than the table
// of inputs has it (least and most not both 0) is what an instrument may show:
// engineering estimate. A part's temperature is that of a contact probe, unless
// the column's name says infrared.
var logColumns = [...]struct {
	field       int
	names       []string
	units       []logUnit
	least, most float64
}{
	{logTime, []string{"time", "timestamp", "date_time", "time_stamp", "local_time", "time_utc", "utc", "epoch", "unix_time", "elapsed"}, logBare, -1e11, 1e11},
	{logTime, []string{"time", "timestamp", "epoch", "unix_time", "elapsed", "elapsed_time"}, logSeconds, -1e11, 1e11},
	{logDay, []string{"date", "day", "local_date"}, logBare, 0, 0},
	{logEngineRpm, []string{"rpm", "engine_speed", "0x0C", "010C", "pid_0C"}, logBare, 0, 0},
	{logEngineRpm, []string{"engine", "engine_rpm", "engine_speed", "0x0C", "010C", "pid_0C"}, logRpm, 0, 0},
	{logSpeedKmh, []string{"vehicle_speed", "vehicle_speed_sensor", "0x0D", "010D", "pid_0D"}, logBare, 0, 0},
	{logSpeedKmh, []string{"speed", "road_speed", "vehicle_speed", "vehicle_speed_sensor", "ground_speed", "0x0D", "010D", "pid_0D"}, logSpeeds, 0, 0},
	{logAmbientC, []string{"ambient_air_temperature", "0x46", "0146", "pid_46"}, logBare, 0, 0},
	{logAmbientC, []string{"ambient", "ambient_air_temperature", "ambient_air_temp", "ambient_air", "ambient_temperature", "ambient_temp", "outside", "outside_temperature", "outside_temp", "outside_air", "0x46", "0146", "pid_46"}, logDegrees, 0, 0},
	{logAltitudeM, []string{"altitude", "elevation", "ele", "height"}, logMetres, 0, 0},
	{logVehicleLoadsW, []string{"vehicle_loads", "vehicle_load", "loads", "vehicle_loads_power"}, logWatts, 0, 0},
	{logSettingW, []string{"charger", "setting", "charger_output", "charger_power", "charger_output_power"}, logWatts, 0, 0},
	{logOutputA, []string{"output", "alternator", "alternator_output", "alternator_current", "output_current", "alternator_output_current"}, logAmps, -20, 1000},
	{logBusV, []string{"control_module_voltage", "0x42", "0142", "pid_42"}, logBare, 0, 40},
	{logBusV, []string{"bus", "bus_voltage", "alternator", "alternator_voltage", "system_voltage", "control_module_voltage", "control_module", "0x42", "0142", "pid_42"}, logVolts, 0, 40},
	{logChargerV, []string{"charger", "charger_input", "charger_voltage", "charger_input_voltage"}, logVolts, 0, 40},
	{logChargerInputA, []string{"charger", "charger_input", "charger_input_current"}, logAmps, -20, 1000},
	{logInletC, []string{"inlet", "inlet_air", "inlet_temperature", "inlet_temp", "alternator_inlet", "inlet_air_temperature"}, logDegrees, 0, 0},
	{logCaseC, []string{"case", "housing", "alternator_case", "case_temperature", "case_temp", "alternator_case_temperature"}, logDegrees, 0, 0},
	{logCoreC, []string{"core", "stator_core", "core_temperature", "core_temp", "alternator_core", "stator_core_temperature"}, logDegrees, 0, 0},
	{logPlatesC, []string{"plates", "rectifier_plates", "rectifier", "plates_temperature", "plates_temp", "rectifier_temperature"}, logDegrees, 0, 0},
	{logCaseC, []string{"case_infrared", "housing_infrared", "alternator_case_infrared"}, logDegrees, 0, 0},
	{logCoreC, []string{"core_infrared", "stator_core_infrared"}, logDegrees, 0, 0},
	{logPlatesC, []string{"plates_infrared", "rectifier_infrared", "rectifier_plates_infrared"}, logDegrees, 0, 0},
	{logSoc, []string{"soc", "state_of_charge", "house_soc", "battery_soc"}, logBare, 0, 100},
	{logSoc, []string{"soc", "state_of_charge", "house_soc", "battery_soc"}, logPercent, 0, 1},
}

// logRange is what a value of a column is believed between.
func logRange(c int) (least, most float64) {
	if k := &logColumns[c]; k.least != 0 || k.most != 0 {
		return k.least, k.most
	}
	k := logInput(logFieldNames[logColumns[c].field])
	return k.Min, k.Max
}

// logInput is the input of an observation by name.
func logInput(name string) *Field {
	i, _ := inputs.index("rig.observations[]." + name)
	return &inputs.fields[i]
}

// logMatch finds the column of squeezed text, and its unit; column is -1 where
// there is none. Then needsUnit says whether one would do behind it.
func logMatch(squeezed []byte, only int) (column int, unit *logUnit, needsUnit bool) {
	for c := range logColumns {
		k := &logColumns[c]
		if only >= 0 && k.field != only {
			continue
		}
		for _, name := range k.names {
			n := squeezedPrefix(squeezed, name)
			if n < 0 {
				continue
			}
			for u := range k.units {
				if k.units[u].names == nil && n == len(squeezed) {
					return c, &k.units[u], false
				}
				for _, unit := range k.units[u].names {
					if m := squeezedPrefix(squeezed[n:], unit); m >= 0 && n+m == len(squeezed) {
						return c, &k.units[u], false
					}
				}
			}
			needsUnit = needsUnit || n == len(squeezed)
		}
	}
	return -1, nil, needsUnit
}

// squeezedPrefix is how many bytes of text are name without its underscores; -1:
// text does not begin with it.
func squeezedPrefix(text []byte, name string) int {
	n := 0
	for i := range len(name) {
		if name[i] == '_' {
			continue
		}
		if n == len(text) || text[n] != lower(name[i]) {
			return -1
		}
		n++
	}
	return n
}

// squeeze appends what counts of a header's cell: letters, digits and per cent,
// in lower case. A degree sign does not, in whatever encoding.
func squeeze(dst, cell []byte) []byte {
	for _, c := range cell {
		switch c = lower(c); {
		case c >= 'a' && c <= 'z', jsontext.IsDigit(c), c == '%':
			dst = append(dst, c)
		case c >= 0x80 && c != 0xc2 && c != 0xb0 && c != 0xba:
			dst = append(dst, c) // another script's letter
		}
	}
	return dst
}

// logAllowed lists names of a field: those without unit, and the first of the
// others with each unit.
func logAllowed(field int) string {
	s := ""
	add := func(name string) {
		if s != "" {
			s += ", "
		}
		s += name
	}
	for c := range logColumns {
		k := &logColumns[c]
		if k.field != field {
			continue
		}
		for u := range k.units {
			if k.units[u].names != nil {
				add(k.names[0] + "_" + k.units[u].names[0])
				continue
			}
			for _, name := range k.names {
				add(name)
			}
		}
	}
	return "one of " + s
}
