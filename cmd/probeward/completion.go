package main

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"probeward/detectors"
	"probeward/pipeline/runfolder"
	"probeward/schemas"
)

var shells = []string{"bash", "zsh", "fish", "powershell"}

func completionCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "completion bash|zsh|fish|powershell",
		Short: "print a script for the shell to complete names with",
		Long: prose(
			"completion prints a script for your shell. With it, Tab completes commands and "+
				"flags, detectors for explain, the probes of a run for explain RUN, tables for "+
				"schema, examples for schema --examples, and files and folders elsewhere.",
			"  bash        source <(probeward completion bash)\n"+
				"  zsh         probeward completion zsh > \"${fpath[1]}/_probeward\"\n"+
				"  fish        probeward completion fish | source\n"+
				"  powershell  probeward completion powershell | Out-String | Invoke-Expression",
		),
		Example:   "  probeward completion bash > /etc/bash_completion.d/probeward",
		Args:      cobra.ExactArgs(1),
		ValidArgs: shells,
		RunE: func(c *cobra.Command, args []string) error {
			root, out := c.Root(), c.OutOrStdout()
			switch args[0] {
			case "bash":
				return root.GenBashCompletionV2(out, true)
			case "zsh":
				return root.GenZshCompletion(out)
			case "fish":
				return root.GenFishCompletion(out, true)
			case "powershell":
				return root.GenPowerShellCompletionWithDesc(out)
			}
			return usage{fmt.Errorf("no completion for %q; there are %s", args[0], strings.Join(shells, ", "))}
		},
	}
}

type completeFunc = func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective)

// completeFolders completes folders for the first n arguments, and nothing after.
func completeFolders(n int) completeFunc {
	return func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
		if len(args) >= n {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		return nil, cobra.ShellCompDirectiveFilterDirs
	}
}

// completeWords completes one of a few words as a flag's value.
func completeWords(words ...string) completeFunc {
	return cobra.FixedCompletions(words, cobra.ShellCompDirectiveNoFileComp)
}

// completeExplain completes a detector or a run's folder, and then the run's probes
// with their verdicts. A folder that cannot be read within two seconds has none: a
// shell must not hang.
func completeExplain(c *cobra.Command, args []string, start string) ([]string, cobra.ShellCompDirective) {
	switch len(args) {
	case 0:
		var names []string
		for _, d := range detectors.All() {
			f, _ := schemas.FaultNamed(d.Name)
			names = append(names, d.Name+"\t"+f.Sentence)
		}
		names = slices.DeleteFunc(names, func(n string) bool { return !strings.HasPrefix(n, start) })
		if len(names) == 0 {
			return nil, cobra.ShellCompDirectiveFilterDirs
		}
		return names, cobra.ShellCompDirectiveNoFileComp
	case 1:
		ctx, stop := context.WithTimeout(context.Background(), 2*time.Second)
		defer stop()
		r, err := runfolder.Open(ctx, args[0])
		if err != nil {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		rows, err := r.Rows(schemas.Health)
		if err != nil {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		var names []string
		for _, row := range rows {
			if strings.HasPrefix(row.Text("probe"), start) {
				names = append(names, row.Text("probe")+"\t"+strings.TrimSpace(row.Text("verdict")+" "+row.Text("main_fault")))
			}
		}
		return names, cobra.ShellCompDirectiveNoFileComp
	}
	return nil, cobra.ShellCompDirectiveNoFileComp
}
