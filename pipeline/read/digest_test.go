package read_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// brief writes a digest: segments as "line-line(rows) first..last".
func brief(s detect.Stamps) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s rows %d cadence %s", s.Logger, s.Rows, time.Duration(s.Cadence*1000))
	if s.Repeats > 0 {
		fmt.Fprintf(&b, " repeats %d", s.Repeats)
	}
	if s.Unordered {
		b.WriteString(" unordered")
	}
	at := func(t int64) string { return time.UnixMicro(t).UTC().Format("01-02T15:04") }
	for _, g := range s.Segments {
		fmt.Fprintf(&b, " | %d-%d(%d) %s..%s", g.FromLine, g.ToLine, g.Rows, at(g.First), at(g.Last))
	}
	return b.String()
}

func TestDigest(t *testing.T) {
	reg := openFarm(t)
	hours := func(head, format string, list ...any) string {
		var b strings.Builder
		b.WriteString(head)
		start := time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC)
		for _, l := range list {
			switch v := l.(type) {
			case int:
				b.WriteString(strings.ReplaceAll(format, "T", start.Add(time.Duration(v)*time.Hour).Format("2006-01-02 15:04")))
			case string:
				format = v
			}
		}
		return b.String()
	}
	var shuffled []any
	for i := range 100 {
		shuffled = append(shuffled, i*37%100)
	}
	var restarts []any
	for i := range 70 {
		restarts = append(restarts, 1000-10*i)
		for k := range 30 {
			restarts = append(restarts, 1001-10*i+k)
		}
	}
	for _, c := range []struct{ name, file, text, want string }{
		{"wide, in order", "L2.csv", hours("time,s1\n", "T,1\n", 0, 1, 2, 3), "L2 rows 4 cadence 1h0m0s | 2-5(4) 05-01T00:00..05-01T03:00"},
		{"wide, a step back and a repeat", "L2.csv", hours("time,s1\n", "T,1\n", 0, 1, 1, 2, 1, 2, 3),
			"L2 rows 7 cadence 1h0m0s repeats 1 | 2-5(4) 05-01T00:00..05-01T02:00 | 6-8(3) 05-01T01:00..05-01T03:00"},
		{"wide, forward by a day is no split, by more it is", "L2.csv", hours("time,s1\n", "T,1\n", 0, 1, 25, 26, 51),
			"L2 rows 5 cadence 1h0m0s | 2-5(4) 05-01T00:00..05-02T02:00 | 6-6(1) 05-03T03:00..05-03T03:00"},
		{"wide, a slow cadence needs a longer hole", "L2.csv", hours("time,s1\n", "T,1\n", 0, 12, 24, 36, 36+48, 36+60, 36+60+130),
			"L2 rows 7 cadence 12h0m0s | 2-7(6) 05-01T00:00..05-05T00:00 | 8-8(1) 05-10T10:00..05-10T10:00"},
		{"wide, shuffled", "L2.csv", hours("time,s1\n", "T,1\n", shuffled...), "L2 rows 100 cadence 37h0m0s unordered"},
		{"wide, more segments than are kept", "L2.csv", hours("time,s1\n", "T,1\n", restarts...), "L2 rows 2170 cadence 1h0m0s unordered"},
		{"long, interleaved", "x.csv", hours("time,probe,value\n", "T,a,1\nT,c,1\nT,d,1\n", 0, 1, 2),
			"L1 rows 6 cadence 1h0m0s | 2-9(6) 05-01T00:00..05-01T02:00; L2 rows 3 cadence 1h0m0s | 4-10(3) 05-01T00:00..05-01T02:00"},
		{"long, a clock set back", "x.csv", hours("time,probe,value\n", "T,a,1\nT,c,1\n", 0, 1, 2, 1, 2),
			"L1 rows 10 cadence 1h0m0s | 2-7(6) 05-01T00:00..05-01T02:00 | 8-11(4) 05-01T01:00..05-01T02:00"},
		{"long, probe after probe", "x.csv", hours("time,probe,value\n", "T,a,1\n", 0, 1, 2, 3, "T,c,1\n", 0, 1, 2, 3),
			"L1 rows 8 cadence 1h0m0s | 2-5(4) 05-01T00:00..05-01T03:00"},
		{"long, probe after probe, a clock set back", "x.csv", hours("time,probe,value\n", "T,a,1\n", 0, 1, 2, 1, "T,c,1\n", 0, 1, 2, 1),
			"L1 rows 8 cadence 1h0m0s | 2-4(3) 05-01T00:00..05-01T02:00 | 5-5(1) 05-01T01:00..05-01T01:00"},
		{"long, a row twice", "x.csv", hours("time,probe,value\n", "T,a,1\nT,a,1\n", 0, 1), "L1 rows 4 cadence 1h0m0s repeats 2 | 2-5(4) 05-01T00:00..05-01T01:00"},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			write(t, dir, c.file, []byte(c.text))
			res := files(t, resolved(t, dir, "UTC", schemas.Source{Path: "*"}), reg)
			var got []string
			for _, s := range res.Stamps {
				got = append(got, brief(s))
			}
			if s := strings.Join(got, "; "); s != c.want {
				t.Errorf("got  %s\nwant %s", s, c.want)
			}
		})
	}
}

// The night on which clocks go back is no step back.
func TestDigestAutumn(t *testing.T) {
	reg := openFarm(t)
	dir := t.TempDir()
	write(t, dir, "L2.csv", []byte("time,s1\n2026-11-01 00:00,1\n2026-11-01 00:30,1\n2026-11-01 01:00,1\n2026-11-01 01:30,1\n2026-11-01 01:00,1\n2026-11-01 01:30,1\n2026-11-01 02:00,1\n"))
	res := files(t, resolved(t, dir, "America/Los_Angeles", schemas.Source{Path: "*"}), reg)
	if got, want := brief(res.Stamps[0]), "L2 rows 7 cadence 30m0s | 2-8(7) 11-01T07:00..11-01T10:00"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

// Rejects of one kind stay few, whatever a file holds, and all readings count.
func TestManyRejects(t *testing.T) {
	reg := openFarm(t)
	dir := t.TempDir()
	var b strings.Builder
	b.WriteString("time,probe,value\n")
	for i := range 30_000 {
		fmt.Fprintf(&b, "2026-05-02 10:00,%s,wet%d\n", []string{"a", "d"}[i%2], i)
	}
	for i := range 3_000 {
		fmt.Fprintf(&b, "2026-05-02 10:00,stranger%d,1\n", i)
	}
	write(t, dir, "x.csv", []byte(b.String()))
	res := files(t, resolved(t, dir, "UTC", schemas.Source{Path: "*"}), reg)
	if f := res.Files[0]; f.Read != 33_000 || f.Rejected != 33_000 {
		t.Errorf("%+v", f)
	}
	if n := len(res.Rejects); n > 12_000 {
		t.Errorf("%d rejects", n)
	}
}
