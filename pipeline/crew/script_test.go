package crew

import (
	"encoding/csv"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"probeward/pipeline/fieldlog"
)

// node runs the page's functions on a script, and gives what it prints.
func node(t *testing.T, script string) string {
	t.Helper()
	program, err := exec.LookPath("node")
	if err != nil {
		t.Skip("skipped: no node on the path, so the page's functions are not run (apt-get install nodejs)")
	}
	where, err := filepath.Abs("assets/visits.js")
	if err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(program, "-e", "const V = require("+quoted(where)+");"+script).CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	return string(out)
}

func quoted(s string) string {
	b, _ := json.Marshal(s)
	return string(b)
}

// What the page exports is read back by the scan's own reader of visits.
func TestTheExportIsReadBack(t *testing.T) {
	in := smallRound()
	r := round{Header: visitsHeader()}
	for i := range in.Visits {
		s, err := in.stop(i)
		if err != nil {
			t.Fatal(err)
		}
		r.Stops = append(r.Stops, in.roundStop(i, s))
	}
	b, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	note := "said \"no\",\nthen went; ünder wire "
	out := node(t, `
const round = `+string(b)+`;
const at = V.stamp(new Date(Date.UTC(2026, 5, 9, 17, 5, 6)), 420);
const kept = {"P07-cable": {at, minutes: "35,5", parts: "2 splices, 1 m cable", note: `+quoted(note)+`,
    lines: {[V.key(round.stops[0].lines[0])]: {found: "open_circuit", outcome: "repaired"}, [V.key(round.stops[0].lines[1])]: {found: "nothing_wrong", outcome: "left"}}},
  "P08-logger": {at, lines: {[V.key(round.stops[1].lines[0])]: {found: "not_seen", outcome: "could_not_reach"}, [V.key(round.stops[1].more[0])]: {found: "gap"}}},
  "B2-water": {at, note: "no one there"}};
const {rows, missing} = V.rows(round, kept);
console.log(JSON.stringify({text: V.csv(round.header, rows), missing}));`)
	var got struct {
		Text    string
		Missing []struct {
			Rank  int
			Lacks string
		}
	}
	if err := json.Unmarshal([]byte(out), &got); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	// CRLF between records (RFC 4180, checked).
	if strings.Count(got.Text, "\r\n") != 4 || strings.Count(got.Text, "\n") != 5 {
		t.Errorf("lines do not end as RFC 4180 has it: %q", got.Text)
	}
	records, err := csv.NewReader(strings.NewReader(got.Text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	want := [][]string{
		visitsHeader(),
		{"P07-cable", "2026-06-09T10:05:06-07:00", "P07", "L7", spiteful, "open_circuit", "repaired", "2 splices, 1 m cable", "35.5", strings.TrimSpace(note)},
		{"P07-cable", "2026-06-09T10:05:06-07:00", "P07", "L7", "P07-60", "nothing_wrong", "left", "", "", ""},
		{"P08-logger", "2026-06-09T10:05:06-07:00", "P08", "L8", "", "not_seen", "could_not_reach", "", "", ""},
	}
	if diff := cmp.Diff(want, records); diff != "" {
		t.Error(diff)
	}
	if len(got.Missing) != 2 || got.Missing[0].Rank != 2 || got.Missing[1].Rank != 3 {
		t.Errorf("missing: %+v", got.Missing)
	}
	path := filepath.Join(t.TempDir(), "visits.csv")
	if err := os.WriteFile(path, []byte(got.Text), 0o644); err != nil {
		t.Fatal(err)
	}
	visits, notes, err := fieldlog.LoadVisits(path, time.UTC)
	if err != nil || len(notes) > 0 || len(visits) != 3 {
		t.Fatalf("%d visits, notes %v, error %v", len(visits), notes, err)
	}
	if v := visits[0]; v.Note != strings.TrimSpace(note) || v.Minutes.V != 35.5 || v.Probe != spiteful || v.VisitedOn != time.Date(2026, 6, 9, 17, 5, 6, 0, time.UTC).UnixMicro() {
		t.Errorf("read back: %+v", v)
	}
}

func TestStampsOfThePhone(t *testing.T) {
	for script, want := range map[string]string{
		`V.stamp(new Date(0), 0)`:          "1970-01-01T00:00:00+00:00",
		`V.stamp(new Date(0), -570)`:       "1970-01-01T09:30:00+09:30",
		`V.stamp(new Date(0), 210)`:        "1969-12-31T20:30:00-03:30",
		`V.minutes("")`:                    "",
		`V.minutes("-3") + V.minutes("x")`: "",
		`V.minutes("0")`:                   "0",
		`V.cell("a b")`:                    "a b",
		`V.cell('say "x"')`:                `"say ""x"""`,
		`V.cell(" x")`:                     `" x"`,
	} {
		if got := strings.TrimSuffix(node(t, "console.log("+script+")"), "\n"); got != want {
			t.Errorf("%s is %q, want %q", script, got, want)
		}
	}
}
