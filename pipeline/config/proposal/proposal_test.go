package proposal_test

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/apache/arrow/go/v17/arrow/array"
	"github.com/google/go-cmp/cmp"
	"github.com/klauspost/compress/zstd"
	"github.com/parquet-go/parquet-go"

	"probeward/pipeline/config"
	"probeward/pipeline/config/proposal"
	"probeward/pipeline/read"
	"probeward/pipeline/register"
	"probeward/pipeline/simulate"
	"probeward/schemas"
)

const wired = "probe,logger,port,kind,unit\na,L1,s1,tensiometer,kPa\nb,L1,s2,dielectric,m3/m3\nc,L2,s1,tensiometer,kPa\nd,L2,s2,dielectric,m3/m3\n"

// folder makes a folder of files.
func folder(t testing.TB, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, content := range files {
		path := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// wide writes a table of two ports, hourly from an instant, in a time layout.
func wide(start, layout, sep, mark string) string {
	at, err := time.Parse("2006-01-02 15:04", start)
	if err != nil {
		panic(err)
	}
	b := strings.Join([]string{"time", "s1", "s2"}, sep) + "\n"
	for i := range 30 {
		b += at.Add(time.Duration(i)*time.Hour).Format(layout) + sep + strings.ReplaceAll(fmt.Sprintf("%.1f%s%.3f", 12.5+float64(i)/10, sep, 0.25+float64(i)/1000), ".", mark) + "\n"
	}
	return b
}

const usual = "2006-01-02 15:04"

func gz(text string) string {
	var b bytes.Buffer
	w := gzip.NewWriter(&b)
	_, _ = w.Write([]byte(text))
	_ = w.Close()
	return b.String()
}

func zst(text string) string {
	var b bytes.Buffer
	w, err := zstd.NewWriter(&b)
	if err != nil {
		panic(err)
	}
	_, _ = w.Write([]byte(text))
	_ = w.Close()
	return b.String()
}

func zipped(tables map[string]string) string {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	names := []string{}
	for n := range tables {
		names = append(names, n)
	}
	slices.Sort(names)
	for _, n := range names {
		w, err := z.Create(n)
		if err != nil {
			panic(err)
		}
		_, _ = w.Write([]byte(tables[n]))
	}
	_ = z.Close()
	return b.String()
}

func packed() string {
	type line struct {
		Time time.Time `parquet:"time,timestamp(microsecond)"`
		S1   float64   `parquet:"s1"`
		S2   float64   `parquet:"s2"`
	}
	var rows []line
	for i := range 30 {
		rows = append(rows, line{time.Date(2026, 5, 13, i, 0, 0, 0, time.UTC), 12.5, 0.25})
	}
	var b bytes.Buffer
	w := parquet.NewGenericWriter[line](&b)
	if _, err := w.Write(rows); err != nil {
		panic(err)
	}
	_ = w.Close()
	return b.String()
}

// readings are those that a scan would read by a configuration, each as one line.
func readings(t *testing.T, c *config.Resolved) []string {
	t.Helper()
	reg, err := register.Load(c.Path(c.Probes), c.Path(c.Loggers), c.Zone)
	if err != nil {
		t.Fatal(err)
	}
	res, err := read.Files(context.Background(), read.Input{Config: c, Register: reg})
	if err != nil {
		t.Fatal(err)
	}
	defer res.Release()
	var lines []string
	for _, b := range res.Batches {
		at, probe := b.Column(schemas.ColTime).(*array.Timestamp), b.Column(schemas.ColProbe).(*array.Uint32)
		value, beside, file := b.Column(schemas.ColValue), b.Column(schemas.ColTemperature), b.Column(schemas.ColFile).(*array.Uint32)
		for i := range int(b.NumRows()) {
			lines = append(lines, fmt.Sprintf("%s %s %d %s %s", res.Files[file.Value(i)].Path, reg.Probes[probe.Value(i)].Name, at.Value(i), value.ValueStr(i), beside.ValueStr(i)))
		}
	}
	slices.Sort(lines)
	return lines
}

// What is proposed is accepted, and a scan with it reads what a scan without it reads.
func TestReadsTheSame(t *testing.T) {
	first, second := wide("2026-05-13 10:00", usual, ",", "."), wide("2026-06-13 10:00", usual, ",", ".")
	other := strings.Replace(second, "time,", "timestamp,", 1)
	for _, c := range []struct {
		name     string
		files    map[string]string
		zone     string
		readings int
		says     []string // parts of the configuration
		lacks    []string
	}{
		{"one file", map[string]string{"L1.csv": first}, "", 60,
			[]string{"path: L1.csv\n", "logger: filename ", "columns: {time: time}", `time_format: "2006-01-02 15:04"    # "2026-05-13 10:00" reads as 13 May 2026, 10:00`, "\ntimezone: UTC\n", "choose: stamps of 1 of 1 files say no offset", `Ports, as the register knows them: "s1", "s2".`}, nil},
		{"loggers and dates beside the tables", map[string]string{"L1_20260513.csv": first, "L1_20260613.csv": second, "L2_20260513.csv": first, "loggers.csv": "logger\nL1\nL2\n"}, "", 180,
			[]string{"path: L*.csv", "logger: 'filename:^([^_]+)'    # L1_20260513.csv is of logger L1; 2 loggers", "\nloggers: loggers.csv\n", "3 files, such as L1_20260513.csv; 90 rows together"}, nil},
		{"a dated file alone", map[string]string{"in/L1_20260513.csv": first}, "", 60, []string{"path: in/*.csv"}, nil},
		{"semicolons, decimal commas, day first", map[string]string{"L1.csv": wide("2026-05-13 10:00", "02.01.2006 15:04", ";", ",")}, "America/Los_Angeles", 60,
			[]string{"Semicolon-separated", "decimal: comma", `time_format: "2.1.2006 15:04"    # "13.05.2026 10:00" reads as 13 May 2026, 10:00`, "\ntimezone: America/Los_Angeles\n"}, nil},
		{"stamps with offsets", map[string]string{"L1.csv": wide("2026-05-13 10:00", "2006-01-02T15:04:05-07:00", ",", ".")}, "", 60, []string{"Every stamp says its own offset from UTC"}, []string{"choose: stamps"}},
		{"a reading a row", map[string]string{"x.csv": "time,probe,value,unit\n2026-05-13 10:00,a,12,kPa\n2026-05-13 10:00,b,25,%\n"}, "", 2, []string{"shape: long", "columns: {time: time, probe: probe, value: value, unit: unit}"}, nil},
		{"packed", map[string]string{"L1.csv.gz": gz(first), "L2.csv.zst": zst(first), "L1.zip": zipped(map[string]string{"readme.md": "", "x.csv": second}), "L2.parquet": packed()}, "", 240,
			[]string{"path: L1.csv.gz", "path: L2.csv.zst", "path: L1.zip", "path: L2.parquet", "Parquet."}, nil},
		{"an archive of tables laid out in two ways", map[string]string{"week.zip": zipped(map[string]string{"L1.csv": first, "L2.csv": other})}, "", 120, []string{"path: week.zip", "laid out in several ways"}, []string{"shape:"}},
		{"an archive of alike tables", map[string]string{"week.zip": zipped(map[string]string{"L1.csv": first, "L2.csv": second})}, "", 120, []string{"path: week.zip", "shape: wide", "logger: filename"}, nil},
		{"folders of keys and values", map[string]string{"year=2026/month=05/L1.csv": first, "year=2026/month=06/L1.csv": second, "year=2027/month=01/L2.csv": first}, "", 180, []string{"path: 'year=*/month=*/*.csv'"}, nil},
		{"folders that name the logger", map[string]string{"logger=L1/x.csv": first, "logger=L2/x.csv": second}, "", 120, []string{"path: 'logger=L*/x.csv'", "logger: 'column:logger'    # the name of its folder"}, nil},
		{"folders that name the probe", map[string]string{"probe=a/x.csv": "time,value\n2026-05-13 10:00,12\n", "probe=b/x.csv": "time,value\n2026-05-13 10:00,0.25\n"}, "", 2, []string{"shape: long", "the folder probe=... names the probe"}, nil},
		{"files named as their probe", map[string]string{"a_1.csv": "time,value\n2026-05-13 10:00,12\n", "b_1.csv": "time,value\n2026-05-13 10:00,0.25\n"}, "", 2, []string{`"value" for a`, "the start of its file's name is the probe"}, nil},
		{"no stamp at all", map[string]string{"L1.csv": first, "L2.csv": "time,s1,s2\n,1,0.2\n"}, "", 60, []string{"path: L*.csv"}, nil},
		{"folders of several depths", map[string]string{"in/L1.csv": first, "in/old/L2.csv": second}, "", 120, []string{"path: in/**/*.csv"}, nil},
		{"two layouts, a log and words beside", map[string]string{"L1.csv": first, "L2.csv": other, "log.txt": "started\n2026-05-13 restarted\n", "README.txt": "time,s1\n", "hands.csv": "time,who\n2026-05-13,me\n"}, "", 120,
			[]string{"path: L1.csv", "path: L2.csv", "columns: {time: timestamp}", "- log.txt: no header", "- hands.csv: "}, []string{"path: log.txt"}},
		{"day and hour apart", map[string]string{"L1.csv": strings.Replace(wide("2026-05-13 10:00", "2006-01-02,15:04", ",", "."), "time,", "date,time,", 1)}, "", 60, []string{"columns: {time: time, date: date}"}, nil},
		{"stamps with and without seconds", map[string]string{"L1.csv": first + "2026-05-15 10:00:30.5,1,0.2\n"}, "", 62, []string{"path: L1.csv"}, nil},
		{"stamps written in two ways", map[string]string{"L1.csv": first, "L2.csv": wide("2026-05-13 10:00", "02/01/2006 15:04", ",", ".")}, "", 120, []string{"path: L*.csv", "time_format: found file by file"}, nil},
		{"a clock of standard time and one that shows nothing", map[string]string{"L1.csv": wide("2027-03-14 00:00", usual, ",", "."), "L2.csv": strings.Replace(wide("2027-05-14 00:00", usual, ",", "."), "time,", "timestamp,", 1)}, "America/Los_Angeles", 120,
			[]string{"stamps kept in standard time", "nothing else: with more written here"}, nil},
		{"names that need quotes", map[string]string{"a [1], 'é' #2.csv": strings.Replace(first, "time,s1,s2", "\"Time\",a,b,\"x: {y}, # 'z'\"", 1)}, "", 60, []string{`path: 'a [[]1], ''é'' #2.csv'`, "columns: {time: Time}"}, nil},
		{"a battery and a temperature by other names", map[string]string{"L1.csv": strings.Replace(strings.ReplaceAll(first, "\n", ",12.1,18\n"), "s2,12.1,18", "s2,batt_v,soil_temp_c", 1)}, "", 60,
			[]string{"# columns: {time: time, battery_v: batt_v, temperature_c: soil_temp_c}"}, nil},
		{"names that differ in case and blanks", map[string]string{"x.csv": "time,probe,value\n2026-05-13 10:00,a,12\n2026-05-13 10:00, A ,12\n2026-05-13 10:00,zz,12\n"}, "", 1,
			[]string{`probe "A" has no row in the register`, `is it "a"?`, `probe "zz" has no row`, "3 of 4 probes of the register have no reading in any file: b, c, d"}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.files["probes.csv"] = wired
			if strings.Contains(c.name, "quotes") {
				c.files["probes.csv"] = "probe,kind,unit\na,tensiometer,kPa\nb,dielectric,m3/m3\n"
			}
			dir := folder(t, c.files)
			p := same(t, dir, c.zone)
			if int(p.Readings) != c.readings {
				t.Errorf("%d readings, want %d", p.Readings, c.readings)
			}
			said := string(p.YAML)
			flat := strings.Join(strings.Fields(strings.NewReplacer("#", " ").Replace(said)), " ")
			for _, want := range c.says {
				if !strings.Contains(said, want) && !strings.Contains(flat, strings.Join(strings.Fields(strings.ReplaceAll(want, "#", " ")), " ")) {
					t.Errorf("lacks %q", want)
				}
			}
			for _, no := range c.lacks {
				if strings.Contains(said, no) {
					t.Errorf("has %q", no)
				}
			}
			if t.Failed() {
				t.Log(said)
			}
		})
	}
}

// same proposes, writes the proposal into the folder, and holds what is read by it
// against what is read without.
func same(t *testing.T, dir, zone string) *proposal.Proposal {
	t.Helper()
	p, err := proposal.Make(context.Background(), proposal.Ask{Folder: dir, Zone: zone})
	if err != nil {
		t.Fatal(err)
	}
	again, err := proposal.Make(context.Background(), proposal.Ask{Folder: dir, Zone: zone, Workers: 1})
	if err != nil || !bytes.Equal(p.YAML, again.YAML) || !bytes.Equal(p.Register, again.Register) {
		t.Errorf("another text the second time (%v)", err)
	}
	without, err := config.Guess(dir, zone)
	if err != nil {
		t.Fatal(err)
	}
	want := readings(t, without)
	if err := proposal.Save(filepath.Join(dir, config.FileName), p.YAML); err != nil {
		t.Fatal(err)
	}
	with, err := config.Open(dir, "", nil)
	if err != nil {
		t.Fatalf("%v\n%s", err, p.YAML)
	}
	if d := cmp.Diff(want, readings(t, with)); d != "" {
		t.Errorf("readings (-without +with)\n%s\n%s", d, p.YAML)
	}
	if err := proposal.Save(filepath.Join(dir, config.FileName), nil); !config.IsUsage(err) {
		t.Errorf("a scan.yaml was replaced: %v", err)
	}
	return p
}

// The feed of an invented vineyard, with its register and its logs.
func TestFeedReadsTheSame(t *testing.T) {
	o := simulate.Defaults()
	o.Seed, o.Probes, o.Weeks = 7, 40, 2
	dir := t.TempDir()
	if _, err := simulate.Write(filepath.Join(dir, "farm"), o); err != nil {
		t.Fatal(err)
	}
	feed := filepath.Join(dir, "farm", "feed")
	if err := os.Remove(filepath.Join(feed, "scan.yaml")); err != nil {
		t.Fatal(err)
	}
	p := same(t, feed, simulate.Timezone)
	if p.Readings < 10_000 {
		t.Errorf("%d readings prove nothing", p.Readings)
	}
	if !strings.Contains(string(p.YAML), "irrigation: irrigation.csv\nweather: weather.csv\n") {
		t.Errorf("a table of the field is not named\n%s", p.YAML)
	}
}

// What can be read in two ways has both lines beside it, and either settles it.
func TestChoices(t *testing.T) {
	for _, c := range []struct {
		name, text string
		says       []string
		lines      map[string]string // that settles it: the first reading
	}{
		{"day and month", wide("2026-05-02 10:00", "02/01/2006 15:04", ",", ".")[:60], []string{"which is 5 February 2026 or 2 May 2026", "choose one of these lines"},
			map[string]string{`time_format: "1/2/2006 15:04"`: "2026-02-05T10:00", `time_format: "2/1/2006 15:04"`: "2026-05-02T10:00"}},
		{"decimal comma or thousands", "time;s1\n2026-05-13 10:00;12,500\n", []string{"can be 12.5, with a decimal comma, or 12500, with thousands apart"},
			map[string]string{"decimal: comma": "2026-05-13T10:00", "decimal: point": ""}},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := folder(t, map[string]string{"L1.csv": c.text, "probes.csv": wired})
			p, err := proposal.Make(context.Background(), proposal.Ask{Folder: dir})
			if err != nil {
				t.Fatal(err)
			}
			flat := strings.Join(strings.Fields(strings.ReplaceAll(string(p.YAML), "#", "")), " ")
			for _, want := range c.says {
				if !strings.Contains(flat, want) {
					t.Errorf("lacks %q\n%s", want, p.YAML)
				}
			}
			if p.Readings != 0 || len(p.Words) != 1 || !strings.Contains(p.Words[0], "two ways") {
				t.Errorf("%d readings, %q", p.Readings, p.Words)
			}
			for line, want := range c.lines {
				chosen := strings.Replace(string(p.YAML), "# "+line, line, 1)
				if chosen == string(p.YAML) {
					t.Fatalf("no line %q\n%s", line, p.YAML)
				}
				conf, err := config.Parse(dir, "scan.yaml", []byte(chosen), nil)
				if err != nil {
					t.Fatal(err)
				}
				got := readings(t, conf)
				if want == "" {
					if len(got) != 0 {
						t.Errorf("%s reads %q", line, got)
					}
					continue
				}
				at, _ := time.Parse("2006-01-02T15:04", want)
				if len(got) == 0 || !strings.Contains(got[0], fmt.Sprint(at.UnixMicro())) {
					t.Errorf("%s reads %q, want %s", line, got, want)
				}
			}
		})
	}
}

// A folder without a register gets the rows of one. What the files do not tell is
// empty; with it filled in, every value that was heard is joined.
func TestRegister(t *testing.T) {
	table := "timestamp,vwc 30cm,swc [%],P1_kPa,R ohm,soil_temp degC,plain,air_temp,batt_v,record,note\n"
	for i := range 30 {
		table += fmt.Sprintf("2026-05-13 %02d:00,0.2%d,2%d.5,3%d,1%d00,18.%d,%d,20,12.1,%d,ok\n", i%24, i%10, i%10, i%10, 1+i%9, i%10, 50+i, i)
	}
	dir := folder(t, map[string]string{"North_20260513.csv": table, "hand.csv": "time,probe,value,unit\n2026-05-13 10:00,A1,12,kPa\n2026-05-13 10:00,B1,0.25,m3/m3\n"})
	p, err := proposal.Register(context.Background(), proposal.Ask{Folder: dir}, "")
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, line := range strings.Split(strings.TrimSpace(string(p.Register)), "\n")[1:] {
		got = append(got, strings.Join(strings.SplitN(line, ",", 9)[:8], ","))
	}
	want := []string{
		"A1,,,,,,,kPa",
		"B1,,,,,,dielectric,m3/m3",
		"North-P1_kPa,North,P1_kPa,,,,,kPa", // which of three kinds, nothing tells
		"North-R ohm,North,R ohm,,,,granular_matrix,ohm",
		"North-plain,North,plain,,,,,",
		"North-soil_temp degC,North,soil_temp degC,,,,soil_temperature,degC",
		"North-swc [%],North,swc [%],,,,dielectric,%",
		"North-vwc 30cm,North,vwc 30cm,,,30,dielectric,m3/m3",
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("(-want +got)\n%s\n%s", d, p.Register)
	}
	if p.ToFill != 3 || !strings.Contains(string(p.Register), "fill in kind: granular_matrix or tensiometer, or dielectric in a ceramic") {
		t.Errorf("%d to fill in\n%s", p.ToFill, p.Register)
	}
	filled := strings.NewReplacer(",,kPa,", ",tensiometer,kPa,", "North-plain,North,plain,,,,,,", "North-plain,North,plain,,,,other,count,").Replace(string(p.Register))
	if err := os.WriteFile(filepath.Join(dir, "probes.csv"), []byte(filled), 0o600); err != nil {
		t.Fatal(err)
	}
	if q := same(t, dir, ""); q.Readings != 6*30+2 {
		t.Errorf("%d readings\n%s", q.Readings, q.YAML)
	}
	if _, err := proposal.Register(context.Background(), proposal.Ask{Folder: dir}, ""); !config.IsUsage(err) {
		t.Errorf("a second register: %v", err)
	}
}

// Where no column is named as stamps, those that can be are shown.
func TestStampColumns(t *testing.T) {
	dir := folder(t, map[string]string{"L1.csv": "station,day,hour,s1,s2\n7,2026-05-13,0,12,0.25\n7,2026-05-13,1,12,0.25\n", "probes.csv": wired})
	p, err := proposal.Make(context.Background(), proposal.Ask{Folder: dir})
	if err != nil {
		t.Fatal(err)
	}
	entry := []string{"readings:"}
	for _, line := range strings.Split(string(p.YAML), "\n") {
		for _, start := range []string{"  # - path:", "  #   columns:", "  #   time_format:"} {
			if strings.HasPrefix(line, start) {
				entry = append(entry, strings.Replace(line, "# ", "", 1))
			}
		}
	}
	conf, err := config.Parse(dir, "scan.yaml", []byte(strings.Join(entry, "\n")), nil)
	if err != nil {
		t.Fatalf("%v\n%s", err, p.YAML)
	}
	if got := readings(t, conf); len(got) != 4 {
		t.Errorf("%q\n%s", got, p.YAML)
	}
}
