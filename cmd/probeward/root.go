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

// run is the program: words to stderr, data to stdout, an exit code.
func run(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	root := &cobra.Command{
		Use:           "probeward",
		Short:         "keeps buried soil moisture probes trustworthy",
		Long:          "probeward reads what loggers exported, finds the probes, cables, loggers and register\nentries that lie, and says which readings to leave out and where to drive first.",
		SilenceErrors: true,
		SilenceUsage:  true,
	}
	root.SetArgs(args)
	root.SetOut(stdout)
	root.SetErr(stderr)
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		return usage{fmt.Errorf("%w; see %s --help", err, c.CommandPath())}
	})
	root.CompletionOptions.HiddenDefaultCmd = true
	root.AddCommand(scanCommand(), simulateCommand(), explainCommand(), schemaCommand(), configCommand(), versionCommand())
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
	fmt.Fprintf(stderr, "probeward: %s\n", plain(err))
	return exitUsage
}

// plain leaves out the words that only mark an error's kind.
func plain(err error) string {
	text := err.Error()
	for _, kind := range []error{pipeline.ErrFolder, config.ErrConfiguration} {
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
