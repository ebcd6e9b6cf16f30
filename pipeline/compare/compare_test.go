package compare

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"probeward/detectors/detect"
	"probeward/pipeline/previous"
	"probeward/pipeline/runfolder"
	"probeward/pipeline/terminal"
)

// week is a run of the week that starts on a day of June 2026 and looked back for
// eight weeks.
func week(t interface{ Fatal(...any) }, day int, tables map[string]string) *runfolder.Run {
	start := time.Date(2026, 6, day, 7, 0, 0, 0, time.UTC) // midnight at the farm
	tree := fstest.MapFS{"manifest.json": {Data: fmt.Appendf(nil,
		`{"program":"probeward","tables_version":1,"period":{"lookback_start":%q,"window_start":%q,"window_end":%q,"timezone":"America/Los_Angeles"}}`,
		start.AddDate(0, 0, -56).Format(time.RFC3339), start.Format(time.RFC3339), start.AddDate(0, 0, 7).Format(time.RFC3339))}}
	for name, text := range tables {
		tree[name] = &fstest.MapFile{Data: []byte(text)}
	}
	r, err := runfolder.OpenIn(tree, fmt.Sprintf("june-%02d", day))
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func compared(t *testing.T, a, b *runfolder.Run) *Diff {
	t.Helper()
	d, err := Runs(a, b)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func TestProbes(t *testing.T) {
	a := week(t, 1, map[string]string{"health.csv": "probe,zone,verdict,main_fault\n" +
		"fit2unfit,Z1,fit,\nstays,Z1,unfit,gap\nworse,Z1,doubtful,noise\nmended,Z1,silent,gap\nreplaced,Z1,unfit,open_circuit\nlost,Z1,unfit,noise\nsame,Z1,fit,\nhidden,Z1,fit,\nsettled,Z1,settling,settling\ngone,Z1,fit,\n"})
	b := week(t, 8, map[string]string{"health.csv": "probe,zone,verdict,main_fault,override\n" +
		"fit2unfit,Z1,unfit,short_circuit,\nstays,Z1,unfit,gap,\nworse,Z1,unfit,flat_line,\nmended,Z1,fit,,\nreplaced,Z1,settling,settling,\nlost,Z1,unknown,,\nsame,Z1,fit,,\nhidden,Z1,unknown,,\nsettled,Z1,fit,,accept until 2026-07-01: looked at\nnew,Z1,silent,gap,\nnewfit,Z1,fit,,\n"})
	d := compared(t, a, b)
	list := func(l []Probe) string {
		var s []string
		for _, p := range l {
			s = append(s, p.Probe)
		}
		return strings.Join(s, " ")
	}
	for _, c := range []struct{ what, got, want string }{
		{"new faults", list(d.NewFaults), "fit2unfit new"},
		{"still open", list(d.StillOpen), "stays worse"},
		{"cleared", list(d.Cleared), "mended replaced"},
		{"other changes", list(d.OtherChanges), "hidden lost settled"},
		{"new", list(d.ProbesNew), "new newfit"},
		{"gone", list(d.ProbesGone), "gone"},
	} {
		if c.got != c.want {
			t.Errorf("%s: %s, want %s", c.what, c.got, c.want)
		}
	}
	if c := d.Counts; c.Unchanged != 1 || c.ProbesInBoth != 9 || c.ProbesEarlier != 10 || c.ProbesLater != 11 {
		t.Errorf("%+v", c)
	}
	var words bytes.Buffer
	d.Print(&words)
	for _, want := range []string{"fit > unfit          short circuit", "it was noise before", "a person's word: accept until", "the later window follows"} {
		if !strings.Contains(words.String(), want) {
			t.Errorf("%q is not in:\n%s", want, words.String())
		}
	}
}

func TestVisits(t *testing.T) {
	a := week(t, 1, map[string]string{"queue.csv": "rank,visit,probes,faults,minutes,runs_open\n1,P1-cable,a b,gap,25,1\n2,P2-logger,c,noise,30,1\n"})
	b := week(t, 8, map[string]string{"queue.csv": "rank,visit,probes,faults,minutes,runs_open\n1,P3-probe,d,drift,20,1\n2,P1-cable,a,gap,25,1\n"})
	d := compared(t, a, b)
	want := [][]Visit{
		{{Visit: "P3-probe", RankAfter: 1, Probes: []string{"d"}, Faults: []string{"drift"}, Minutes: 20}},
		{{Visit: "P1-cable", RankBefore: 1, RankAfter: 2, Probes: []string{"a"}, Faults: []string{"gap"}, Minutes: 25}},
		{{Visit: "P2-logger", RankBefore: 2, Probes: []string{"c"}, Faults: []string{"noise"}, Minutes: 30}},
	}
	if diff := cmp.Diff(want, [][]Visit{d.VisitsNew, d.VisitsOpen, d.VisitsGone}); diff != "" {
		t.Error(diff)
	}
	if !strings.Contains(d.Windows.Note, "not two runs of one farm") {
		t.Error(d.Windows.Note)
	}
}

func TestWindows(t *testing.T) {
	for _, c := range []struct {
		a, b     int
		relation string
		judged   float64
	}{{1, 1, "same", 168}, {1, 8, "follow", 0}, {1, 4, "overlap", 96}, {1, 15, "apart", 0}, {8, 1, "reversed", 0}, {1, 100, "apart", 0}} {
		d := compared(t, week(t, c.a, nil), week(t, c.b, nil))
		if d.Windows.Relation != c.relation || d.Windows.BothJudged != c.judged {
			t.Errorf("june %d and %d: %+v", c.a, c.b, d.Windows)
		}
		if never := strings.Contains(d.Windows.Note, "looked at no time together"); never != (c.b == 100) {
			t.Errorf("june %d and %d: %s", c.a, c.b, d.Windows.Note)
		}
	}
}

// Derived by hand: a withdraws 3 h around the farm's midnight of 3 June, b another 2 h
// on 10 June, which the earlier run never saw.
func TestReadings(t *testing.T) {
	health := "probe,zone,verdict\np,Z1,fit\n"
	a := week(t, 1, map[string]string{"health.csv": health, "exclusions.csv": "probe,start,end,reasons\np,2026-06-02T00:00:00Z,2026-06-02T06:00:00Z,noise\n"})
	b := week(t, 8, map[string]string{"health.csv": health, "exclusions.csv": "probe,start,end,reasons\n" +
		"p,2026-06-02T00:00:00Z,2026-06-02T04:00:00Z,noise\np,2026-06-03T06:00:00Z,2026-06-03T09:00:00Z,gap drift\np,2026-06-10T10:00:00Z,2026-06-10T12:00:00Z,gap\n"})
	d := compared(t, a, b)
	want := []Day{
		{Zone: "Z1", Day: "2026-06-01", Restored: 2, Probes: []string{"p"}, Reasons: []string{"noise"}},
		{Zone: "Z1", Day: "2026-06-02", Withdrawn: 1, Probes: []string{"p"}, Reasons: []string{"drift", "gap"}},
		{Zone: "Z1", Day: "2026-06-03", Withdrawn: 2, Probes: []string{"p"}, Reasons: []string{"drift", "gap"}},
	}
	if diff := cmp.Diff(want, d.Readings); diff != "" {
		t.Error(diff)
	}
	if c := d.Counts; c.Withdrawn != 3 || c.Restored != 2 || c.OnlyLater != 2 || c.OnlyEarlier != 0 {
		t.Errorf("%+v", c)
	}
}

// What is outside of both stretches, hour by hour, is what without says.
func TestWithoutCountsLikeHours(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) (out []previous.Exclusion) {
			at := int64(0)
			for _, step := range rapid.SliceOfN(rapid.Int64Range(1, 9), 0, 12).Draw(t, name) {
				end := at + step + rapid.Int64Range(1, 9).Draw(t, "length")
				out = append(out, previous.Exclusion{Span: detect.Span{Start: at + step, End: end}})
				at = end
			}
			return out
		}
		a, b := draw("a"), draw("b")
		in := detect.Span{Start: rapid.Int64Range(0, 60).Draw(t, "from"), End: rapid.Int64Range(0, 120).Draw(t, "to")}
		holds := func(list []previous.Exclusion, h int64) bool {
			for _, s := range list {
				if s.Holds(h) {
					return true
				}
			}
			return false
		}
		got := without(a, b, in)
		for h := int64(0); h < 250; h++ {
			if want := in.Holds(h) && holds(a, h) && !holds(b, h); want != holds(got, h) {
				t.Fatalf("hour %d: %v, want %v; %v without %v in %v is %v", h, !want, want, a, b, in, got)
			}
		}
	})
}

// Names as hostile as they come: no line passes 80 columns, and nothing steers the
// terminal.
func TestPrintStaysWithinTheTerminal(t *testing.T) {
	evil := strings.Repeat("very-long-name-", 12) + "\x1b[31m北西"
	health := func(verdict, word string) string {
		return "probe,zone,verdict,main_fault,override,watch\n\"" + evil + "\"," + evil + "," + verdict + "," + strings.Repeat("fault_", 20) + word + "," + evil + "," + evil + "\n"
	}
	queue := "rank,visit,probes,faults,minutes,runs_open\n1,\"" + evil + "\",a b c," + strings.Repeat("fault ", 20) + ",123456,1\n"
	a := week(t, 1, map[string]string{"health.csv": health("unfit", "a"), "queue.csv": queue})
	b := week(t, 8, map[string]string{"health.csv": health("settling", "b"), "queue.csv": queue, "exclusions.csv": "probe,start,end,reasons\n\"" + evil + "\",2026-04-10T00:00:00Z,2026-06-04T00:00:00Z," + evil + "\n"})
	a.Name = evil
	var words bytes.Buffer
	compared(t, a, b).Print(&words)
	for _, line := range strings.Split(words.String(), "\n") {
		if n := terminal.Columns(line); n > terminal.Width || strings.ContainsRune(line, '\x1b') {
			t.Errorf("%d columns: %q", n, line)
		}
	}
}
