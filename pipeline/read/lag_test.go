package read_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// briefLags writes the stretches of two clocks: "shift rows/among first..last".
func briefLags(s detect.Stamps) string {
	var b strings.Builder
	if s.ByDevice {
		b.WriteString("by device")
	}
	at := func(t int64) string { return time.UnixMicro(t).UTC().Format("02T15:04") }
	for _, l := range s.Lags {
		fmt.Fprintf(&b, " | %s %d/%d %s..%s", time.Duration(l.Shift*1000).Round(time.Second), l.Rows, l.Among, at(l.Start), at(l.End))
	}
	return strings.TrimPrefix(b.String(), " | ")
}

// The receiver's clock is right in all of these: a message every 15 minutes.
func TestTwoClocks(t *testing.T) {
	reg := openFarm(t)
	start := time.Date(2026, 5, 2, 10, 0, 0, 0, time.UTC)
	table := func(device func(i int, received time.Time) time.Time) string {
		var b strings.Builder
		b.WriteString("received,sent,s1\n")
		for i := range 96 {
			received := start.Add(time.Duration(i) * 15 * time.Minute)
			sent := device(i, received)
			if sent.IsZero() {
				fmt.Fprintf(&b, "%s,,1\n", received.Format("2006-01-02 15:04:05"))
				continue
			}
			fmt.Fprintf(&b, "%s,%s,1\n", received.Format("2006-01-02 15:04:05"), sent.Format("2006-01-02T15:04:05Z07:00"))
		}
		return b.String()
	}
	behind := table(func(i int, r time.Time) time.Time {
		switch {
		case i < 48:
			return r.Add(-time.Duration(3+i%3) * time.Second)
		case i < 72:
			return r.Add(-57 * time.Minute)
		}
		return r.Add(-164 * time.Minute)
	})
	for _, c := range []struct{ name, text, columns, want string }{
		{"restarts, stamped by the receiver", behind, "time=received device_time=sent",
			"-4s 48/48 02T10:00..02T21:45 | -57m0s 24/24 02T22:00..03T03:45 | -2h44m0s 24/24 03T04:00..03T09:45"},
		{"the same, stamped by the device", behind, "time=sent gateway_time=received",
			"by device | -4s 48/48 02T10:00..02T21:45 | -57m0s 24/24 02T22:00..03T03:45 | -2h44m0s 24/24 03T04:00..03T09:45"},
		{"two ways that take turns, one of them an hour ahead", table(func(i int, r time.Time) time.Time {
			return r.Add(time.Duration(i%2) * time.Hour)
		}), "time=received device_time=sent", "0s 48/95 02T10:00..03T09:30 | 1h0m0s 48/95 02T10:15..03T09:45"},
		{"messages that wait for a departure every hour", table(func(i int, r time.Time) time.Time {
			return r.Add(-time.Duration(i%4) * 15 * time.Minute)
		}), "time=received device_time=sent",
			"0s 24/93 02T10:00..03T09:00 | -15m0s 24/93 02T10:15..03T09:15 | -30m0s 24/93 02T10:30..03T09:30 | -45m0s 24/93 02T10:45..03T09:45"},
		{"a few without the other stamp", table(func(i int, r time.Time) time.Time {
			if i%3 == 0 {
				return time.Time{}
			}
			return r
		}), "time=received device_time=sent", "0s 64/64 02T10:15..03T09:45"},
		{"not configured", behind, "time=received", ""},
		{"no such column", behind, "time=received device_time=clock", ""},
	} {
		dir := t.TempDir()
		write(t, dir, "L2.csv", []byte(c.text))
		columns := map[string]string{}
		for _, f := range strings.Fields(c.columns) {
			ours, theirs, _ := strings.Cut(f, "=")
			columns[ours] = theirs
		}
		res := files(t, resolved(t, dir, "UTC", schemas.Source{Path: "*", Columns: columns}), reg)
		if len(res.Stamps) != 1 || res.Files[0].Used != 96 {
			t.Errorf("%s: %d digests, %d readings: %v", c.name, len(res.Stamps), res.Files[0].Used, res.Notes)
			continue
		}
		if diff := cmp.Diff(c.want, briefLags(res.Stamps[0])); diff != "" {
			t.Errorf("%s: (-want +got)\n%s\n%s", c.name, diff, res.Files[0].Layout)
		}
	}
}

// Several probes of one message are one message.
func TestTwoClocksLong(t *testing.T) {
	reg := openFarm(t)
	var b strings.Builder
	b.WriteString("received,sent,probe,value\n")
	start := time.Date(2026, 5, 2, 10, 0, 0, 0, time.UTC)
	for i := range 20 {
		r := start.Add(time.Duration(i) * time.Hour)
		for _, probe := range []string{"a", "c"} {
			fmt.Fprintf(&b, "%s,%s,%s,1\n", r.Format("2006-01-02 15:04"), r.Add(2*time.Hour).Format("2006-01-02 15:04"), probe)
		}
	}
	dir := t.TempDir()
	write(t, dir, "long.csv", []byte(b.String()))
	res := files(t, resolved(t, dir, "UTC", schemas.Source{Path: "*", Columns: map[string]string{"time": "received", "device_time": "sent"}}), reg)
	if len(res.Stamps) != 1 || briefLags(res.Stamps[0]) != "2h0m0s 20/20 02T10:00..03T05:00" {
		t.Errorf("%d digests: %s; %v", len(res.Stamps), briefLags(res.Stamps[0]), res.Notes)
	}
}

func TestTwoClocksParquet(t *testing.T) {
	type message struct {
		Received time.Time `parquet:"received,timestamp(microsecond)"`
		Sent     time.Time `parquet:"sent,timestamp(millisecond)"`
		S1       float64   `parquet:"s1"`
	}
	start := time.Date(2026, 5, 2, 10, 0, 0, 0, time.UTC)
	var rows []message
	for i := range 20 {
		r := start.Add(time.Duration(i) * time.Hour)
		rows = append(rows, message{r, r.Add(-57 * time.Minute), 1})
	}
	dir := t.TempDir()
	write(t, dir, "L2.parquet", pack(t, rows))
	res := files(t, resolved(t, dir, "UTC", schemas.Source{Path: "*", Columns: map[string]string{"time": "received", "device_time": "sent"}}), openFarm(t))
	if len(res.Stamps) != 1 || briefLags(res.Stamps[0]) != "-57m0s 20/20 02T10:00..03T05:00" {
		t.Errorf("%d digests: %v; %v", len(res.Stamps), res.Stamps, res.Notes)
	}
}

// A file that is named as a probe and has one column of values is that probe's.
func TestFileOfAProbe(t *testing.T) {
	for _, c := range []struct{ file, want string }{
		{"d.csv", `column "value" is probe d (guessed from the file's name)`},
		{"d_2026-05.csv", `column "value" is probe d (guessed from the file's name)`},
	} {
		dir := t.TempDir()
		write(t, dir, c.file, []byte("sent,time,value\n2026-05-02 10:00,2026-05-02 10:00,1\n2026-05-02 10:00,2026-05-02 10:10,2\n"))
		res := files(t, resolved(t, dir, "UTC", schemas.Source{Path: "*"}), openFarm(t))
		if f := res.Files[0]; f.Used != 2 || f.Rejected != 0 || !strings.Contains(f.Layout, c.want) {
			t.Errorf("%s: %d used, %d rejected: %s %s", c.file, f.Used, f.Rejected, f.Layout, f.Err)
		}
	}
	dir := t.TempDir()
	write(t, dir, "elsewhere.csv", []byte("time,value\n2026-05-02 10:00,1\n"))
	res := files(t, resolved(t, dir, "UTC", schemas.Source{Path: "*"}), openFarm(t))
	if want := "in probes.csv logger elsewhere and port value"; !strings.Contains(res.Files[0].Err, want) {
		t.Errorf("not said what to write: %s", res.Files[0].Err)
	}
}
