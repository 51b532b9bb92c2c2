package main

import "github.com/spf13/cobra"

func (p *program) newCompletion() *cobra.Command {
	shells := []string{"bash", "fish", "powershell", "zsh"}
	return &cobra.Command{
		Use:   "completion SHELL",
		Short: "commands that make a shell complete ours",
		Long: `Prints a script that makes a shell complete commands, flags and choices: bash,
fish, powershell or zsh. Have the shell read it when it starts, such as by

  source <(spareamps completion bash)`,
		Example:   "spareamps completion bash\nspareamps completion zsh -o _spareamps",
		ValidArgs: shells,
		Args: func(c *cobra.Command, args []string) error {
			if len(args) == 1 {
				for _, shell := range shells {
					if args[0] == shell {
						return nil
					}
				}
			}
			return &usageError{"completion needs a shell: " + joinOr(shells), "see `spareamps completion --help`"}
		},
		RunE: func(c *cobra.Command, args []string) error {
			switch args[0] {
			case "bash":
				return p.root.GenBashCompletionV2(&p.data, true)
			case "fish":
				return p.root.GenFishCompletion(&p.data, true)
			case "powershell":
				return p.root.GenPowerShellCompletionWithDesc(&p.data)
			default:
				return p.root.GenZshCompletion(&p.data)
			}
		},
	}
}
