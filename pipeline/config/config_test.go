package config

import (
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// folder makes a folder of files; a name that ends in / is a folder.
func folder(t testing.TB, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, content := range files {
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// Every error at once, each with its line, column and pointer.
func TestErrorsAtTheirPlace(t *testing.T) {
	for _, c := range []struct {
		name, yaml string
		want       []string // line:col: /pointer: the words that matter
	}{
		{"all at once", `timezone: America/Los Angeles
window: 7 days
lookbak: 8w
units: {depth: feet, area: ha}
readings:
  - path: exports/[a.csv
    shape: wid
    logger: file
    ports: ['^(s\d', 'ok']
    columns: {tme: t}
    time_format: "01-02 15:04"
    fault_codes: {"7999": open_circut}
probes: nowhere.csv
`, []string{
			"1:11: /timezone: was America/Los_Angeles meant?",
			"2:9: /window: write digits and a unit",
			"3:1: /lookbak: was lookback meant?",
			"4:16: /units/depth: \"feet\" is none of cm, in",
			"6:11: /readings/0/path: is no glob",
			"7:12: /readings/0/shape: was wide meant?",
			"8:13: /readings/0/logger: is not of the form",
			"9:13: /readings/0/ports/0: missing closing )",
			"10:15: /readings/0/columns/tme: was time meant?",
			"11:18: /readings/0/time_format: has no year",
			"12:27: /readings/0/fault_codes/7999: was open_circuit meant?",
			"13:9: /probes: no file \"nowhere.csv\"",
		}},
		{"shapes", "readings: exports/*.csv\nwindow: [7d]\n", []string{
			"1:11: /readings: this is a single value, and a list", "2:9: /window: this is a list",
		}},
		{"missing path", "readings:\n  - shape: long\n", []string{"2:5: /readings/0: path is missing here"}},
		{"not YAML", "window: 7d\nreadings: [\n", []string{"2:11: /: not YAML"}},
		{"twice", "window: 7d\nwindow: 8d\n", []string{"2:1: /: not YAML"}},
		{"a list", "- window\n", []string{"1:1: /: list of keys and values"}},
		{"no length", "window: 0d\n", []string{"1:9: /window: no length"}},
		{"machine's zone", "timezone: Local\n", []string{"1:11: /timezone: whatever the machine has"}},
		{"half a clock", "readings: [{path: a.csv, time_format: '2006-01-02 03:04'}]\n", []string{"1:39: /readings/0/time_format: clock of 12 hours"}},
		{"strftime", "readings: [{path: a.csv, time_format: '%Y-%m-%d'}]\n", []string{"1:39: /readings/0/time_format: percent signs"}},
		{"names without time", "readings:\n- path: a.csv\n  names: [stamp, s1]\n", []string{"3:10: /readings/0/names: none of the names is time"}},
		{"key with a slash", "detectors/x: 1\n", []string{"1:1: /detectors~1x: was detectors meant?"}},
		{"missing and fault", "readings:\n- path: a.csv\n  missing: [-9999]\n  fault_codes: {-9999: open_circuit}\n",
			[]string{"4:17: /readings/0/fault_codes/-9999: stands under missing too"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := folder(t, map[string]string{"scan.yaml": c.yaml, "a.csv": "x"})
			_, err := Open(dir, "", nil)
			if !IsUsage(err) {
				t.Fatalf("%v is no error of configuration", err)
			}
			got := strings.Split(strings.ReplaceAll(err.Error(), filepath.Join(dir, "scan.yaml")+":", ""), "\n")
			if len(got) != len(c.want) {
				t.Fatalf("got %d problems, want %d:\n%s", len(got), len(c.want), strings.Join(got, "\n"))
			}
			for i, want := range c.want {
				parts := strings.SplitN(want, ": ", 3)
				if !strings.HasPrefix(got[i], parts[0]+": "+parts[1]+": ") || !strings.Contains(got[i], parts[2]) {
					t.Errorf("got  %s\nwant %s", got[i], want)
				}
			}
		})
	}
}

func TestWholeConfiguration(t *testing.T) {
	dir := folder(t, map[string]string{"probes.csv": "", "scan.yaml": `
timezone: America/Los_Angeles
units: {depth: in, area: acre}
window: 36h
lookback: 0d
shared: &codes {}
`})
	_, err := Open(dir, "", nil)
	if err == nil || !strings.Contains(err.Error(), "/shared") {
		t.Fatalf("an unknown key passes: %v", err)
	}
	yaml := `
timezone: America/Los_Angeles
units: {depth: in, area: acre}
window: 36h
lookback: 0d
readings:
  - path: exports/*.csv
    shape: wide
    logger: filename:^(\w+)_
    ports: ['^(s\d)']
    columns: {time: timestamp, temperature_c: soil_temp_c, battery_v: battery_v}
    time_format: "2006-01-02 15:04:05"
    missing: &gone ["NAN", -9999, "***"]
    fault_codes: {7999: open_circuit}
    ignore: [note]
  - path: more/*.csv
    missing: *gone
probes: probes.csv
weather:
detectors: {dry_out_spike: {min_rise: 1e-1, hours: {all: 2, depth: {30-60: 3}, block: {North: 4}, kind: {tensiometer: 5}}}}
`
	dir = folder(t, map[string]string{"probes.csv": "", "scan.yaml": yaml, "visits.csv": ""})
	r, err := Open(dir, "", nil)
	if err != nil {
		t.Fatal(err)
	}
	missing := []string{"NAN", "-9999", "***"}
	want := []schemas.Source{
		{Path: "exports/*.csv", Shape: "wide", Logger: `filename:^(\w+)_`, Ports: []string{`^(s\d)`},
			Columns:    map[string]string{"time": "timestamp", "temperature_c": "soil_temp_c", "battery_v": "battery_v"},
			TimeFormat: "2006-01-02 15:04:05", Missing: missing,
			FaultCodes: map[string]string{"7999": "open_circuit"}, Ignore: []string{"note"}},
		{Path: "more/*.csv", Missing: missing},
	}
	if d := cmp.Diff(want, r.Readings); d != "" {
		t.Errorf("readings (-want +got):\n%s", d)
	}
	if r.Window() != 36*time.Hour || r.Lookback() != 0 || r.Zone.String() != "America/Los_Angeles" || r.Units.Area != "acre" {
		t.Errorf("window %v, look-back %v, zone %v, units %v", r.Window(), r.Lookback(), r.Zone, r.Units)
	}
	if len(r.Guessed) != 1 || !strings.Contains(r.Guessed[0], "visits: visits.csv, by its name") {
		t.Errorf("guessed %q, want only that visits.csv is taken: it comes back from the field", r.Guessed)
	}
	if r.Path(r.Probes) != filepath.Join(dir, "probes.csv") || r.Path("s3://farm/x") != "s3://farm/x" {
		t.Errorf("paths resolve to %s and %s", r.Path(r.Probes), r.Path("s3://farm/x"))
	}
	probe := &detect.Probe{Kind: detect.Tensiometer, Block: "South", DepthCM: detect.Some(90.0)}
	for _, c := range []struct {
		param string
		probe *detect.Probe
		want  float64
	}{
		{"min_rise", nil, 0.1}, {"hours", nil, 2}, {"hours", probe, 5},
		{"hours", &detect.Probe{Kind: detect.Tensiometer, Block: "North"}, 4},
		{"hours", &detect.Probe{Kind: detect.Tensiometer, Block: "North", DepthCM: detect.Some(45.0)}, 3},
	} {
		if got := r.Param("dry_out_spike", c.param, c.probe); !got.OK || got.V != c.want {
			t.Errorf("%s of %+v is %+v, want %g", c.param, c.probe, got, c.want)
		}
	}
	if r.Param("noise", "x", nil).OK {
		t.Error("a parameter that nobody set has a value")
	}
}

func TestDetectorsAreChecked(t *testing.T) {
	dir := folder(t, map[string]string{"a.csv": "", "scan.yaml": `detectors:
  dry_out_spikes: {min_rise: 1}
  noise:
    ratoi: 3
    ratio: three
    days: {kind: {tensiometr: 1}, depth: {deep: 2}, zone: {}}
`})
	_, err := Open(dir, "", map[string][]string{"dry_out_spike": {"min_rise"}, "noise": {"ratio", "days"}})
	if !errors.Is(err, ErrConfiguration) {
		t.Fatal(err)
	}
	got := strings.ReplaceAll(err.Error(), filepath.Join(dir, "scan.yaml")+":", "")
	want := `2:3: /detectors/dry_out_spikes: no detector is called "dry_out_spikes"; was dry_out_spike meant?
4:5: /detectors/noise/ratoi: no parameter of noise is called "ratoi"; was ratio meant?
5:12: /detectors/noise/ratio: "three" is no number: a parameter is a number in the unit that its detector's manual gives
6:19: /detectors/noise/days/kind/tensiometr: no kind is called "tensiometr"; was tensiometer meant?
6:43: /detectors/noise/days/depth/deep: "deep" is no depth: write 30, or 30-60, in cm
6:53: /detectors/noise/days/zone: no scope of a parameter is called "zone"; there are all, kind, block, depth`
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}

func TestGuess(t *testing.T) {
	dir := folder(t, map[string]string{
		"Probes.CSV": "", "weather.csv": "", "b.csv": "", "a/x.txt": "", "a/b [1].csv.gz": "", "deep/er/z.parquet": "",
		"notes.md": "", "README.txt": "", ".hidden/h.csv": "", ".h.csv": "", "truth/t.csv": "", "sub/probes.csv": "",
		"out/manifest.json": "{}", "out/health.csv": "", "all.zip": "",
	})
	r, err := Open(dir, "", nil)
	if err != nil {
		t.Fatal(err)
	}
	var paths []string
	for _, s := range r.Readings {
		paths = append(paths, s.Path)
	}
	if d := cmp.Diff([]string{"a/b [[]1].csv.gz", "a/x.txt", "all.zip", "b.csv", "deep/er/z.parquet"}, paths); d != "" {
		t.Errorf("readings (-want +got):\n%s", d)
	}
	if r.Probes != "Probes.CSV" || r.Weather != "weather.csv" || r.Irrig != "" || r.File != "" {
		t.Errorf("tables %+v", r.Config)
	}
	if r.ZoneName != "UTC" || r.Window() != 7*24*time.Hour || r.Lookback() != 56*24*time.Hour {
		t.Errorf("zone %s, window %v, look-back %v", r.ZoneName, r.Window(), r.Lookback())
	}
	for i, want := range []string{"timezone: America/Los_Angeles", "probes: Probes.CSV", "weather: weather.csv", "readings: 5 files", "README.txt, out/ (a run), sub/probes.csv and 1 more"} {
		if i >= len(r.Guessed) || !strings.Contains(r.Guessed[i], want) {
			t.Errorf("guess %d lacks %q: %q", i, want, r.Guessed)
		}
	}
	if ok, err := filepath.Match(paths[0], "a/b [1].csv.gz"); !ok || err != nil {
		t.Errorf("%s does not match its own file: %v", paths[0], err)
	}
}

func TestGuessFillsAFileUp(t *testing.T) {
	dir := folder(t, map[string]string{"scan.yaml": "timezone: UTC\nprobes: reg/list.csv\n", "reg/list.csv": "", "irrigation.csv": "", "e/a.csv": ""})
	r, err := Open(dir, "", nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Readings) != 1 || r.Readings[0].Path != "e/a.csv" || r.Irrig != "irrigation.csv" || r.Probes != "reg/list.csv" {
		t.Errorf("%+v", r.Config)
	}
}

func TestNothingToScan(t *testing.T) {
	empty := t.TempDir()
	file := filepath.Join(empty, "x.csv")
	for _, c := range []struct{ folder, config, want string }{
		{empty, "", "no readings"}, {file, "", "there is no folder"}, {empty, file, "cannot read the configuration"},
		{"s3://bucket/x", "", "--config"},
	} {
		if _, err := Open(c.folder, c.config, nil); !IsUsage(err) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s %s: %v, want an error of usage that says %q", c.folder, c.config, err, c.want)
		}
	}
}

// The configurations that come with the published data sets hold.
func TestRealConfigurations(t *testing.T) {
	dir, _ := os.Getwd()
	for ; ; dir = filepath.Dir(dir) {
		if _, err := os.Stat(filepath.Join(dir, "shared", "data")); err == nil {
			break
		}
		if dir == filepath.Dir(dir) {
			t.Skip("the published data sets are not beside the repository: their configurations are not read; put it at ../shared/data from the root")
		}
	}
	files, err := filepath.Glob(filepath.Join(dir, "shared", "data", "*", "scan.yaml"))
	if err != nil || len(files) == 0 {
		t.Skip("the published data sets have no configurations: their scan.yaml is missing there")
	}
	for _, f := range files {
		if r, err := Open(filepath.Dir(f), "", nil); err != nil {
			t.Errorf("%v", err)
		} else if len(r.Readings) == 0 || r.Probes == "" {
			t.Errorf("%s: %+v", f, r.Config)
		}
	}
}

func TestSchema(t *testing.T) {
	data, err := Schema()
	if err != nil {
		t.Fatal(err)
	}
	var s struct {
		Properties map[string]struct {
			Type, Pattern string
		} `json:"properties"`
		AdditionalProperties any `json:"additionalProperties"`
	}
	if err := json.Unmarshal(data, &s); err != nil {
		t.Fatal(err)
	}
	if s.Properties["window"].Pattern != `^[0-9]+(m|h|d|w)$` || s.AdditionalProperties != false || len(s.Properties) != 12 {
		t.Errorf("the schema is\n%s", data)
	}
}

// Whatever stands in the file: no panic, and an error is the configuration's.
func TestAnyYAML(t *testing.T) {
	parts := []string{"readings", "path", "window", "detectors", ": ", "\n", "  ", "- ", "[", "]", "{", "}", "&a ", "*a", "<<: ", "!!str ", "|\n", "? ", "7d", "'", "\"", "#", "---\n", "~", "0x1f", "\t", "\x00", "é"}
	dir := folder(t, map[string]string{"a.csv": ""})
	rapid.Check(t, func(t *rapid.T) {
		text := strings.Join(rapid.SliceOfN(rapid.SampledFrom(parts), 0, 30).Draw(t, "parts"), "")
		if err := os.WriteFile(filepath.Join(dir, "scan.yaml"), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := Open(dir, "", nil); err != nil && !IsUsage(err) {
			t.Fatalf("%q: %v", text, err)
		}
	})
}
