package explain

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"

	"probeward/detectors/detect"
	"probeward/pipeline/runfolder"
	"probeward/pipeline/terminal"
	"probeward/schemas"
)

const manifest = `{"program":"probeward","tables_version":1,"period":{"lookback_start":"2026-04-06T07:00:00Z","window_start":"2026-06-01T07:00:00Z","window_end":"2026-06-08T07:00:00Z","timezone":"America/Los_Angeles"}}`

// run is a run of the week with the tables given.
func run(t *testing.T, tables map[string]string) *runfolder.Run {
	t.Helper()
	tree := fstest.MapFS{"manifest.json": {Data: []byte(manifest)}}
	for name, text := range tables {
		tree[name] = &fstest.MapFile{Data: []byte(text)}
	}
	r, err := runfolder.OpenIn(tree, "w23")
	if err != nil {
		t.Fatal(err)
	}
	return r
}

var detectors = []*detect.Detector{
	{Name: "gap", Doc: "// Package gap finds holes.\n//\n// # Looks like\n//\n// Nothing.\n//\n// # What to check at the post\n//\n// Look at the\n// antenna.\n//\n// Then at the plug.\n//\n// # Where the idea comes from\n//\n// Nowhere.\npackage gap\n"},
	{Name: "noise", Needs: detect.NeedWetness, MinReadings: 96, MinSpanHours: 24},
	{Name: "drift"},
	{Name: "logger_power", Doc: "// Package loggerpower.\npackage loggerpower\n"},
}

const health = "farm,block,zone,post,probe,logger,port,depth_cm,kind,window_start,window_end,readings_expected,readings_received,readings_rejected,readings_usable,usable_share,last_reading,usable_now,verdict,previous_verdict,main_fault,faults,confidence,since,detectors_run,detectors_not_evaluated,not_evaluated_why,rank,watch,override\n"

var tables = map[string]string{
	"health.csv": health +
		"Hill,Block 1,Z1,P1,a-30,L1,s1,30,granular_matrix,2026-06-01T07:00:00Z,2026-06-08T07:00:00Z,672,600,12,100,0.149,2026-06-08T06:45:00Z,false,unfit,fit,logger_power,gap logger_power,0.9,2026-06-02T07:00:00Z,17,2,\"noise, drift: needs readings over 336 h; had 109.8 h: too few\",1,,\n" +
		"Hill,Block 1,Z1,P1,a-60,L1,s2,60,granular_matrix,2026-06-01T07:00:00Z,2026-06-08T07:00:00Z,672,672,0,672,1,2026-06-08T06:45:00Z,true,fit,fit,,,0.95,,18,1,,,\"mended on 2026-06-02: 20 more readings\",accept until 2026-07-01: looked at\n" +
		"Hill,Block 1,Z2,P2,b-30,L2,s1,30,granular_matrix,2026-06-01T07:00:00Z,2026-06-08T07:00:00Z,,0,0,0,,,false,unknown,,,,0,,1,18,\"unknown: removed on 2026-05-15; noise: no day to hold against\",,,\n",
	"findings.csv": "subject,name,probe,fault,family,start,end,readings,flag,confidence,measured,threshold,unit,evidence,detector,masked_by\n" +
		"logger,L1,,logger_power,logger,2026-06-02T07:00:00Z,,450,4,0.9,11,2,joint episodes,they fail together,logger_power,\n" +
		"logger,L2,,logger_power,logger,2026-06-02T07:00:00Z,,450,4,0.9,11,2,joint episodes,of another logger,logger_power,\n" +
		"zone,Z1,,irrigation_failure,water,2026-06-04T07:00:00Z,2026-06-05T07:00:00Z,8,0,0.95,,,,no water came,irrigation_failure,\n" +
		"probe,a-30,a-30,gap,telemetry,2026-06-03T07:00:00Z,2026-06-03T19:00:00Z,48,9,0.95,12,6,h,no value for 12 h,gap,\n" +
		"probe,a-30,a-30,open_circuit,cable,2026-06-03T07:00:00Z,,48,4,0.6,,,,dead,open_circuit,logger_power of L1\n",
	"exclusions.csv": "probe,start,end,flag,reasons,confidence\na-30,2026-06-01T01:00:00Z,2026-06-01T13:00:00Z,4,logger_power gap,0.9\na-60,2026-06-01T07:00:00Z,2026-06-01T08:00:00Z,4,gap,0.9\n",
	"queue.csv": "rank,visit,probes,suspected_cause,why,check,bring,minutes,priority,open_since,runs_open\n" +
		"1,P1-logger,a-30 a-60,the ports fail together,it is near,look,spare battery,30,0.01,2026-06-02T07:00:00Z,2\n2,P2-probe,b-30,cause,why,check,bring,30,0.01,,1\n",
	"quiet.csv": "subject,name,fault,visits,last_visit,confidence,distance,why\nprobe,a-60,noise,2,2026-06-01T07:00:00Z,0.9,,twice nothing wrong\n",
}

func TestProbe(t *testing.T) {
	a, err := Probe(run(t, tables), "a-30", detectors)
	if err != nil {
		t.Fatal(err)
	}
	faults := func(list []Finding) (out []string) {
		for _, f := range list {
			out = append(out, f.Fault+" of "+f.Name)
		}
		return out
	}
	for _, c := range []struct {
		what      string
		got, want []string
	}{
		{"findings", faults(a.Findings), []string{"gap of a-30"}},
		{"explained", faults(a.Explained), []string{"open_circuit of a-30"}},
		{"around", faults(a.Around), []string{"logger_power of L1", "irrigation_failure of Z1"}},
	} {
		if diff := cmp.Diff(c.want, c.got); diff != "" {
			t.Errorf("%s: %s", c.what, diff)
		}
	}
	if f := a.Explained[0]; f.MaskedWhy == "" || f.Counts || f.Measured != nil {
		t.Errorf("explained: %+v", f)
	}
	if !a.Around[0].Counts || a.Around[1].Counts || !a.Findings[0].Counts {
		t.Error("what counts is what health lists")
	}
	// 12 h from six hours before the window on: six of them are the window's.
	if len(a.Exclusions) != 1 || a.LeftOut != 6 || a.Exclusions[0].Hours != 12 || a.Exclusions[0].Flag != 4 || a.Exclusions[0].Confidence != 0.9 {
		t.Errorf("left out %v h: %+v", a.LeftOut, a.Exclusions)
	}
	if diff := cmp.Diff([]Unanswered{{Detectors: []string{"noise", "drift"}, Why: "needs readings over 336 h; had 109.8 h: too few"}}, a.Unanswered); diff != "" {
		t.Error(diff)
	}
	if len(a.Visits) != 1 || a.Visits[0].Rank != 1 || a.Visits[0].Of != 2 || a.Visits[0].RunsOpen != 2 {
		t.Errorf("%+v", a.Visits)
	}
	if diff := cmp.Diff([]Manual{{"gap", "Look at the antenna.\n\nThen at the plug."}}, a.Check); diff != "" {
		t.Error(diff)
	}
	if !strings.Contains(a.Because, "logger power, of its logger L1: ") {
		t.Error(a.Because)
	}
}

func TestTheOtherProbes(t *testing.T) {
	r := run(t, tables)
	a, err := Probe(r, "b-30", detectors)
	if err != nil {
		t.Fatal(err)
	}
	if a.Because != "removed on 2026-05-15" || len(a.Unanswered) != 1 || a.Unanswered[0].Asks != "a moisture series, 96 readings, 24.0 h of them" {
		t.Errorf("because %q: %+v", a.Because, a.Unanswered)
	}
	if a, err = Probe(r, "a-60", detectors); err != nil {
		t.Fatal(err)
	}
	var words bytes.Buffer
	a.Print(&words)
	for _, want := range []string{"fit, 95 % sure", "a person    accept until 2026-07-01", "mended      mended on 2026-06-02", "waits: noise of a-60: twice nothing wrong", "makes nothing of this probe's verdict"} {
		if !strings.Contains(words.String(), want) {
			t.Errorf("%q is not in\n%s", want, words.String())
		}
	}
}

func TestUnknownProbe(t *testing.T) {
	r := run(t, tables)
	for name, want := range map[string]string{
		"A_30": "did you mean a-30?", "L1": "L1 is a logger in w23; name one of its probes: a-30, a-60", "Z2": "is a zone", "30": "did you mean a-30, b-30?",
		"nobody-here": "names all 3", "": "names all 3",
	} {
		if _, err := Probe(r, name, detectors); !errors.Is(err, ErrNoProbe) || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v", name, err)
		}
	}
}

// What a finding gives is the row of the table of faults.
func TestGives(t *testing.T) {
	for _, c := range []struct {
		fault, end string
		confidence float64
		want       string
	}{
		{"open_circuit", "", 0.9, "unfit"},
		{"gap", "", 0.9, "silent while it lasts"},
		{"gap", "x", 0.9, "silent while it lasts; it has ended"},
		{"dry_out_spike", "", 0.9, "doubtful if it comes back within the window, or stands for a day at its end"},
		{"clock_error", "x", 0.9, "unfit while it stands, and doubtful in the window in which it ended"},
		{"noise", "x", 0.9, "doubtful while it stands; it has ended"},
		{"missing_irrigation_response", "", 0.9, "unfit, since it is 75 % sure or more (doubtful below)"},
		{"missing_irrigation_response", "", 0.6, "doubtful (unfit from 75 % on)"},
		{"irrigation_failure", "", 0.9, "no verdict: the probes are sound"},
	} {
		fault, _ := schemas.FaultNamed(c.fault)
		if got := gives(fault, Finding{End: c.end, Confidence: c.confidence}); got != c.want {
			t.Errorf("%s: %q, want %q", c.fault, got, c.want)
		}
	}
}

// Hostile names: 80 columns, and nothing that steers the terminal.
func TestPrintStaysWithinTheTerminal(t *testing.T) {
	evil := strings.Repeat("very-long-name-", 12) + "\x1b[31m北西"
	hostile := map[string]string{}
	for name, text := range tables {
		for _, old := range []string{"a-30", "Block 1", "L1", "they fail together", "it is near", "joint episodes", "P1"} {
			text = strings.ReplaceAll(text, old, evil)
		}
		hostile[name] = text
	}
	a, err := Probe(run(t, hostile), evil, detectors)
	if err != nil {
		t.Fatal(err)
	}
	var words bytes.Buffer
	a.Print(&words)
	for _, line := range strings.Split(words.String(), "\n") {
		if n := terminal.Columns(line); n > terminal.Width || strings.ContainsRune(line, '\x1b') {
			t.Errorf("%d columns: %q", n, line)
		}
	}
}
