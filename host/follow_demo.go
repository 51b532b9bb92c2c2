package main

import (
	"fmt"
	"io"
	"strings"
)

// demoLog is a log of the demo rig's morning, made up: off to the canal, along
// it from gauge to gauge with the engine running, a pause. A record every ten
// seconds.
func demoLog() io.Reader {
	var b strings.Builder
	b.WriteString("time,engine_rpm,speed_kmh,ambient_C,bus_V,charger_A\n")
	at, ambient := 8*3600, 26.0
	for _, leg := range []struct {
		minutes  int
		rpm, kmh float64
		amps     float64
	}{
		{25, 1900, 60, 20}, {12, 1400, 15, 20}, {4, 850, 0, 20}, {10, 1250, 12, 18}, {6, 850, 0, 14}, {14, 1400, 18, 14}, {9, 0, 0, 0}, {10, 1400, 15, 16},
	} {
		for i := range leg.minutes * 6 {
			ripple := float64(i%5-2) * 0.015 // no engine turns evenly
			volts := 13.8 + ripple
			if leg.rpm == 0 {
				volts = 12.6
			}
			fmt.Fprintf(&b, "%02d:%02d:%02d,%.0f,%.0f,%.1f,%.2f,%.1f\n", at/3600, at/60%60, at%60, leg.rpm*(1+ripple), leg.kmh*(1+2*ripple), ambient, volts, leg.amps)
			at += 10
			ambient += 0.008
		}
	}
	return strings.NewReader(b.String())
}
