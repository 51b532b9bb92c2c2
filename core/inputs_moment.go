package core

// momentFields are the inputs of a moment: what changes while driving.
var momentFields = [...]Field{
	{Path: "moment.engine_rpm", Unit: "rpm", Need: Required, Min: 0, Max: 8000, Demo: "1400",
		Meaning: "engine speed", Where: "tachometer",
		num: func(q *Request, _ int) *float64 { return &q.Moment.EngineRpm }},
	{Path: "moment.speed_kmh", Unit: "km/h", Min: 0, Max: 200, Default: 0, Demo: "15",
		Meaning: "road speed; not given: standing, the hottest case", Where: "speedometer", Source: "the careful choice",
		num: func(q *Request, _ int) *float64 { return &q.Moment.SpeedKmh }},
	{Path: "moment.ambient_C", Unit: "°C", Need: Required, Min: -40, Max: 60, Demo: "36",
		Meaning: "air temperature outside, in the shade", Where: "thermometer",
		num: func(q *Request, _ int) *float64 { return &q.Moment.AmbientC }},
	{Path: "moment.altitude_m", Unit: "m", Min: -430, Max: 6000, Default: 0, Demo: "600",
		Meaning: "altitude above sea level", Where: "map", Source: "sea level",
		num: func(q *Request, _ int) *float64 { return &q.Moment.AltitudeM }},
	{Path: "moment.vehicle_loads_W", Unit: "W", Need: Optional, Min: 0, Max: 8000, Demo: "350",
		Meaning: "power that the vehicle itself draws: engine, fans, lights, air conditioning; not given: 30 % of the power on the alternator's label, treated as uncertain",
		Where:   "clamp meter at the starter battery's lead, charger off, times volts", Source: "published mean demands over usual labels: testdata/usual_loads.csv",
		num: func(q *Request, _ int) *float64 { return &q.Moment.VehicleLoadsW }},
	{Path: "moment.idle_loads_W", Unit: "W", Need: Optional, Min: 0, Max: 8000,
		Meaning: "what the vehicle draws standing with the engine idling, its fan at full speed; not given: as vehicle_loads_W",
		Where:   "clamp meter at the starter battery's lead, charger off, after ten minutes of idling, times volts",
		num:     func(q *Request, _ int) *float64 { return &q.Moment.IdleLoadsW }},
	{Path: "moment.house_loads_W", Unit: "W", Min: 0, Max: 10000, Default: 0,
		Meaning: "loads on the house side while charging, which take part of the charger's output", Where: "battery monitor", Source: "none counted unless given",
		num: func(q *Request, _ int) *float64 { return &q.Moment.HouseLoadsW }},
	{Path: "moment.house_soc", Unit: "1", Min: 0, Max: 1, Default: 0.5,
		Meaning: "state of charge of the house battery", Where: "battery monitor", Source: "half full: no taper yet",
		num: func(q *Request, _ int) *float64 { return &q.Moment.HouseSoc }},
	{Path: "moment.house_battery_C", Unit: "°C", Need: Optional, Min: -40, Max: 80,
		Meaning: "temperature of the house battery; not given: taken as ambient_C", Where: "battery monitor, or a thermometer on its case", Source: "the outside air, which is the careful choice in frost",
		num: func(q *Request, _ int) *float64 { return &q.Moment.HouseBatteryC }},
	{Path: "moment.inlet_C", Unit: "°C", Need: Optional, Min: -40, Max: 150,
		Meaning: "air temperature at the alternator's inlet, or coolant temperature of a water-cooled alternator; not given: estimated from ambient and road speed, or the coolant of a hot engine", Where: "probe tied beside the alternator, driving as now",
		num: func(q *Request, _ int) *float64 { return &q.Moment.InletC }},
	{Path: "moment.setting_W", Unit: "W", Min: 0, Max: 10000, Default: 0,
		Meaning: "charger's output since the engine was started, for the hold times; not given: charger off until now", Where: "charger's display", Source: "said beside the hold times",
		num: func(q *Request, _ int) *float64 { return &q.Moment.SettingW }},
	{Path: "moment.minutes_since_start", Unit: "min", Min: 0, Max: 1440, Default: 60,
		Meaning: "minutes since the engine was started", Where: "watch", Source: "warm",
		num: func(q *Request, _ int) *float64 { return &q.Moment.MinutesSinceStart }},
}

// Fields a scene asks for.
var (
	fieldInletC        = inputs.mustIndex("moment.inlet_C")
	fieldVehicleLoadsW = inputs.mustIndex("moment.vehicle_loads_W")
	fieldSpeedKmh      = inputs.mustIndex("moment.speed_kmh")
	fieldIdleLoadsW    = inputs.mustIndex("moment.idle_loads_W")
	fieldHouseBatteryC = inputs.mustIndex("moment.house_battery_C")
)

// mustIndex is index for a path written in the source.
func (t *inputTable) mustIndex(path string) int {
	i, ok := t.index(path)
	if !ok {
		panic("core: no input " + path)
	}
	return i
}
