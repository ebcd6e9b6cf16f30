package read_test

import (
	"strings"
	"testing"

	"probeward/schemas"
)

// Folders named key=value are columns of all files below them.
func TestFoldersThatAreColumns(t *testing.T) {
	reg := openFarm(t)
	type row struct {
		Time  int64   `parquet:"time,timestamp(microsecond)"`
		Value float64 `parquet:"value"`
	}
	type ports struct {
		Time int64   `parquet:"time,timestamp(microsecond)"`
		S1   float64 `parquet:"s1"`
	}
	us := ten.UnixMicro()
	for _, c := range []struct {
		name, file, text string
		source           schemas.Source
		want, layout     string
	}{
		{name: "logger, guessed", file: "farm=hill/logger=L1/date=2026-05-02/part-0.csv", text: "time,s1,s2\n2026-05-02 10:00,1500,0.25\n",
			want: "05-02T10:00 a 1500 @0:2.1\n05-02T10:00 c 0.25 @0:2.2\n", layout: "logger L1 from the folder's name"},
		{name: "logger, configured", file: "box=L2/x.csv", text: "time,s1\n2026-05-02 10:00,20\n", source: schemas.Source{Logger: "column:box"},
			want: "05-02T10:00 d 20 @0:2.1\n", layout: "logger L2 from the folder's name"},
		{name: "logger, no such key", file: "box=L2/x.csv", text: "time,s1\n2026-05-02 10:00,20\n", source: schemas.Source{Logger: "column:bax"},
			want: "note box=L2/x.csv: no column \"bax\" for the logger…\n"},
		{name: "a logger in the file's name, where the register lacks the folder's", file: "logger=north/L2.csv", text: "time,s1\n2026-05-02 10:00,20\n",
			want: "05-02T10:00 d 20 @0:2.1\n", layout: "logger L2 (guessed from the file's name)"},
		{name: "logger not known", file: "logger=__HIVE_DEFAULT_PARTITION__/x.csv", text: "time,s1\n2026-05-02 10:00,20\n", source: schemas.Source{Logger: "column:logger"},
			want: "note logger=__HIVE_DEFAULT_PARTITION__/x.csv: the folder logger=__HIVE_DEFAULT_PARTITION__ says that the logger is not known…\n"},
		{name: "probe, guessed", file: "probe=a/x.csv", text: "time,value\n2026-05-02 10:00,1500\n",
			want: "05-02T10:00 a 1500 @0:2.1\n", layout: "probe a from the folder's name"},
		{name: "probe, configured", file: "id=c/x.csv", text: "time,v\n2026-05-02 10:00,0.25\n", source: schemas.Source{Columns: map[string]string{"probe": "id", "value": "v"}},
			want: "05-02T10:00 c 0.25 @0:2.1\n"},
		{name: "probe that the register lacks", file: "probe=z/x.csv", text: "time,value\n2026-05-02 10:00,1\n2026-05-02 10:10,2\n",
			want: "reject 0:2-3 \"probe\" \"z\" x2: the register has no probe of this name…\nnote…\n"},
		{name: "probe not known", file: "probe=/x.csv", text: "time,value\n2026-05-02 10:00,1\n",
			want: "note probe=/x.csv: the folder probe=__HIVE_DEFAULT_PARTITION__ says that the probe is not known…\n"},
		{name: "unit", file: "probe=a/unit=kohm/x.csv", text: "time,value\n2026-05-02 10:00,1.5\n",
			want: "05-02T10:00 a 1500 @0:2.1\n", layout: "unit kohm from the folder's name"},
		{name: "a unit that is none", file: "probe=a/unit=kPa/x.csv", text: "time,value\n2026-05-02 10:00,1.5\n",
			want: "reject 0:2-2 \"unit\" \"kPa\" x1: unit \"kPa\" is not a multiple…\n"},
		{name: "percent signs", file: "lo%67ger=L%31/x%20y.csv", text: "time,s1\n2026-05-02 10:00,1500\n", want: "05-02T10:00 a 1500 @0:2.1\n"},
		{name: "the inner folder holds", file: "logger=L1/logger=L2/x.csv", text: "time,s1\n2026-05-02 10:00,20\n", want: "05-02T10:00 d 20 @0:2.1\n"},
		{name: "the day, where stamps are hours", file: "logger=L2/date=2026-05-02/x.csv", text: "time,s1\n10:00,20\n10:10,21\n",
			want: "05-02T10:00 d 20 @0:2.1\n05-02T10:10 d 21 @0:3.1\n", layout: "stamps from the folder's day 2026-05-02"},
		{name: "the file's column holds: loggers", file: "logger=L2/x.csv", text: "time,logger,s1\n2026-05-02 10:00,L1,1500\n2026-05-02 10:00,L2,20\n",
			want: "05-02T10:00 a 1500 @0:2.2\n05-02T10:00 d 20 @0:3.2\nnote logger=L2/x.csv: its folder says logger=L2, and its column \"logger\" holds L1: the column holds…\n"},
		{name: "the file's column holds: probes", file: "probe=d/x.csv", text: "time,probe,value\n2026-05-02 10:00,a,1500\n",
			want: "05-02T10:00 a 1500 @0:2.2\nnote probe=d/x.csv: its folder says probe=d, and its column \"probe\" holds a: the column holds…\n"},
		{name: "the file's column holds: another", file: "farm=hill/L2.csv", text: "time,farm,s1\n2026-05-02 10:00,dale,20\n",
			want: "05-02T10:00 d 20 @0:2.2\nnote farm=hill/L2.csv: its folder says farm=hill, and its column \"farm\" holds dale: the column holds…\n"},
		{name: "the file's column agrees", file: "logger=L2/farm=hill/x.csv", text: "time,logger,farm,s1\n2026-05-02 10:00,L2,hill,20\n", want: "05-02T10:00 d 20 @0:2.3\n"},
		{name: "Parquet, a column a port", file: "logger=L1/part-0.parquet", text: string(pack(t, []ports{{us, 1500}})), want: "05-02T10:00 a 1500 @0:1.1\n"},
		{name: "Parquet, a reading a row", file: "unit=kohm/probe=a/part-0.parquet", text: string(pack(t, []row{{us, 1.5}, {us + 6e8, 1.25}})),
			want: "05-02T10:00 a 1500 @0:1.1\n05-02T10:10 a 1250 @0:2.1\n"},
		{name: "Parquet, a probe that the register lacks", file: "probe=z/part-0.parquet", text: string(pack(t, []row{{us, 1.5}})),
			want: "reject 0:1-1 \"probe\" \"z\" x1: the register has no probe of this name…\nnote…\n"},
		{name: "no key", file: "a=b=c/=x/L2.csv", text: "time,s1\n2026-05-02 10:00,20\n", want: "05-02T10:00 d 20 @0:2.1\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			write(t, dir, c.file, []byte(c.text))
			c.source.Path = "**/*"
			res := files(t, resolved(t, dir, "UTC", c.source), reg)
			if !strings.Contains(res.Files[0].Layout, c.layout) {
				t.Errorf("layout %q, want %q in it", res.Files[0].Layout, c.layout)
			}
			matches(t, c.want, dump(reg, res))
		})
	}
}
