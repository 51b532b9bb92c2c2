package main

import "strings"

// The words of the dash card. The page prints the same card in the same words,
// which stand in web/src/words.ts: web/test/card.test.mjs compares them.

const (
	cardTitle   = "Charger: set at most"
	cardOff     = "off"
	cardCorner  = "rpm, °C"
	cardCaption = "Engine speed, rpm, by air outside, °C: watts and amps out."
	cardReading = "In between take the lower; beyond the table: off."
)

var cardCautions = [...]string{
	"An estimate, no guarantee: makers' ratings and local codes win.",
	"Set before driving or by a passenger.",
	"A fuse at each battery; wiring by somebody licensed.",
	"Hot parts: let them cool.",
	"Lead-acid gas explodes: air it, no sparks.",
	"Never charge LiFePO4 below 0 °C.",
	"Varnish smell, slipping belt, hot lug: all off, look.",
}

// cardRig is what of the rig tells it from others.
func cardRig(q answer) string {
	var parts []string
	add := func(words ...string) { parts = append(parts, strings.Join(words, "")) }
	v := func(path string) string { return number(q.number("rig." + path)) }
	has := func(path string) bool { return q.has("rig." + path) }
	if has("alternator.rated_current_A") {
		add(v("alternator.rated_current_A"), " A alternator")
	} else {
		add("alternator by its curve")
	}
	if has("alternator.pulley_ratio") {
		add("pulley ratio ", v("alternator.pulley_ratio"))
	}
	switch {
	case has("cable.area_mm2"):
		add("lead ", v("cable.area_mm2"), " mm², ", v("cable.length_m"), " m")
	case has("cable.awg"):
		add("lead AWG ", q.text("rig.cable.awg"), ", ", v("cable.length_m"), " m")
	}
	if has("cable.fuse_A") {
		add("fuse ", v("cable.fuse_A"), " A")
	}
	if has("charger.max_output_W") {
		add("charger ", v("charger.max_output_W"), " W")
	}
	if has("house_battery.capacity_Ah") {
		add(v("house_battery.capacity_Ah"), " Ah ", cardChemistry[q.text("rig.house_battery.chemistry")])
	}
	return strings.Join(parts, " · ")
}

var cardChemistry = map[string]string{"lifepo4": "LiFePO4", "agm": "AGM", "gel": "gel", "flooded": "flooded lead-acid"}

// cardFor is what the figures hold for, beside rows and columns.
func cardFor(q answer, usual func(path string) float64) string {
	var parts []string
	add := func(words ...string) { parts = append(parts, strings.Join(words, "")) }
	m := func(path string) float64 {
		if v, ok := q.num("moment." + path); ok {
			return v
		}
		return usual("moment." + path)
	}
	has := func(path string) bool { return q.has("moment." + path) }
	if v := m("speed_kmh"); v > 0 {
		add("road speed ", number(v), " km/h")
	} else {
		add("standing")
	}
	add("altitude ", number(m("altitude_m")), " m")
	if has("vehicle_loads_W") {
		add("vehicle draws ", number(m("vehicle_loads_W")), " W")
	} else {
		add("vehicle draws about ", number(m("vehicle_loads_W")), " W, assumed")
	}
	if has("idle_loads_W") {
		add("idling ", number(m("idle_loads_W")), " W")
	}
	if v := m("house_loads_W"); v > 0 {
		add("house loads ", number(v), " W")
	}
	add("house battery ", percent(m("house_soc")), " full, as cold as the air")
	return strings.Join(parts, " · ")
}

// cardSure says how sure the figures are.
func cardSure(confidence float64) string {
	return "Safe for " + percent(confidence) + " of plausible vehicles with these labels, ten minutes of idling at a stop included."
}

// cardMore stands for remarks that the card has no room for.
func cardMore(n int) string { return "And " + itoa(n) + " more remarks." }
