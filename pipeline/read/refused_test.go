package read_test

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"probeward/pipeline/config"
	"probeward/pipeline/register"
	"probeward/schemas"
)

// What could be read in two ways is refused, with the line of scan.yaml that settles
// it; that line settles it.
func TestRefused(t *testing.T) {
	early := at("UTC", "2026-05-02 10:00:00 +0000", "2026-05-02 10:10:00 +0000", "2026-05-02 10:20:00 +0000", "2026-05-03 13:20:00 +0000")
	for _, c := range []struct {
		dialect
		want []string // in the file's error, the notes or the rejects
		yaml string   // of the entry of readings, that settles it; empty: nothing in the configuration does
	}{
		{dialect{name: "day and month", text: pen{layout: "02/01/2006 15:04", at: early}.write(), at: early},
			[]string{`"02/05/2026 10:00", which is 5 February 2026 or 2 May 2026`, `time_format: "1/2/2006 15:04"`, `time_format: "2/1/2006 15:04"`}, `time_format: "2/1/2006 15:04"`},
		{dialect{name: "day and month, both orders", text: "time,s1,s2\n13/05/2026 10:00,1,2\n05/13/2026 10:00,1,2\n"},
			[]string{"some stamps can only be read as month first and some only as day first"}, ""},
		{dialect{name: "decimal comma or thousands", text: "time;s1;s2\n2026-05-02 10:00;12,500;\n2026-05-02 10:10;11,250;\n"},
			[]string{`"12,500" can be 12.5, with a decimal comma, or 12500, with thousands apart`, "decimal: comma"}, ""},
		{dialect{name: "thousands, decimal points", text: "time;s1;s2\n2026-05-02 10:00;1,234.5;0.25\n2026-05-02 10:10;1 234;0.25\n2026-05-02 10:10;1'234.5;0.25\n"},
			[]string{"thousands apart, which is not read", "export numbers without them"}, ""},
		{dialect{name: "thousands, decimal commas", text: "time;s1;s2\n2026-05-02 10:00;1.234,5;0,25\n"},
			[]string{"thousands apart, which is not read"}, ""},
		{dialect{name: "a decimal comma among points", text: "time;s1;s2\n2026-05-02 10:00;12,5;0.25\n"},
			[]string{"a decimal comma among decimal points", "decimal: comma"}, ""},
		{dialect{name: "two columns for a port", text: pen{head: "time,s1 first,s2,s1 later", row: func(_ int, s, a, b string) []string { return []string{s, a, b, "77"} }}.write(), source: schemas.Source{Ports: []string{`^(s\d)`}}},
			[]string{`columns "s1 first", "s1 later" all give port "s1"`, "write ignore:"}, `{ports: ['^(s\d)'], ignore: [s1 later]}`},
		{dialect{name: "another table within", text: "time,s1,s2\n2026-05-02 10:00,1,0.2\ntime,s2,s1\n2026-05-02 10:10,0.2,1\n"},
			[]string{"line 3: a header with other columns than on line 1"}, ""},
		{dialect{name: "another quantity behind the number", text: "time,s1,s2\n2026-05-02 10:00,12 ohm,0.2\n"},
			[]string{`unit "ohm" is not a multiple of "kPa"`}, ""},
		{dialect{name: "a format of its own", text: pen{layout: "Week Mon 15h04 02.01.06"}.write()},
			[]string{"no usual time format reads stamps like", "write time_format as the reference time"}, `time_format: "Week Mon 15h04 02.01.06"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, res := c.read(t)
			var all []string
			all = append(all, res.Notes...)
			for _, r := range res.Rejects {
				all = append(all, r.Why)
			}
			for _, want := range c.want {
				if !strings.Contains(strings.Join(all, "\n"), want) {
					t.Errorf("%q lacks %q", all, want)
				}
			}
			if c.yaml == "" {
				return
			}
			dir := t.TempDir()
			entry := strings.Trim(c.yaml, "{}")
			write(t, dir, "L1.csv", []byte(c.text))
			write(t, dir, "scan.yaml", []byte("timezone: UTC\nreadings: [{path: L1.csv, fault_codes: {7999: open_circuit}, "+entry+"}]\n"))
			conf, err := config.Open(dir, "", nil)
			if err != nil {
				t.Fatal(err)
			}
			reg, err := register.Load(write(t, t.TempDir(), "probes.csv", []byte(wired)), "", time.UTC)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(expected(c.at), canonical(reg, files(t, conf, reg))); diff != "" {
				t.Errorf("settled by %s (-want +got)\n%s", c.yaml, diff)
			}
		})
	}
}

// The key for the decimal mark settles what the numbers cannot.
func TestDecimalKey(t *testing.T) {
	for _, c := range []struct{ key, want string }{{"comma", "12.5"}, {"point", ""}} {
		dir := t.TempDir()
		write(t, dir, "L1.csv", []byte("time;s1\n2026-05-02 10:00;12,500\n"))
		write(t, dir, "scan.yaml", []byte("timezone: UTC\nreadings: [{path: L1.csv, decimal: "+c.key+"}]\n"))
		conf, err := config.Open(dir, "", nil)
		if err != nil {
			t.Fatal(err)
		}
		reg, err := register.Load(write(t, t.TempDir(), "probes.csv", []byte(wired)), "", time.UTC)
		if err != nil {
			t.Fatal(err)
		}
		res := files(t, conf, reg)
		got := strings.Join(canonical(reg, res), "\n")
		if c.want != "" && got != "2026-05-02T10:00:00Z a "+c.want+" 0" {
			t.Errorf("decimal: %s gives %q", c.key, got)
		}
		if c.want == "" && (got != "" || len(res.Rejects) != 1 || !strings.Contains(res.Rejects[0].Why, "thousands apart")) {
			t.Errorf("decimal: %s gives %q and %+v", c.key, got, res.Rejects)
		}
	}
}
