package read_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/text/encoding/charmap"

	"probeward/schemas"
)

// beside adds cells to each row.
func beside(cells ...string) func(int, string, string, string) []string {
	return func(_ int, stamp, a, b string) []string { return append([]string{stamp, a, b}, cells...) }
}

func dialects() []dialect {
	plain := pen{}.write()
	lines := strings.SplitAfter(plain, "\n")
	half := func(i int) string { return lines[0] + lines[1+2*i] + lines[2+2*i] }
	return []dialect{
		// Separators and marks.
		{name: "comma", text: plain, says: "comma-separated"},
		{name: "semicolon", text: pen{sep: ";"}.write(), says: "semicolon-separated"},
		{name: "tab", text: pen{sep: "\t"}.write(), says: "tab-separated"},
		{name: "bar", text: pen{sep: "|"}.write(), says: "bar-separated"},
		{name: "long", text: pen{}.long(), file: "x.csv", says: "long"},
		{name: "long, semicolons and decimal commas", text: pen{sep: ";", number: comma}.long(), file: "x.csv", says: "decimal comma (guessed)"},
		{name: "decimal comma, semicolons", text: pen{sep: ";", number: comma}.write(), says: "decimal comma (guessed)"},
		{name: "decimal comma, tabs", text: pen{sep: "\t", number: comma}.write(), says: "decimal comma (guessed)"},
		{name: "decimal comma in quotes, commas", text: pen{number: func(s string) string { return quoted(comma(s)) }}.write(), says: "decimal comma (guessed)"},
		{name: "a separator named on the first line", text: "sep=;\n" + pen{sep: ";"}.write(), says: "header on line 2"},

		// Quotes.
		{name: "all quoted", text: pen{head: `"time","s1","s2"`, row: func(_ int, s, a, b string) []string { return []string{quoted(s), quoted(a), quoted(b)} }}.write()},
		{name: "blanks before quotes", text: pen{row: func(_ int, s, a, b string) []string { return []string{quoted(s), " " + quoted(a), " " + quoted(b)} }}.write()},
		{name: "blanks within quotes", text: pen{number: func(s string) string { return quoted("  " + s + " ") }}.write()},
		{name: "a separator in a quoted field", text: pen{head: "time,s1,s2,note", row: beside(`"post 3, north"`)}.write()},
		{name: "a line break in a quoted field", text: pen{head: "time,s1,s2,note", row: beside("\"post 3\nnorth\"")}.write()},
		{name: "doubled quotes in a field", text: pen{head: "time,s1,s2,note", row: beside(`"the ""dry"" one"`)}.write()},
		{name: "a separator in the header's quotes", text: "\"Date Time, local\",s1,s2\n" + pen{head: "none"}.write(), source: schemas.Source{Columns: map[string]string{"time": "Date Time, local"}}},

		// Encodings.
		{name: "byte order mark", text: "\xef\xbb\xbf" + plain},
		{name: "UTF-16, little end first", text: encoded(utf16LE.NewEncoder(), plain)},
		{name: "UTF-16, big end first", text: encoded(utf16BE.NewEncoder(), plain)},
		{name: "UTF-16, little end first, without its mark", text: encoded(bareLE.NewEncoder(), plain)},
		{name: "UTF-16, big end first, without its mark", text: encoded(bareBE.NewEncoder(), plain)},
		{name: "UTF-16, carriage returns", text: encoded(utf16LE.NewEncoder(), pen{end: "\r"}.write())},
		{name: "Windows-1252", text: encoded(charmap.Windows1252.NewEncoder(), pen{head: "time,s1 [kPa],s2 [m³/m³]"}.write()),
			source: schemas.Source{Ports: []string{`^(s1) `, `^(s2) \[m³/m³\]`}}},
		{name: "UTF-8 header", text: pen{head: "time,s1 [kPa],s2 [m³/m³]"}.write(), source: schemas.Source{Ports: []string{`^(s1) `, `^(s2) \[m³/m³\]`}}},

		// Line ends and rows that are none.
		{name: "carriage return and line feed", text: pen{end: "\r\n"}.write()},
		{name: "carriage returns alone", text: pen{end: "\r"}.write()},
		{name: "no line end at the end", text: strings.TrimSuffix(plain, "\n")},
		{name: "trailing separators", text: pen{head: "time,s1,s2,", row: beside("")}.write()},
		{name: "trailing separators in the rows alone", text: pen{row: beside("", "")}.write()},
		{name: "trailing separator in the header alone", text: strings.TrimSuffix(pen{head: "time,s1,s2,"}.write(), "\n")},
		{name: "empty lines", text: "\n\n" + strings.ReplaceAll(plain, "\n", "\n\n")},
		{name: "lines of separators alone", text: plain + ",,\n , ,\n"},
		{name: "comments", text: "# station 7, firmware 2\n" + lines[0] + "# calibrated\n" + lines[1] + "#2026-05-02 10:05:00,1,2\n" + lines[2] + lines[3] + lines[4] + "# end, of file\n", says: "3 comment lines"},
		{name: "a header behind a comment's mark", text: "# " + plain},
		{name: "preamble", text: "Station,North\nSerial,0042\nDate,2026-05-14 09:00\nTime,9:00\n\n" + plain, says: "header on line 6"},
		{name: "units below the header", text: lines[0] + "UTC,kPa,m3/m3\n" + strings.Join(lines[1:], "")},
		{name: "two rows of words below the header", text: lines[0] + "TS,kPa,m3/m3\n,Smp,Avg\n" + strings.Join(lines[1:], "")},
		{name: "downloads joined", text: half(0) + half(1), says: "the header again 1 times"},
		{name: "downloads joined, with preamble and units", text: "Station,North\n" + lines[0] + "UTC,kPa,m3/m3\n" + lines[1] + lines[2] + "Station,North\n" + lines[0] + "UTC,kPa,m3/m3\n" + lines[3] + lines[4], says: "the header again 1 times"},
		{name: "downloads joined, the header in comments", text: "# time,s1,s2\n" + lines[1] + lines[2] + "# time,s1,s2\n" + lines[3] + lines[4], says: "the header again 1 times"},
		{name: "no header", text: pen{head: "none", row: func(i int, s, a, b string) []string { return []string{fmt.Sprint(i), s, a, b} }}.write(), source: schemas.Source{Names: []string{"record", "time", "s1", "s2"}}},

		// Packed.
		{name: "gzip", file: "L1.csv.gz", text: packed("gz", nil, plain)},
		{name: "zstd", file: "L1.csv.zst", text: packed("zst", nil, plain)},
		{name: "zip of one table", file: "L1.zip", text: packed("zip", []string{"readme.md", "export.csv"}, "", plain)},
		{name: "zip of several tables", file: "week.zip", text: packed("zip", []string{"L1_a.csv", "__MACOSX/._L1_a.csv", "sub/L1_b.csv"}, half(0), "\x00\x05", half(1)), says: "logger L1"},

		// Columns.
		{name: "value, temperature and state of each port", text: pen{head: "time,s1 kPa,s2 m3/m3,s1 degC,s1 status,s2 degC,s2 status", row: beside("18.5", "0", "18.25", "0")}.write(),
			source: schemas.Source{Ports: []string{`^(s\d) `}}, says: "ignored s1 degC"},
		{name: "temperature and state of each port, without units", text: pen{head: "time,s1_moisture,s2_moisture,s1_temp,s2_temp,s1_status", row: beside("18.5", "18.25", "OK")}.write(),
			source: schemas.Source{Ports: []string{`^(s\d)_`}}, says: "ignored s1_temp"},
		{name: "a port's own name among others", text: pen{head: "time,s1,s2,s1_raw,s2_raw", row: beside("2210", "0.7")}.write(),
			source: schemas.Source{Ports: []string{`^(s\d)`}}, says: "ignored s1_raw"},
		{name: "gateway's and device's stamps", text: pen{head: "received_at,s1,s2,device_time", row: func(i int, s, a, b string) []string { return []string{"2026-05-20 00:00:00", a, b, s} }}.write(), says: `stamps from column "device_time" (guessed; "received_at" left`},
		{name: "gateway's and device's stamps, one configured", text: pen{head: "received_at,s1,s2,device_time", row: func(i int, s, a, b string) []string { return []string{s, a, b, "2026-05-20 00:00:00"} }}.write(),
			source: schemas.Source{Columns: map[string]string{"time": "received_at"}}},
		{name: "day and hour in a column each", text: pen{head: "date,time,s1,s2", row: func(_ int, s, a, b string) []string { return []string{s[:10], s[11:], a, b} }}.write(), says: `stamps from columns "date" and "time"`},
		{name: "day and hour apart, with AM and PM", text: pen{layout: "01/02/2006,3:04 PM", head: "Date,Time,s1,s2"}.write(), says: `stamps from columns "Date" and "Time"`},
		{name: "columns named as the probes", file: "x.csv", text: pen{head: "time,a,b"}.write()},
		{name: "names in other letters, with blanks", text: pen{head: "TIME , S1, S2 "}.write()},
		{name: "the logger in a column", file: "x.csv", text: pen{head: "time,s1,s2,logger", row: beside("L1")}.write(), says: "logger from column"},

		// Stamps.
		{name: "sorted as text", text: pen{layout: "1/2/2006 15:04", order: []int{3, 0, 1, 2}}.write()},
		{name: "month first", text: pen{layout: "01/02/2006 15:04"}.write(), says: "times as 1/2/2006 15:04 (guessed)"},
		{name: "day first", text: pen{layout: "02/01/2006 15:04"}.write(), says: "times as 2/1/2006 15:04 (guessed)"},
		{name: "day first, points", text: pen{layout: "02.01.2006 15:04:05"}.write()},
		{name: "day first, hyphens", text: pen{layout: "2-1-2006 15:04"}.write()},
		{name: "two digits of the year", text: pen{layout: "1/2/06 15:04"}.write()},
		{name: "month in letters", text: pen{layout: "02-Jan-2006 15:04:05"}.write()},
		{name: "month in letters, first", text: pen{sep: ";", layout: "Jan 2, 2006 3:04 PM"}.write()},
		{name: "year first, slashes", text: pen{layout: "2006/01/02 15:04"}.write()},
		{name: "year first, points", text: pen{layout: "2006.01.02 15:04"}.write()},
		{name: "digits alone", text: pen{layout: "20060102150405"}.write()},
		{name: "digits alone, to the minute", text: pen{layout: "200601021504"}.write()},
		{name: "twelve hours", text: pen{layout: "2006-01-02 03:04:05 PM"}.write()},
		{name: "twelve hours, small letters", text: pen{layout: "2006-01-02 3:04 pm"}.write()},
		{name: "twelve hours, no blank", text: pen{layout: "1/2/2006 3:04PM"}.write()},
		{name: "RFC 3339", text: pen{layout: time.RFC3339}.write()},
		{name: "RFC 3339 with an offset", zone: "Asia/Tokyo", text: pen{layout: time.RFC3339, zone: pacific}.write()},
		{name: "RFC 3339 with fractions", at: second, text: pen{layout: "2006-01-02T15:04:05.000Z07:00", at: second}.write()},
		{name: "offset without a colon", zone: "Asia/Tokyo", text: pen{layout: "2006-01-02T15:04:05-0700", zone: pacific}.write()},
		{name: "offset after a blank", zone: "Asia/Tokyo", text: pen{layout: "2006-01-02 15:04:05 -07:00", zone: pacific}.write()},
		{name: "UTC in words", zone: "Asia/Tokyo", text: pen{layout: "2006-01-02 15:04:05 UTC"}.write()},
		{name: "local time", zone: "America/Los_Angeles", text: pen{zone: pacific}.write(), says: "in America/Los_Angeles"},
		{name: "seconds since 1970", zone: "Asia/Tokyo", text: epochs(1)},
		{name: "milliseconds since 1970", zone: "Asia/Tokyo", text: epochs(1000)},
		{name: "the doubled hour, by order", zone: "America/Los_Angeles", at: twice, text: pen{zone: pacific, at: twice}.write()},
		{name: "the hour left out", zone: "America/Los_Angeles", at: skipped, text: pen{zone: pacific, at: skipped}.write()},
		{name: "the hour left out, a clock of standard time", zone: "America/Los_Angeles", at: skipped, text: pen{zone: time.FixedZone("", -8*3600), at: skipped}.write(), says: "kept in standard time, UTC-8"},
		{name: "records sent again hours later", text: plain + lines[2] + lines[1]},
		{name: "a cadence that changes", text: pen{at: []time.Time{stamps[0], stamps[0].Add(time.Minute), stamps[0].Add(time.Hour), stamps[0].Add(30 * time.Hour)}}.write(),
			at: []time.Time{stamps[0], stamps[0].Add(time.Minute), stamps[0].Add(time.Hour), stamps[0].Add(30 * time.Hour)}},

		// The register.
		{name: "ports used again", text: pen{row: func(i int, s, a, b string) []string {
			if i == 3 { // the probes changed ports on 10 May
				return []string{s, b, a}
			}
			return []string{s, a, b}
		}}.write(), register: "probe,logger,port,kind,unit,valid_from,valid_to\na,L1,s1,tensiometer,kPa,,2026-05-10\na,L1,s2,tensiometer,kPa,2026-05-10,\nb,L1,s2,dielectric,m3/m3,,2026-05-10\nb,L1,s1,dielectric,m3/m3,2026-05-10,\n"},
		{name: "percent", text: pen{row: func(_ int, s, a, b string) []string { return []string{s, a, scaled(b, 100)} }}.write(), register: strings.Replace(wired, "m3/m3", "%", 1)},
		{name: "centibar", text: plain, register: strings.Replace(wired, "kPa", "cbar", 1)},
		{name: "negative potential", text: pen{row: func(_ int, s, a, b string) []string {
			if a != "" && a != "7999" {
				a = "-" + a
			}
			return []string{s, a, b}
		}}.write(), register: strings.Replace(wired, "kPa,", "kPa,-1", 1)},
		{name: "a scale and counts", text: pen{row: func(_ int, s, a, b string) []string {
			if a != "" && a != "7999" {
				a = scaled(a, 4)
			}
			return []string{s, a, b}
		}}.write(), register: strings.Replace(wired, "kPa,", "count,0.25", 1)},
		{name: "long, a unit in each row", file: "x.csv", text: units(), says: "long"},

		// Numbers.
		{name: "units behind the numbers", text: pen{row: func(_ int, s, a, b string) []string {
			if a != "" && a != "7999" {
				a += " kPa"
			}
			return []string{s, a, scaled(b, 100) + "%"}
		}}.write()},
		{name: "units behind the numbers, no blank, decimal comma", text: pen{sep: ";", number: comma, row: func(_ int, s, a, b string) []string {
			if a != "" && a != "7999" {
				a += "cbar"
			}
			return []string{s, a, b + " m3/m3"}
		}}.write()},
		{name: "long, units behind the numbers", file: "x.csv", text: strings.NewReplacer("12.5", "12.5 kPa", "40.25", "40.25cbar", "0.251", "25.1 %").Replace(pen{}.long())},
		{name: "plus signs", text: pen{number: func(s string) string { return "+" + s }}.write()},
		{name: "powers of ten", text: pen{number: func(s string) string { return scaled(s, 1000) + "e-3" }}.write()},
		{name: "powers of ten, capitals", text: pen{number: func(s string) string { return scaled(s, 0.1) + "E+01" }}.write()},
		{name: "blanks around", text: pen{number: func(s string) string { return "  " + s + " \t" }}.write()},
		{name: "more zeros than are needed", text: pen{number: behind("0")}.write()},
		{name: "words for no value", text: strings.Replace(plain, "10:10:00,,", "10:10:00,None,", 1)},
		{name: "a configured word for no value", text: strings.Replace(plain, "10:10:00,,", "10:10:00,-9999.0,", 1), source: schemas.Source{Missing: []string{"-9999"}}},
	}
}

func epochs(per int64) string {
	return pen{row: func(i int, _, a, b string) []string {
		return []string{fmt.Sprint(stamps[i].Unix() * per), a, b}
	}}.write()
}

func scaled(s string, by float64) string {
	var v float64
	if _, err := fmt.Sscan(s, &v); err != nil {
		panic(err)
	}
	return fmt.Sprintf("%.10g", v*by)
}

// units writes a reading a row with its unit, of which one is the register's in
// hundredths and one is another word for it.
func units() string {
	var b strings.Builder
	b.WriteString("time,probe,value,unit\n")
	for i, s := range said {
		stamp := stamps[i].Format(time.RFC3339)
		fmt.Fprintf(&b, "%s,a,%s,cbar\n%s,b,%s,%%\n", stamp, s.a, stamp, scaled(s.b, 100))
	}
	return b.String()
}

func TestDialects(t *testing.T) {
	all := slices.Concat(dialects(), stampDialects(), cellDialects())
	if len(all) < 170 {
		t.Fatalf("%d dialects", len(all))
	}
	t.Logf("%d dialects", len(all))
	for _, d := range all {
		t.Run(d.name, func(t *testing.T) {
			reg, res := d.read(t)
			if diff := cmp.Diff(expected(d.at), canonical(reg, res)); diff != "" {
				t.Errorf("(-want +got)\n%s", diff)
			}
			said := ""
			for _, f := range res.Files {
				said += f.Layout + "; ignored " + strings.Join(f.IgnoredColumns, ", ignored ")
				if f.Err != "" {
					t.Error(f.Err)
				}
			}
			for _, r := range res.Rejects {
				t.Errorf("rejected %q: %s", r.Text, r.Why)
			}
			if !strings.Contains(said, d.says) {
				t.Errorf("layout %q, want %q in it", said, d.says)
			}
			if t.Failed() {
				t.Logf("layout %s\nnotes %q\n%.400s", said, res.Notes, d.text)
			}
		})
	}
}
