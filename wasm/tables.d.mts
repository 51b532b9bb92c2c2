// Requests and answers, made from the tables of inputs and outputs by
// `go test ./wasm -run TestTypes -update-types`.

export interface CeilingRequest {
  /** what does not change during a day */
  rig: {
    /** the alternator: by its label, by points of a measured output curve, or by machine parameters */
    alternator: {
      /** measured output at full field, instead of the label */
      points?: {
        /** speed; rpm */
        speed_rpm: number;
        /** output with everything on; A */
        current_A: number;
      }[];
      /** star equivalent at full field, instead of the label */
      machine?: {
        /** pole pairs */
        pole_pairs: number;
        /** peak flux linkage of a phase at full field; Wb */
        flux_Wb: number;
        /** synchronous inductance of a phase at full field; H */
        inductance_H: number;
        /** resistance of a phase at reference_C; Ω */
        resistance_ohm: number;
        /** voltage drop of one rectifier diode; not given: follows the rectifier; V */
        diode_drop_V?: number;
        /** copper temperature at which the parameters hold; °C */
        reference_C?: number;
      };
      /** rated current; needed unless points or machine are given; A */
      rated_current_A?: number;
      /** alternator speed at the rated current; rpm */
      rated_speed_rpm?: number;
      /** current at idle speed; not given: a usual cut-in speed is assumed; A */
      idle_current_A?: number;
      /** alternator speed at the idle current; rpm */
      idle_speed_rpm?: number;
      /** voltage at which the label or curve was measured; not given: 13.5 or 27 V by class; V */
      test_V?: number;
      /** voltage class of the vehicle; V */
      class_V?: "12" | "24" | 12 | 24;
      /** pole pairs of the rotor */
      pole_pairs?: number;
      /** turns of the alternator per turn of the engine; not given: the usual ratio with its spread; needed for points against engine speed */
      pulley_ratio?: number;
      /** voltage that the regulator holds at the alternator, hot; not given: 13.6 or 27.6 V by class, treated as uncertain; V */
      regulator_V?: number;
      /** thermal class of the stator's insulation */
      insulation_class?: "A" | "E" | "B" | "F" | "H" | "N" | "R";
      /** share of the vents' air lost to dust: 0 brushed clean, 0.5 half blocked; not given: dusty, with its spread */
      fouling?: number;
      /** shaft power the belt can carry; not given: not checked; W */
      belt_W?: number;
      /** cooling of the alternator: by its own fan, by a separate fan whose speed does not depend on the alternator, or by the engine's coolant; for a water-cooled alternator inlet_C is the coolant temperature */
      cooling?: "own_fan" | "separate_fan" | "water";
      /** rectifier of the alternator: standard diodes (limit 160 °C), avalanche diodes (169 °C) or MOSFETs (160 °C); each limit is 15 K below the maximum */
      rectifier?: "standard" | "avalanche" | "mosfet";
      /** stator winding: round wire (classic), hairpin bars, or two three-phase windings (six_phase); choose hairpin for six phases of hairpin bars */
      stator?: "classic" | "hairpin" | "six_phase";
      /** regulator: holds one voltage (fixed), varies between 12.4 and 15 V, lowers the output when hot (self_limiting), or is external and set to a current or temperature */
      regulator?: "fixed" | "variable" | "self_limiting" | "external";
      /** current to which an external regulator limits the output; not given: no limit; A */
      limit_A?: number;
      /** case temperature at which an external regulator lowers the output; not given: no limit; °C */
      limit_C?: number;
      /** whether the speeds of points are those of the alternator or of the engine */
      points_speed?: "alternator" | "engine";
    };
    /** the engine */
    engine?: {
      /** engine speed at idle; rpm */
      idle_rpm?: number;
      /** displacement, for what starting takes and what charging burns; L */
      displacement_L?: number;
      /** fuel; a diesel is the harder to start */
      fuel?: "diesel" | "petrol";
      /** current of the starter motor while it turns the warm engine; not given: by displacement and fuel; A */
      cranking_A?: number;
      /** lowest battery voltage at which the engine still starts; not given: 9.6 V (class 24: 19.2 V) at 12 °C and above, falling to 8.5 V (17 V) at -18 °C; V */
      cranking_V?: number;
      /** tyre diameter, for engine speed by gearing; m */
      tyre_diameter_m?: number;
    };
    /** the lead from the alternator's side to the charger; left out: its limits are not checked */
    cable?: {
      /** copper area; this or awg is needed; mm² */
      area_mm2?: number;
      /** copper size, instead of area_mm2 */
      awg?: "18" | "16" | "14" | "12" | "10" | "8" | "6" | "4" | "3" | "2" | "1" | "0" | "1/0" | "2/0" | "3/0" | "4/0";
      /** length one way; the way back is counted as the same conductor; m */
      length_m: number;
      /** lugs and fuse contacts in the current's way, out and back */
      terminations?: number;
      /** resistance of one contact; mΩ */
      termination_mohm?: number;
      /** temperature the cable's insulation stands; °C */
      insulation_C?: number;
      /** rating of the fuse at the start of the lead; not given: not checked, and warned of; A */
      fuse_A?: number;
      /** share of the nominal voltage the lead may lose */
      max_drop?: number;
    };
    /** the charger between the two batteries; left out: its limits are not checked */
    charger?: {
      /** largest input current; not given: not checked; A */
      max_input_A?: number;
      /** largest output; W */
      max_output_W: number;
      /** output over input power; not given: the usual value with its spread */
      efficiency?: number;
      /** lowest input voltage at which the charger works; 0: not checked; V */
      min_input_V?: number;
      /** step of the charger's setting; W */
      step_W?: number;
      /** whether it stops charging by itself when the engine stops */
      stops_with_engine?: "yes" | "no";
      /** most it can feed from the house battery to the vehicle's side; 0: it cannot; W */
      feed_W?: number;
      /** voltage it holds on the vehicle's side while feeding; not given: 13.5 or 27 V by class; V */
      feed_V?: number;
      /** output over input power while feeding */
      feed_efficiency?: number;
      /** its own draw from the house battery while feeding; W */
      feed_idle_W?: number;
    };
    /** the battery being charged; left out: its limit is not checked */
    house_battery?: {
      /** chemistry; lead-acid without its kind is taken as flooded */
      chemistry: "lifepo4" | "lead-acid" | "flooded" | "agm" | "gel";
      /** capacity; Ah */
      capacity_Ah: number;
      /** nominal voltage; not given: 12.8 V for lifepo4, else 12 V; V */
      nominal_V?: number;
      /** voltage at the battery while charging; not given: follows the chemistry; V */
      charge_V?: number;
      /** maker's largest charge current, used in full from 10 to 45 °C; not given: follows chemistry and temperature; A */
      max_charge_A?: number;
      /** share of the charge kept back, to bring the engine back */
      reserve?: number;
      /** what its own electronics draw all day; W */
      self_W?: number;
      /** resistance at 25 °C; not given: by chemistry and capacity; mΩ */
      resistance_mohm?: number;
    };
    /** the vehicle's own battery */
    starter_battery?: {
      /** kind of the starter battery */
      kind?: "flooded" | "efb" | "agm" | "gel";
      /** capacity of the starter battery; Ah */
      capacity_Ah?: number;
      /** cold-cranking rating; not given: by capacity; A */
      cold_cranking_A?: number;
      /** standard of that rating */
      cold_cranking_by?: "SAE" | "EN";
      /** share of capacity and cranking current that age has left */
      health?: number;
    };
    /** mains voltage from the house battery; left out: there is none */
    inverter?: {
      /** continuous rating; W */
      rated_W: number;
      /** what it stands for a few seconds; not given: twice its rating; W */
      surge_W?: number;
      /** draw with nothing plugged in, while it is on; W */
      idle_W?: number;
      /** best efficiency */
      efficiency?: number;
    };
    /** the solar panel and its charger; left out: there is none */
    solar?: {
      /** rated power of the panels; W */
      peak_W: number;
      /** tilt from flat; ° */
      tilt_deg?: number;
      /** where a tilted panel faces, from north by east; ° */
      azimuth_deg?: number;
      /** gap behind the panel: flat_on_roof glued or up to 13 mm, gap_on_roof 13 to 38 mm, ventilated more than 89 mm; not given: gap_on_roof, or ventilated at a tilt of 10° or more */
      mounting?: "flat_on_roof" | "gap_on_roof" | "ventilated";
      /** cell temperature at 800 W/m², 20 °C and 1 m/s on an open rack; mounting on a roof raises it; °C */
      noct_C?: number;
      /** change of power with cell temperature; 1/K */
      gamma_per_K?: number;
      /** share of the light that dust takes */
      soiling?: number;
      /** of solar charger, wiring and mismatch together */
      efficiency?: number;
    };
    /** what was read on this vehicle, from which a fit learns */
    observations?: {
      /** when it was read */
      at?: string;
      /** how hot the alternator was before: warm, as without charging under these conditions; cold, as the air; before, as the reading above left it, which with the engine off is the only one that tells */
      begins?: "warm" | "cold" | "before";
      /** for how long these conditions had lasted when it was read; min */
      minutes: number;
      /** engine speed meanwhile; rpm */
      engine_rpm: number;
      /** road speed meanwhile; km/h */
      speed_kmh?: number;
      /** air temperature outside, in the shade; °C */
      ambient_C: number;
      /** altitude above sea level; m */
      altitude_m?: number;
      /** what the vehicle itself drew; not given: as at the moment asked, or anything from 150 to 1000 W; W */
      vehicle_loads_W?: number;
      /** charger's output meanwhile; W */
      setting_W?: number;
      /** whether so much was on that the volts sagged: the alternator gives all it can */
      everything_on?: "yes" | "no";
      /** instrument that read case_C, core_C and plates_C: infrared (aimed from a distance) or contact (a probe pressed on or fixed to the metal); not given: infrared */
      thermometer?: "infrared" | "contact";
      /** surface at which you aimed the infrared thermometer: painted (matt paint or tape), dull (oxidised, dark or dirty metal) or bright (bare metal, reads 20 to 30 K low); not given: bright, the careful choice */
      surface?: "bright" | "dull" | "painted";
      /** alternator's output; A */
      output_A?: number;
      /** voltage at the alternator, or where the charger's lead begins; V */
      bus_V?: number;
      /** air at the alternator's inlet; °C */
      inlet_C?: number;
      /** alternator's housing, at the end away from the rectifier; °C */
      case_C?: number;
      /** stator core, the bare laminations between the housings; °C */
      core_C?: number;
      /** rectifier's plates behind the rear cover; °C */
      plates_C?: number;
      /** voltage at the charger's input, at the same time as bus_V; V */
      charger_V?: number;
      /** current into the charger; A */
      charger_input_A?: number;
      /** house battery's state of charge when these conditions began */
      start_soc?: number;
      /** house battery's state of charge at their end */
      end_soc?: number;
      /** starter battery's voltage after an hour or more, better a night, with engine, charger and lights off; the last such reading tells its charge; V */
      rest_V?: number;
      /** the same while the starter turns the engine, at the start that ends that rest, six hours or more after the engine last ran; V */
      crank_V?: number;
    }[];
    /** what a fit learned from the readings; written by it, not by hand */
    learned?: {
      /** where the unknowns most likely lie */
      means?: {
        /** name in the table of unknowns */
        unknown: "air_film" | "inlet_rise" | "air_flow" | "cut_in_speed" | "vehicle_loads" | "pulley_ratio" | "slot_contact" | "iron_loss" | "bus_voltage" | "limit_current" | "rotor_film" | "rectifier_film" | "full_field" | "charger_efficiency";
        /** where it most likely lies, in spreads */
        mean: number;
      }[];
      /** how far they spread around that, and together */
      spread?: {
        /** unknown that is spread */
        unknown: "air_film" | "inlet_rise" | "air_flow" | "cut_in_speed" | "vehicle_loads" | "pulley_ratio" | "slot_contact" | "iron_loss" | "bus_voltage" | "limit_current" | "rotor_film" | "rectifier_film" | "full_field" | "charger_efficiency";
        /** direction in which it is, itself or one above it in the table */
        by: "air_film" | "inlet_rise" | "air_flow" | "cut_in_speed" | "vehicle_loads" | "pulley_ratio" | "slot_contact" | "iron_loss" | "bus_voltage" | "limit_current" | "rotor_film" | "rectifier_film" | "full_field" | "charger_efficiency";
        /** how far, in spreads */
        value: number;
      }[];
      /** mark of the alternator it was learned for; of another, or none, it is not counted */
      from?: string;
      /** where the inlet air's rise standing most likely lies, in spreads of inlet_rise */
      standing_mean?: number;
      /** how far it spreads around that */
      standing_spread?: number;
    };
  };
  /** what changes while driving */
  moment: {
    /** engine speed; rpm */
    engine_rpm: number;
    /** road speed; not given: standing, the hottest case; km/h */
    speed_kmh?: number;
    /** air temperature outside, in the shade; °C */
    ambient_C: number;
    /** altitude above sea level; m */
    altitude_m?: number;
    /** power that the vehicle itself draws: engine, fans, lights, air conditioning; not given: 30 % of the power on the alternator's label, treated as uncertain; W */
    vehicle_loads_W?: number;
    /** what the vehicle draws standing with the engine idling, its fan at full speed; not given: as vehicle_loads_W; W */
    idle_loads_W?: number;
    /** loads on the house side while charging, which take part of the charger's output; W */
    house_loads_W?: number;
    /** state of charge of the house battery */
    house_soc?: number;
    /** temperature of the house battery; not given: taken as ambient_C; °C */
    house_battery_C?: number;
    /** air temperature at the alternator's inlet, or coolant temperature of a water-cooled alternator; not given: estimated from ambient and road speed, or the coolant of a hot engine; °C */
    inlet_C?: number;
    /** charger's output since the engine was started, for the hold times; not given: charger off until now; W */
    setting_W?: number;
    /** minutes since the engine was started; min */
    minutes_since_start?: number;
  };
  /** share of plausible machines for which the answer is safe */
  confidence?: number;
}

export interface DayRequest {
  /** what does not change during a day */
  rig: {
    /** the alternator: by its label, by points of a measured output curve, or by machine parameters */
    alternator: {
      /** measured output at full field, instead of the label */
      points?: {
        /** speed; rpm */
        speed_rpm: number;
        /** output with everything on; A */
        current_A: number;
      }[];
      /** star equivalent at full field, instead of the label */
      machine?: {
        /** pole pairs */
        pole_pairs: number;
        /** peak flux linkage of a phase at full field; Wb */
        flux_Wb: number;
        /** synchronous inductance of a phase at full field; H */
        inductance_H: number;
        /** resistance of a phase at reference_C; Ω */
        resistance_ohm: number;
        /** voltage drop of one rectifier diode; not given: follows the rectifier; V */
        diode_drop_V?: number;
        /** copper temperature at which the parameters hold; °C */
        reference_C?: number;
      };
      /** rated current; needed unless points or machine are given; A */
      rated_current_A?: number;
      /** alternator speed at the rated current; rpm */
      rated_speed_rpm?: number;
      /** current at idle speed; not given: a usual cut-in speed is assumed; A */
      idle_current_A?: number;
      /** alternator speed at the idle current; rpm */
      idle_speed_rpm?: number;
      /** voltage at which the label or curve was measured; not given: 13.5 or 27 V by class; V */
      test_V?: number;
      /** voltage class of the vehicle; V */
      class_V?: "12" | "24" | 12 | 24;
      /** pole pairs of the rotor */
      pole_pairs?: number;
      /** turns of the alternator per turn of the engine; not given: the usual ratio with its spread; needed for points against engine speed */
      pulley_ratio?: number;
      /** voltage that the regulator holds at the alternator, hot; not given: 13.6 or 27.6 V by class, treated as uncertain; V */
      regulator_V?: number;
      /** thermal class of the stator's insulation */
      insulation_class?: "A" | "E" | "B" | "F" | "H" | "N" | "R";
      /** share of the vents' air lost to dust: 0 brushed clean, 0.5 half blocked; not given: dusty, with its spread */
      fouling?: number;
      /** shaft power the belt can carry; not given: not checked; W */
      belt_W?: number;
      /** cooling of the alternator: by its own fan, by a separate fan whose speed does not depend on the alternator, or by the engine's coolant; for a water-cooled alternator inlet_C is the coolant temperature */
      cooling?: "own_fan" | "separate_fan" | "water";
      /** rectifier of the alternator: standard diodes (limit 160 °C), avalanche diodes (169 °C) or MOSFETs (160 °C); each limit is 15 K below the maximum */
      rectifier?: "standard" | "avalanche" | "mosfet";
      /** stator winding: round wire (classic), hairpin bars, or two three-phase windings (six_phase); choose hairpin for six phases of hairpin bars */
      stator?: "classic" | "hairpin" | "six_phase";
      /** regulator: holds one voltage (fixed), varies between 12.4 and 15 V, lowers the output when hot (self_limiting), or is external and set to a current or temperature */
      regulator?: "fixed" | "variable" | "self_limiting" | "external";
      /** current to which an external regulator limits the output; not given: no limit; A */
      limit_A?: number;
      /** case temperature at which an external regulator lowers the output; not given: no limit; °C */
      limit_C?: number;
      /** whether the speeds of points are those of the alternator or of the engine */
      points_speed?: "alternator" | "engine";
    };
    /** the engine */
    engine?: {
      /** engine speed at idle; rpm */
      idle_rpm?: number;
      /** displacement, for what starting takes and what charging burns; L */
      displacement_L?: number;
      /** fuel; a diesel is the harder to start */
      fuel?: "diesel" | "petrol";
      /** current of the starter motor while it turns the warm engine; not given: by displacement and fuel; A */
      cranking_A?: number;
      /** lowest battery voltage at which the engine still starts; not given: 9.6 V (class 24: 19.2 V) at 12 °C and above, falling to 8.5 V (17 V) at -18 °C; V */
      cranking_V?: number;
      /** tyre diameter, for engine speed by gearing; m */
      tyre_diameter_m?: number;
    };
    /** the lead from the alternator's side to the charger; left out: its limits are not checked */
    cable?: {
      /** copper area; this or awg is needed; mm² */
      area_mm2?: number;
      /** copper size, instead of area_mm2 */
      awg?: "18" | "16" | "14" | "12" | "10" | "8" | "6" | "4" | "3" | "2" | "1" | "0" | "1/0" | "2/0" | "3/0" | "4/0";
      /** length one way; the way back is counted as the same conductor; m */
      length_m: number;
      /** lugs and fuse contacts in the current's way, out and back */
      terminations?: number;
      /** resistance of one contact; mΩ */
      termination_mohm?: number;
      /** temperature the cable's insulation stands; °C */
      insulation_C?: number;
      /** rating of the fuse at the start of the lead; not given: not checked, and warned of; A */
      fuse_A?: number;
      /** share of the nominal voltage the lead may lose */
      max_drop?: number;
    };
    /** the charger between the two batteries; left out: its limits are not checked */
    charger: {
      /** largest input current; not given: not checked; A */
      max_input_A?: number;
      /** largest output; W */
      max_output_W: number;
      /** output over input power; not given: the usual value with its spread */
      efficiency?: number;
      /** lowest input voltage at which the charger works; 0: not checked; V */
      min_input_V?: number;
      /** step of the charger's setting; W */
      step_W?: number;
      /** whether it stops charging by itself when the engine stops */
      stops_with_engine?: "yes" | "no";
      /** most it can feed from the house battery to the vehicle's side; 0: it cannot; W */
      feed_W?: number;
      /** voltage it holds on the vehicle's side while feeding; not given: 13.5 or 27 V by class; V */
      feed_V?: number;
      /** output over input power while feeding */
      feed_efficiency?: number;
      /** its own draw from the house battery while feeding; W */
      feed_idle_W?: number;
    };
    /** the battery being charged; left out: its limit is not checked */
    house_battery: {
      /** chemistry; lead-acid without its kind is taken as flooded */
      chemistry: "lifepo4" | "lead-acid" | "flooded" | "agm" | "gel";
      /** capacity; Ah */
      capacity_Ah: number;
      /** nominal voltage; not given: 12.8 V for lifepo4, else 12 V; V */
      nominal_V?: number;
      /** voltage at the battery while charging; not given: follows the chemistry; V */
      charge_V?: number;
      /** maker's largest charge current, used in full from 10 to 45 °C; not given: follows chemistry and temperature; A */
      max_charge_A?: number;
      /** share of the charge kept back, to bring the engine back */
      reserve?: number;
      /** what its own electronics draw all day; W */
      self_W?: number;
      /** resistance at 25 °C; not given: by chemistry and capacity; mΩ */
      resistance_mohm?: number;
    };
    /** the vehicle's own battery */
    starter_battery?: {
      /** kind of the starter battery */
      kind?: "flooded" | "efb" | "agm" | "gel";
      /** capacity of the starter battery; Ah */
      capacity_Ah?: number;
      /** cold-cranking rating; not given: by capacity; A */
      cold_cranking_A?: number;
      /** standard of that rating */
      cold_cranking_by?: "SAE" | "EN";
      /** share of capacity and cranking current that age has left */
      health?: number;
    };
    /** mains voltage from the house battery; left out: there is none */
    inverter?: {
      /** continuous rating; W */
      rated_W: number;
      /** what it stands for a few seconds; not given: twice its rating; W */
      surge_W?: number;
      /** draw with nothing plugged in, while it is on; W */
      idle_W?: number;
      /** best efficiency */
      efficiency?: number;
    };
    /** the solar panel and its charger; left out: there is none */
    solar?: {
      /** rated power of the panels; W */
      peak_W: number;
      /** tilt from flat; ° */
      tilt_deg?: number;
      /** where a tilted panel faces, from north by east; ° */
      azimuth_deg?: number;
      /** gap behind the panel: flat_on_roof glued or up to 13 mm, gap_on_roof 13 to 38 mm, ventilated more than 89 mm; not given: gap_on_roof, or ventilated at a tilt of 10° or more */
      mounting?: "flat_on_roof" | "gap_on_roof" | "ventilated";
      /** cell temperature at 800 W/m², 20 °C and 1 m/s on an open rack; mounting on a roof raises it; °C */
      noct_C?: number;
      /** change of power with cell temperature; 1/K */
      gamma_per_K?: number;
      /** share of the light that dust takes */
      soiling?: number;
      /** of solar charger, wiring and mismatch together */
      efficiency?: number;
    };
    /** what was read on this vehicle, from which a fit learns */
    observations?: {
      /** when it was read */
      at?: string;
      /** how hot the alternator was before: warm, as without charging under these conditions; cold, as the air; before, as the reading above left it, which with the engine off is the only one that tells */
      begins?: "warm" | "cold" | "before";
      /** for how long these conditions had lasted when it was read; min */
      minutes: number;
      /** engine speed meanwhile; rpm */
      engine_rpm: number;
      /** road speed meanwhile; km/h */
      speed_kmh?: number;
      /** air temperature outside, in the shade; °C */
      ambient_C: number;
      /** altitude above sea level; m */
      altitude_m?: number;
      /** what the vehicle itself drew; not given: as at the moment asked, or anything from 150 to 1000 W; W */
      vehicle_loads_W?: number;
      /** charger's output meanwhile; W */
      setting_W?: number;
      /** whether so much was on that the volts sagged: the alternator gives all it can */
      everything_on?: "yes" | "no";
      /** instrument that read case_C, core_C and plates_C: infrared (aimed from a distance) or contact (a probe pressed on or fixed to the metal); not given: infrared */
      thermometer?: "infrared" | "contact";
      /** surface at which you aimed the infrared thermometer: painted (matt paint or tape), dull (oxidised, dark or dirty metal) or bright (bare metal, reads 20 to 30 K low); not given: bright, the careful choice */
      surface?: "bright" | "dull" | "painted";
      /** alternator's output; A */
      output_A?: number;
      /** voltage at the alternator, or where the charger's lead begins; V */
      bus_V?: number;
      /** air at the alternator's inlet; °C */
      inlet_C?: number;
      /** alternator's housing, at the end away from the rectifier; °C */
      case_C?: number;
      /** stator core, the bare laminations between the housings; °C */
      core_C?: number;
      /** rectifier's plates behind the rear cover; °C */
      plates_C?: number;
      /** voltage at the charger's input, at the same time as bus_V; V */
      charger_V?: number;
      /** current into the charger; A */
      charger_input_A?: number;
      /** house battery's state of charge when these conditions began */
      start_soc?: number;
      /** house battery's state of charge at their end */
      end_soc?: number;
      /** starter battery's voltage after an hour or more, better a night, with engine, charger and lights off; the last such reading tells its charge; V */
      rest_V?: number;
      /** the same while the starter turns the engine, at the start that ends that rest, six hours or more after the engine last ran; V */
      crank_V?: number;
    }[];
    /** what a fit learned from the readings; written by it, not by hand */
    learned?: {
      /** where the unknowns most likely lie */
      means?: {
        /** name in the table of unknowns */
        unknown: "air_film" | "inlet_rise" | "air_flow" | "cut_in_speed" | "vehicle_loads" | "pulley_ratio" | "slot_contact" | "iron_loss" | "bus_voltage" | "limit_current" | "rotor_film" | "rectifier_film" | "full_field" | "charger_efficiency";
        /** where it most likely lies, in spreads */
        mean: number;
      }[];
      /** how far they spread around that, and together */
      spread?: {
        /** unknown that is spread */
        unknown: "air_film" | "inlet_rise" | "air_flow" | "cut_in_speed" | "vehicle_loads" | "pulley_ratio" | "slot_contact" | "iron_loss" | "bus_voltage" | "limit_current" | "rotor_film" | "rectifier_film" | "full_field" | "charger_efficiency";
        /** direction in which it is, itself or one above it in the table */
        by: "air_film" | "inlet_rise" | "air_flow" | "cut_in_speed" | "vehicle_loads" | "pulley_ratio" | "slot_contact" | "iron_loss" | "bus_voltage" | "limit_current" | "rotor_film" | "rectifier_film" | "full_field" | "charger_efficiency";
        /** how far, in spreads */
        value: number;
      }[];
      /** mark of the alternator it was learned for; of another, or none, it is not counted */
      from?: string;
      /** where the inlet air's rise standing most likely lies, in spreads of inlet_rise */
      standing_mean?: number;
      /** how far it spreads around that */
      standing_spread?: number;
    };
  };
  /** what is planned, from one start of the day to the next */
  day: {
    /** air temperature at times of the day, instead of min_C and max_C */
    air?: {
      /** time of day */
      at: string;
      /** air temperature in the shade at that time; straight lines between; °C */
      ambient_C: number;
    }[];
    /** what the vehicle does; times not covered are camp with the engine off */
    legs?: {
      /** the day it belongs to; not given: every day */
      day?: number;
      /** time it begins */
      from: string;
      /** time it ends */
      to: string;
      /** what the vehicle does */
      kind: "drive" | "stop" | "camp";
      /** whether the engine runs; not given: on for a drive, else off */
      engine?: "on" | "off";
      /** road speed; a drive needs it; km/h */
      speed_kmh?: number;
      /** engine speed; not given: by overall_ratio, or idle speed; rpm */
      engine_rpm?: number;
      /** engine turns per turn of the wheel, instead of engine_rpm; needs tyre_diameter_m */
      overall_ratio?: number;
      /** minutes driven from one stop to the next; not given: no stops; min */
      stop_every_min?: number;
      /** length of such a stop; min */
      stop_min?: number;
      /** whether the engine runs at such a stop */
      stop_engine?: "on" | "off";
      /** what the vehicle itself draws meanwhile; not given: as on the day; W */
      vehicle_loads_W?: number;
      /** altitude meanwhile; not given: as on the day; m */
      altitude_m?: number;
    }[];
    /** what draws power, besides the vehicle's own */
    loads?: {
      /** what it is */
      name: string;
      /** power while it draws; behind an inverter, what it draws from that; W */
      watts: number;
      /** share of the time it draws */
      duty?: number;
      /** what feeds it: the house battery, that through the inverter, or the vehicle's side */
      side?: "house" | "inverter" | "vehicle";
      /** time it begins; not given: all day */
      from?: string;
      /** time it ends; needed with from, unless minutes says how long */
      to?: string;
      /** length of one run from its begin, instead of to; min */
      minutes?: number;
      /** whether it draws only while the engine runs, or only while it does not */
      when?: "always" | "engine_on" | "engine_off";
      /** what it draws for a few seconds at its start; W */
      surge_W?: number;
      /** whether it must not be shed */
      keep?: "yes" | "no";
    }[];
    /** when the charger is set, every day, for control by schedule */
    switches?: {
      /** time of day */
      at: string;
      /** what the charger is set to: charge the house battery, feed the vehicle's side, or off */
      to: "charge" | "feed" | "off";
    }[];
    /** a recorded track minute by minute, instead of legs; minutes not covered are camp with the engine off */
    track?: {
      /** minutes since midnight of the first day; min */
      minute: number;
      /** mean road speed in that minute; km/h */
      speed_kmh: number;
      /** mean engine speed; not given: by track_ratio or track_engine_rpm while moving, idle speed while standing; rpm */
      engine_rpm?: number;
      /** whether the engine ran */
      engine?: "on" | "off";
      /** altitude; not given: as on the day; m */
      altitude_m?: number;
    }[];
    /** date of the first day; not given: no sun is counted */
    date?: string;
    /** latitude, north positive; not given: no sun is counted; ° */
    latitude_deg?: number;
    /** longitude, east positive; not given: no sun is counted; ° */
    longitude_deg?: number;
    /** clock time less universal time; not given: by longitude, which may be an hour or two out; h */
    utc_offset_h?: number;
    /** number of days */
    days?: number;
    /** time at which a day begins and the night before it ends */
    start?: string;
    /** lowest air temperature, before dawn; this with max_C, or air, is needed; °C */
    min_C?: number;
    /** highest air temperature, in the afternoon; °C */
    max_C?: number;
    /** share of the sky under cloud */
    cloud?: number;
    /** altitude above sea level; m */
    altitude_m?: number;
    /** state of charge of the house battery at the start */
    house_soc: number;
    /** state of charge of the starter battery at the start */
    starter_soc?: number;
    /** temperature of the house battery; not given: that of the air; °C */
    house_battery_C?: number;
    /** state of charge the house battery is to reach */
    want_soc?: number;
    /** time by which, on each day; not given: the end of the last drive */
    want_by?: string;
    /** power that the vehicle itself draws with the engine running; not given: 30 % of the power on the alternator's label; W */
    vehicle_loads_W?: number;
    /** the same standing with the engine idling; not given: as vehicle_loads_W; W */
    idle_loads_W?: number;
    /** what the vehicle draws with the engine off and all closed; W */
    parked_W?: number;
    /** who sets the charger: by hand at the hand-overs that are worth one, by itself from the engine's state, or by switches */
    control?: "by_hand" | "automatic" | "schedule";
    /** shortest pause for which a hand-over by hand is worth while; min */
    shortest_switch_min?: number;
    /** charger's output to try; not given: the gentlest sufficient setting is sought; W */
    setting_W?: number;
    /** step of the series in the answer; 0: none; min */
    series_min?: number;
    /** engine turns per turn of the wheel along a track without engine speed */
    track_ratio?: number;
    /** engine speed while moving along a track without it, instead of track_ratio; neither: idle speed; rpm */
    track_engine_rpm?: number;
  };
  /** share of plausible machines for which the answer is safe */
  confidence?: number;
}

export interface CeilingAnswer {
  advice: {
    /** setting to choose: the lower of now and if you stop; W */
    output_W: number | null;
    /** the same at the house battery's charging voltage; A */
    output_A: number | null;
    /** what that setting draws at the charger's input, likeliest; A */
    draw_A: number | null;
    /** current into the charger not to be passed; A */
    input_A: number | null;
    /** now or after_idle: which is the lower */
    because: string | null;
  };
  ceiling: {
    /** largest safe current into the charger, rounded down to 0.1 A; A */
    input_A: number | null;
    /** output_W at the house battery's charging voltage; A */
    output_A: number | null;
    /** largest safe setting, rounded down to the charger's step; W */
    output_W: number | null;
    /** what the setting draws at the charger's input, likeliest; A */
    draw_A: number | null;
    /** the limit that sets it */
    limit: string | null;
    /** share of plausible vehicles for which it is safe */
    confidence: number | null;
  };
  nominal: {
    /** ceiling of the likeliest vehicle; A */
    input_A: number | null;
    /** output_W at the house battery's charging voltage; A */
    output_A: number | null;
    /** setting for the likeliest vehicle; W */
    output_W: number | null;
    /** the limit that sets it */
    limit: string | null;
  };
  limits: {
    /** limit */
    limit: string | null;
    /** its own ceiling at the asked confidence; null: never binds; A */
    input_A: number | null;
    /** its own ceiling in the likeliest vehicle; null: never binds; A */
    nominal_A: number | null;
    /** what is limited */
    meaning: string | null;
  }[];
  temperatures_C: {
    /** mean of the winding at the ceiling, likeliest vehicle; °C */
    stator_winding: number | null;
    /** core and housings; °C */
    stator_core: number | null;
    /** diode junction; °C */
    rectifier_junction: number | null;
    /** mean of the field winding; °C */
    rotor: number | null;
    /** air at the alternator's inlet; °C */
    inlet_air: number | null;
  };
  careful_C: {
    /** the same for the vehicle at the edge of the confidence; °C */
    stator_winding: number | null;
    /** core and housings; °C */
    stator_core: number | null;
    /** diode junction; °C */
    rectifier_junction: number | null;
    /** mean of the field winding; °C */
    rotor: number | null;
    /** air at the alternator's inlet; °C */
    inlet_air: number | null;
  };
  design_C: {
    /** design value of the insulation class, mean of the winding; °C */
    stator_winding: number | null;
    /** design value of the diodes; °C */
    rectifier_junction: number | null;
    /** design value of the field winding; °C */
    rotor: number | null;
  };
  alternator: {
    /** output at the ceiling, vehicle loads included, likeliest; A */
    current_A: number | null;
    /** output at full field and the same temperatures; A */
    available_A: number | null;
    /** what vehicle and starter battery take of it; A */
    other_A: number | null;
    /** alternator speed; rpm */
    speed_rpm: number | null;
    /** voltage at the alternator; V */
    bus_V: number | null;
    /** power taken from the belt; W */
    shaft_W: number | null;
    /** electrical output over shaft power */
    efficiency: number | null;
    losses_W: {
      /** stator winding; W */
      stator_copper: number | null;
      /** diodes; W */
      rectifier: number | null;
      /** field winding; W */
      field: number | null;
      /** core; W */
      iron: number | null;
      /** friction and fan; W */
      mechanical: number | null;
    };
  };
  insulation: {
    /** ageing of the winding's insulation at the ceiling over that at the design value, likeliest */
    ageing: number | null;
    /** the same for the vehicle at the edge of the confidence */
    careful_ageing: number | null;
  };
  hold: {
    /** a higher setting; W */
    output_W: number | null;
    /** what it draws in the vehicle at the edge of the confidence; A */
    input_A: number | null;
    /** for how long it may be held from now; null: for the hour looked at; min */
    minutes: number | null;
    /** the limit reached then; null: none */
    limit: string | null;
  }[];
  after_idle: {
    /** ceiling ten minutes after stopping with the engine idling; A */
    input_A: number | null;
    /** output_W at the house battery's charging voltage; A */
    output_A: number | null;
    /** setting for that; W */
    output_W: number | null;
    /** the limit that sets it */
    limit: string | null;
    /** air at the alternator's inlet then, likeliest; °C */
    inlet_air_C: number | null;
    /** how long it has idled; min */
    minutes: number | null;
  };
  costliest_unknown: {
    /** what not knowing costs most */
    unknown: string | null;
    /** how much higher the ceiling would be if it were known to be as likeliest; A */
    cost_A: number | null;
    /** what to observe */
    measure: string | null;
  };
  unknowns: {
    /** name in the table of unknowns */
    unknown: string | null;
    /** what not knowing it costs; A */
    cost_A: number | null;
    /** what to observe */
    measure: string | null;
  }[];
  wiring?: {
    /** lead out and back at the ceiling; Ω */
    lead_ohm: number | null;
    /** voltage lost in it; V */
    drop_V: number | null;
    /** voltage at the charger; V */
    charger_V: number | null;
    /** conductor temperature; °C */
    conductor_C: number | null;
    /** continuous current of the cable in this heat; A */
    ampacity_A: number | null;
    /** continuous current of the fuse in this heat; null: none given; A */
    fuse_continuous_A: number | null;
  };
  fit?: {
    /** fitted speed at which output begins; rpm */
    cut_in_rpm: number | null;
    /** fitted output at infinite speed without resistance; A */
    limit_current_A: number | null;
    /** fitted R/X at 6000 rpm */
    r_over_x_6000: number | null;
    /** largest miss of a point; A */
    max_residual_A: number | null;
  };
  validity: {
    /** stable code */
    code: string | null;
    /** input it is about */
    field: string | null;
    /** for a person */
    message: string | null;
  }[];
  says: {
    /** stable code */
    code: string | null;
    /** for a person */
    text: string | null;
  }[];
  /** for a person */
  cautions: string[];
}

export interface DayAnswer {
  setting: {
    /** setting for the charger, all day; W */
    output_W: number | null;
    /** the same at the house battery's charging voltage; A */
    output_A: number | null;
    /** setting to be tried; null: none was given; W */
    asked_W: number | null;
    /** what it draws at the charger's input, likeliest; A */
    draw_A: number | null;
    /** gentlest: the least that reaches the wanted charge; most: none does, the least of those that come nearest; given: as asked, as far as it is allowed */
    why: string | null;
    /** highest setting that any stretch of the day allows; W */
    allowed_W: number | null;
    /** share of plausible vehicles for which that is safe */
    confidence: number | null;
  };
  goal: {
    /** yes or no: the wanted charge is there when it is due, on every day, and every start succeeds */
    reached: string | null;
    /** wanted state of charge */
    want_soc: number | null;
    /** time at which it is due, on the day that comes nearest to missing it */
    due_at: string | null;
    /** that day */
    due_day: number | null;
    /** state of charge then */
    soc_then: number | null;
    /** what is missing then; Wh */
    missing_Wh: number | null;
    /** time at which the wanted charge is first there; null: never */
    full_at: string | null;
    /** that day */
    full_day: number | null;
    /** lowest charge of the house battery in all */
    low_soc: number | null;
    /** time of it */
    low_at: string | null;
    /** time from which something has no power; null: never */
    empty_at: string | null;
    /** what loads asked for and there was nothing left for; Wh */
    short_Wh: number | null;
    /** first start that fails; null: none does */
    failed_start_at: string | null;
    /** time from which the engine would not start again, even with nothing forgotten; null: it always does */
    no_start_at: string | null;
  };
  stretches: {
    /** day */
    day: number | null;
    /** begin of a time in which the charger charges */
    from: string | null;
    /** its end */
    to: string | null;
    /** highest setting it allows, at the asked confidence; W */
    allowed_W: number | null;
    /** the limit that sets that */
    limit: string | null;
    /** setting in it; W */
    setting_W: number | null;
    /** energy out of the charger in it; Wh */
    charged_Wh: number | null;
  }[];
  handovers: {
    /** day */
    day: number | null;
    /** time */
    at: string | null;
    /** what to set the charger to: charge, feed or off */
    to: string | null;
    /** setting, where it charges; W */
    setting_W: number | null;
    /** reason */
    why: string | null;
    /** forgotten: time from which the engine does not start; null: not sooner than without, within 36 h and the plan */
    forgotten_no_start_at: string | null;
    /** forgotten: time at which the house battery passes its reserve */
    forgotten_reserve_at: string | null;
    /** forgotten: time at which something is left without power */
    forgotten_empty_at: string | null;
    /** forgotten: time at which the setting before passes a limit of the alternator */
    forgotten_too_much_at: string | null;
    /** that limit */
    forgotten_limit: string | null;
    /** forgotten: house battery when the wanted charge is due next; null: not due any more */
    forgotten_soc_then: number | null;
  }[];
  nights: {
    /** day it follows */
    day: number | null;
    /** begin of the day's longest pause */
    from: string | null;
    /** lowest charge of the house battery in it */
    house_low_soc: number | null;
    /** time of it */
    house_low_at: string | null;
    /** time at which the house battery passes its reserve; null: it does not */
    reserve_at: string | null;
    /** time at which a battery is empty; null: none is */
    empty_at: string | null;
    /** its end: time of the start */
    morning_at: string | null;
    /** air then; °C */
    morning_C: number | null;
    /** yes or no: the engine starts */
    starts: string | null;
    /** charge of the starter battery then */
    starter_soc: number | null;
    /** charge it needs to start the engine; null: not even full */
    starter_least_soc: number | null;
    /** its voltage at rest then; V */
    starter_rest_V: number | null;
    /** its voltage while cranking; V */
    cranking_V: number | null;
    /** lowest voltage at which the engine still starts; V */
    needed_V: number | null;
    /** what the house side's loads take in that time; Wh */
    house_Wh: number | null;
  }[];
  cut_off: {
    /** lowest air temperature of the plan; °C */
    coolest_C: number | null;
    /** cut-off of the vehicle's side that keeps the engine startable then, battery at rest; V */
    rest_V: number | null;
    /** the same under load_A; V */
    loaded_V: number | null;
    /** mean load on the vehicle's side with the engine off; A */
    load_A: number | null;
  };
  feed: {
    /** voltage at the starter battery's posts while feeding; null: no feed; V */
    posts_V: number | null;
    /** whether that may stay on for ever */
    verdict: string | null;
    /** lowest voltage that keeps the starter battery full; V */
    from_V: number | null;
    /** highest voltage that may stay on for ever; V */
    to_V: number | null;
  };
  rescue: {
    /** starter battery in the morning after its loads were left on it */
    starter_soc: number | null;
    /** what the house battery must give to make it start again; Wh */
    need_Wh: number | null;
    /** the same as a share of the house battery */
    need_soc: number | null;
    /** yes or no */
    reserve_holds_it: string | null;
  };
  remedies: {
    /** stable code */
    code: string | null;
    /** for a person */
    text: string | null;
    /** yes or no: it alone suffices */
    reached: string | null;
    /** charge it leads to when the wanted charge is due */
    soc_then: number | null;
    /** what it gains; Wh */
    gain_Wh: number | null;
  }[];
  hottest_C: {
    /** time of the hottest winding, likeliest vehicle */
    at: string | null;
    /** hottest of the plan at its setting, likeliest vehicle; °C */
    stator_winding: number | null;
    /** diode junction; °C */
    rectifier_junction: number | null;
    /** mean of the field winding; °C */
    rotor: number | null;
  };
  careful_C: {
    /** the same at the highest settings allowed, careful vehicle; °C */
    stator_winding: number | null;
    /** diode junction; °C */
    rectifier_junction: number | null;
    /** mean of the field winding; °C */
    rotor: number | null;
  };
  ledger: {
    /** source, use, loss or stored */
    kind: string | null;
    /** what */
    name: string | null;
    /** energy: in positive, out negative; all add up to zero; Wh */
    Wh: number | null;
  }[];
  /** fuel burnt for charging, the engine running anyway; L */
  fuel_L: number | null;
  series: {
    /** end of a step of the series */
    at: string[];
    /** the same in minutes since midnight of the first day; min */
    at_min: string[];
    /** house battery at its end */
    house_soc: string[];
    /** starter battery at its end */
    starter_soc: string[];
    /** mean voltage of the starter battery; V */
    starter_V: string[];
    /** mean output of the charger; W */
    charge_W: string[];
    /** highest setting the stretch allows; W */
    allowed_W: string[];
    /** ceiling at the asked confidence; in short stops without what heats slowly; W */
    ceiling_W: string[];
    /** mean output of the alternator; A */
    alternator_A: string[];
    /** mean temperature of its winding, likeliest vehicle; °C */
    stator_winding_C: string[];
    /** air; °C */
    ambient_C: string[];
    /** what the panel offers; W */
    sun_W: string[];
    /** drawn on the house side; W */
    house_W: string[];
    /** drawn on the vehicle's side; W */
    vehicle_W: string[];
    /** road speed; km/h */
    speed_kmh: string[];
    /** engine speed; 0: off; rpm */
    engine_rpm: string[];
  };
  validity: {
    /** stable code */
    code: string | null;
    /** input it is about */
    field: string | null;
    /** for a person */
    message: string | null;
  }[];
  says: {
    /** stable code */
    code: string | null;
    /** for a person */
    text: string | null;
  }[];
  /** for a person */
  cautions: string[];
}

export interface FitAnswer {
  /** learned, nothing_learned, contradiction or not_converged */
  verdict: string | null;
  /** yes or no: what was learned may be relied on */
  keep: string | null;
  /** share of plausible vehicles for which the ceilings are safe */
  confidence: number | null;
  search: {
    /** steps of the search, all starts together */
    iterations: number | null;
    /** points from which it set out */
    starts: number | null;
    /** how many of them ended at the same place */
    agreeing: number | null;
    /** sum of squared residuals in deviations and of squared parameters; about the number of readings where all is well */
    misfit: number | null;
  };
  moments: {
    /** engine speed: of the moment asked, idling, and driving slowly and faster; rpm */
    engine_rpm: number | null;
    /** road speed; km/h */
    speed_kmh: number | null;
    /** air; °C */
    ambient_C: number | null;
    /** ceiling into the charger before; A */
    before_A: number | null;
    /** and after; A */
    after_A: number | null;
    /** advised setting before; W */
    before_W: number | null;
    /** and after; W */
    after_W: number | null;
    /** ceiling of the likeliest vehicle before; A */
    likeliest_before_A: number | null;
    /** and after; A */
    likeliest_after_A: number | null;
  }[];
  readings: {
    /** row of rig.observations, from 0 */
    row: number | null;
    /** what was read */
    reading: string | null;
    /** its unit */
    unit: string | null;
    /** as read */
    value: number | null;
    /** in the likeliest vehicle */
    expected: number | null;
    /** standard deviation of one such reading */
    deviation: number | null;
    /** how far off, in deviations */
    off: number | null;
    /** yes or no: it fits no plausible vehicle together with the others */
    outlier: string | null;
  }[];
  parameters: {
    /** an unknown of the ceiling, or an instrument's error */
    parameter: string | null;
    /** for a person */
    meaning: string | null;
    /** of its spread; 1: a share of it */
    unit: string | null;
    /** its spread before */
    prior: number | null;
    /** where it most likely lies, in spreads */
    mean: number | null;
    /** its spread now over that before */
    spread: number | null;
    /** yes or no: the readings told something of it */
    informed: string | null;
  }[];
  next: {
    /** what to read next, best first */
    reading: string | null;
    /** expected gain of the ceiling at the moment asked; A */
    gain_A: number | null;
    /** how, safely */
    how: string | null;
  }[];
  lead?: {
    /** resistance of the charger's lead, out and back; mΩ */
    mohm: number | null;
    /** standard deviation; mΩ */
    spread_mohm: number | null;
  };
  house_battery?: {
    /** capacity as it behaves; Ah */
    capacity_Ah: number | null;
    /** standard deviation; Ah */
    spread_Ah: number | null;
  };
  starter_battery: {
    /** state of charge when last read at rest */
    soc: number | null;
    /** standard deviation */
    spread_soc: number | null;
  };
  cranking: {
    /** fall of the volts while the engine is turned, against what the battery's rating and the engine's size tell */
    sag: number | null;
    /** standard deviation */
    spread_sag: number | null;
  };
  proposals: {
    /** an input that these readings give a value; it is not put into the rig by itself */
    input: string | null;
    /** in the input's unit; better than assumed only as far as the confidence allows */
    value: number | null;
    /** for a person */
    why: string | null;
  }[];
  learned?: {
    /** mark of the alternator's description; put learned into the rig as rig.learned */
    from: string | null;
    /** of the inlet air's rise standing, in spreads of inlet_rise */
    standing_mean: number | null;
    /** its spread */
    standing_spread: number | null;
    means: {
      /** name in the table of unknowns */
      unknown: string | null;
      /** where it most likely lies, in spreads */
      mean: number | null;
    }[];
    spread: {
      /** unknown that is spread */
      unknown: string | null;
      /** direction in which */
      by: string | null;
      /** how far, in spreads */
      value: number | null;
    }[];
  };
  validity: {
    /** stable code */
    code: string | null;
    /** input it is about */
    field: string | null;
    /** for a person */
    message: string | null;
  }[];
  says: {
    /** stable code */
    code: string | null;
    /** for a person */
    text: string | null;
  }[];
  /** for a person */
  cautions: string[];
}
