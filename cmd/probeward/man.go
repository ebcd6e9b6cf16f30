package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// manMark is the first line of every page that man wrote, and may write again.
const manMark = ".\\\" written by probeward man\n"

func manCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "man DIR",
		Short: "write manual pages, one a command",
		Long: prose(
			"man writes a page a command into DIR, for man -M or a package. Pages carry no date, " +
				"so the same version writes the same bytes. A file that another program wrote is " +
				"never replaced.",
		),
		Example:           "  probeward man share/man/man1",
		Args:              cobra.ExactArgs(1),
		ValidArgsFunction: completeFolders(1),
		RunE: func(c *cobra.Command, args []string) error {
			dir := args[0]
			if err := os.MkdirAll(dir, 0o755); err != nil {
				return fmt.Errorf("%w; name a folder that can be written", err)
			}
			n := 0
			for _, page := range manPages(c.Root()) {
				path := filepath.Join(dir, page.name)
				old, err := os.ReadFile(path)
				if err == nil && !bytes.HasPrefix(old, []byte(manMark)) {
					return usage{fmt.Errorf("%s was not written by probeward man, so it is not replaced; name another folder", path)}
				}
				if err := os.WriteFile(path, page.text, 0o644); err != nil {
					return err
				}
				n++
			}
			fmt.Fprintf(c.ErrOrStderr(), "%d pages in %s; man -l %s shows one\n", n, dir, filepath.Join(dir, "probeward.1"))
			return nil
		},
	}
}

type manPage struct {
	name string
	text []byte
}

// manPages gives a page for the command and each below it, in the order of help.
func manPages(c *cobra.Command) []manPage {
	out := []manPage{{strings.ReplaceAll(c.CommandPath(), " ", "-") + ".1", manText(c)}}
	for _, below := range c.Commands() {
		if below.IsAvailableCommand() && below.Name() != "help" {
			out = append(out, manPages(below)...)
		}
	}
	return out
}

// manText writes a command's page in the man macros.
func manText(c *cobra.Command) []byte {
	var b bytes.Buffer
	name := strings.ReplaceAll(c.CommandPath(), " ", "-")
	b.WriteString(manMark)
	fmt.Fprintf(&b, ".TH %s 1 \"\" \"probeward %s\" \"probeward\"\n.ad l\n", roff(strings.ToUpper(name)), roff(version))
	fmt.Fprintf(&b, ".SH NAME\n%s \\- %s\n", roff(name), roff(c.Short))
	fmt.Fprintf(&b, ".SH SYNOPSIS\n.B %s\n", roff(c.UseLine()))
	fmt.Fprintf(&b, ".SH DESCRIPTION\n%s", roffText(first(c.Long, c.Short)))
	if c.Example != "" {
		fmt.Fprintf(&b, ".SH EXAMPLES\n.nf\n%s.fi\n", roffLines(c.Example))
	}
	options(&b, "OPTIONS", c.NonInheritedFlags())
	options(&b, "OPTIONS OF EVERY COMMAND", c.InheritedFlags())
	if c.Parent() == nil {
		b.WriteString(".SH EXIT STATUS\n.TP\n.B 0\nit ran; bad files and rows are counted and named\n.TP\n.B 1\na probe reached the verdict of \\-\\-fail\\-on\n" +
			".TP\n.B 2\nusage, configuration, or nothing that can be used\n.TP\n.B 130\ninterrupted; nothing was written\n")
	}
	var also []string
	if p := c.Parent(); p != nil {
		also = append(also, strings.ReplaceAll(p.CommandPath(), " ", "-"))
	}
	for _, below := range c.Commands() {
		if below.IsAvailableCommand() && below.Name() != "help" {
			also = append(also, strings.ReplaceAll(below.CommandPath(), " ", "-"))
		}
	}
	if len(also) > 0 {
		fmt.Fprintf(&b, ".SH SEE ALSO\n.BR %s (1)\n", roff(strings.Join(also, "(1), ")))
	}
	return b.Bytes()
}

func options(b *bytes.Buffer, title string, flags *pflag.FlagSet) {
	if !flags.HasAvailableFlags() {
		return
	}
	fmt.Fprintf(b, ".SH %s\n", title)
	flags.VisitAll(func(f *pflag.Flag) {
		if f.Hidden {
			return
		}
		kind, words := pflag.UnquoteUsage(f)
		head := "--" + f.Name
		if f.Shorthand != "" {
			head = "-" + f.Shorthand + ", " + head
		}
		if kind != "" {
			head += " " + kind
		}
		if f.DefValue != "" && f.DefValue != "false" && f.DefValue != "0" && f.DefValue != "[]" {
			words += fmt.Sprintf(" (default %s)", f.DefValue)
		}
		fmt.Fprintf(b, ".TP\n.B %s\n%s\n", roff(head), roff(words))
	})
}

func first(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

// roff escapes words of one line: a backslash and a hyphen mean something there, and
// so does a point or an apostrophe at the start of a line.
func roff(s string) string {
	s = strings.NewReplacer("\\", "\\e", "-", "\\-").Replace(s)
	if strings.HasPrefix(s, ".") || strings.HasPrefix(s, "'") {
		s = "\\&" + s
	}
	return s
}

func roffLines(s string) string {
	var b strings.Builder
	for _, line := range strings.Split(strings.TrimRight(s, "\n"), "\n") {
		b.WriteString(roff(line) + "\n")
	}
	return b.String()
}

// roffText writes paragraphs: lines that are indented keep their shape.
func roffText(s string) string {
	var b strings.Builder
	for i, p := range strings.Split(strings.TrimSpace(s), "\n\n") {
		if i > 0 {
			b.WriteString(".PP\n")
		}
		if strings.HasPrefix(p, "  ") {
			fmt.Fprintf(&b, ".nf\n%s.fi\n", roffLines(p))
			continue
		}
		b.WriteString(roffLines(p))
	}
	return b.String()
}
