package table

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"probeward/schemas"
)

func TestParseTime(t *testing.T) {
	zone, err := time.LoadLocation("America/Los_Angeles")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ in, want string }{
		{"2026-05-31T14:00:00Z", "2026-05-31T14:00:00Z"},
		{"2026-05-31T14:00:00-07:00", "2026-05-31T21:00:00Z"},
		{"2026-05-31 14:00-0700", "2026-05-31T21:00:00Z"},
		{"2026-05-31 14:00:00 +02:00", "2026-05-31T12:00:00Z"},
		{"2026-05-31", "2026-05-31T07:00:00Z"},
		{"2026-01-31", "2026-01-31T08:00:00Z"},
		{"2026/05/31 14:00", "2026-05-31T21:00:00Z"},
		{" 2026-05-31T14:00:30.5 ", "2026-05-31T21:00:30Z"},
	} {
		got, err := ParseTime(c.in, zone)
		if err != nil || got.UTC().Format(time.RFC3339) != c.want {
			t.Errorf("%q: %v %v, want %s", c.in, got.UTC(), err, c.want)
		}
	}
	for in, says := range map[string]string{
		"05/31/2026": "which number is the day", "31.5.26 14:00": "which number is the day",
		"2026-02-30": "is no time", "soon": "is no time", "2026-05-31 25:00": "is no time",
	} {
		if _, err := ParseTime(in, zone); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %v, want an error that says %q", in, err, says)
		}
	}
}

type simpleNote struct {
	Line     int
	Column   string
	Severity Severity
	Says     string
}

// says cuts each note to the words that the test looks for.
func says(notes []Note, want []simpleNote) []simpleNote {
	var got []simpleNote
	for i, n := range notes {
		s := simpleNote{n.Line, n.Column, n.Severity, n.Problem}
		if i < len(want) && strings.Contains(n.Problem, want[i].Says) {
			s.Says = want[i].Says
		}
		got = append(got, s)
	}
	return got
}

func TestParse(t *testing.T) {
	for _, c := range []struct {
		name, in string
		rows     []string // zone depth_mm of each
		notes    []simpleNote
	}{
		{"plain", "zone,start,end,depth_mm\nN,2026-05-01,2026-05-02,12.5\n", []string{"2:N 12.5"}, nil},
		{"spreadsheet", "\ufeffsep=;\r\nZone ; Start;END;Depth mm\r\nN;2026-05-01;2026-05-02;12,5\r\n;;;\r\n", []string{"3:N 12.5"},
			[]simpleNote{{0, "depth_mm", Info, "1 decimal commas"}}},
		{"tabs, old line ends", "zone\tstart\tend\rN\t2026-05-01\t2026-05-02\r", []string{"2:N -"}, nil},
		{"Latin-1", "zone,start,end\nR\xe9,2026-05-01,2026-05-02\n", []string{"2:Ré -"},
			[]simpleNote{{1, "", Info, "Windows-1252"}}},
		{"words for nothing", "zone,start,end,depth_mm\nNA,2026-05-01,2026-05-02,NA\n", []string{"2:NA -"}, nil},
		{"bad cells", "zone,start,end,depth_mm,colour,dept_mm\nN,2026-05-01,2026-05-02,lots,,\nN,1/5/2026,2026-05-02,1,,\n,2026-05-01,2026-05-02,1,,\n", []string{"2:N -"},
			[]simpleNote{
				{1, "colour", Info, "leaves it"}, {1, "dept_mm", Warning, "was depth_mm meant?"},
				{2, "depth_mm", Warning, "taken as missing"}, {3, "start", Error, "which number is the day"}, {4, "zone", Error, "is empty and needed"},
			}},
		{"too many cells", "zone,start,end,note\nN,2026-05-01,2026-05-02,left, then right\nN,2026-05-01,2026-05-02,x,,\n", []string{"3:N -"},
			[]simpleNote{{2, "", Error, "5 cells and the header 4"}}},
		{"open quote", "zone,start,end,note\nN,2026-05-01,2026-05-02,\"oops\nM,2026-05-03,2026-05-04,ok\nO,2026-05-03,2026-05-04,3\"\" pipe\n", []string{"3:M -"},
			[]simpleNote{{2, "", Error, "a quote in it is not closed"}, {4, "", Error, "a quote in it"}}},
		{"a note of two lines", "zone,start,end,note\nN,2026-05-01,2026-05-02,\"one\ntwo\"\nM,2026-05-03,2026-05-04,x\n", []string{"2:N -", "4:M -"}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, err := Parse("irrigation.csv", []byte(c.in), schemas.Irrigation, time.UTC)
			if err != nil {
				t.Fatal(err)
			}
			var rows []string
			for _, r := range f.Rows {
				mm := "-"
				if v := r.Number("depth_mm"); v.OK {
					mm = strconv.FormatFloat(v.V, 'g', -1, 64)
				}
				rows = append(rows, fmt.Sprintf("%d:%s %s", r.Line, r.Text("zone"), mm))
			}
			if d := cmp.Diff(c.rows, rows); d != "" {
				t.Errorf("rows (-want +got):\n%s", d)
			}
			if d := cmp.Diff(c.notes, says(f.Notes, c.notes)); d != "" {
				t.Errorf("notes (-want +got):\n%s", d)
			}
		})
	}
}

func TestNotThisTable(t *testing.T) {
	for in, want := range map[string]string{
		"":                        "the file is empty",
		"\n \n":                   "the file is empty",
		"zone,begin,end\nN,1,2\n": "the header lacks start",
	} {
		_, err := Parse("x.csv", []byte(in), schemas.Irrigation, time.UTC)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want an error that says %q", in, err, want)
		}
	}
}

func TestLoadUnpacks(t *testing.T) {
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	z.Write([]byte("zone,start,end\nN,2026-05-01,2026-05-02\n"))
	z.Close()
	path := filepath.Join(t.TempDir(), "irrigation.csv.gz")
	if err := os.WriteFile(path, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	f, err := Load(path, schemas.Irrigation, time.UTC)
	if err != nil || len(f.Rows) != 1 {
		t.Fatalf("%v, %+v; want one row", err, f)
	}
}

func TestNearest(t *testing.T) {
	for _, c := range []struct{ name, want string }{
		{"Depth CM", "depth_cm"}, {"lattitude", "latitude"}, {"zoen", "zone"}, {"xyzzy", ""}, {"", ""},
	} {
		if got, ok := Nearest(c.name, schemas.Probes.Header()); ok != (c.want != "") || (ok && got != c.want) {
			t.Errorf("%q: %q %v, want %q", c.name, got, ok, c.want)
		}
	}
	if Fold("1-25 E") == Fold("12-5E") {
		t.Error("1-25 E and 12-5E are two names")
	}
	if Fold("S1 P04") != Fold("s1_p04") {
		t.Error("S1 P04 and s1_p04 are one name but for case and blanks")
	}
}

// Whatever the file: no panic, and every data row is used, rejected or blank.
func TestAnyBytes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cell := rapid.SampledFrom([]string{"N", "2026-05-01", "2026-05-02", "1,5", "\"", "\"a\"", "a\"b", "\n", ";", "", "NA", "\xff", "\x00", "é", "1e999"})
		lines := rapid.SliceOfN(rapid.SliceOfN(cell, 0, 6), 0, 8).Draw(t, "cells")
		var b strings.Builder
		b.WriteString(rapid.SampledFrom([]string{"zone,start,end,depth_mm\n", "zone;start;end\n", "\xff\xfez", ""}).Draw(t, "head"))
		for _, l := range lines {
			b.WriteString(strings.Join(l, ",") + "\n")
		}
		f, err := Parse("x.csv", []byte(b.String()), schemas.Irrigation, time.UTC)
		if err != nil {
			return
		}
		for _, r := range f.Rows {
			if r.Text("zone") == "" || !r.Time("start").OK || !r.Time("end").OK {
				t.Fatalf("a row without what it needs is called usable: %+v", r)
			}
		}
		errors := 0
		for _, n := range f.Notes {
			if n.Severity == Error {
				errors++
			}
		}
		if f.Rejected > errors {
			t.Fatalf("%d rows rejected and %d told", f.Rejected, errors)
		}
	})
}
