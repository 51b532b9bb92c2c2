package core

// demoObservations are what the crew of the demo read within half an hour, with
// a clamp meter, a voltmeter and an infrared thermometer aimed at matt paint.
// Invented.
const demoObservations = `{"observations":[
{"at":"10:05","begins":"warm","minutes":30,"engine_rpm":1400,"speed_kmh":15,"ambient_C":31,"altitude_m":600,"vehicle_loads_W":350,"setting_W":300,
"surface":"painted","inlet_C":48,"core_C":83,"case_C":77,"bus_V":13.9,"charger_V":13.63,"charger_input_A":24.1},
{"at":"10:20","begins":"warm","minutes":12,"engine_rpm":1500,"speed_kmh":20,"ambient_C":32,"altitude_m":600,"vehicle_loads_W":350,"setting_W":300,"surface":"painted","plates_C":72},
{"at":"10:31","begins":"warm","minutes":1,"engine_rpm":850,"ambient_C":32,"altitude_m":600,"everything_on":"yes","output_A":83,"bus_V":13.1},
{"at":"10:33","begins":"warm","minutes":1,"engine_rpm":2000,"ambient_C":32,"altitude_m":600,"everything_on":"yes","output_A":109,"bus_V":13.3}]}`

// DemoFit is the demo request with observations.
func DemoFit() Request {
	q := Demo()
	if err := q.Lay([]byte(demoObservations), "rig"); err != nil {
		panic("core: demo: " + err.Error())
	}
	return q
}
