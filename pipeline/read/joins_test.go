package read_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"probeward/pipeline/register"
	"probeward/schemas"
)

// Names that the register lacks: one note each, with what was probably meant.
func TestStrays(t *testing.T) {
	reg, err := register.Load(write(t, t.TempDir(), "probes.csv", []byte("probe,logger,port,kind,unit\nrow 1-25,L-1,s 1,dielectric,m3/m3\nrow 1-50,L-1,s2,dielectric,m3/m3\n")), "", time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	write(t, dir, "a_long.csv", []byte("time,probe,value\n2026-05-02 10:00,Row 1_25,1\n2026-05-02 10:00,row 9-25,1\n2026-05-02 10:10,row 9-25,1\n"))
	write(t, dir, "b_long.csv", []byte("time,probe,value\n2026-05-02 10:00,row 9-25,1\n"))
	write(t, dir, "c.csv", []byte("time,logger,s2,S-1\n2026-05-02 10:00,L-1,0.2,0.3\n2026-05-02 10:00,l1,0.2,0.3\n2026-05-02 10:10,l1,0.2,0.3\n"))
	write(t, dir, "d.csv", []byte("time,moisture\n2026-05-02 10:00,1\n"))
	res := files(t, resolved(t, dir, "UTC",
		schemas.Source{Path: "*_long.csv"}, schemas.Source{Path: "c.csv", Logger: "column:logger", Ports: []string{`^(s.*)`, `^(S.*)`}},
		schemas.Source{Path: "d.csv", Logger: "name:L7"}), reg)
	want := []string{
		`logger "l1" has no row in the register: 4 readings of 1 files, the first c.csv; is it "L-1"?`,
		`probe "row 9-25" has no row in the register: 3 readings of 2 files, the first a_long.csv; add a row, or leave it out`,
		`probe "Row 1_25" has no row in the register: 1 readings of 1 files, the first a_long.csv; is it "row 1-25"?`,
		`port "S-1" of logger "L-1" has no row in the register: 1 readings of 1 files, the first c.csv; is it "s 1"?`,
		`logger "L7" has no row in the register: nothing of 1 files is read, the first d.csv; add a row, or leave it out`,
		`1 of 2 probes of the register have no reading in any file: row 1-25`,
	}
	for i, n := range res.Notes {
		if i >= len(want) || n != want[i] {
			t.Errorf("note %d: %s", i, n)
		}
	}
	if len(res.Notes) != len(want) || !slices.Equal(res.Unheard, []string{"row 1-25"}) {
		t.Errorf("%d notes, want %d; unheard %q", len(res.Notes), len(want), res.Unheard)
	}
}

// Thousands of strangers are a few notes, and so are thousands of silent rows.
func TestManyStrays(t *testing.T) {
	var probes, text strings.Builder
	probes.WriteString("probe,logger,port,kind,unit\n")
	text.WriteString("time,probe,value\n")
	for i := range 1500 {
		fmt.Fprintf(&probes, "p%04d,L1,s%d,dielectric,m3/m3\n", i, i)
		fmt.Fprintf(&text, "2026-05-02 10:00,x%04d,1\n", i)
	}
	reg, err := register.Load(write(t, t.TempDir(), "probes.csv", []byte(probes.String())), "", time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	write(t, dir, "long.csv", []byte(text.String()))
	res := files(t, resolved(t, dir, "UTC", schemas.Source{Path: "*"}), reg)
	notes := strings.Join(res.Notes, "\n")
	if len(res.Notes) != 22 || len(res.Unheard) != 1500 ||
		!strings.Contains(notes, "980 or more other names have no row in the register: 1480 readings; the rejects list them") ||
		!strings.Contains(notes, "1500 of 1500 probes of the register have no reading in any file: p0000, p0001, p0002, p0003, p0004, p0005, p0006, p0007, p0008, p0009 and 1490 more") {
		t.Errorf("%d notes, %d unheard\n%s", len(res.Notes), len(res.Unheard), notes)
	}
}

// Units that the values deny are noted with the row to write, and nothing changes.
func TestMagnitudes(t *testing.T) {
	series := func(values ...float64) string {
		var b strings.Builder
		b.WriteString("time,s1\n")
		for i := range 48 {
			fmt.Fprintf(&b, "2026-05-%02d %02d:00,%v\n", 2+i/24, i%24, values[i%len(values)])
		}
		return b.String()
	}
	for _, c := range []struct{ name, probe, text, want string }{
		{"percents", "dielectric,m3/m3,", series(22.5, 23, 24.1), "registered in m3/m3, of which no soil holds more than 1, and their values look like percents: p (48 values from 22.5 to 24.1); if so, write in the register, as probe,kind,unit,scale: p,dielectric,%,; nothing"},
		{"fractions", "dielectric,%,", series(0.225, 0.23, 0.241), "registered in %, and all their values are below 1: they look like fractions: p (48 values from 0.225 to 0.241); if so, write in the register, as probe,kind,unit,scale: p,dielectric,m3/m3,; nothing"},
		{"potentials", "tensiometer,kPa,", series(-12, -14.5, -30), "they look like potentials: p (48 values from -30 to -12); if so, write in the register, as probe,kind,unit,scale: p,tensiometer,kPa,-1; nothing"},
		{"potentials already", "tensiometer,kPa,-1", series(12, 14.5, 30), "probe,kind,unit,scale: p,tensiometer,kPa,; nothing"},
		{"a negative potential with its scale", "tensiometer,kPa,-1", series(-12, -14.5, -30), ""},
		{"percents with their scale", "dielectric,m3/m3,0.01", series(22.5, 23, 24.1), ""},
		{"fractions as registered", "dielectric,m3/m3,", series(0.2, 0.25), ""},
		{"percents as registered", "dielectric,%,", series(20, 25), ""},
		{"a broken lead at the rail", "dielectric,m3/m3,", series(1.011, 1.011), ""},
		{"a dead zero", "dielectric,%,", series(0), ""},
		{"a probe in air", "dielectric,%,", series(0.9, 1.2), ""},
		{"a dead input", "tensiometer,kPa,", series(-20.8), ""},
		{"a flooded tensiometer", "tensiometer,kPa,", series(-2, 1, 5), ""},
		{"too few to say", "dielectric,m3/m3,", "time,s1\n2026-05-02 10:00,22.5\n", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			reg, err := register.Load(write(t, t.TempDir(), "probes.csv", []byte("probe,logger,port,kind,unit,scale\np,L1,s1,"+c.probe+"\n")), "", time.UTC)
			if err != nil {
				t.Fatal(err)
			}
			dir := t.TempDir()
			write(t, dir, "L1.csv", []byte(c.text))
			res := files(t, resolved(t, dir, "UTC", schemas.Source{Path: "*"}), reg)
			notes := strings.Join(res.Notes, "\n")
			if c.want == "" && notes != "" || !strings.Contains(notes, c.want) {
				t.Errorf("notes %q, want %q", notes, c.want)
			}
			if res.Files[0].Rejected != 0 {
				t.Errorf("%d readings rejected", res.Files[0].Rejected)
			}
		})
	}
}
