// Package limit names what the ceiling keeps to, in the order of the tables of
// inputs and outputs. A limit is an index into Table; its own ceiling is found by
// the room whose part it is: the machine's by its heat and output, the lead's by the
// cable and fuse, the charger's and the battery's by their ratings.
package limit

// Limits of the ceiling, in the order of the table.
const (
	Output = iota
	Winding
	Rectifier
	Rotor
	Belt
	CableHeat
	CableDrop
	Fuse
	ChargerInput
	ChargerOutput
	HouseBattery
	Count

	Case = Count     // the case temperature of an external regulator: not of the table, reported as output
	All  = Count + 1 // with it
)

// A Limit is something the ceiling keeps to.
type Limit struct {
	Name    string
	Meaning string
}

// Table is the table of limits.
var Table = [Count]Limit{
	Output:        {"output", "what the alternator can give at this speed when hot, a tenth kept in hand"},
	Winding:       {"stator_winding", "the stator winding at its design temperature"},
	Rectifier:     {"rectifier", "the rectifier diodes at their design temperature"},
	Rotor:         {"rotor", "the field winding at its design temperature"},
	Belt:          {"belt", "the shaft power the belt can carry"},
	CableHeat:     {"cable_heat", "the cable at the temperature its insulation stands"},
	CableDrop:     {"cable_drop", "the voltage lost in the lead, or the charger's lowest input voltage"},
	Fuse:          {"fuse", "what the fuse carries without end in this heat"},
	ChargerInput:  {"charger_input", "the charger's input rating"},
	ChargerOutput: {"charger_output", "the charger's output rating"},
	HouseBattery:  {"house_battery", "the charge current the house battery takes"},
}

// Names are the names of the table of limits.
var Names = func() (names []string) {
	for i := range Table {
		names = append(names, Table[i].Name)
	}
	return names
}()
