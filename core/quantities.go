package core

import (
	"math"

	"spareamps/core/air"
	"spareamps/core/conductor"
	"spareamps/core/detmath"
	"spareamps/core/drivetrain"
	"spareamps/core/rig"
	"spareamps/core/sun"
)

// A Quantity is a scalar of the model under a stable name, so that published
// figures can be met by any engine that runs it: see testdata/checks.csv.
type Quantity struct {
	Name string
	Unit string
	Args []string // names with units; a last "..." means that the pair before it repeats
	Eval func(a []float64) float64
}

// QuantityByName finds a quantity.
func QuantityByName(name string) (Quantity, bool) {
	for i := range Quantities {
		if Quantities[i].Name == name {
			return Quantities[i], true
		}
	}
	return Quantity{}, false
}

// Value evaluates a quantity; ok is false where the number of arguments is
// wrong or the result is not a finite number.
func (q *Quantity) Value(a []float64) (v float64, ok bool) {
	n := len(q.Args)
	if n > 0 && q.Args[n-1] == "..." {
		fixed := n - 3 // arguments before the repeated pair
		if len(a) < n-1 || (len(a)-fixed)%2 != 0 || len(a) > fixed+2*64 {
			return 0, false
		}
	} else if len(a) != n {
		return 0, false
	}
	v = q.Eval(a)
	return v, v-v == 0
}

var machineNames = []string{"flux_Wb", "pole_pairs", "inductance_H", "resistance_ohm", "diode_drop_V", "bus_V", "speed_rpm"}

var demoNames = []string{"engine_rpm", "speed_kmh", "ambient_C"}

// demoAnswer is the answer for the demo rig at a moment.
func demoAnswer(a []float64) *Answer {
	q := Demo()
	q.Rig.Charger.MaxOutputW, q.Rig.Charger.MaxInputA = 800, 0
	q.Moment.EngineRpm, q.Moment.SpeedKmh, q.Moment.AmbientC = a[0], a[1], a[2]
	answer, err := Ceiling(&q)
	if err != nil {
		nan := math.NaN()
		return &Answer{OtherA: nan, Advice: Setting{OutputW: nan}}
	}
	return answer
}

// Quantities is the table of what can be asked by name.
//
// Machines by parameters are taken at their reference state. Those by rating
// are the default of a label: 6000 rpm, 6 pole pairs, clean vents, nominal
// unknowns, full field where a current is not given. diode_drop_V is of one
// diode. Not a number as density_kg_m3 stands for sea-level air as warm as the
// inlet.
var Quantities = [...]Quantity{
	// Bridge and machine.
	{"bridge_y", "1", []string{"s", "r_over_x"}, func(a []float64) float64 { return BridgeCurrent(a[0], a[1]) }},
	{"closed_form_y", "1", []string{"s", "r_over_x"}, func(a []float64) float64 { return closedFormCurrent(1, 1, a[1], math.Sqrt(3)*a[0], 0) }},
	{"emf_constant_Vs_per_A", "V*s/A", []string{"phase_rms_V", "electrical_Hz", "field_A"}, func(a []float64) float64 {
		return math.Sqrt2 * a[0] / (2 * math.Pi * a[1] * a[2])
	}},
	{"emf_peak_V", "V", []string{"flux_Wb", "pole_pairs", "speed_rpm"}, func(a []float64) float64 {
		m := machine{flux: a[0], poles: a[1]}
		return m.flux * m.omega(a[2])
	}},
	{"closed_form_A", "A", machineNames, func(a []float64) float64 {
		m := machineOf(a)
		w := m.omega(a[6])
		return closedFormCurrent(m.flux*w, w*m.l, m.r, a[5], a[4])
	}},
	{"bridge_A", "A", machineNames, func(a []float64) float64 {
		m := machineOf(a)
		return m.output(m.omega(a[6]), a[5], 1, m.refC).a
	}},
	{"phase_rms_A", "A", machineNames, func(a []float64) float64 {
		m := machineOf(a)
		o := m.output(m.omega(a[6]), a[5], 1, m.refC)
		return o.phaseA()
	}},
	{"cut_in_rpm", "rpm", []string{"flux_Wb", "pole_pairs", "diode_drop_V", "bus_V"}, func(a []float64) float64 {
		m := machine{flux: a[0], poles: a[1], dropV: 2 * a[2]}
		return m.cutInRpm(a[3])
	}},
	{"closed_form_cut_in_rpm", "rpm", []string{"flux_Wb", "pole_pairs", "diode_drop_V", "bus_V"}, func(a []float64) float64 {
		return 2 / math.Pi * (a[3] + 2*a[2]) / (a[0] * a[1] * rotationalUnit)
	}},
	{"limit_current_A", "A", []string{"flux_Wb", "inductance_H"}, func(a []float64) float64 {
		m := machine{flux: a[0], l: a[1]}
		return m.limitA()
	}},
	{"r_over_x", "1", []string{"resistance_ohm", "inductance_H", "pole_pairs", "speed_rpm"}, func(a []float64) float64 {
		m := machine{r: a[0], l: a[1], poles: a[2]}
		return m.r / (m.omega(a[3]) * m.l)
	}},
	{"matched_power_W", "W", []string{"flux_Wb", "pole_pairs", "inductance_H", "speed_rpm"}, func(a []float64) float64 {
		return 0.75 * a[0] * a[0] * a[3] * rotationalUnit * a[1] / a[2]
	}},
	{"matched_bus_V", "V", []string{"flux_Wb", "pole_pairs", "speed_rpm"}, func(a []float64) float64 {
		return math.Pi / (2 * math.Sqrt2) * a[0] * a[1] * a[2] * rotationalUnit
	}},
	{"delta_bridge_A", "A", []string{"line_rms_V", "pole_pairs", "delta_inductance_H", "delta_resistance_ohm", "diode_drop_V", "bus_V", "speed_rpm"}, func(a []float64) float64 {
		m := machine{poles: a[1], l: a[2] / 3, r: a[3] / 3, dropV: 2 * a[4], refC: 20}
		w := m.omega(a[6])
		m.flux = a[0] * math.Sqrt(2.0/3) / w
		return m.output(w, a[5], 1, 20).a
	}},

	// Fits of output curves.
	{"curve_fit_A", "A", []string{"at_rpm", "speed_rpm", "output_A", "..."}, func(a []float64) float64 {
		return FitCurve(pointsOf(a[1:])).Current(a[0])
	}},
	{"curve_fit_cut_in_rpm", "rpm", []string{"speed_rpm", "output_A", "..."}, func(a []float64) float64 { return FitCurve(pointsOf(a)).CutInRpm }},
	{"curve_fit_limit_A", "A", []string{"speed_rpm", "output_A", "..."}, func(a []float64) float64 { return FitCurve(pointsOf(a)).LimitA }},
	{"curve_fit_r_over_x_6000", "1", []string{"speed_rpm", "output_A", "..."}, func(a []float64) float64 { return FitCurve(pointsOf(a)).RX }},
	{"curve_ratio", "1", []string{"cut_in_rpm", "r_over_x_6000", "speed_rpm", "reference_rpm"}, func(a []float64) float64 {
		return curveCurrent(a[0], 1, a[1], a[2]) / curveCurrent(a[0], 1, a[1], a[3])
	}},

	// The machine a label stands for.
	{"family_A", "A", []string{"rated_A", "speed_rpm"}, func(a []float64) float64 {
		m := labelMachine(a[0], 12)
		return m.output(m.omega(a[1]), m.testV, 1, m.refC).a
	}},
	{"family_share", "1", []string{"speed_rpm", "winding_C", "rotor_C"}, func(a []float64) float64 {
		m := labelMachine(100, 12)
		return m.copperStateA(a[0], a[1], a[2]) / 100
	}},
	{"copper_state_ratio", "1", []string{"speed_rpm", "winding_C", "rotor_C", "reference_winding_C", "reference_rotor_C"}, func(a []float64) float64 {
		m := labelMachine(100, 12)
		return m.copperStateA(a[0], a[1], a[2]) / m.copperStateA(a[0], a[3], a[4])
	}},
	{"family_cut_in_rpm", "rpm", []string{"copper_C"}, func(a []float64) float64 {
		m := labelMachine(100, 12)
		x, _ := m.fullField(m.testV, a[0])
		ps, _ := curveAt(&fluxCurve, x)
		return m.cutInRpm(m.testV) / ps
	}},
	{"family_star_uH", "uH", []string{"rated_A"}, func(a []float64) float64 { return labelMachine(a[0], 12).l * 1e6 }},
	{"family_star_mohm", "mohm", []string{"rated_A"}, func(a []float64) float64 {
		m := labelMachine(a[0], 12)
		return m.r / conductor.Copper(m.refC) * 1e3
	}},
	{"flux_share", "1", []string{"field_share"}, func(a []float64) float64 { y, _ := curveAt(&fluxCurve, a[0]); return y }},
	{"inductance_share", "1", []string{"field_share"}, func(a []float64) float64 { y, _ := curveAt(&inductanceCurve, a[0]); return y }},

	// The demo rig, with a charger of 800 W.
	{"demo_advice_W", "W", demoNames, func(a []float64) float64 { return demoAnswer(a).Advice.OutputW }},
	{"demo_share", "1", demoNames, func(a []float64) float64 {
		d := demoAnswer(a)
		return (d.Ceiling.InputA + d.OtherA) / 120
	}},
	{"demo_idle_share", "1", demoNames, func(a []float64) float64 {
		d := demoAnswer(a)
		return (d.AfterIdle.InputA + d.OtherA) / 120
	}},

	// A vehicle by its label, with a charger of 5000 W: see labelRequest.
	{"advice_output_W", "W", labelNames, func(a []float64) float64 { return labelAnswer(a).Advice.OutputW }},
	{"moving_ceiling_W", "W", labelNames, func(a []float64) float64 { return labelAnswer(a).Ceiling.OutputW }},

	// Losses and efficiency.
	{"iron_open_circuit_W", "W", []string{"rated_A", "speed_rpm"}, func(a []float64) float64 { return newSize(a[0], 13.5).ironLoss(a[1]) }},
	{"iron_ratio", "1", []string{"speed_rpm", "reference_rpm"}, func(a []float64) float64 {
		z := newSize(150, 13.5)
		return z.ironLoss(a[0]) / z.ironLoss(a[1])
	}},
	{"friction_W", "W", []string{"rated_A", "speed_rpm"}, func(a []float64) float64 { return newSize(a[0], 13.5).mechanicalLoss(a[1]) }},
	{"field_W", "W", []string{"rated_A"}, func(a []float64) float64 { return newSize(a[0], 13.5).fieldLoss() }},
	{"stator_copper_W", "W", []string{"star_resistance_20C_ohm", "winding_C", "output_A"}, func(a []float64) float64 {
		m := machine{heatR: a[0], refC: 20}
		return m.statorLoss(phaseForm(0, 0)*a[2], a[1])
	}},
	{"rectifier_W", "W", []string{"output_A", "diode_drop_V"}, func(a []float64) float64 { return 2 * a[1] * a[0] }},
	{"eu_weighted_efficiency", "1", []string{"rated_A"}, func(a []float64) float64 {
		sum := 0.0
		for _, p := range euTest {
			sum += p.weight * labelEfficiency(12, a[0], p.speedRpm, a[0]/2, 14.3)
		}
		return sum
	}},
	{"eu_weighted_from_losses", "1", []string{"output_W",
		"copper_1800_W", "rectifier_1800_W", "field_1800_W", "iron_1800_W", "mechanical_1800_W",
		"copper_3000_W", "rectifier_3000_W", "field_3000_W", "iron_3000_W", "mechanical_3000_W",
		"copper_6000_W", "rectifier_6000_W", "field_6000_W", "iron_6000_W", "mechanical_6000_W",
		"copper_10000_W", "rectifier_10000_W", "field_10000_W", "iron_10000_W", "mechanical_10000_W",
	}, func(a []float64) float64 {
		sum := 0.0
		for i, p := range euTest {
			l := a[1+5*i:]
			sum += p.weight * a[0] / (a[0] + Losses{l[0], l[1], l[2], l[3], l[4]}.Total())
		}
		return sum
	}},
	{"family_efficiency", "1", []string{"class_V", "rated_A", "speed_rpm", "output_A", "bus_V"}, func(a []float64) float64 {
		return labelEfficiency(a[0], a[1], a[2], a[3], a[4])
	}},
	{"loss_from_efficiency_W", "W", []string{"output_W", "efficiency"}, func(a []float64) float64 { return a[0] * (1/a[1] - 1) }},

	// Heat.
	{"hot_to_cold_output", "1", []string{"rated_A", "speed_rpm", "hot_inlet_C", "cold_inlet_C", "density_kg_m3"}, func(a []float64) float64 {
		return fullOutput(a[0], a[1], a[2], a[4]).out.a / fullOutput(a[0], a[1], a[3], a[4]).out.a
	}},
	{"steady_output_share", "1", []string{"rated_A", "speed_rpm", "inlet_C", "density_kg_m3"}, func(a []float64) float64 {
		return fullOutput(a[0], a[1], a[2], a[3]).out.a / a[0]
	}},
	{"full_field_winding_C", "°C", []string{"class_V", "rated_A", "speed_rpm", "inlet_C", "bus_V"}, func(a []float64) float64 {
		o := labelOperating(a[0], a[1], a[2], a[3], math.NaN(), a[4])
		from := o.start()
		full := o.solve(fullField, 0, &from)
		return full.t[winding]
	}},
	{"worst_full_load_rpm", "rpm", []string{"rated_A", "inlet_C"}, func(a []float64) float64 {
		worst, at := 0.0, 0.0
		for n := 1500.0; n <= 9000; n += 50 {
			if t := fullOutput(a[0], n, a[1], math.NaN()).t[winding]; t > worst {
				worst, at = t, n
			}
		}
		return at
	}},
	{"thermal_ceiling_fraction", "1", []string{"rated_A", "speed_rpm", "inlet_C", "winding_limit_C", "density_kg_m3"}, func(a []float64) float64 {
		o := labelOperating(12, a[0], a[1], a[2], a[4], 13.5)
		from := o.start()
		full := o.solve(fullField, 0, &from)
		if full.t[winding] <= a[3] {
			return full.out.a / a[0]
		}
		held := o.solve(windingAt, a[3], &full)
		return held.out.a / a[0]
	}},
	{"settling_min", "min", []string{"rated_A", "speed_rpm"}, func(a []float64) float64 { return 3 * slowSeconds(a[0], a[1]) / 60 }},
	{"settling_all_min", "min", []string{"rated_A", "speed_rpm"}, func(a []float64) float64 { return 3 * slowestSeconds(a[0], a[1]) / 60 }},
	{"diode_rise_K", "K", []string{"output_A", "junction_K_per_W"}, func(a []float64) float64 { return twoDiodesV / 2 / 3 * a[1] * a[0] }},
	{"insulation_limit_C", "°C", []string{"class"}, func(a []float64) float64 { return classOf(a[0]).hottestC }},
	{"hot_spot_allowance_K", "K", []string{"class"}, func(a []float64) float64 { return classOf(a[0]).hotSpotK }},
	{"ageing_ratio", "1", []string{"winding_C", "reference_C"}, func(a []float64) float64 {
		c := classOf(4)
		return c.ageing(a[0]) / c.ageing(a[1])
	}},
	{"inlet_C", "°C", []string{"ambient_C", "speed_kmh"}, func(a []float64) float64 { return a[0] + air.InletRise(a[1]) }},
	{"standing_bay_C", "°C", []string{"ambient_C", "speed_kmh", "engine_off_min"}, func(a []float64) float64 { return a[0] + riseEngineOff(a[1], a[2]) }},

	// Air.
	{"isa_pressure_Pa", "Pa", []string{"altitude_m"}, func(a []float64) float64 { return air.Pressure(a[0]) }},
	{"isa_density", "kg/m3", []string{"altitude_m", "air_C"}, func(a []float64) float64 { return densityAt(a) }},
	{"density_ratio", "1", []string{"altitude_m", "air_C"}, func(a []float64) float64 { return densityAt(a) / air.SeaLevelDensity }},

	// Sun and day. day_ut is in days since 2000-01-01 00:00 UT, day of the civil
	// date by a clock ahead of UT by offset_h.
	{"sun_elevation_deg", "deg", []string{"day_ut", "latitude_deg", "longitude_deg"}, func(a []float64) float64 {
		h, _ := sun.Position(a[0], a[1], a[2])
		return h
	}},
	{"sun_azimuth_deg", "deg", []string{"day_ut", "latitude_deg", "longitude_deg"}, func(a []float64) float64 {
		_, az := sun.Position(a[0], a[1], a[2])
		return az
	}},
	{"sunrise_h", "h", []string{"day", "latitude_deg", "longitude_deg", "offset_h"}, func(a []float64) float64 {
		h, _, _ := sun.SunriseSunset(a[0], a[1], a[2], a[3])
		return h
	}},
	{"sunset_h", "h", []string{"day", "latitude_deg", "longitude_deg", "offset_h"}, func(a []float64) float64 {
		_, h, _ := sun.SunriseSunset(a[0], a[1], a[2], a[3])
		return h
	}},
	{"air_mass", "1", []string{"elevation_deg"}, func(a []float64) float64 { return sun.AirMass(a[0]) }},
	{"clear_sky_W_m2", "W/m2", []string{"elevation_deg", "air_mass", "turbidity", "altitude_m", "outside_W_m2"}, func(a []float64) float64 {
		s, _ := detmath.Sincos(a[0])
		g, _, _ := sun.Ineichen(s, a[1], a[2], a[3], a[4])
		return g
	}},
	{"clear_beam_W_m2", "W/m2", []string{"elevation_deg", "air_mass", "turbidity", "altitude_m", "outside_W_m2"}, func(a []float64) float64 {
		s, _ := detmath.Sincos(a[0])
		_, b, _ := sun.Ineichen(s, a[1], a[2], a[3], a[4])
		return b
	}},
	{"cloud_ratio", "1", []string{"cloud"}, func(a []float64) float64 { return sun.CloudRatio(a[0]) }},
	{"panel_W", "W", []string{"irradiance_W_m2", "cell_C", "peak_W", "gamma_per_K"}, func(a []float64) float64 { return sun.PanelW(a[0], a[1], a[2], a[3]) }},
	{"cell_C", "°C", []string{"irradiance_W_m2", "ambient_C", "wind_m_s", "noct_C", "efficiency"}, func(a []float64) float64 {
		return sun.CellC(a[0], a[1], a[2], a[3], a[4])
	}},
	{"mounted_cell_C", "°C", []string{"irradiance_W_m2", "ambient_C", "wind_m_s", "noct_C", "efficiency", "mounting"}, func(a []float64) float64 {
		// mounting 0 to 2: ventilated, gap_on_roof, flat_on_roof
		p := rig.Solar{NoctC: a[3], Mounting: [...]string{"ventilated", "gap_on_roof", "flat_on_roof"}[int(detmath.ClampAbs(detmath.Max(a[5], 0), 2))]}
		return sun.CellC(a[0], a[1], a[2], sun.MountedNoctC(&p), a[4])
	}},
	{"chained_loss", "1", []string{"soiling", "shading", "snow", "mismatch", "wiring", "connections", "light_induced", "nameplate", "age", "availability"}, func(a []float64) float64 {
		kept := 1.0
		for _, l := range a {
			kept *= 1 - l
		}
		return 1 - kept
	}},
	{"diurnal_C", "°C", []string{"hour", "sunrise_h", "sunset_h", "least_C", "greatest_C", "greatest_lag_h", "night_decay", "least_lag_h"}, func(a []float64) float64 {
		return a[3] + (a[4]-a[3])*sun.Diurnal(a[0], a[1], a[2], a[5], a[6], a[7])
	}},

	// Wiring.
	{"copper_ratio", "1", []string{"copper_C"}, func(a []float64) float64 { return conductor.Copper(a[0]) }},
	{"copper_to_20C_factor", "1", []string{"copper_C"}, func(a []float64) float64 { return 1 / conductor.Copper(a[0]) }},
	{"cable_ohm_per_m", "ohm/m", []string{"area_mm2", "conductor_C"}, func(a []float64) float64 { return conductor.Resistance20(a[0]) * conductor.Copper(a[1]) }},
	{"cable_drop_V", "V", []string{"current_A", "length_one_way_m", "area_mm2", "conductor_C"}, func(a []float64) float64 {
		l := conductor.NewLead(&rig.Cable{LengthM: a[1], AreaMM2: a[2]}, 12)
		return a[0] * (l.Ohm20*conductor.Copper(a[3]) + l.EndsOhm)
	}},
	{"iso_small_craft_drop_V", "V", []string{"current_A", "length_both_ways_m", "area_mm2"}, func(a []float64) float64 { return conductor.SmallCraftDrop(a[0], a[1], a[2]) }},
	{"ohm_from_drop", "ohm", []string{"drop_V", "current_A"}, func(a []float64) float64 { return a[0] / a[1] }},
	{"awg_mm2", "mm2", []string{"gauge"}, func(a []float64) float64 { return conductor.AWGArea(a[0]) }},
	{"awg_diameter_mm", "mm", []string{"gauge"}, func(a []float64) float64 { return detmath.Sqrt(conductor.AWGArea(a[0]) * 4 / math.Pi) }},
	{"solid_copper_awg_ohm_per_m", "ohm/m", []string{"gauge", "conductor_C"}, func(a []float64) float64 { return 0.017241 / conductor.AWGArea(a[0]) * conductor.Copper(a[1]) }},
	{"ampacity_A", "A", []string{"area_mm2", "insulation_C", "ambient_C"}, func(a []float64) float64 { return conductor.Ampacity(a[0], a[1], a[2]) }},
	{"ampacity_factor", "1", []string{"insulation_C", "ambient_C", "reference_C"}, func(a []float64) float64 {
		return conductor.Ampacity(10, a[0], a[1]) / conductor.Ampacity(10, a[0], a[2])
	}},
	{"fuse_continuous_A", "A", []string{"fuse_A", "ambient_C"}, func(a []float64) float64 { return conductor.FuseContinuous(a[0], a[1]) }},
	{"lead_measured_mohm", "mΩ", []string{"source_V", "far_V", "far_W"}, func(a []float64) float64 { return 1e3 * leadOhm(a[0], a[1], a[2]/a[1]) }},
	{"fuse_largest_A", "A", []string{"ampacity_A"}, func(a []float64) float64 { return conductor.FuseOverCable * a[0] }},

	// Charger, regulator, battery.
	{"charger_input_A", "A", []string{"output_A", "output_V", "efficiency", "input_V"}, func(a []float64) float64 {
		l := conductor.Lead{A105: 1e9}
		i, _ := inputA(a[0]*a[1], a[2], a[3], &l, 20)
		return i
	}},
	{"bus_default_V", "V", []string{"class_V", "machine_C"}, func(a []float64) float64 {
		return busDefault(a[0]/12) - regulatorPerK*a[0]/12*(a[1]-regulatorC)
	}},
	{"slope_mV_per_K", "mV/K", []string{"low_C", "low_V", "high_C", "high_V"}, func(a []float64) float64 { return 1e3 * (a[3] - a[1]) / (a[2] - a[0]) }},
	{"lifepo4_charge_per_h", "1/h", []string{"cell_C"}, func(a []float64) float64 {
		return AcceptedCurrent(&rig.HouseBattery{Given: true, Chemistry: "lifepo4", CapacityAh: 1, NominalV: 12.8}, a[0], 0.5)
	}},
	{"lead_rest_V", "V", []string{"kind", "charge"}, func(a []float64) float64 { return leadKindOf(leadKindName(a[0])).rest.at(a[1]) }},
	{"lifepo4_rest_V", "V", []string{"charge"}, func(a []float64) float64 { return lfpRest.at(a[0]) }},
	{"peukert_h", "h", []string{"capacity_Ah", "exponent", "current_A"}, func(a []float64) float64 { return peukertHours(a[0], a[1], a[2]) }},
	{"cold_capacity_share", "1", []string{"battery_C"}, func(a []float64) float64 {
		b := leadBattery("flooded", 1, 1, 1, 1)
		return 1 / b.drawn(0, a[0])
	}},
	{"reserve_min", "min", []string{"kind", "capacity_Ah", "cold_A"}, func(a []float64) float64 { return reserveMinutes(a[0], a[1], a[2]) }},
	{"reserve_share", "1", nil, func([]float64) float64 { q := NewRequest(); return q.Rig.HouseBattery.Reserve }},
	{"cranking_A", "A", []string{"cold_A", "battery_C"}, func(a []float64) float64 { return crankingA(a[0], a[1]) }},
	{"cranking_share", "1", []string{"cold_A", "battery_C", "reference_C"}, func(a []float64) float64 {
		return crankingA(a[0], a[1]) / crankingA(a[0], a[2])
	}},
	{"load_test_A", "A", []string{"cold_A"}, func(a []float64) float64 { return a[0] / 2 }},
	{"load_test_V", "V", []string{"cold_A", "health", "battery_C"}, func(a []float64) float64 { return loadTestV(a[0], a[1], a[2]) }},
	{"starter_draw_A", "A", []string{"fuel", "displacement_L", "engine_C"}, func(a []float64) float64 { return starterDrawA(a[0], a[1], a[2]) }},
	{"restart_margin_V", "V", []string{"capacity_Ah", "cold_EN_A", "health", "charge", "battery_C", "diesel_L"}, func(a []float64) float64 {
		return restartMargin(a[0], a[1], a[2], a[3], a[4], a[5])
	}},
	{"cranking_need_V", "V", []string{"battery_C"}, func(a []float64) float64 { return usualNeedV(a[0]) }},
	{"lead_taper_from", "1", []string{"charge_per_h"}, func(a []float64) float64 { return leadTaperFrom(a[0]) }},
	{"float_most_V", "V", []string{"kind", "battery_C"}, func(a []float64) float64 { _, v := floatRange(leadKindName(a[0]), 1, a[1]); return v }},
	{"absorption_V", "V", []string{"kind", "battery_C"}, func(a []float64) float64 { v, _ := absorptionV(leadKindName(a[0]), 1, a[1]); return v }},
	{"feed_verdict", "1", []string{"kind", "terminal_V", "battery_C"}, func(a []float64) float64 { return float64(judgeFeed(leadKindName(a[0]), 1, a[1], a[2])) }},
	{"charge_slope_mV_per_K", "mV/K", nil, func([]float64) float64 { return 1e3 * (warmed(26) - warmed(25)) }},

	// Loads, inverter, engine.
	{"load_sum_A", "A", []string{"current_A", "share", "..."}, func(a []float64) float64 {
		sum := 0.0
		for i := 1; i < len(a); i += 2 {
			sum += a[i-1] * a[i]
		}
		return sum
	}},
	{"usual_load_share", "1", nil, func([]float64) float64 { return usualLoadShare }},
	{"half_wave_W", "W", []string{"rated_W"}, func(a []float64) float64 { return a[0] / 2 }},
	{"inverter_input_W", "W", []string{"rated_W", "idle_W", "efficiency", "output_W"}, func(a []float64) float64 {
		v := rig.Inverter{Given: true, RatedW: a[0], IdleW: a[1], Efficiency: a[2]}
		return inverterInputW(&v, a[3])
	}},
	{"engine_rpm", "rpm", []string{"speed_kmh", "overall_ratio", "tyre_diameter_m"}, func(a []float64) float64 { return drivetrain.EngineRpm(a[0], a[1], a[2]) }},
	{"wheel_rpm", "rpm", []string{"engine_rpm", "overall_ratio"}, func(a []float64) float64 { return drivetrain.WheelRpm(a[0], a[1]) }},
	{"fuel_L_per_kWh", "L/kWh", []string{"petrol"}, func(a []float64) float64 {
		if a[0] == 1 {
			return drivetrain.FuelL("petrol", 1000)
		}
		return drivetrain.FuelL("diesel", 1000)
	}},
}

// euTest is the test of Decision (EU) 2017/785, annex section 3.
var euTest = [...]struct{ speedRpm, weight float64 }{{1800, 0.25}, {3000, 0.40}, {6000, 0.25}, {10000, 0.10}}

// machineOf reads the arguments named by machineNames.
func machineOf(a []float64) machine {
	return machine{flux: a[0], poles: a[1], l: a[2], r: a[3], dropV: 2 * a[4], refC: 20}
}

func pointsOf(a []float64) []rig.Point {
	p := make([]rig.Point, 0, len(a)/2)
	for i := 0; i+1 < len(a); i += 2 {
		p = append(p, rig.Point{SpeedRpm: a[i], CurrentA: a[i+1]})
	}
	return p
}

// labelMachine is the nominal machine of a label.
func labelMachine(ratedA, classV float64) machine {
	a := rig.Alternator{RatedCurrentA: ratedA, RatedSpeedRpm: 6000, PolePairs: 6, ClassV: "12"}
	if classV == 24 {
		a.ClassV = "24"
	}
	s := shapeOf(&a, 1)
	f := draw(&[unknowns]float64{}, &[unknowns]float64{})
	return s.machine(&f)
}

// copperStateA is the full-field output with the copper at given temperatures.
func (m *machine) copperStateA(speedRpm, windingC, rotorC float64) float64 {
	x, _ := m.fullField(m.testV, rotorC)
	return m.output(m.omega(speedRpm), m.testV, x, windingC).a
}

// labelOperating puts the nominal machine of a label into air, vents clean.
func labelOperating(classV, ratedA, speedRpm, inletC, density, busV float64) operating {
	if density != density {
		density = air.Density(0, inletC)
	}
	f := draw(&[unknowns]float64{}, &[unknowns]float64{})
	return newOperating(labelMachine(ratedA, classV), speedRpm, busV, inletC, density, f.flow, &f)
}

// fullOutput is the steady point at full field and 13.5 V.
func fullOutput(ratedA, speedRpm, inletC, density float64) steady {
	o := labelOperating(12, ratedA, speedRpm, inletC, density, 13.5)
	from := o.start()
	return o.solve(fullField, 0, &from)
}

// labelEfficiency is the steady efficiency at an output, in air of 23 °C.
func labelEfficiency(classV, ratedA, speedRpm, outputA, busV float64) float64 {
	o := labelOperating(classV, ratedA, speedRpm, 23, math.NaN(), busV)
	from := o.start()
	p := o.solve(fullField, 0, &from)
	if p.out.a > outputA {
		p = o.solve(fixedCurrent, outputA, &p)
	}
	w := busV * p.out.a
	return w / (w + o.losses(&p).Total())
}

// slowSeconds is the time constant with which winding and core settle
// together at constant heat, the air by them held at its temperature: the
// slower mode of two nodes.
//
//	λ² − (a + e)·λ + (a·e − b·d) = 0     (2)
func slowSeconds(ratedA, speedRpm float64) float64 {
	o := labelOperating(12, ratedA, speedRpm, 23, air.SeaLevelDensity, 13.5)
	c, heat := &o.cooling, o.machine.size.capacity()
	a, b := (c.ws+c.toStream.w)/heat[winding], -c.ws/heat[winding]
	d, e := -c.ws/heat[iron], (c.ws+c.toStream.s+c.sBay)/heat[iron]
	half, det := (a+e)/2, a*e-b*d
	return (half + detmath.Sqrt(half*half-det)) / det // (2)
}

// slowestSeconds is the slowest time constant of winding, core and rotor with the
// stream between them, at constant heat: the plates, which it passes first, do not
// feel them.
//
//	K·x' = C·x, τ = |x'|/|x|     (3)
//
// K are the conductances, C the capacities; repeated until the slowest mode is
// left.
func slowestSeconds(ratedA, speedRpm float64) float64 {
	o := labelOperating(12, ratedA, speedRpm, 23, air.SeaLevelDensity, 13.5)
	c, heat := &o.cooling, o.machine.size.capacity()
	w, s, r := c.toStream.w, c.toStream.s, c.toStream.r
	k := [3][3]float64{
		{c.ws + w*(1-c.gw), -c.ws - w*c.gs, -w * c.gr},
		{-c.ws - s*c.gw, c.ws + s*(1-c.gs) + c.sBay, -s * c.gr},
		{-r * c.gw, -r * c.gs, r*(1-c.gr) + c.rBay},
	}
	det := func(a, b, d [3]float64) float64 { // of columns
		return a[0]*(b[1]*d[2]-b[2]*d[1]) - b[0]*(a[1]*d[2]-a[2]*d[1]) + d[0]*(a[1]*b[2]-a[2]*b[1])
	}
	column := func(j int) [3]float64 { return [3]float64{k[0][j], k[1][j], k[2][j]} }
	whole := det(column(0), column(1), column(2))
	x, tau := [3]float64{1, 1, 1}, 0.0
	for range 200 {
		b := [3]float64{heat[winding] * x[0], heat[iron] * x[1], heat[rotor] * x[2]}
		next := [3]float64{
			det(b, column(1), column(2)) / whole,
			det(column(0), b, column(2)) / whole,
			det(column(0), column(1), b) / whole,
		} // (3), by Cramer's rule
		tau = next[0] + next[1] + next[2]
		for i := range x {
			x[i] = next[i] / tau
		}
	}
	return tau
}

// riseEngineOff is the rise of the bay's air above ambient, in K, some minutes
// after the engine was switched off at a road speed, in steps of a minute or less.
func riseEngineOff(speedKmh, minutes float64) float64 {
	rise := air.InletRise(speedKmh)
	minutes = detmath.Min(minutes, longStood)
	for stood := 0.0; stood < minutes; {
		step := detmath.Min(1, minutes-stood)
		stood += step
		rise = air.EngineOffRise(rise, stood, step)
	}
	return rise
}

// classOf is an insulation class by its place among A E B F H N R.
func classOf(i float64) insulationClass {
	return insulationClasses[int(detmath.Min(detmath.Max(i, 0), float64(len(insulationClasses)-1)))]
}

// densityAt is the density at a[0] m and a[1] °C; not a number there means the
// standard atmosphere's own temperature.
func densityAt(a []float64) float64 {
	t := a[1]
	if t != t {
		t = air.StandardAirC(a[0])
	}
	return air.Density(a[0], t)
}
