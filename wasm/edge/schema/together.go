package schema

// together says what goes together within an object, as the core's Request
// checks it.
func (w *writer) together(path string) Object {
	has := func(names ...string) Object { return Object{{"required", names}} }
	not := func(names ...string) Object {
		var each []Object
		for _, name := range names {
			each = append(each, has(name))
		}
		return Object{{"not", Object{{"anyOf", each}}}}
	}
	rows := func(list string) Object {
		return Object{{"properties", Object{{list, Object{{"minItems", 1}}}}}, {"required", []string{list}}}
	}
	is := func(name string, values ...string) Object {
		return Object{{"properties", Object{{name, Object{{"enum", values}}}}}, {"required", []string{name}}}
	}
	when := func(condition, then Object) Object { return Object{{"if", condition}, {"then", then}} }
	switch path {
	case "rig.alternator":
		if w.AnyMachine {
			return nil
		}
		return Object{
			{"anyOf", []Object{has("rated_current_A"), rows("points"), has("machine")}},
			{"if", Object{{"allOf", []Object{is("points_speed", "engine"), rows("points")}}}},
			{"then", has("pulley_ratio")},
			{"allOf", []Object{{
				{"if", is("regulator", "external")},
				{"then", Object{{"anyOf", []Object{has("limit_A"), has("limit_C")}}}},
				{"else", not("limit_A", "limit_C")},
			}}},
		}
	case "rig.cable":
		return Object{{"oneOf", []Object{has("area_mm2"), has("awg")}}}
	case "day":
		return Object{
			{"anyOf", []Object{has("min_C", "max_C"), rows("air")}},
			{"allOf", []Object{
				{{"not", Object{{"allOf", []Object{rows("legs"), rows("track")}}}}},
				{{"if", is("control", "schedule")}, {"then", rows("switches")}, {"else", Object{{"not", rows("switches")}}}},
			}},
		}
	case "day.legs[]":
		return Object{{"allOf", []Object{
			when(is("kind", "drive"), Object{{"required", []string{"speed_kmh"}}, {"properties", Object{{"engine", Object{{"const", "on"}}}}}, not("engine_rpm", "overall_ratio").both()}),
			when(is("kind", "stop", "camp"), not("speed_kmh", "stop_every_min", "stop_min")),
			when(is("kind", "camp"), Object{{"properties", Object{{"engine", Object{{"const", "off"}}}}}}),
		}}, {"dependentRequired", Object{{"stop_min", []string{"stop_every_min"}}, {"stop_every_min", []string{"stop_min"}}}}}
	case "day.loads[]":
		return Object{
			{"dependentRequired", Object{{"to", []string{"from"}}, {"minutes", []string{"from"}}}},
			{"if", has("from")}, {"then", Object{{"oneOf", []Object{has("to"), has("minutes")}}}},
		}
	case "wiring":
		return Object{{"oneOf", []Object{has("far_A"), has("far_W")}}}
	}
	return nil
}

// both turns "none of them" into "not all of them".
func (o Object) both() Member {
	not := o[0].Value.(Object)
	return Member{"not", Object{{"allOf", not[0].Value}}}
}
