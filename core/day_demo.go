package core

// demoRows are the lists of the demo day: a crew that gauges irrigation canals,
// crawling along their tracks with many stops. Invented.
const demoRows = `{
"legs":[
{"from":"07:30","to":"08:10","kind":"drive","speed_kmh":25,"engine_rpm":1700},
{"from":"08:10","to":"12:10","kind":"drive","speed_kmh":12,"engine_rpm":1400,"stop_every_min":18,"stop_min":10},
{"from":"12:10","to":"13:30","kind":"stop"},
{"from":"13:30","to":"14:00","kind":"drive","speed_kmh":20,"engine_rpm":1600},
{"from":"14:00","to":"17:30","kind":"drive","speed_kmh":8,"engine_rpm":1300,"stop_every_min":14,"stop_min":8},
{"from":"17:30","to":"18:10","kind":"drive","speed_kmh":25,"engine_rpm":1700},
{"from":"18:10","to":"06:00","kind":"camp"}],
"loads":[
{"name":"sample fridge","watts":55,"duty":0.5,"keep":"yes"},
{"name":"acoustic current profiler","watts":18,"from":"08:10","to":"17:30","keep":"yes"},
{"name":"logger","watts":4,"keep":"yes"},
{"name":"radio modem","watts":8,"side":"vehicle"},
{"name":"two laptops","watts":90,"from":"12:15","to":"13:25"},
{"name":"two laptops, evening","watts":90,"from":"19:00","to":"21:30"},
{"name":"camp lights","watts":20,"side":"vehicle","from":"20:30","to":"23:00"},
{"name":"kettle","watts":1200,"side":"inverter","from":"06:40","minutes":5},
{"name":"submersible pump","watts":450,"side":"inverter","from":"15:00","minutes":20,"surge_W":1500}]}`
