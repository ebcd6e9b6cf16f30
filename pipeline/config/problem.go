package config

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"
)

// ErrConfiguration is what every error of a configuration is, under errors.Is.
var ErrConfiguration = errors.New("configuration")

// IsUsage says whether the error is the caller's: a configuration that is wrong, or a
// folder without anything to scan. Such a run ends with exit code 2.
func IsUsage(err error) bool { return errors.Is(err, ErrConfiguration) }

// Problem is one thing that is wrong with a configuration file.
type Problem struct {
	File      string
	Line, Col int    // from 1
	Pointer   string // JSON pointer (RFC 6901); empty: the file as a whole
	Message   string
}

// Error writes the problem as file:line:col: /pointer: message.
func (p Problem) Error() string {
	pointer := p.Pointer
	if pointer == "" {
		pointer = "/"
	}
	return fmt.Sprintf("%s:%d:%d: %s: %s", p.File, p.Line, p.Col, pointer, p.Message)
}

// Problems is all that is wrong with a configuration, in the order of the file.
type Problems []Problem

// Error writes one problem a line.
func (ps Problems) Error() string {
	lines := make([]string, len(ps))
	for i, p := range ps {
		lines[i] = p.Error()
	}
	return strings.Join(lines, "\n")
}

// Is makes errors.Is(err, ErrConfiguration) hold.
func (ps Problems) Is(target error) bool { return target == ErrConfiguration }

// err is nil when there are no problems.
func (ps Problems) err() error {
	if len(ps) == 0 {
		return nil
	}
	slices.SortStableFunc(ps, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Col, b.Col), cmp.Compare(a.Pointer, b.Pointer), cmp.Compare(a.Message, b.Message))
	})
	return slices.Compact(ps)
}

// refuse is an error of usage that no place in a file can be given for.
func refuse(format string, args ...any) error {
	return fmt.Errorf("%w: "+format, append([]any{ErrConfiguration}, args...)...)
}
