package feedback

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"probeward/detectors/detect"
	"probeward/pipeline/fieldlog"
	"probeward/pipeline/previous"
)

func TestWhatARowIsAbout(t *testing.T) {
	run := lastWeek(map[string]string{"A-30": "open_circuit", "B-30": "logger_power", "B-60": "logger_power"})
	run.Visits["P_1-cable"] = previous.Visit{RunsOpen: 1, Probes: []string{"A-60"}}
	type about struct {
		Probes         []int
		Loggers, Zones []string
		Suspected      []string
	}
	for name, c := range map[string]struct {
		row  fieldlog.Visit
		want about
		note string
	}{
		"a probe":                                   {visit("P_1-cable", "P 1", "L1", "A-30", "nothing_wrong", fieldlog.Left), about{Probes: []int{a30}, Suspected: []string{"open_circuit"}}, ""},
		"a probe in its case":                       {visit("", "", "", "a 30", "open_circuit", fieldlog.Repaired), about{Probes: []int{a30}, Suspected: []string{"open_circuit"}}, ""},
		"a logger":                                  {visit("P2-logger", "P2", "L2", "", "logger_power", fieldlog.Repaired), about{Loggers: []string{"L2"}, Suspected: []string{"logger_power"}}, ""},
		"its name alone, of the run before":         {visit("P_1-cable", "", "", "", "nothing_wrong", fieldlog.Left), about{Probes: []int{a60}}, ""},
		"a post alone: what was faulty there":       {visit("", "P 1", "", "", "nothing_wrong", fieldlog.Left), about{Probes: []int{a30}, Suspected: []string{"open_circuit"}}, ""},
		"a post alone, nothing faulty: all of it":   {visit("", "P3", "", "", "nothing_wrong", fieldlog.Left), about{Probes: []int{c30}}, ""},
		"a farm in front":                           {visit("Home-P2-logger", "", "", "", "nothing_wrong", fieldlog.Left), about{Loggers: []string{"L2"}, Suspected: []string{"logger_power"}}, ""},
		"the second visit of a name":                {visit("P3-probe-2", "", "", "", "nothing_wrong", fieldlog.Left), about{Probes: []int{c30}}, ""},
		"a valve, by the visit's name":              {visit("Z1-water", "", "", "", "irrigation_failure", fieldlog.Repaired), about{Zones: []string{"Z1"}, Suspected: []string{"irrigation_failure"}}, ""},
		"a logger's fault found at a probe":         {visit("P2-cable", "P2", "L2", "B-30", "logger_power", fieldlog.Repaired), about{Loggers: []string{"L2"}, Suspected: []string{"logger_power"}}, ""},
		"a logger's fault found at a probe, no row": {visit("P2-cable", "P2", "", "B-30", "logger_power", fieldlog.Repaired), about{Loggers: []string{"L2"}, Suspected: []string{"logger_power"}}, ""},
		"a probe that nobody knows":                 {visit("P_1-cable", "P 1", "", "Q-30", "nothing_wrong", fieldlog.Left), about{}, "visits.csv:2: probe: no such probe"},
		"a logger that nobody knows":                {visit("P9-logger", "P9", "L9", "", "nothing_wrong", fieldlog.Left), about{}, "visits.csv:2: logger: no such logger"},
		"a post that nobody knows":                  {visit("P9-cable", "P9", "", "", "nothing_wrong", fieldlog.Left), about{}, "visits.csv:2: visit: neither"},
		"a zone that nobody knows":                  {visit("Z9-water", "", "", "", "irrigation_failure", fieldlog.Repaired), about{}, "visits.csv:2: visit: no such zone"},
	} {
		t.Run(name, func(t *testing.T) {
			b := book(t, run, c.row)
			if c.note != "" {
				if len(b.Rows) != 0 || b.Unmatched != 1 || len(b.Notes) != 1 || !strings.HasPrefix(b.Notes[0].String(), c.note) {
					t.Fatalf("rows %v, unmatched %d, notes %v, want one like %q", b.Rows, b.Unmatched, b.Notes, c.note)
				}
				return
			}
			if len(b.Rows) != 1 || b.Matched != 1 || b.Unmatched != 0 || len(b.Notes) != 0 {
				t.Fatalf("rows %v, notes %v", b.Rows, b.Notes)
			}
			r := b.Rows[0]
			if d := cmp.Diff(c.want, about{r.Probes, r.Loggers, r.Zones, r.Suspected}); d != "" {
				t.Error(d)
			}
		})
	}
}

func TestWhenTheWorkWasDone(t *testing.T) {
	v := visit("", "P3", "", "", "gap", fieldlog.Repaired)
	day := on(v, "2026-06-09 00:00")
	late := on(v, "2026-06-16 08:00")
	b := book(t, nil, v, day, late)
	if b.Later != 1 || len(b.Rows) != 2 {
		t.Fatalf("%d rows, %d later than the window", len(b.Rows), b.Later)
	}
	if b.Rows[0].Done != at("2026-06-10 00:00") {
		t.Errorf("a day without an hour is over at %s", detect.Stamp(b.Rows[0].Done))
	}
	if b.Rows[1].Done != at("2026-06-09 08:30") {
		t.Errorf("half an hour from eight is over at %s", detect.Stamp(b.Rows[1].Done))
	}
}

func TestHitRates(t *testing.T) {
	run := lastWeek(map[string]string{"A-30": "open_circuit", "A-60": "open_circuit", "B-30": "open_circuit", "C-30": "open_circuit"})
	for name, c := range map[string]struct {
		rows []fieldlog.Visit
		want Rate
	}{
		"the very fault":   {[]fieldlog.Visit{visit("", "", "", "A-30", "open_circuit", fieldlog.Repaired)}, Rate{Hits: 1, Named: 1}},
		"another fault":    {[]fieldlog.Visit{visit("", "", "", "A-30", "flat_line", fieldlog.Replaced)}, Rate{Hits: 1}},
		"nothing":          {[]fieldlog.Visit{visit("", "", "", "A-30", "nothing_wrong", fieldlog.Left)}, Rate{Misses: 1}},
		"nobody got there": {[]fieldlog.Visit{visit("", "", "", "A-30", "nothing_wrong", fieldlog.CouldNotReach)}, Rate{NotReached: 1}},
		"not seen":         {[]fieldlog.Visit{visit("", "", "", "A-30", "not_seen", fieldlog.Left)}, Rate{NotReached: 1}},
		"sound beside its logger's fault": {[]fieldlog.Visit{visit("P_1-cable", "", "L1", "A-30", "logger_power", fieldlog.Repaired),
			visit("P_1-cable", "", "L1", "A-60", "nothing_wrong", fieldlog.Left)}, Rate{Hits: 1}},
		"the same row twice": {[]fieldlog.Visit{visit("", "", "", "A-30", "nothing_wrong", fieldlog.Left), visit("", "", "", "A-30", "nothing_wrong", fieldlog.Left)}, Rate{Misses: 1}},
	} {
		t.Run(name, func(t *testing.T) {
			r, ok := book(t, run, c.rows...).RateOf("open_circuit")
			got := Rate{Hits: r.Hits, Named: r.Named, Misses: r.Misses, NotReached: r.NotReached}
			if d := cmp.Diff(c.want, got); !ok || d != "" {
				t.Error(d)
			}
		})
	}
	// Wilson (1927), 1 of 1 at 95 %: 1/(1+z²) = 0.2065 to 1 (derived).
	r, _ := book(t, run, visit("", "", "", "A-30", "open_circuit", fieldlog.Repaired)).RateOf("open_circuit")
	if r.Low < 0.2064 || r.Low > 0.2066 || r.High != 1 {
		t.Errorf("interval %v to %v", r.Low, r.High)
	}
}

func TestHitRatesMoveAConfidence(t *testing.T) {
	miss := func(n int) *Book {
		b := &Book{Rates: []Rate{{Detector: "noise", Misses: n}}}
		return b
	}
	for _, c := range []struct {
		n    int
		want float64
	}{{0, 0.8}, {2, 6.4 / 10}, {8, 0.4}, {1000, 0.2}} {
		if got := miss(c.n).Sure("noise", 0.8); got < c.want-1e-12 || got > c.want+1e-12 {
			t.Errorf("after %d misses 0.8 becomes %v, want %v", c.n, got, c.want)
		}
	}
	if got := miss(5).Sure("drift", 0.8); got != 0.8 {
		t.Errorf("another detector's confidence became %v", got)
	}
	rapid.Check(t, func(t *rapid.T) {
		b := &Book{Rates: []Rate{{Detector: "noise", Hits: rapid.IntRange(0, 50).Draw(t, "hits"), Misses: rapid.IntRange(0, 50).Draw(t, "misses")}}}
		low := rapid.Float64Range(0, 1).Draw(t, "low")
		high := rapid.Float64Range(low, 1).Draw(t, "high")
		x, y := b.Sure("noise", low), b.Sure("noise", high)
		if x > y || x < Lowest*low || y > max(Highest, high) {
			t.Errorf("%v and %v become %v and %v", low, high, x, y)
		}
		more := *b
		more.Rates = []Rate{b.Rates[0]}
		more.Rates[0].Hits++
		if more.Sure("noise", low) < x {
			t.Errorf("a hit lowered %v from %v to %v", low, x, more.Sure("noise", low))
		}
	})
}

// drawn makes rows about the farm.
func drawn(t *rapid.T) (rows []fieldlog.Visit) {
	for range rapid.IntRange(1, 8).Draw(t, "rows") {
		v := visit(rapid.SampledFrom([]string{"", "P_1-cable", "P2-probe", "Z1-water"}).Draw(t, "visit"), "P 1",
			"", rapid.SampledFrom([]string{"", "A-30", "A-60", "B-30", "gone"}).Draw(t, "probe"),
			rapid.SampledFrom([]string{"nothing_wrong", "not_seen", "open_circuit", "logger_power", "flat_line"}).Draw(t, "found"),
			rapid.SampledFrom([]fieldlog.Outcome{fieldlog.Repaired, fieldlog.Replaced, fieldlog.Left, fieldlog.CouldNotReach}).Draw(t, "outcome"))
		v.VisitedOn -= int64(rapid.IntRange(0, 20).Draw(t, "days")) * detect.Day
		v.Line = len(rows) + 2
		rows = append(rows, v)
	}
	return rows
}

// told is all that a book says of the farm's findings.
func told(b *Book) (out []any) {
	for _, f := range []struct {
		fault string
		probe int
		name  string
	}{{"open_circuit", a30, "A-30"}, {"flat_line", a60, "A-60"}, {"open_circuit", b30, "B-30"}, {"logger_power", -1, "L1"}, {"irrigation_failure", -1, "Z1"}} {
		g := found(f.fault, f.probe, f.name, 0.8, 30)
		out = append(out, b.Say(&g))
	}
	mends := slices.Clone(b.Mends())
	for i := range mends {
		mends[i].Line = 0
	}
	return append(out, b.Rates, mends, b.Matched, b.Unmatched)
}

func TestTheOrderOfRowsAndTheirRepeatsChangeNothing(t *testing.T) {
	run := lastWeek(map[string]string{"A-30": "open_circuit", "A-60": "flat_line", "B-30": "open_circuit"})
	reg := registered(t)
	rapid.Check(t, func(t *rapid.T) {
		rows := drawn(t)
		read := func(rows []fieldlog.Visit) []any {
			return told(New(Input{File: "visits.csv", Rows: rows, Register: reg, Before: run, Period: period, Zone: zone}))
		}
		want := read(rows)
		if d := cmp.Diff(want, read(rapid.Permutation(rows).Draw(t, "order"))); d != "" {
			t.Errorf("another order: %s", d)
		}
		doubled := append(slices.Clone(rows), rows[rapid.IntRange(0, len(rows)-1).Draw(t, "which")])
		if d := cmp.Diff(want, read(doubled)); d != "" {
			t.Errorf("a row twice: %s", d)
		}
	})
}
