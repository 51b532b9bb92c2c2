package main

import (
	"context"
	"errors"
	"io/fs"

	"github.com/spf13/cobra"

	"spareamps/core"
	"spareamps/host/runner"
)

func (p *program) newVersion() *cobra.Command {
	var asJSON bool
	var module string
	c := &cobra.Command{
		Use:     "version",
		Short:   "version, interface and module",
		Long:    "Prints the version of the program, that of the module's interface, and the\nSHA-256 of the module where it is built already.",
		Example: "spareamps version\nspareamps version --json",
		Args:    noArguments,
		RunE: func(*cobra.Command, []string) error {
			v := ours(core.Version, "native", core.ABIMajor, core.ABIMinor)
			hash, err := p.builtModule(module)
			if err != nil {
				return err
			}
			if hash != "" {
				v.ModuleSHA256 = &hash
			}
			if asJSON {
				o := object{{"version", v.Version}, {"abi", v.ABI}, {"module_sha256", v.ModuleSHA256}, {"go", v.Go}, {"platform", v.Platform}}
				if v.Revision != "" {
					o = append(o, pair{"revision", v.Revision})
				}
				return p.object(o)
			}
			g := p.newPage()
			g.line("spareamps " + v.Version)
			g.line("interface " + v.ABI)
			if hash == "" {
				hash = "not built yet"
			}
			g.line("module    " + hash)
			g.line("go        " + v.Go + " " + v.Platform)
			return nil
		},
	}
	c.Flags().StringVar(&module, "module", "", "module from `FILE` instead of the one built from source")
	c.Flags().BoolVar(&asJSON, "json", false, "one JSON object")
	return c
}

// builtModule returns the hash of the module in a file, or of the one that
// belongs to the source tree if it is built; "" where it is not.
func (p *program) builtModule(file string) (string, error) {
	ctx := p.ctx
	if file == "" {
		// Cancelled before it begins, a build does not begin.
		cancelled, cancel := context.WithCancel(p.ctx)
		cancel()
		ctx = cancelled
	}
	_, hash, err := runner.Module(ctx, file)
	if err != nil && file != "" {
		var path *fs.PathError
		if errors.As(err, &path) {
			return "", &runner.HintError{Err: err, Hint: "name a built module"}
		}
		return "", err
	}
	return hash, nil
}
