package decimal_test

import (
	"math"
	"regexp"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"probeward/pipeline/read/decimal"
)

func TestParse(t *testing.T) {
	for _, c := range []struct {
		text string
		mark byte
		want float64
		ok   bool
	}{
		{"0.213", '.', 0.213, true},
		{"-40", '.', -40, true},
		{"+1.5", '.', 1.5, true},
		{".5", '.', .5, true},
		{"5.", '.', 5, true},
		{"0,25", ',', 0.25, true},
		{"0.25", ',', 0, false},
		{"1.2e-3", '.', 1.2e-3, true},
		{"1,2E3", ',', 1200, true},
		{"12345678901234567890", '.', 12345678901234567890, true},
		{"0.1234567890123456789012345", '.', 0.1234567890123456789012345, true},
		{"9007199254740993", '.', 9007199254740993, true},
		{"1e999", '.', 0, false},
		{"", '.', 0, false},
		{"-", '.', 0, false},
		{".", '.', 0, false},
		{"NaN", '.', 0, false},
		{"inf", '.', 0, false},
		{"0x1p3", '.', 0, false},
		{"1_000", '.', 0, false},
		{"1.2.3", '.', 0, false},
		{"12 ", '.', 0, false},
		{"--1", '.', 0, false},
	} {
		got, ok := decimal.Parse([]byte(c.text), c.mark)
		if ok != c.ok || got != c.want {
			t.Errorf("Parse(%q, %q) = %v, %v; want %v, %v", c.text, c.mark, got, ok, c.want, c.ok)
		}
	}
}

var shape = regexp.MustCompile(`^[-+]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][-+]?[0-9]+)?$`)

// The law: what Parse takes is what strconv takes of the shape of a decimal, to the bit.
func same(t interface{ Fatalf(string, ...any) }, text string) {
	got, ok := decimal.Parse([]byte(text), '.')
	want, err := strconv.ParseFloat(text, 64)
	wantOK := err == nil && shape.MatchString(text)
	if ok != wantOK || ok && math.Float64bits(got) != math.Float64bits(want) {
		t.Fatalf("Parse(%q) = %v, %v; strconv %v, %v", text, got, ok, want, wantOK)
	}
}

func TestParseAgreesWithStrconv(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		same(t, rapid.StringMatching(`[-+]?[0-9]{0,22}\.?[0-9]{0,25}([eE][-+]?[0-9]{1,3})?`).Draw(t, "text"))
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"0.1", "-1e5", "9007199254740993", "0.30000000000000004", "1.", "nan", "0x1"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) { same(t, s) })
}

func BenchmarkParse(b *testing.B) {
	cells := [][]byte{[]byte("0.2135"), []byte("23.41"), []byte("-0.05"), []byte("1873")}
	b.Run("decimal", func(b *testing.B) {
		for i := 0; b.Loop(); i++ {
			decimal.Parse(cells[i&3], '.')
		}
	})
	b.Run("strconv", func(b *testing.B) {
		for i := 0; b.Loop(); i++ {
			_, _ = strconv.ParseFloat(string(cells[i&3]), 64)
		}
	})
}
