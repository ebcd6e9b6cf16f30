package feedback

import (
	"math"
	"slices"
	"strings"
	"testing"

	"probeward/detectors/detect"
	"probeward/pipeline/fieldlog"
	"probeward/pipeline/judge"
	"probeward/pipeline/previous"
	"probeward/schemas"
)

func TestNothingWrong(t *testing.T) {
	once := visit("", "", "", "A-30", "nothing_wrong", fieldlog.Left)
	twice := on(once, "2026-06-02 08:00")
	mended := on(visit("", "", "", "A-30", "open_circuit", fieldlog.Repaired), "2026-06-10 08:00")
	suspected := lastWeek(map[string]string{"A-30": "flat_line"})
	for name, c := range map[string]struct {
		rows  []fieldlog.Visit
		run   *previous.Run
		with  func(*judge.Finding)
		moved float64 // NaN: not asked
		quiet string
	}{
		"nobody went":          {moved: 0.95},
		"once":                 {rows: []fieldlog.Visit{once}, moved: 0.95 / (0.95 + 4*0.05)},
		"once, and it is weak": {rows: []fieldlog.Visit{once}, with: func(f *judge.Finding) { f.Confidence = 0.7 }, moved: 0.7 / (0.7 + 4*0.3), quiet: "a visit on 2026-06-09 found nothing wrong, and that leaves 37 %"},
		"twice":                {rows: []fieldlog.Visit{once, twice}, moved: math.NaN(), quiet: "2 visits found nothing wrong, the last on 2026-06-09"},
		"twice on one row":     {rows: []fieldlog.Visit{once, once}, moved: 0.95 / (0.95 + 4*0.05)},
		"twice, mended since":  {rows: []fieldlog.Visit{once, twice, mended}, moved: 0.95},
		"twice, nobody got there the second time": {rows: []fieldlog.Visit{twice,
			visit("", "", "", "A-30", "not_seen", fieldlog.CouldNotReach)}, moved: 0.95 / (0.95 + 4*0.05)},
		"at another probe":           {rows: []fieldlog.Visit{visit("", "", "", "A-60", "nothing_wrong", fieldlog.Left)}, moved: 0.95},
		"before it began":            {rows: []fieldlog.Visit{on(once, "2026-05-01 08:00")}, moved: 0.95},
		"for another fault":          {rows: []fieldlog.Visit{once, twice}, run: suspected, moved: 0.95},
		"it ended before the visit":  {rows: []fieldlog.Visit{once}, with: func(f *judge.Finding) { f.Open, f.End = false, at("2026-06-09 07:00") }, moved: math.NaN(), quiet: "a visit on 2026-06-09 found nothing wrong, and it has not shown since"},
		"it ended after the visit":   {rows: []fieldlog.Visit{once}, with: func(f *judge.Finding) { f.Open, f.End = false, at("2026-06-10 07:00") }, moved: 0.95 / (0.95 + 4*0.05)},
		"it began long ago":          {rows: []fieldlog.Visit{once, twice}, with: func(f *judge.Finding) { f.Start = at("2026-06-07 18:00") }, moved: math.NaN()},
		"twice, and four times time": {rows: []fieldlog.Visit{once, on(once, "2026-06-08 20:00")}, with: func(f *judge.Finding) { f.Start = at("2026-06-08 08:00") }, moved: 0.95},
	} {
		t.Run(name, func(t *testing.T) {
			f := found("open_circuit", a30, "A-30", 0.95, 20)
			if c.with != nil {
				c.with(&f)
			}
			got := book(t, c.run, c.rows...).Say(&f)
			if !math.IsNaN(c.moved) && math.Abs(got.Moved-c.moved) > 1e-12 {
				t.Errorf("moved to %v, want %v", got.Moved, c.moved)
			}
			if !strings.HasPrefix(got.Quiet, c.quiet) || c.quiet == "" && !math.IsNaN(c.moved) && got.Quiet != "" {
				t.Errorf("quiet %q, want %q", got.Quiet, c.quiet)
			}
		})
	}
}

// A finding that two visits made quiet comes back when its evidence has grown since the
// second, by the run before or as carried on from one before that.
func TestEvidenceThatGrowsComesBack(t *testing.T) {
	rows := []fieldlog.Visit{visit("", "", "", "A-30", "nothing_wrong", fieldlog.Left), on(visit("", "", "", "A-30", "nothing_wrong", fieldlog.Left), "2026-06-02 08:00")}
	for name, c := range map[string]struct {
		confidence, measured float64
		words                string
	}{
		"the same":            {0.8, 3, ""},
		"a little surer":      {0.85, 3, ""},
		"half the doubt":      {0.9, 3, "its confidence rose from 0.80 to 0.90"},
		"farther, not enough": {0.8, 3.9, ""},
		"twice as far":        {0.8, 4, "its distance from the threshold has doubled"},
	} {
		for carried, run := range map[string]*previous.Run{"found": lastWeek(map[string]string{"A-30": "open_circuit"}), "carried": lastWeek(map[string]string{"A-30": "open_circuit"})} {
			if carried == "found" {
				run.Findings = []previous.Finding{{Subject: "probe", Name: "A-30", Fault: "open_circuit", Confidence: 0.8, Distance: detect.Some(1.0)}}
			} else {
				run.Quiet = []previous.Quiet{{Subject: "probe", Name: "A-30", Fault: "open_circuit", Visits: 2, LastVisit: at("2026-06-09 08:00"), Confidence: detect.Some(0.8), Distance: detect.Some(1.0)}}
			}
			f := found("open_circuit", a30, "A-30", c.confidence, 20)
			f.Measured, f.Threshold = c.measured, 2
			got := book(t, run, rows...).Say(&f)
			back := slices.ContainsFunc(got.Words, func(w string) bool { return c.words != "" && strings.Contains(w, c.words) })
			if back != (c.words != "") || (got.Quiet == "") != back {
				t.Errorf("%s, %s: quiet %q, words %q", name, carried, got.Quiet, got.Words)
			}
			if got.Quiet != "" && (got.Evidence.Confidence.V != 0.8 || got.Evidence.Distance.V != 1 || got.Evidence.Visits != 2) {
				t.Errorf("%s, %s: carries %+v on", name, carried, got.Evidence)
			}
		}
	}
}

func TestWhatIsSaidOfTheLastVisit(t *testing.T) {
	left := visit("", "", "", "A-30", "open_circuit", fieldlog.Left)
	left.Note = "gate locked; key at the office"
	for name, c := range map[string]struct {
		rows []fieldlog.Visit
		want string
	}{
		"left, with a note": {[]fieldlog.Visit{left}, "open circuit seen and left on 2026-06-09: gate locked, key at the office"},
		"nobody got there":  {[]fieldlog.Visit{visit("", "", "", "A-30", "not_seen", fieldlog.CouldNotReach)}, "could not be reached on 2026-06-09"},
		"not seen":          {[]fieldlog.Visit{visit("", "", "", "A-30", "not_seen", fieldlog.Left)}, "not seen on 2026-06-09"},
		"the newest counts": {[]fieldlog.Visit{on(left, "2026-06-02 08:00"), visit("", "", "", "A-30", "not_seen", fieldlog.CouldNotReach)}, "could not be reached on 2026-06-09"},
	} {
		f := found("open_circuit", a30, "A-30", 0.95, 20)
		got := book(t, nil, c.rows...).Say(&f)
		if len(got.Words) != 1 || got.Words[0] != c.want || got.Quiet != "" || got.Moved != 0.95 {
			t.Errorf("%s: %+v", name, got)
		}
	}
}

func TestBackAfterAMend(t *testing.T) {
	run := lastWeek(map[string]string{"A-30": "cable_damage"})
	b := book(t, run, visit("", "", "", "A-30", "cable_damage", fieldlog.Repaired))
	f := found("open_circuit", a30, "A-30", 0.95, 3)
	got := b.Say(&f)
	if !got.Back || got.RunsOpen != 2 || !slices.Contains(got.Words, "mended on 2026-06-09 and back") {
		t.Errorf("a fault of the same family: %+v", got)
	}
	for _, f := range []judge.Finding{found("open_circuit", a30, "A-30", 0.95, 30), found("drift", a30, "A-30", 0.95, 3), found("open_circuit", a60, "A-60", 0.95, 3)} {
		if got := b.Say(&f); got.Back {
			t.Errorf("%s of %s since %s is back: %+v", f.Fault, f.Name, detect.Stamp(f.Start), got)
		}
	}
}

func TestAVisitIsClosedWhenAllWasMended(t *testing.T) {
	run := lastWeek(nil)
	a := visit("P_1-cable", "P 1", "", "A-30", "open_circuit", fieldlog.Repaired)
	other := visit("P_1-cable", "P 1", "", "A-60", "nothing_wrong", fieldlog.Left)
	if !book(t, run, a).Closed("P_1-cable") || book(t, run, a, other).Closed("P_1-cable") || book(t, run).Closed("P_1-cable") ||
		book(t, run, on(a, "2026-06-01 08:00")).Closed("P_1-cable") {
		t.Error("closed is what the rows since the run before mended, all of them")
	}
}

func TestARegisterThatStillSaysSo(t *testing.T) {
	b := book(t, nil, visit("P_1-register", "P 1", "", "A-30", "wrong_zone", fieldlog.RegisterMended))
	stands := found("wrong_zone", a30, "A-30", 0.9, 20)
	gone := stands
	gone.Open = false
	for _, c := range []struct {
		f    judge.Finding
		want bool
	}{{stands, true}, {gone, false}, {found("wrong_zone", a60, "A-60", 0.9, 20), false}, {found("drift", a30, "A-30", 0.9, 20), false}} {
		b := *b
		notes := b.UnchangedRegister(&judge.Result{Findings: []judge.Finding{c.f}})
		if (len(notes) == 1) != c.want {
			t.Errorf("%s of %s: %v", c.f.Fault, c.f.Name, notes)
		}
		if c.want && !strings.HasPrefix(notes[0].String(), "visits.csv:2: outcome: the visit says that the register was mended, and it still says of A-30") {
			t.Errorf("note %q", notes[0])
		}
	}
}

// Without a single visit nothing that the scan found is moved.
func TestNoVisitsNoChange(t *testing.T) {
	for _, b := range []*Book{nil, book(t, nil)} {
		for _, row := range schemas.Faults() {
			f := found(row.Name, a30, "A-30", 0.4, 20)
			if got := b.Say(&f); got.Moved != 0.4 || got.Quiet != "" || len(got.Words) > 0 || got.Back {
				t.Errorf("%s: %+v", row.Name, got)
			}
		}
		if b.Watch(a30) != "" || b.Closed("P_1-cable") || len(b.Mends()) > 0 {
			t.Error("something is watched, closed or mended")
		}
	}
}
