package fieldlog

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"probeward/detectors/detect"
	"probeward/pipeline/table"
	"probeward/schemas"
)

func parse(t interface{ Fatal(...any) }, s schemas.Table, text string) *table.File {
	f, err := table.Parse(s.Name+".csv", []byte(text), s, time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func at(d, h int) int64 { return time.Date(2026, 5, d, h, 0, 0, 0, time.UTC).UnixMicro() }

func span(d1, h1, d2, h2 int) detect.Span { return detect.Span{Start: at(d1, h1), End: at(d2, h2)} }

// expect wants each note to stand at "line column" and to hold the words after it.
func expect(t *testing.T, notes []Note, want ...string) {
	t.Helper()
	var got []string
	for _, n := range notes {
		got = append(got, fmt.Sprintf("%d %s: %s", n.Line, n.Column, n.Problem))
	}
	if len(got) != len(want) {
		t.Fatalf("got %d notes, want %d:\n%s", len(got), len(want), strings.Join(got, "\n"))
	}
	for i, w := range want {
		place, words, _ := strings.Cut(w, ": ")
		if !strings.HasPrefix(got[i], place+": ") || !strings.Contains(got[i], words) {
			t.Errorf("got  %s\nwant %s", got[i], w)
		}
	}
}

func TestIrrigation(t *testing.T) {
	log, notes := irrigation(parse(t, schemas.Irrigation, `zone,start,end,depth_mm,volume_l
N,2026-05-03 06:00,2026-05-03 10:00,4,
N,2026-05-01 06:00,2026-05-01 10:00,4,
N,2026-05-01 08:00,2026-05-01 12:00,3,
N,2026-05-01 12:00,2026-05-01 13:00,1,
N,2026-05-03 06:00,2026-05-03 10:00,4,
N,2026-05-05 06:00,2026-05-05 10:00,,900
N,2026-05-05 08:00,2026-05-05 11:00,2,
S,2026-05-01 06:00,2026-05-01 06:00,4,
S,2026-05-01 06:00,2026-05-21 06:00,-4,
S,2026-05-22,2026-05-23,0,
S,5/1/2026,2026-05-23,1,
`))
	expect(t, notes, "0 volume_l: 1 waterings have a volume and no depth", "6 : repeats line 2", "9 end: not after the start",
		"10 depth_mm: below 0 mm", "10 end: 20.0 d", "11 depth_mm: no watering", "12 start: which number is the day")
	want := Irrigation{
		"N": {{Span: span(1, 6, 1, 12), MM: detect.Some(7.0)}, {Span: span(1, 12, 1, 13), MM: detect.Some(1.0)},
			{Span: span(3, 6, 3, 10), MM: detect.Some(4.0)}, {Span: span(5, 6, 5, 11)}},
		"S": {{Span: span(1, 6, 21, 6)}},
	}
	if d := cmp.Diff(want, log); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}

func TestHourlyWeather(t *testing.T) {
	w, notes := weather(parse(t, schemas.Weather, `time,rain_mm,air_temp_c,et0_mm
2026-05-01 02:00,0.5,11,-0.01
2026-05-01 00:00,0,12,0
2026-05-01 01:00,,13,0.1
2026-05-01 09:00,2,-9999,0.3
2026-05-01 09:00,3,14,0.3
`))
	expect(t, notes, "5 air_temp_c: an error code", "6 time: line 5 has this time already")
	want := Weather{
		Rain:    []detect.Water{{Span: span(1, 2, 1, 3), MM: detect.Some(0.5)}, {Span: span(1, 9, 1, 10), MM: detect.Some(2.0)}},
		HasRain: true, Step: detect.Hour,
		Demand: []detect.Demand{{Span: span(1, 0, 1, 1)}, {Span: span(1, 1, 1, 2), MM: 0.1},
			{Span: span(1, 2, 1, 3)}, {Span: span(1, 9, 1, 10), MM: 0.3}},
		AirTemp: []Temperature{{span(1, 0, 1, 1), 12}, {span(1, 1, 1, 2), 13}, {span(1, 2, 1, 3), 11}},
		Covered: []detect.Span{span(1, 0, 1, 1), span(1, 2, 1, 3), span(1, 9, 1, 10)},
	}
	if d := cmp.Diff(want, w); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}

// Days of 23 and 25 hours belong to their own row, and a missing day to none.
func TestDailyWeatherThroughAChangeOfClocks(t *testing.T) {
	zone, err := time.LoadLocation("America/Los_Angeles")
	if err != nil {
		t.Fatal(err)
	}
	f, err := table.Parse("w.csv", []byte("time,rain_mm\n2026-10-30,1\n2026-10-31,1\n2026-11-01,1\n2026-11-02,1\n2026-11-04,1\n"), schemas.Weather, zone)
	if err != nil {
		t.Fatal(err)
	}
	w, _ := weather(f)
	var hours []float64
	for _, r := range w.Rain {
		hours = append(hours, detect.Hours(r.Length()))
	}
	if d := cmp.Diff([]float64{24, 24, 25, 24, 24}, hours); d != "" {
		t.Errorf("hours of each day (-want +got):\n%s", d)
	}
}

func TestWeatherWithoutDemand(t *testing.T) {
	w, notes := weather(parse(t, schemas.Weather, "time,air_temp_c,rh_pct,wind_m_s,solar_w_m2\n2026-05-01,11,50,2,200\n"))
	expect(t, notes, "0 et0_mm: not worked out", "0 rain_mm: unknown, not absent")
	if w.HasRain || len(w.Demand) != 0 || len(w.AirTemp) != 1 || w.AirTemp[0].Span != span(1, 0, 2, 0) {
		t.Errorf("%+v", w)
	}
}

func TestVisits(t *testing.T) {
	vs, notes := visits(parse(t, schemas.Visits, `visit,visited_on,post,probe,found,outcome,minutes
V2,2026-05-03,P1,,Open Circuit,Repaired,25
V1,2026-05-01,,A,nothing_wrong,left,-1
,2026-05-01,,,not_seen,left,
V3,2026-05-01,P1,,open_circut,replaced,
V4,,P1,,not_seen,left,
`))
	expect(t, notes, "3 minutes: less than 0", "4 : says where", "5 found: is none of nothing_wrong, not_seen, open_circuit", "6 visited_on: empty and needed")
	if notes[2].Suggest != "open_circuit" {
		t.Errorf("suggested %q", notes[2].Suggest)
	}
	want := []Visit{
		{Line: 3, Visit: "V1", VisitedOn: at(1, 0), Probe: "A", Found: NothingWrong, Outcome: Left},
		{Line: 2, Visit: "V2", VisitedOn: at(3, 0), Post: "P1", Found: "open_circuit", Outcome: Repaired, Minutes: detect.Some(25.0)},
	}
	if d := cmp.Diff(want, vs); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}

func TestOverrides(t *testing.T) {
	all, notes := overrides(parse(t, schemas.Overrides, `probe,action,from,until,why
B,exclude,2026-05-02,,leaks
A,Accept,2026-05-03,2026-05-04,seen
A,ignore,,2026-05-03,frost
A,exclude,2026-05-01,2026-05-02,dug up
A,exclude,2026-05-01,5/2/2026,dug up
A,exclude,2026-05-02,2026-05-01,dug up
A,delete,,,why
A,ignore,,,
`))
	expect(t, notes, "5 action: line 4 says ignore", "6 until: which number is the day", "6 until: hold for ever",
		"7 until: not after from", "8 action: none of ignore, accept, exclude", "9 why: empty and needed")
	want := []Override{
		{4, "A", Ignore, detect.Span{Start: math.MinInt64, End: at(3, 0)}, "frost"},
		{5, "A", Exclude, span(1, 0, 2, 0), "dug up"},
		{3, "A", Accept, span(3, 0, 4, 0), "seen"},
		{2, "B", Exclude, detect.Span{Start: at(2, 0), End: math.MaxInt64}, "leaks"},
	}
	if d := cmp.Diff(want, all); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}

// Waterings of a zone come sorted and apart, and no millimetre is lost or made, in
// whatever order they were written down.
func TestMergedWater(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var ws []detect.Water
		total := 0.0
		for range rapid.IntRange(1, 12).Draw(t, "n") {
			start, mm := rapid.Int64Range(0, 50).Draw(t, "start"), float64(rapid.IntRange(1, 9).Draw(t, "mm"))
			ws = append(ws, detect.Water{Span: detect.Span{Start: start, End: start + rapid.Int64Range(1, 20).Draw(t, "length")}, MM: detect.Some(mm)})
			total += mm
		}
		mixed := rapid.Permutation(ws).Draw(t, "order")
		out, again := mergeWater(ws), mergeWater(mixed)
		if d := cmp.Diff(out, again); d != "" {
			t.Fatal(d)
		}
		for i, w := range out {
			if total -= w.MM.V; i > 0 && w.Start < out[i-1].End {
				t.Fatalf("%v and %v overlap", out[i-1], w)
			}
		}
		if total != 0 {
			t.Fatalf("%g mm are lost", total)
		}
	})
}

func TestAnyTables(t *testing.T) {
	cell := rapid.SampledFrom([]string{"", "A", "2026-05-01", "2026-05-02 10:00", "9999-12-31", "0000-01-01", "?", "1", "-1", "1e308", "\"", "\n", "exclude", "left", "not_seen"})
	rapid.Check(t, func(t *rapid.T) {
		for _, s := range []schemas.Table{schemas.Irrigation, schemas.Weather, schemas.Visits, schemas.Overrides} {
			var b strings.Builder
			b.WriteString(strings.Join(s.Header(), ",") + "\n")
			for range rapid.IntRange(0, 6).Draw(t, "rows") {
				b.WriteString(strings.Join(rapid.SliceOfN(cell, len(s.Columns), len(s.Columns)).Draw(t, "row"), ",") + "\n")
			}
			f := parse(t, s, b.String())
			irr, _ := irrigation(parse(t, schemas.Irrigation, "zone,start,end\n"))
			switch s.Name {
			case "irrigation":
				irr, _ = irrigation(f)
			case "weather":
				w, _ := weather(f)
				for i, d := range w.Demand {
					if d.Start >= d.End || (i > 0 && d.Start < w.Demand[i-1].End) {
						t.Fatalf("stretches of demand that are empty or overlap: %+v", w.Demand)
					}
				}
			case "visits":
				visits(f)
			case "overrides":
				for all, _ := overrides(f); len(all) > 0; all = all[1:] {
					if all[0].Start >= all[0].End {
						t.Fatalf("an empty override %+v", all[0])
					}
				}
			}
			for _, ws := range irr {
				for _, w := range ws {
					if w.Start >= w.End {
						t.Fatalf("an empty watering %+v", w)
					}
				}
			}
		}
	})
}

// The logs of the published alfalfa trial: 20 waterings
// and a year of days.
func TestRealLogs(t *testing.T) {
	dir, _ := os.Getwd()
	for ; ; dir = filepath.Dir(dir) {
		if _, err := os.Stat(filepath.Join(dir, "shared", "data", "alfalfa_tensiometers")); err == nil {
			dir = filepath.Join(dir, "shared", "data", "alfalfa_tensiometers")
			break
		}
		if dir == filepath.Dir(dir) {
			t.Skip("the published data set alfalfa_tensiometers is not beside the repository: its logs are not read; put it at ../shared/data from the root")
		}
	}
	zone, err := time.LoadLocation("America/Los_Angeles")
	if err != nil {
		t.Fatal(err)
	}
	log, notes, err := LoadIrrigation(filepath.Join(dir, "irrigation.csv"), zone)
	if err != nil || len(notes) != 0 {
		t.Fatal(err, notes)
	}
	n := 0
	for _, ws := range log {
		n += len(ws)
	}
	w, notes, err := LoadWeather(filepath.Join(dir, "weather.csv"), zone)
	if err != nil || len(notes) != 0 {
		t.Fatal(err, notes)
	}
	if n != 20 || len(w.Demand) != 365 || !w.HasRain || len(w.Covered) != 1 || w.Step != detect.Day {
		t.Errorf("%d waterings, %d days of demand, rain %v covers %d stretches, step %s; want 20, 365, true, 1, a day",
			n, len(w.Demand), w.HasRain, len(w.Covered), detect.Length(w.Step))
	}
}
