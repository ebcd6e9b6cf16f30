package config

import (
	"strings"
	"testing"
)

func TestDecimalMark(t *testing.T) {
	dir := folder(t, map[string]string{"a.csv": "", "scan.yaml": "timezone: UTC\nreadings:\n- path: a.csv\n  decimal: comma\n- {path: b.csv, decimal: point}\n- path: c.csv\n"})
	r, err := Open(dir, "", nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []byte{',', '.', 0, 0} {
		if got := r.DecimalMark(i); got != want {
			t.Errorf("source %d: %q, want %q", i, got, want)
		}
	}
	if got := (&Resolved{}).DecimalMark(0); got != 0 {
		t.Errorf("without a file: %q", got)
	}
	dir = folder(t, map[string]string{"scan.yaml": "readings:\n- path: a.csv\n  decimal: coma\n"})
	if _, err := Open(dir, "", nil); !IsUsage(err) || !strings.Contains(err.Error(), "3:12: /readings/0/decimal") || !strings.Contains(err.Error(), "was comma meant?") {
		t.Errorf("%v", err)
	}
}
