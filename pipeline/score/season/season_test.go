package season

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"probeward/pipeline/score/column"
	"probeward/pipeline/simulate"
)

// week is what an invented scanner knows when it writes its run: all that is true.
type week struct {
	from, until    time.Time
	faults, probes []map[string]string
}

// said is what it writes: findings as subject, name, fault, start, end; queue as
// visit, family, faults, probes, loggers, zone; exclusions as probe, start, end.
type said struct{ findings, queue, exclusions [][]string }

// live runs a season of four weeks with a scanner of one's own and scores it.
func live(t *testing.T, scanner func(week) said) *Report {
	t.Helper()
	dir := t.TempDir()
	o := simulate.SeasonDefaults()
	o.Seed, o.Probes, o.Weeks, o.PerWeek, o.Cadence = 3, 30, 4, 2.5, time.Hour
	farm := filepath.Join(dir, "farm")
	s, err := simulate.NewSeason(farm, o)
	if err != nil {
		t.Fatal(err)
	}
	var runs []string
	for !s.Done() {
		if err := s.Advance(); err != nil {
			t.Fatal(err)
		}
		w := week{from: s.Until().AddDate(0, 0, -7), until: s.Until(),
			faults: table(t, filepath.Join(s.Truth(), "faults.csv")), probes: table(t, filepath.Join(s.Truth(), "probes.csv"))}
		to := filepath.Join(dir, fmt.Sprintf("run-%d", len(runs)))
		write(t, to, w, scanner(w))
		runs = append(runs, to)
		if s.Done() {
			break
		}
		if err := s.Send(filepath.Join(to, "queue.csv")); err != nil {
			t.Fatal(err)
		}
	}
	r, err := Score(farm, runs)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func table(t *testing.T, path string) (out []map[string]string) {
	t.Helper()
	err := column.Rows(path, func(get func(string) string) error {
		row := map[string]string{}
		for _, name := range []string{"subject", "name", "fault", "form", "start", "end", "probes", "probe", "installed", "removed"} {
			if strings.HasSuffix(path, "probes.csv") == slices.Contains([]string{"probe", "installed", "removed"}, name) {
				row[name] = get(name)
			}
		}
		out = append(out, row)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func write(t *testing.T, dir string, w week, s said) {
	t.Helper()
	if err := os.MkdirAll(dir, 0o777); err != nil {
		t.Fatal(err)
	}
	file := func(name string, all [][]string) {
		f, err := os.Create(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		if err := csv.NewWriter(f).WriteAll(all); err != nil {
			t.Fatal(err)
		}
	}
	health := [][]string{{"probe", "window_start", "window_end", "verdict"}}
	for _, p := range w.probes {
		health = append(health, []string{p["probe"], w.from.Format(time.RFC3339), w.until.Format(time.RFC3339), "fit"})
	}
	findings := [][]string{{"subject", "name", "fault", "start", "end", "masked_by"}}
	for _, f := range s.findings {
		findings = append(findings, append(f, ""))
	}
	exclusions := [][]string{{"probe", "start", "end", "flag"}}
	for _, e := range s.exclusions {
		exclusions = append(exclusions, append(e, "4"))
	}
	queue := [][]string{{"rank", "minutes", "post", "visit", "family", "faults", "probes", "loggers", "zone"}}
	for n, q := range s.queue {
		queue = append(queue, append([]string{fmt.Sprint(n + 1), "5", ""}, q...))
	}
	file("health.csv", health)
	file("findings.csv", findings)
	file("exclusions.csv", exclusions)
	file("queue.csv", queue)
}

// oracle says what is so, and sends the crew to what lasts.
func oracle(w week) (s said) {
	var pairs []string
	for _, f := range w.faults {
		end := f["end"]
		if f["fault"] == "settling" {
			continue
		}
		s.findings = append(s.findings, []string{f["subject"], f["name"], f["fault"], f["start"], end})
		last := end
		if last == "" {
			last = w.until.Format(time.RFC3339)
		}
		for _, probe := range strings.Fields(f["probes"]) {
			s.exclusions = append(s.exclusions, []string{probe, f["start"], last})
		}
		if f["subject"] == "probe" {
			s.exclusions = append(s.exclusions, []string{f["name"], f["start"], last})
		}
		if end != "" || f["form"] == "mended" || f["form"] == "blank" || f["form"] == "years" || f["form"] == "comes_back" {
			continue // it is over when somebody comes
		}
		pair := f["fault"] + f["start"] // a fault of two probes is mended at either
		if (f["fault"] == "depth_order" || f["fault"] == "duplicate_series") && slices.Contains(pairs, pair) {
			continue
		}
		pairs = append(pairs, pair)
		switch f["subject"] {
		case "probe":
			s.queue = append(s.queue, []string{f["name"] + "-" + f["fault"], "probe", f["fault"], f["name"], "", ""})
		case "logger":
			s.queue = append(s.queue, []string{f["name"] + "-" + f["fault"], "logger", f["fault"], "", f["name"], ""})
		}
	}
	slices.SortFunc(s.exclusions, func(a, b []string) int { return slices.Compare(a, b) })
	disjoint := s.exclusions[:0]
	for _, e := range s.exclusions {
		if n := len(disjoint); n > 0 && disjoint[n-1][0] == e[0] && e[1] <= disjoint[n-1][2] {
			disjoint[n-1][2] = max(disjoint[n-1][2], e[2])
			continue
		}
		disjoint = append(disjoint, e)
	}
	s.exclusions = disjoint
	return s
}

func TestAnOracleScoresFull(t *testing.T) {
	t.Parallel()
	r := live(t, oracle)
	if r.Faults.Visible < 5 || r.Visits.Reached < 4 || r.Faults.Mended < 3 || r.Readings.Failed.Days < 2 {
		t.Fatalf("this season proves nothing: %+v, %+v, %+v", r.Faults, r.Visits, r.Readings)
	}
	if r.Visits.Real != r.Visits.Reached || r.Visits.AtFault != r.Visits.Looked || r.Visits.Named != r.Visits.Real {
		t.Errorf("visits made by the truth met something else: %+v", r.Visits)
	}
	if r.Faults.Reported != r.Faults.Visible || r.Faults.P90Days.Never || r.Faults.P90Days.Value > 7 {
		t.Errorf("faults said in the week of their onset are late: %+v", r.Faults)
	}
	if r.Alarms.Findings != 0 || r.Alarms.Repeats != 0 {
		t.Errorf("the truth is a false alarm: %v", r.Alarms.List)
	}
	if r.Readings.Failed.Stood > 0.01 || r.Readings.GoodLost > 0.01 || r.Readings.GivenBackBad > 0.01 {
		t.Errorf("the truth's own exclusions leave bad readings in or good ones out: %+v", r.Readings)
	}
}

// everything cries wolf for each probe.
func everything(w week) (s said) {
	from, until := w.from.Format(time.RFC3339), w.until.Format(time.RFC3339)
	for _, p := range w.probes {
		if p["removed"] == "" {
			s.findings = append(s.findings, []string{"probe", p["probe"], "open_circuit", from, ""})
			s.queue = append(s.queue, []string{p["probe"], "cable", "open_circuit", p["probe"], "", ""})
			s.exclusions = append(s.exclusions, []string{p["probe"], from, until})
		}
	}
	return s
}

func TestCryingWolfScoresBadly(t *testing.T) {
	t.Parallel()
	r := live(t, everything)
	if 2*r.Visits.Real > r.Visits.Reached || r.Visits.Reached < 20 {
		t.Errorf("visits to each probe in turn look real: %+v", r.Visits)
	}
	if r.Alarms.Findings < 45 || 2*r.Alarms.Repeats < r.Alarms.Findings || r.Alarms.Longest != 4 {
		t.Errorf("%d false findings, %d repeats, longest %d", r.Alarms.Findings, r.Alarms.Repeats, r.Alarms.Longest)
	}
	if r.Readings.GoodLost < 300 {
		t.Errorf("everything left out loses only %.1f good probe-days", r.Readings.GoodLost)
	}
	if 4*r.Faults.Named > 3*r.Faults.Visible {
		t.Errorf("one name for everything names %d of %d", r.Faults.Named, r.Faults.Visible)
	}
}

// crowd sends the crew to one visit that names every probe.
func crowd(w week) (s said) {
	var names []string
	for _, p := range w.probes {
		if p["removed"] == "" {
			names = append(names, p["probe"])
		}
	}
	s.queue = [][]string{{"farm", "cable", "open_circuit", strings.Join(names, " "), "", ""}}
	return s
}

func TestOneVisitToAllGainsNothing(t *testing.T) {
	t.Parallel()
	r := live(t, crowd)
	if r.Visits.Reached == 0 || 10*r.Visits.AtFault > 4*r.Visits.Looked {
		t.Errorf("looking at everything counts as hits: %+v", r.Visits)
	}
	if r.Faults.Reported != 0 || len(r.Never) != r.Faults.Visible || !r.Faults.MedianDays.Never {
		t.Errorf("a queue without a finding reported something: %+v", r.Faults)
	}
	if x := r.Readings.Failed; x.Days < 2 || x.Stood < 0.999*x.Days || x.StoodFit < 0.999*x.Days {
		t.Errorf("nothing was left out, and yet: %+v", x)
	}
}

func TestAnEmptyQueueFindsNothing(t *testing.T) {
	t.Parallel()
	r := live(t, func(week) said { return said{} })
	if r.Visits.Made != 0 || r.Faults.Reported != 0 || r.Faults.Mended != 0 || r.Faults.Visible < 5 {
		t.Errorf("%+v, %+v", r.Visits, r.Faults)
	}
	var b strings.Builder
	if err := r.Print(&b, true); err != nil {
		t.Fatal(err)
	}
	body, _, _ := strings.Cut(b.String(), "Never found\n")
	for _, l := range strings.Split(body, "\n") {
		if len([]rune(l)) > 80 {
			t.Errorf("a line of %d: %s", len(l), l)
		}
	}
}

var inf = math.Inf(1)

func TestQuantilesCountWhatWasNeverFound(t *testing.T) {
	for _, c := range []struct {
		values []float64
		share  float64
		want   string
	}{
		{nil, 0.5, "-"},
		{[]float64{3}, 0.9, "3.0"},
		{[]float64{5, 1, 3}, 0.5, "3.0"},
		{[]float64{5, 1, inf, 3}, 0.5, "3.0"},
		{[]float64{5, 1, inf, 3}, 0.9, "never"},
		{[]float64{1, inf, inf}, 0.5, "never"},
	} {
		if got := quantile(c.values, c.share).String(); got != c.want {
			t.Errorf("%v at %v: %s, want %s", c.values, c.share, got, c.want)
		}
	}
}
