package terminal

import (
	"bytes"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestCut(t *testing.T) {
	for _, c := range []struct {
		in    string
		width int
		want  string
	}{
		{"post-019", 8, "post-019"},
		{"post-019-telemetry", 11, "post-…metry"},
		{"a\x1b[31mb\nc", 20, "a�[31mb c"},
		{"北西区画三番", 7, "北…三番"},
		{"abc", 2, "ab"},
	} {
		if got := Cut(c.in, c.width); got != c.want {
			t.Errorf("Cut(%q, %d) = %q, want %q", c.in, c.width, got, c.want)
		}
	}
}

// However long and strange a name is, no line is wider than the terminal, and no
// letter is lost by wrapping.
func TestNoLineIsWider(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.OneOf(rapid.String(), rapid.StringMatching(`[a-z ]{0,300}`), rapid.StringOf(rapid.RuneFrom([]rune("北a \x1b\n-")))).Draw(t, "words")
		var out bytes.Buffer
		Item(&out, "  - ", words)
		got := ""
		for _, line := range strings.Split(strings.TrimSuffix(out.String(), "\n"), "\n") {
			if Columns(line) > Width || strings.ContainsRune(line, '\x1b') {
				t.Fatalf("line of %d columns: %q", Columns(line), line)
			}
			got += strings.TrimSpace(strings.TrimPrefix(line, "  - "))
		}
		squeeze := func(s string) string { return strings.Join(strings.Fields(s), "") }
		if clean := Clean(words); !strings.HasPrefix(clean, "- ") && squeeze(got) != squeeze(clean) && clean != "" {
			t.Fatalf("%q became %q", clean, got)
		}
		width := rapid.IntRange(0, 40).Draw(t, "width")
		if cut := Pad(words, width); Columns(cut) != width {
			t.Fatalf("Pad to %d gave %d columns: %q", width, Columns(cut), cut)
		}
	})
}
