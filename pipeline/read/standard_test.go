package read_test

import (
	"context"
	"fmt"
	"reflect"
	"strings"
	"testing"
	"time"

	"probeward/pipeline/read"
	"probeward/schemas"
)

// The nights of 2027: clocks of Los Angeles go forward on 14 March from 02:00 to
// 03:00 and back on 7 November from 02:00 to 01:00 (the zone's published rule,
// checked).
var (
	march    = time.Date(2027, 3, 13, 22, 0, 0, 0, time.UTC)
	november = time.Date(2027, 11, 6, 22, 0, 0, 0, time.UTC)
)

// night writes the stamps that a clock shows for nine hours at a cadence, from a
// reading of the wall; a clock that is changed jumps by shift at the hour given.
func night(start time.Time, cadence time.Duration, at, shift int) []string {
	var stamps []string
	for step := time.Duration(0); step < 9*time.Hour; step += cadence {
		wall := start.Add(step)
		if change := time.Duration(at) * time.Hour; step >= change {
			wall = wall.Add(time.Duration(shift) * time.Hour)
		}
		stamps = append(stamps, wall.Format("2006-01-02 15:04"))
	}
	return stamps
}

func still(start time.Time, cadence time.Duration) []string { return night(start, cadence, 99, 0) }
func spring(cadence time.Duration) []string                 { return night(march, cadence, 4, 1) }
func autumn(cadence time.Duration) []string                 { return night(november, cadence, 4, -1) }

func wideFile(stamps ...[]string) string {
	var b strings.Builder
	b.WriteString("time,s1\n")
	for _, s := range stamps {
		for _, t := range s {
			fmt.Fprintf(&b, "%s,1\n", t)
		}
	}
	return b.String()
}

func TestStandardTime(t *testing.T) {
	reg := openFarm(t)
	const quarter, hour, two = 15 * time.Minute, time.Hour, 2 * time.Hour
	for _, c := range []struct {
		name   string
		files  map[string]string
		first  map[string]string // by file: the earliest instant of a reading
		lost   int64             // readings rejected
		notes  []string          // parts of them
		layout map[string]string // by file: the part after the logger
	}{
		{
			name:   "proof",
			files:  map[string]string{"L1.csv": wideFile(still(march, quarter)), "L2.csv": wideFile([]string{"2027-07-01 12:00"})},
			first:  map[string]string{"L1.csv": "03-14T06:00", "L2.csv": "07-01T20:00"},
			notes:  []string{"*: stamps kept in standard time: 4 rows of 1 files, the first L1.csv, stand in the hour that America/Los_Angeles leaves out in spring; all its stamps are read at UTC-8"},
			layout: map[string]string{"L1.csv": "stamps kept in standard time, UTC-8: 4 rows stand in the hour that America/Los_Angeles leaves out in spring", "L2.csv": "stamps kept in standard time, UTC-8: as other files show"},
		},
		{
			name:   "no proof",
			files:  map[string]string{"L1.csv": wideFile(spring(quarter), autumn(quarter)), "L2.csv": wideFile([]string{"2027-07-01 12:00"})},
			first:  map[string]string{"L1.csv": "03-14T06:00", "L2.csv": "07-01T19:00"},
			layout: map[string]string{"L1.csv": "in America/Los_Angeles", "L2.csv": "in America/Los_Angeles"},
		},
		{
			name:   "two hours apart",
			files:  map[string]string{"L1.csv": wideFile(still(march, two)), "L2.csv": wideFile([]string{"2027-07-01 12:00"})},
			first:  map[string]string{"L2.csv": "07-01T20:00"},
			notes:  []string{"1 rows of 1 files"},
			layout: map[string]string{"L2.csv": "stamps kept in standard time, UTC-8: as other files show"},
		},
		{
			name: "mixed, by logger",
			files: map[string]string{"L1.csv": wideFile(still(march, hour)), "L1_b.csv": wideFile([]string{"2027-07-01 12:00"}),
				"L2.csv": wideFile(spring(hour)), "L2_b.csv": wideFile([]string{"2027-07-01 12:00"})},
			first:  map[string]string{"L1_b.csv": "07-01T20:00", "L2_b.csv": "07-01T19:00"},
			notes:  []string{`*: stamps kept in standard time: 1 rows of 1 files, the first L1.csv, stand in the hour that America/Los_Angeles leaves out in spring; the clocks of others are changed, so only the stamps of loggers "L1" are read at UTC-8`},
			layout: map[string]string{"L2.csv": "in America/Los_Angeles"},
		},
		{
			name: "most keep standard time, one does not",
			files: map[string]string{"L1.csv": wideFile(still(march, hour)), "L1_b.csv": wideFile(still(march, hour)), "L9.csv": wideFile([]string{"2027-07-01 12:00"}),
				"L2.csv": wideFile(autumn(hour)), "L2_b.csv": wideFile([]string{"2027-07-01 12:00"})},
			first: map[string]string{"L1_b.csv": "03-14T06:00", "L2_b.csv": "07-01T19:00"},
			notes: []string{`all its stamps but those of loggers "L2", whose clocks are changed, are read at UTC-8`, "L9.csv"},
		},
		{
			name:   "a logger that contradicts itself keeps the rejection",
			files:  map[string]string{"L2.csv": wideFile(still(march, hour), autumn(hour))},
			first:  map[string]string{"L2.csv": "03-14T06:00"},
			lost:   1,
			notes:  []string{"1 rows of 1 files, the first L2.csv, stand in the hour that America/Los_Angeles leaves out in spring, though the same loggers were changed with its clocks on other nights: they are rejected; if all loggers keep standard time, set timezone: Etc/GMT+8"},
			layout: map[string]string{"L2.csv": "in America/Los_Angeles"},
		},
		{
			name: "two loggers in one file", // L1 stays, L2 is changed
			files: map[string]string{"all.csv": "time,logger,s1\n" + strings.Join(still(march, hour), ",L1,1\n") + ",L1,1\n" + strings.Join(spring(hour), ",L2,1\n") + ",L2,1\n" +
				"2027-07-01 12:00,L1,1\n2027-07-01 12:00,L2,2\n", "y.csv": "time,logger,s1\n" + strings.Join(autumn(hour), ",L2,1\n") + ",L2,1\n"},
			first:  map[string]string{"all.csv": "03-14T06:00"},
			notes:  []string{`only the stamps of loggers "L1"`},
			layout: map[string]string{"all.csv": `in America/Los_Angeles; stamps of loggers "L1" kept in standard time, UTC-8: 1 rows stand`},
		},
		{
			name:  "a reading a row",
			files: map[string]string{"long.csv": "time,probe,value\n" + strings.Join(still(march, hour), ",a,1\n") + ",a,1\n2027-07-01 12:00,a,7\n"},
			first: map[string]string{"long.csv": "03-14T06:00"},
			notes: []string{"1 rows of 1 files, the first long.csv"},
		},
		{
			name:  "a reading missing is no change of the clock",
			files: map[string]string{"L1.csv": wideFile(still(march, two)), "L2.csv": wideFile([]string{"2027-03-13 22:00", "2027-03-14 00:00", "2027-03-14 04:00", "2027-03-14 06:00", "2027-07-01 12:00"})},
			first: map[string]string{"L2.csv": "03-14T06:00"},
			notes: []string{"all its stamps are read at UTC-8"},
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			for name, text := range c.files {
				write(t, dir, name, []byte(text))
			}
			conf := resolved(t, dir, "America/Los_Angeles", schemas.Source{Path: "*"})
			res := files(t, conf, reg)
			var lost int64
			for _, f := range res.Files {
				lost += f.Rejected
				if want, ok := c.first[f.Path]; ok {
					if got := time.UnixMicro(f.First).UTC().Format("01-02T15:04"); got != want {
						t.Errorf("%s begins at %s, want %s", f.Path, got, want)
					}
				}
				if want := c.layout[f.Path]; !strings.Contains(f.Layout, want) {
					t.Errorf("%s: layout %q, want %q in it", f.Path, f.Layout, want)
				}
			}
			if lost != c.lost {
				t.Errorf("%d readings lost, want %d", lost, c.lost)
			}
			notes := strings.Join(res.Notes, "\n")
			for _, want := range c.notes {
				if !strings.Contains(notes, want) {
					t.Errorf("notes %q lack %q", notes, want)
				}
			}
			if len(c.notes) == 0 && strings.Contains(notes, "standard time") {
				t.Errorf("notes %q, want none of the clock", notes)
			}
			alone, err := read.Files(context.Background(), read.Input{Config: conf, Register: reg, Workers: 1})
			if err != nil {
				t.Fatal(err)
			}
			defer alone.Release()
			if dump(reg, alone) != dump(reg, res) || !reflect.DeepEqual(alone.Files, res.Files) || !reflect.DeepEqual(alone.Stamps, res.Stamps) {
				t.Error("one worker gives another result")
			}
		})
	}
}

// Sources that are guessed, one a file, are judged together.
func TestStandardTimeGuessed(t *testing.T) {
	reg := openFarm(t)
	dir := t.TempDir()
	write(t, dir, "L1.csv", []byte(wideFile(still(march, time.Hour))))
	write(t, dir, "L2.csv", []byte(wideFile([]string{"2027-07-01 12:00"})))
	res := files(t, resolved(t, dir, "America/Los_Angeles", schemas.Source{Path: "L1.csv"}, schemas.Source{Path: "L2.csv"}), reg)
	if got := time.UnixMicro(res.Files[1].First).UTC().Format("15:04"); got != "20:00" || res.Files[0].Rejected != 0 {
		t.Errorf("the file beside the proof is read at %s, want 20:00; %d rejected", got, res.Files[0].Rejected)
	}
	if notes := strings.Join(res.Notes, "\n"); !strings.Contains(notes, "files found by their names: stamps kept in standard time: 1 rows of 1 files") {
		t.Error(notes)
	}
}

// Files of a source without proof are read once: the bytes told are the files' own.
func TestStandardTimeCost(t *testing.T) {
	reg := openFarm(t)
	for _, c := range []struct {
		text string
		want int // times that the file is read
	}{{wideFile(spring(time.Hour)), 1}, {wideFile(still(march, time.Hour)), 2}} {
		dir := t.TempDir()
		write(t, dir, "L1.csv", []byte(c.text))
		var done int64
		res, err := read.Files(context.Background(), read.Input{Config: resolved(t, dir, "America/Los_Angeles", schemas.Source{Path: "*"}), Register: reg, Progress: func(d, _ int64) { done = d }})
		if err != nil {
			t.Fatal(err)
		}
		res.Release()
		if done != int64(c.want*len(c.text)) {
			t.Errorf("%d bytes read of a file of %d, want it read %d times", done, len(c.text), c.want)
		}
	}
}
