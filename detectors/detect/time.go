package detect

import (
	"fmt"
	"time"
)

// Instants and durations are int64 microseconds (since 1970 in UTC for instants),
// as Arrow holds them.
const (
	Second int64 = 1_000_000
	Minute       = 60 * Second
	Hour         = 60 * Minute
	Day          = 24 * Hour
)

// Span is a half-open stretch of time, [Start, End).
type Span struct{ Start, End int64 }

// Length of the span, never negative.
func (s Span) Length() int64 { return max(0, s.End-s.Start) }

// Holds says whether the instant lies within.
func (s Span) Holds(t int64) bool { return s.Start <= t && t < s.End }

// Overlap is the part that both have in common; empty when End <= Start.
func (s Span) Overlap(o Span) Span { return Span{max(s.Start, o.Start), min(s.End, o.End)} }

// Hours gives a duration in hours.
func Hours(d int64) float64 { return float64(d) / float64(Hour) }

// Days gives a duration in days.
func Days(d int64) float64 { return float64(d) / float64(Day) }

// Micros gives an instant as held here.
func Micros(t time.Time) int64 { return t.UnixMicro() }

// Stamp writes an instant for evidence, to the minute, in UTC.
func Stamp(t int64) string { return time.UnixMicro(t).UTC().Format("2006-01-02 15:04") + "Z" }

// Length writes a duration for evidence in the unit that a person would use.
func Length(d int64) string {
	switch {
	case d < 2*Minute && d%Minute != 0:
		return fmt.Sprintf("%.0f s", float64(d)/float64(Second))
	case d < 2*Hour:
		return fmt.Sprintf("%.0f min", float64(d)/float64(Minute))
	case d < 3*Day:
		return fmt.Sprintf("%.1f h", Hours(d))
	default:
		return fmt.Sprintf("%.1f d", Days(d))
	}
}
