package score

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"probeward/detectors/robust"
)

// width is that of a terminal, which no line exceeds as long as names are short.
const width = 80

// sheet is a table to print: the first column stands left, the others right.
type sheet struct {
	title string // may have several lines
	rows  [][]string
}

func (s *sheet) row(cells ...string) { s.rows = append(s.rows, cells) }

func (s *sheet) print(b *strings.Builder) {
	fmt.Fprintln(b, s.title)
	var widths []int
	for _, row := range s.rows {
		for i, cell := range row {
			if i == len(widths) {
				widths = append(widths, 0)
			}
			widths[i] = max(widths[i], utf8.RuneCountInString(cell))
		}
	}
	for _, row := range s.rows {
		line := fmt.Sprintf("%-*s", widths[0], row[0])
		for i, cell := range row[1:] {
			line += fmt.Sprintf("  %*s", widths[i+1], cell)
		}
		b.WriteString(strings.TrimRight(line, " ") + "\n")
	}
	b.WriteByte('\n')
}

func share(s Share) string {
	v, ok := s.Value()
	if !ok {
		return "-"
	}
	return fmt.Sprintf("%.2f %% (%d of %d)", 100*v, s.N, s.Of)
}

func percent(s Share) string {
	v, ok := s.Value()
	if !ok {
		return "-"
	}
	return fmt.Sprintf("%.2f %%", 100*v)
}

func interval(n, of int) string {
	if of == 0 {
		return "-"
	}
	low, high := robust.Wilson(n, of, normal95)
	return fmt.Sprintf("%.2f-%.2f", low, high)
}

func delay(hours []float64) string {
	if len(hours) == 0 {
		return "-"
	}
	hours = slices.Clone(hours)
	slices.Sort(hours)
	n := len(hours)
	median := (hours[(n-1)/2] + hours[n/2]) / 2
	if math.Abs(median) >= 48 {
		return fmt.Sprintf("%.1f d", median/24)
	}
	return fmt.Sprintf("%.1f h", median)
}
