package read

import "testing"

// The multiples are the SI prefixes', 1 cbar = 1 kPa and 1 = 100 %: by definition.
func TestConversion(t *testing.T) {
	for _, c := range []struct {
		from, to string
		value    float64
		want     float64
		ok       bool
	}{
		{"kohm", "ohm", 1.234, 1234, true},
		{"ohm", "kohm", 1234, 1.234, true},
		{"kΩ", "ohm", 2, 2000, true},
		{"cbar", "kPa", 33, 33, true},
		{"%", "m3/m3", 25.1, 0.251, true},
		{"m3/m3", "%", 0.251, 25.1, true},
		{"M3/M3 ", "m3/m3", 0.2, 0.2, true},
		{"banana", "banana", 1, 1, true},
		{"kPa", "ohm", 1, 0, false},
		{"banana", "kPa", 1, 0, false},
	} {
		times, over, ok := conversion(c.from, c.to)
		if ok != c.ok || ok && c.value*times/over != c.want {
			t.Errorf("%v %s in %s: %v, %v; want %v, %v", c.value, c.from, c.to, c.value*times/over, ok, c.want, c.ok)
		}
	}
}

func TestExcerpt(t *testing.T) {
	long := make([]byte, 0, 1000)
	for range 100 {
		long = append(long, "añ€"...)
	}
	for _, text := range [][]byte{long, long[1:], long[2:], []byte("\xff\xfe\x81"), []byte("short"), nil} {
		s := excerpt(text)
		if len(s) > textBytes || s != string([]rune(s)) || len(text) > 200 && len(s) < 60 {
			t.Errorf("excerpt(%q) = %q", text, s)
		}
	}
	if s := excerpt([]byte("m\xb3")); s != "m³" {
		t.Errorf("Latin-1 became %q", s)
	}
}
