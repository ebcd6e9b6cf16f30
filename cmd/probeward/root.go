package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"probeward/pipeline"
	"probeward/pipeline/config"
	"probeward/pipeline/explain"
	"probeward/pipeline/runfolder"
	"probeward/pipeline/terminal"
)

// version is set by the linker.
var version = "unreleased"

// Exit codes.
const (
	exitRan         = 0
	exitFailOn      = 1
	exitUsage       = 2
	exitInterrupted = 130
)

// errFailOn says that a probe reached the verdict of --fail-on.
var errFailOn = errors.New("reached --fail-on")

// usage marks an error as the caller's, for exit code 2.
type usage struct{ error }

func (u usage) Unwrap() error { return u.error }

// The commands stand in help in the order in which a person meets them.
func init() { cobra.EnableCommandSorting = false }

// run is the program: words to stderr, data to stdout, an exit code.
func run(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	root := &cobra.Command{
		Use:   "probeward",
		Short: "keeps buried soil moisture probes trustworthy",
		Long: prose(
			"probeward reads what loggers exported, finds the probes, cables, loggers and "+
				"register entries that lie, and says which readings to leave out and where to "+
				"drive first.",
			"Exit codes: 0 it ran, 1 a probe reached the verdict of --fail-on, 2 usage, "+
				"configuration or nothing that can be used, 130 interrupted. Data go to stdout, "+
				"words to stderr.",
		),
		SilenceErrors: true,
		SilenceUsage:  true,
	}
	root.SetArgs(args)
	root.SetOut(stdout)
	root.SetErr(stderr)
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		return usage{fmt.Errorf("%w; see %s --help", err, c.CommandPath())}
	})
	root.CompletionOptions.DisableDefaultCmd = true
	root.SetUsageTemplate(strings.ReplaceAll(root.UsageTemplate(), ".FlagUsages", fmt.Sprintf(".FlagUsagesWrapped %d", terminal.Width)))
	root.AddCommand(scanCommand(), diffCommand(), explainCommand(), configCommand(), schemaCommand(), drillCommand(), simulateCommand(), completionCommand(), manCommand(), versionCommand())
	for _, c := range root.Commands() {
		args := c.Args
		if args == nil {
			continue
		}
		c.Args = func(c *cobra.Command, given []string) error {
			if err := args(c, given); err != nil {
				return usage{fmt.Errorf("%w; see %s --help", err, c.CommandPath())}
			}
			return nil
		}
	}
	err := root.ExecuteContext(ctx)
	switch {
	case err == nil:
		return exitRan
	case errors.Is(err, errFailOn):
		fmt.Fprintf(stderr, "probeward: %v\n", err)
		return exitFailOn
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(stderr, "probeward: interrupted; nothing was written")
		return exitInterrupted
	}
	words := plain(err)
	if first, _, _ := strings.Cut(words, "\n"); strings.HasPrefix(first, "unknown command") {
		words = first + "; probeward --help lists the commands"
		if near := root.SuggestionsFor(args[0]); len(near) > 0 {
			words = first + "; did you mean " + strings.Join(near, " or ") + "?"
		}
	}
	fmt.Fprintf(stderr, "probeward: %s\n", words)
	return exitUsage
}

// prose sets a help text: paragraphs wrapped to the terminal, apart by an empty line;
// one that is indented keeps its lines.
func prose(paragraphs ...string) string {
	for i, p := range paragraphs {
		if !strings.HasPrefix(p, " ") {
			paragraphs[i] = strings.Join(terminal.Wrap(p, terminal.Width), "\n")
		}
	}
	return strings.Join(paragraphs, "\n\n")
}

// plain leaves out the words that only mark an error's kind.
func plain(err error) string {
	text := err.Error()
	for _, kind := range []error{pipeline.ErrFolder, config.ErrConfiguration, runfolder.ErrNoRun, explain.ErrNoProbe} {
		text = strings.TrimPrefix(text, kind.Error()+": ")
	}
	return text
}

func versionCommand() *cobra.Command {
	return &cobra.Command{
		Use: "version", Short: "print the version", Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			_, err := fmt.Fprintln(c.OutOrStdout(), "probeward", version)
			return err
		},
	}
}
