package main

import (
	"encoding/json"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"spareamps/core"
	"spareamps/wasm/edge/schema"
)

func (p *program) newSchema() *cobra.Command {
	commands := []string{"ceiling", "day", "wiring"}
	return &cobra.Command{
		Use:   "schema [COMMAND]",
		Short: "the JSON Schema of a request",
		Long: `Prints the JSON Schema (2020-12) of a request to ceiling, or to day or wiring,
made from the table of inputs. One file may hold all that the commands ask for:
each needs its own sections only. A rig file is described by #/$defs/rig.`,
		Example:   "spareamps schema\nspareamps schema day\nspareamps schema -o request.schema.json",
		ValidArgs: commands,
		Args: func(c *cobra.Command, args []string) error {
			if len(args) == 0 || len(args) == 1 && slices.Contains(commands, args[0]) {
				return nil
			}
			return &usageError{"schema takes " + joinOr(commands), "see `spareamps schema --help`"}
		},
		RunE: func(_ *cobra.Command, args []string) error {
			text, err := json.Marshal(requestSchema(append(args, "ceiling")[0]))
			if err != nil {
				return err
			}
			return p.indented(text)
		},
	}
}

// A schemaOf says what a request to one command has to hold.
type schemaOf struct {
	sections []string
	needed   []string // objects that cannot be left out
}

var requestsOf = map[string]schemaOf{
	"ceiling": {sections: core.ForCeiling, needed: []string{"rig", "rig.alternator", "moment"}},
	"day":     {sections: core.ForDay, needed: []string{"rig", "rig.alternator", "rig.charger", "rig.house_battery", "day"}},
	"wiring":  {sections: core.ForWiring, needed: []string{"wiring"}},
}

// requestSchema makes the schema of a request to a command.
func requestSchema(command string) schema.Object {
	x := requestsOf[command]
	name := "request"
	if command != "ceiling" {
		name += ":" + command
	}
	return schema.Request(schema.Question{
		Name:        name,
		Description: "What is asked of `spareamps " + command + "`. Names carry units.",
		Example:     append([]string{"rig"}, x.sections...),
		Needed:      x.needed,
		AnyMachine:  command == "wiring",
	})
}

func parent(path string) string { return path[:max(strings.LastIndexByte(path, '.'), 0)] }
