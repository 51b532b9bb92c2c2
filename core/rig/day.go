package rig

// A Day is what is planned: legs, loads, air and sun from one start of the day
// to the next.
type Day struct {
	Given          bool
	Date           float64 // days since 2000-01-01; 0: not given, no sun is counted
	LatitudeDeg    float64
	LongitudeDeg   float64
	UTCOffsetH     float64 // where not stated: by longitude
	Days           float64
	Start          float64 // minutes since midnight at which a day is taken to begin
	MinC, MaxC     float64
	Air            []AirRow
	Cloud          float64 // share of the sky
	AltitudeM      float64
	HouseSoc       float64 // at the start
	StarterSoc     float64 // at the start
	HouseBatteryC  float64 // where not stated: as the air
	WantSoc        float64
	WantBy         float64 // minutes since midnight; unset: the end of the last drive
	VehicleLoadsW  float64 // engine running; 0: the usual share of the label
	IdleLoadsW     float64 // engine idling; 0: as VehicleLoadsW
	ParkedW        float64 // engine off
	Control        string  // "by_hand", "automatic" or "schedule"
	ShortestSwitch float64 // min: pauses shorter than this are not worth a hand-over
	SettingW       float64 // 0: the gentlest is sought
	SeriesMin      float64 // step of the series in the answer; 0: none
	TrackRatio     float64 // engine turns per turn of the wheel along a track
	TrackEngineRpm float64 // engine speed while moving along a track
	Legs           []Leg
	Loads          []Load
	Switches       []Switch
	Track          []TrackRow
}

// An AirRow is the air's temperature at a time of day.
type AirRow struct{ At, AmbientC float64 }

// A Leg is a stretch of time with one kind of use.
type Leg struct {
	Day           float64 // 0: every day
	From, To      float64 // minutes since midnight
	Kind          string  // "drive", "stop", "camp"
	Engine        string  // "on", "off", "": on while driving
	SpeedKmh      float64
	EngineRpm     float64 // 0: by gearing, or idle speed where standing
	OverallRatio  float64 // engine turns per turn of the wheel
	StopEveryMin  float64 // drive: minutes from one stop's end to the next stop; 0: none
	StopMin       float64 // length of such a stop
	StopEngine    string  // "on" or "off" meanwhile
	VehicleLoadsW float64 // 0: the day's
	AltitudeM     float64 // NaN: the day's
}

// A Load is something that draws power at times.
type Load struct {
	Name     string
	Watts    float64
	Duty     float64 // share of the time
	Side     string  // "house", "inverter", "vehicle"
	From, To float64 // minutes since midnight; unset: all day
	Minutes  float64 // length of one run from From; 0: until To
	When     string  // "always", "engine_on", "engine_off"
	SurgeW   float64 // for a few seconds at its start; 0: none
	Keep     string  // "yes": not to be shed
}

// A Switch is a time at which the charger is set.
type Switch struct {
	At float64
	To string // "charge", "feed", "off"
}

// A TrackRow is one minute of a recorded track.
type TrackRow struct {
	Minute    float64 // since midnight of the first day
	SpeedKmh  float64
	EngineRpm float64 // 0: not recorded, or engine off where Engine says so
	Engine    string  // "on", "off"
	AltitudeM float64 // NaN: the day\'s
}
