package read_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/apache/arrow/go/v17/arrow/array"
	"github.com/google/go-cmp/cmp"

	"probeward/pipeline/config"
	"probeward/pipeline/read"
	"probeward/pipeline/register"
	"probeward/schemas"
)

// The invented farm of these tests: logger L1 with ports s1 and s2, of which s2
// went from probe b to probe c on 1 May 2026; logger L2 with port s1.
const farm = `probe,logger,port,kind,unit,valid_from,valid_to
a,L1,s1,granular_matrix,ohm,,
b,L1,s2,dielectric,m3/m3,,2026-05-01
c,L1,s2,dielectric,m3/m3,2026-05-01,2027-01-01
d,L2,s1,tensiometer,kPa,,
`

func write(t testing.TB, dir, name string, text []byte) string {
	t.Helper()
	p := filepath.Join(dir, name)
	if err := os.MkdirAll(filepath.Dir(p), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(p, text, 0o644); err != nil {
		t.Fatal(err)
	}
	return p
}

func openFarm(t testing.TB) *register.Register {
	t.Helper()
	reg, err := register.Load(write(t, t.TempDir(), "probes.csv", []byte(farm)), "", time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	return reg
}

func resolved(t testing.TB, dir, zone string, sources ...schemas.Source) *config.Resolved {
	t.Helper()
	z, err := time.LoadLocation(zone)
	if err != nil {
		t.Fatal(err)
	}
	return &config.Resolved{Config: schemas.Config{Readings: sources}, Dir: dir, Zone: z, ZoneName: zone}
}

// dump writes a result a line an entry: readings as "hour probe value code@line.column",
// then rejects, digests, errors and notes.
func dump(reg *register.Register, res *read.Result) string {
	var b strings.Builder
	for _, r := range res.Batches {
		at := r.Column(schemas.ColTime).(*array.Timestamp)
		probe, value := r.Column(schemas.ColProbe).(*array.Uint32), r.Column(schemas.ColValue).(*array.Float64)
		temp, batt := r.Column(schemas.ColTemperature).(*array.Float32), r.Column(schemas.ColBattery).(*array.Float32)
		code, file := r.Column(schemas.ColCode).(*array.Uint8), r.Column(schemas.ColFile).(*array.Uint32)
		line, column := r.Column(schemas.ColLine).(*array.Uint32), r.Column(schemas.ColColumn).(*array.Uint16)
		for i := range int(r.NumRows()) {
			stamp := strings.TrimSuffix(time.UnixMicro(int64(at.Value(i))).UTC().Format("01-02T15:04:05"), ":00")
			fmt.Fprintf(&b, "%s %s ", stamp, reg.Probes[probe.Value(i)].Name)
			if value.IsNull(i) {
				b.WriteString("blank")
			} else {
				fmt.Fprint(&b, value.Value(i))
			}
			if c := code.Value(i); c != schemas.CodeNone {
				fmt.Fprintf(&b, " code %d", c)
			}
			if temp.IsValid(i) {
				fmt.Fprintf(&b, " %v degC", temp.Value(i))
			}
			if batt.IsValid(i) {
				fmt.Fprintf(&b, " %v V", batt.Value(i))
			}
			fmt.Fprintf(&b, " @%d:%d.%d\n", file.Value(i), line.Value(i), column.Value(i))
		}
	}
	for _, r := range res.Rejects {
		fmt.Fprintf(&b, "reject %d:%d-%d %q %q x%d: %s\n", r.File, r.Line, r.LastLine, r.Column, r.Text, r.Readings, r.Why)
	}
	for _, n := range res.Notes {
		if strings.Contains(n, "have no reading in any file") {
			continue // of the register, not of the file; joins_test.go has it
		}
		fmt.Fprintf(&b, "note %s\n", n)
	}
	return b.String()
}

type form struct {
	name   string
	zone   string
	source schemas.Source
	file   string
	text   string
	want   string // lines of the dump; a line that ends in … need only start so
	layout string // a part of it
}

var forms = []form{
	{
		name: "long", file: "long.csv",
		text: "time,probe,value\n2026-05-02 10:00:00,a,1500\n2026-05-02 10:00:00,c,0.25\n2026-05-02 10:10:00,a,\n2026-05-02 10:10:00,c,NAN\n",
		want: "05-02T10:00 a 1500 @0:2.2\n05-02T10:00 c 0.25 @0:3.2\n05-02T10:10 a blank @0:4.2\n05-02T10:10 c blank @0:5.2\n",
	},
	{
		name: "long, every column, other names", file: "long.csv",
		source: schemas.Source{Shape: "long", Columns: map[string]string{"time": "ts", "probe": "id", "value": "v"}, Missing: []string{"-9999"}, FaultCodes: map[string]string{"7999": "open_circuit", "ERR": "other"}},
		text:   "id;v;unit;ts;temperature_c;battery_v;more\na;1,5;kohm;2026-05-02T10:00:00+02:00;21,5;12,1;x\nc;25;%;2026-05-02T08:10:00Z;;12;x\na;7999;;2026-05-02T08:20:00Z;;;\na;ERR;;2026-05-02T08:30:00Z;;;\na;-9999;;2026-05-02T08:40:00Z;bad;;\nc;3;kPa;2026-05-02T08:50:00Z;;;\n",
		want: "05-02T08:00 a 1500 21.5 degC 12.1 V @0:2.1\n05-02T08:10 c 0.25 12 V @0:3.1\n05-02T08:20 a blank code 1 @0:4.1\n05-02T08:30 a blank code 3 @0:5.1\n05-02T08:40 a blank @0:6.1\n" +
			"reject 0:7-7 \"unit\" \"kPa\" x1: unit \"kPa\" is not a multiple of \"m3/m3\"…\nnote long.csv: 1 cells of \"temperature_c\" are not numbers…\n",
		layout: "decimal comma (guessed)",
	},
	{
		name: "long, strangers make one stretch a name", file: "long.csv",
		text: "time,probe,value\n2026-05-02 10:00,a,1\n2026-05-02 10:00,x,1\n2026-05-02 10:10,a,2\n2026-05-02 10:10,x,1\n",
		want: "05-02T10:00 a 1 @0:2.2\n05-02T10:10 a 2 @0:4.2\nreject 0:3-5 \"probe\" \"x\" x2: the register has no probe of this name…\nnote probe \"x\" has no row in the register: 2 readings of 1 files, the first long.csv; add a row, or leave it out\n",
	},
	{
		name: "rejects of a long file", file: "long.csv",
		text: "time,probe,value\n2026-05-02 10:00,a,1\nsoon,a,1\n2026-05-02 10:10,a\n2026-05-02 10:20,a,wet\n2026-05-02 10:30,a,wet\n2026-05-02 10:40,a,1,5\n2026-05-02 10:50,a",
		want: "05-02T10:00 a 1 @0:2.2\nreject 0:3-3 \"\" \"soon\" x1: the stamp cannot be read as…\nreject 0:4-4 \"\" \"2026-05-02 10:10\" x1: the row ends before…\n" +
			"reject 0:5-6 \"value\" \"wet\" x2: not a number…\nreject 0:7-7 \"\" \"2026-05-02 10:40\" x1: the row has more cells than the header…\nreject 0:8-8 \"\" \"2026-05-02 10:50\" x1: the file ends within this row…\n",
	},
	{
		name: "wide, logger and ports guessed", file: "L1_2026-05.csv",
		text:   "timestamp,S1, s2 ,battery_v,note\n2026-05-02 10:00,1500,0.25,12.5,x\n2026-05-02 10:10,,0.26,12.4,\n",
		want:   "05-02T10:00 a 1500 12.5 V @0:2.1\n05-02T10:00 c 0.25 12.5 V @0:2.2\n05-02T10:10 a blank 12.4 V @0:3.1\n05-02T10:10 c 0.26 12.4 V @0:3.2\n",
		layout: "logger L1 (guessed from the file's name)",
	},
	{
		name: "wide, a port changes hands, and has none before", file: "x.csv",
		source: schemas.Source{Shape: "wide", Logger: "name:L1", Ports: []string{`^(s\d)`}, TimeFormat: "2006-01-02 15:04", Columns: map[string]string{"time": "at"}},
		text:   "at,s1 ohm,s2 vwc,s3\n2026-04-30 23:50,1,2,3\n2026-05-01 00:00,1,2,3\n2027-01-01 00:00,1,2,3\n2027-01-01 00:10,1,2,3\n",
		want: "04-30T23:50 a 1 @0:2.1\n04-30T23:50 b 2 @0:2.2\n05-01T00:00 a 1 @0:3.1\n05-01T00:00 c 2 @0:3.2\n01-01T00:00 a 1 @0:4.1\n01-01T00:10 a 1 @0:5.1\n" +
			"reject 0:2-5 \"s3\" \"\" x4: the register has no probe at port \"s3\" of logger \"L1\"…\nreject 0:4-5 \"s2 vwc\" \"\" x2: outside valid_from and valid_to…\nnote port \"s3\" of logger \"L1\" has no row…\n",
	},
	{
		name: "wide, two columns for one port", file: "L2.csv",
		source: schemas.Source{Logger: "filename", Ports: []string{`^(s\d)`}},
		text:   "time,s1 kPa,s1 degC\n2026-05-02 10:00,20,18\n",
		want:   "05-02T10:00 d 20 @0:2.1\n",
	},
	{
		name: "wide, a logger in each row", file: "all.csv",
		source: schemas.Source{Logger: "column:unit name"},
		text:   "time,Unit Name,s1,s2\n2026-05-02 10:00,L1,1500,0.25\n2026-05-02 10:00,L2,20,\n2026-05-02 10:00,L9,1,\n",
		want: "05-02T10:00 a 1500 @0:2.2\n05-02T10:00 c 0.25 @0:2.3\n05-02T10:00 d 20 @0:3.2\n" +
			"reject 0:4-4 \"s1\" \"\" x1: the register has no logger \"L9\"…\nreject 0:4-4 \"s2\" \"\" x1: the register has no logger \"L9\"…\nnote logger \"L9\" has no row in the register: 2 readings of 1 files…\n",
	},
	{
		name: "wide, logger from above the header, units below it", file: "x.txt",
		source: schemas.Source{Logger: `header:Station: (\w+)`, Columns: map[string]string{"time": "TIMESTAMP"}},
		text:   "\"Station: L1\",\"program\"\r\n\"TIMESTAMP\",\"RECORD\",\"s1\",\"s2\"\r\n\"TS\",\"RN\",\"ohm\",\"\"\r\n\"\",\"\",\"Smp\",\"Smp\"\r\n\"2026-05-02 10:00:00\",1,1500,\"NAN\"\r\n",
		want:   "05-02T10:00 a 1500 @0:5.2\n05-02T10:00 c blank @0:5.3\n",
		layout: "header on line 2",
	},
	{
		name: "wide, columns named as probes need no logger", file: "export.csv",
		text: "date time\ta\tc\n05/13/2026 10:00\t1500\t0.25\n05/14/2026 9:00\t1501\t0.26\n",
		want: "05-13T10:00 a 1500 @0:2.1\n05-13T10:00 c 0.25 @0:2.2\n05-14T09:00 a 1501 @0:3.1\n05-14T09:00 c 0.26 @0:3.2\n",
	},
	{
		name: "no header", file: "L1.csv",
		source: schemas.Source{Logger: "filename", Names: []string{"time", "record", "s1", "s2"}},
		text:   "1779271200|1|1500|0.25\n1779271800|2|1501|***\n1779272400|3|ERR|0.26\n",
		want:   "05-20T10:00 a 1500 @0:1.2\n05-20T10:00 c 0.25 @0:1.3\n05-20T10:10 a 1501 @0:2.2\n05-20T10:10 c blank @0:2.3\n05-20T10:20 c 0.26 @0:3.3\nreject 0:3-3 \"s1\" \"ERR\" x1: not a number; if the logger writes this for a missing value, add it to missing\n",
	},
	{
		name: "rows too short and too long", file: "L1.csv",
		text: "time,s1,s2\n2026-05-02 10:00,1\n2026-05-02 10:10,2,0.2,,\n2026-05-02 10:20,3,0,2\n2026-05-02 10:30,4,0.3\n2026-05-02 10:4",
		want: "05-02T10:00 a 1 @0:2.1\n05-02T10:10 a 2 @0:3.1\n05-02T10:10 c 0.2 @0:3.2\n05-02T10:30 a 4 @0:5.1\n05-02T10:30 c 0.3 @0:5.2\n" +
			"reject 0:2-2 \"s2\" \"\" x1: the row ends before this column…\nreject 0:4-4 \"\" \"2026-05-02 10:20\" x2: the row has more cells than the header…\nreject 0:6-6 \"\" \"2026-05-02 10:4\" x2: the file ends within this row…\n",
	},
	{
		name: "Latin-1 header, byte order mark aside", file: "L1.txt",
		source: schemas.Source{Logger: "filename", Ports: []string{`^(s\d) m³/m³`}},
		text:   "time\ts2 m\xb3/m\xb3\n2026-05-02 10:00\t0.25\n2026-05-02 10:10\t\xb5\n",
		want:   "05-02T10:00 c 0.25 @0:2.1\nreject 0:3-3 \"s2 m³/m³\" \"µ\" x1: not a number…\n",
	},
	{
		name: "byte order mark", file: "L2.csv",
		text: "\xef\xbb\xbftime,s1\n2026-05-02 10:00,20\n",
		want: "05-02T10:00 d 20 @0:2.1\n",
	},
	{
		name: "UTF-16", file: "L2.csv",
		text: "\xff\xfet\x00i\x00m\x00e\x00,\x00s\x001\x00\n\x002\x000\x002\x006\x00-\x000\x005\x00-\x000\x002\x00,\x002\x000\x00\n\x00",
		want: "05-02T00:00 d 20 @0:2.1\n",
	},
	{
		name: "carriage returns alone", file: "L2.csv",
		text: "time,s1\r2026-05-02 10:00,20\r2026-05-02 10:10,21\r",
		want: "05-02T10:00 d 20 @0:2.1\n05-02T10:10 d 21 @0:3.1\n",
	},
	{
		name: "day or month cannot be told", file: "L2.csv",
		text: "time,s1\n05/01/2026 10:00,20\n05/02/2026 10:00,20\n",
		want: "note L2.csv: every stamp can be read as month first and as day first, as in \"05/01/2026 10:00\", which is 1 May 2026 or 5 January 2026; write time_format: \"1/2/2006 15:04\" or time_format: \"2/1/2006 15:04\"\n",
	},
	{
		name: "day and month told by the end of a long file", file: "L2.csv",
		text:   "time,s1\n" + strings.Repeat("05/01/2026 10:00,\n", 5000) + "13/05/2026 10:00,20\n",
		want:   strings.Repeat("01-05T", 0), // the readings are counted below
		layout: "times as 2/1/2006 15:04 (guessed)",
	},
	{
		name: "autumn and spring", zone: "America/Los_Angeles", file: "L2.csv",
		text: "time,s1\n2026-11-01 00:30,1\n2026-11-01 01:00,2\n2026-11-01 01:30,3\n2026-11-01 01:00,4\n2026-11-01 01:30,5\n2026-11-01 02:00,6\n2027-03-14 02:30,7\n",
		want: "11-01T07:30 d 1 @0:2.1\n11-01T08:00 d 2 @0:3.1\n11-01T08:30 d 3 @0:4.1\n11-01T09:00 d 4 @0:5.1\n11-01T09:30 d 5 @0:6.1\n11-01T10:00 d 6 @0:7.1\n" +
			"reject 0:8-8 \"\" \"2027-03-14 02:30\" x1: this hour does not exist in America/Los_Angeles…\nnote 1 rows of 1 files, the first L2.csv, stand in the hour…\n",
	},
	{
		name: "nothing known of it", file: "else.csv",
		text: "time,temperature\n2026-05-02 10:00,20\n",
		want: "note else.csv: nothing says whose readings these are: no column is named as a pro…\n",
	},
	{
		name: "no table", file: "else.csv",
		text: "Dear Sir,\nplease find enclosed\n",
		want: "note else.csv: no header in the first 50 lines…\n",
	},
	{name: "blank", file: "else.csv", text: " \n\x00\x00\r\n\t", want: "note else.csv: the file is empty\n"},
	{name: "a byte order mark alone", file: "else.csv", text: "\ufeff", want: "note else.csv: the file is empty\n"},
	{name: "a header alone", file: "L2.csv", text: "time,s1", want: "note L2.csv: no row below the header\n"},
	{name: "a header and units alone", file: "L2.csv", text: "Station,North\ntime,s1\nTS,kPa\n,Smp\n", want: "note L2.csv: no row below the header\n"},
	{name: "no row has a stamp", file: "L2.csv", text: "time,s1\n,20\n,21\n", want: "reject 0:2-3 \"\" \"\" x2: the row has no stamp\n"},
	{name: "a zero has no sign", file: "L2.csv", text: "time,s1\n2026-05-02 10:00,-0\n2026-05-02 10:10,-0.00\n2026-05-02 10:20,-0e5\n", want: "05-02T10:00 d 0 @0:2.1\n05-02T10:10 d 0 @0:3.1\n05-02T10:20 d 0 @0:4.1\n"},
	{name: "zeros within a number", file: "L2.csv", text: "time,s1\n2026-05-02 10:00,2\x000\n", want: "reject 0:2-2 \"s1\" \"2\\x000\" x1: not a number…\n"},
	{name: "empty", file: "else.csv", text: "", want: "note else.csv: the file is empty\n"},
	{
		name: "file name that does not match", file: "else.csv", source: schemas.Source{Logger: `filename:^(L\d)`},
		text: "time,s1\n2026-05-02 10:00,20\n",
		want: "note else.csv: the file's name \"else.csv\" does not match logger: filename:^(L\\d)\n",
	},
}

// matches holds lines against wanted ones, of which some end in ….
func matches(t *testing.T, want, got string) {
	t.Helper()
	w, g := strings.Split(want, "\n"), strings.Split(got, "\n")
	for i := range w {
		if start, open := strings.CutSuffix(w[i], "…"); open && i < len(g) && strings.HasPrefix(g[i], start) {
			w[i] = g[i]
		}
	}
	if d := cmp.Diff(w, g); d != "" {
		t.Errorf("(-want +got)\n%s", d)
	}
}

func TestForms(t *testing.T) {
	reg := openFarm(t)
	for _, c := range forms {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			write(t, dir, c.file, []byte(c.text))
			c.source.Path = "*"
			if c.zone == "" {
				c.zone = "UTC"
			}
			res := files(t, resolved(t, dir, c.zone, c.source), reg)
			if !strings.Contains(res.Files[0].Layout, c.layout) {
				t.Errorf("layout %q, want %q in it", res.Files[0].Layout, c.layout)
			}
			if c.name == "day and month told by the end of a long file" {
				if f := res.Files[0]; f.Used != 5001 {
					t.Errorf("used %d of 5,001", f.Used)
				}
				return
			}
			matches(t, c.want, dump(reg, res))
		})
	}
}
