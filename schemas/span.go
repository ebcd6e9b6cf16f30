package schemas

import (
	"encoding/json"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"time"

	"github.com/invopop/jsonschema"
)

const spanPattern = `^[0-9]+(m|h|d|w)$`

var spanForm = regexp.MustCompile(spanPattern)

var spanUnits = map[byte]time.Duration{
	'm': time.Minute, 'h': time.Hour, 'd': 24 * time.Hour, 'w': 7 * 24 * time.Hour,
}

// ParseSpan reads digits and a unit: "90m", "36h", "7d" or "8w". A day is 24
// hours whatever the clocks do.
func ParseSpan(text string) (Span, error) {
	if !spanForm.MatchString(text) {
		return 0, fmt.Errorf("%q is no length of time: write digits and a unit m, h, d or w, such as 36h or 7d", text)
	}
	last := len(text) - 1
	unit := spanUnits[text[last]]
	n, err := strconv.ParseInt(text[:last], 10, 64)
	if err != nil || n > int64(math.MaxInt64/unit) {
		return 0, fmt.Errorf("%q is longer than the %d years that can be counted", text, int64(math.MaxInt64/(365*24*time.Hour)))
	}
	return Span(time.Duration(n) * unit), nil
}

// String writes the span in the largest unit that leaves no rest.
func (s Span) String() string {
	d := time.Duration(s)
	for _, u := range []byte("wdhm") {
		if unit := spanUnits[u]; d >= unit && d%unit == 0 {
			return fmt.Sprintf("%d%c", d/unit, u)
		}
	}
	return fmt.Sprintf("%dm", d/time.Minute)
}

// UnmarshalYAML reads a span as ParseSpan does; goccy/go-yaml calls it.
func (s *Span) UnmarshalYAML(data []byte) error {
	text := string(data)
	if n := len(text); n >= 2 && (text[0] == '"' || text[0] == '\'') && text[n-1] == text[0] {
		text = text[1 : n-1]
	}
	return s.UnmarshalText([]byte(text))
}

// MarshalYAML writes the span as String does; goccy/go-yaml calls it.
func (s Span) MarshalYAML() (any, error) { return s.String(), nil }

// UnmarshalText reads a span as ParseSpan does, from JSON too.
func (s *Span) UnmarshalText(text []byte) error {
	span, err := ParseSpan(string(text))
	if err == nil {
		*s = span
	}
	return err
}

// MarshalJSON writes the span as String does.
func (s Span) MarshalJSON() ([]byte, error) { return json.Marshal(s.String()) }

// JSONSchema says what a span looks like in the configuration's schema.
func (Span) JSONSchema() *jsonschema.Schema {
	return &jsonschema.Schema{Type: "string", Pattern: spanPattern, Examples: []any{"7d", "8w", "36h", "90m"}}
}
