package main

import (
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"spareamps/core"
)

func (p *program) newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:   "spareamps",
		Short: "how hard a house battery may be charged from the alternator",
		Long: `Says how hard a house battery may be charged from the vehicle's alternator right
now without cooking it, which limit sets that, and how sure the answer is.

Data goes to standard output, everything else to standard error.
Exit codes: 0 ok, 1 failed, 2 usage, 3 bad input, 4 outside validity with
--strict, 130 interrupted.`,
		Example: `spareamps ceiling
spareamps ceiling --rig rig.json --engine-rpm 1400 --ambient-C 36
spareamps day
spareamps wiring --source-V 14.0 --far-V 13.9 --far-W 520
spareamps machine --speeds 1500,3000,6000
spareamps fields
spareamps selfcheck`,
		SilenceErrors:              true,
		SilenceUsage:               true,
		DisableSuggestions:         true,
		SuggestionsMinimumDistance: 3,
		CompletionOptions:          cobra.CompletionOptions{DisableDefaultCmd: true},
	}
	f := root.PersistentFlags()
	f.StringVarP(&p.outFile, "output", "o", "", "write to `FILE` instead of standard output")
	f.BoolVarP(&p.quiet, "quiet", "q", false, "no notes on standard error")
	f.BoolVar(&p.ascii, "ascii", false, "text in plain ASCII")
	root.SetFlagErrorFunc(flagError)
	root.SetHelpFunc(p.help)
	root.AddCommand(p.newCeiling(), p.newDay(), p.newWiring(), p.newMachine(), p.newFields(), p.newOutputs(), p.newSchema(), p.newSelfcheck(), p.newVersion(), p.newCompletion())
	root.AddCommand(p.newServe(), p.newExport(), p.newConform(), p.newFollow(), p.newSweep(), p.newMerge(), p.newCard(), p.newFit())
	root.InitDefaultHelpCmd()
	return root
}

// flagError names the nearest flag.
func flagError(c *cobra.Command, err error) error {
	e := &usageError{message: err.Error()}
	name, unknown := strings.CutPrefix(e.message, "unknown flag: --")
	if unknown {
		e.message = c.CommandPath() + " has no flag --" + name
		best, least := "", 1+len(name)/3
		c.Flags().VisitAll(func(f *pflag.Flag) {
			if d := core.NameDistance(strings.ReplaceAll(name, "-", "_"), strings.ReplaceAll(f.Name, "-", "_")); d < least {
				best, least = f.Name, d
			}
		})
		if best != "" {
			e.hint = "did you mean --" + best + "?"
		}
	}
	if e.hint == "" {
		e.hint = "see `" + c.CommandPath() + " --help`"
	}
	return e
}

// nearCommand is a hint for a command that does not exist.
func (p *program) nearCommand(name string) string {
	if near := p.root.SuggestionsFor(name); len(near) > 0 {
		return "did you mean " + near[0] + "?"
	}
	return "see `spareamps --help`"
}
