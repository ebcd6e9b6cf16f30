package read_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"golang.org/x/text/encoding/charmap"

	"probeward/schemas"
)

// More ways of writing the same readings: stamps, cells and files as spreadsheets,
// browsers, interrupted downloads and dying batteries leave them.

var (
	sameDay  = at("UTC", "2026-05-13 02:00:00 +0000", "2026-05-13 03:00:00 +0000", "2026-05-13 10:00:00 +0000", "2026-05-13 11:00:00 +0000")
	midnight = at("UTC", "2026-05-12 23:50:00 +0000", "2026-05-13 00:00:00 +0000", "2026-05-13 12:00:00 +0000", "2026-05-13 12:10:00 +0000")
	west     = time.FixedZone("", -7*3600)
	india    = time.FixedZone("", 5*3600+1800)
)

// midnights writes the end of a day for the start of the next.
func midnights(_ int, stamp, a, b string) []string {
	return []string{strings.Replace(stamp, "2026-05-13 00:00", "2026-05-12 24:00", 1), a, b}
}

// dayNumbers writes stamps as a spreadsheet counts them.
func dayNumbers(format string, zone *time.Location) func(int, string, string, string) []string {
	return func(i int, _, a, b string) []string {
		wall, _ := time.ParseInLocation(time.DateTime, stamps[i].In(zone).Format(time.DateTime), time.UTC)
		return []string{fmt.Sprintf(format, 25569+float64(wall.Unix())/86400), a, b}
	}
}

// wordFor writes a word in place of the one empty cell.
func wordFor(word string) string {
	return strings.Replace(pen{}.write(), "10:10:00,,", "10:10:00,"+word+",", 1)
}

func (p pen) commas() string {
	return strings.ReplaceAll(p.write(), ".", ",")
}

func stampDialects() []dialect {
	tokyo := "Asia/Tokyo"
	all := []dialect{
		{name: "sorted as text, ten before two", at: sameDay, text: pen{layout: "1/2/2006 15:04", at: sameDay, order: []int{2, 3, 0, 1}}.write()},
		{name: "24:00", at: midnight, text: pen{at: midnight, row: midnights}.write()},
		{name: "24:00, no seconds", at: midnight, text: pen{layout: "2006-01-02 15:04", at: midnight, row: midnights}.write()},
		{name: "24:00, day and hour apart", at: midnight, text: pen{layout: "2006-01-02 15:04", at: midnight, head: "date,time,s1,s2", row: func(i int, s, a, b string) []string {
			cells := midnights(i, s, a, b)
			return []string{cells[0][:10], cells[0][11:], a, b}
		}}.write(), says: `stamps from columns "date" and "time"`},
		{name: "noon and midnight of twelve hours", at: midnight, text: pen{layout: "1/2/2006 3:04 PM", at: midnight}.write()},
		{name: "fractions behind a comma", at: second, text: pen{sep: ";", layout: "2006-01-02 15:04:05.000", at: second, number: comma}.commas()},
		{name: "microseconds since 1970", zone: tokyo, text: epochs(1_000_000)},
		{name: "seconds since 1970, with a fraction", zone: tokyo, text: strings.ReplaceAll(epochs(1), ",12.5", ".000,12.5")},
		{name: "day numbers", text: pen{row: dayNumbers("%.7f", time.UTC)}.write(), says: "times as day_number (guessed)"},
		{name: "day numbers, as long as they come", text: pen{row: dayNumbers("%v", time.UTC)}.write()},
		{name: "day numbers, to the minute", text: pen{row: dayNumbers("%.4f", time.UTC)}.write()},
		{name: "day numbers, decimal commas", text: pen{sep: ";", row: dayNumbers("%.6f", time.UTC)}.commas()},
		{name: "day numbers, local time", zone: "America/Los_Angeles", text: pen{row: dayNumbers("%.9f", pacific)}.write()},
		{name: "a blank that does not break", text: strings.ReplaceAll(pen{}.write(), "2026-05-02 ", "2026-05-02\u00a0")},
		{name: "a narrow blank before AM and PM", text: strings.NewReplacer(" AM", "\u202fAM", " PM", "\u202fPM").Replace(pen{sep: "\t", layout: "1/2/2006 3:04:05 PM"}.write())},
		{name: "a.m. and p.m.", text: strings.NewReplacer("AM", "a.m.", "PM", "p.m.").Replace(pen{layout: "2/1/2006 3:04 PM"}.write())},
		{name: "hours padded with a blank", text: strings.ReplaceAll(pen{layout: "2006-01-02 15:04"}.write(), "2026-05-02 1", "2026-05-02  1")},
		{name: "the doubled hour, day and hour apart", zone: "America/Los_Angeles", at: twice, text: pen{zone: pacific, at: twice, head: "date,time,s1,s2", layout: "2006-01-02,15:04"}.write()},
		{name: "the doubled hour, rows sent again", zone: "America/Los_Angeles", at: twice, text: func() string {
			text := pen{zone: pacific, at: twice}.write()
			return text + strings.SplitAfter(text, "\n")[4]
		}()},
		{name: "the offset in the name, day and hour apart", zone: tokyo, text: pen{head: "Date,Time (UTC-7),s1,s2", layout: "2006-01-02,15:04", zone: west}.write(), says: "stamps at UTC-7"},
		{name: "day and hour apart, under other names", zone: "America/Los_Angeles", text: pen{head: "Date,Local clock (PDT),s1,s2", layout: "1/2/2006,3:04 PM", zone: pacific}.write(), says: `stamps from columns "Date" and "Local clock (PDT)"`},
		{name: "the offset in the name of a configured column", zone: tokyo, text: pen{head: "Logged [UTC-07:00],s1,s2", zone: west}.write(),
			source: schemas.Source{Columns: map[string]string{"time": "Logged [UTC-07:00]"}}, says: "stamps at UTC-7"},
		{name: "the offset in the name and another in the stamps, which holds", zone: tokyo, text: pen{head: "time (UTC),s1,s2", layout: time.RFC3339, zone: west}.write()},
		{name: "the offset in the name of the device's clock", zone: tokyo, text: pen{head: "received_at,s1,s2,device_time (UTC)", row: func(_ int, s, a, b string) []string { return []string{"2026-05-20 00:00:00", a, b, s} }}.write(), says: "stamps at UTC,"},
	}
	for _, n := range []struct {
		name string
		zone *time.Location
		says string
	}{
		{"Time (GMT-07:00)", west, "stamps at UTC-7"}, {"time [UTC-7]", west, "stamps at UTC-7"}, {`"Date Time, GMT-07:00"`, west, "stamps at UTC-7"},
		{"Timestamp UTC-0700", west, "stamps at UTC-7"}, {"Date/Time (GMT+05:30)", india, "stamps at UTC+5:30"}, {"time (-07:00)", west, "stamps at UTC-7"},
		{"timestamp_utc", time.UTC, "stamps at UTC,"}, {"UTC time", time.UTC, "stamps at UTC,"}, {"Time (UTC)", time.UTC, "stamps at UTC,"},
		{"\"Date Time,\u00a0GMT\u221207:00\"", west, "stamps at UTC-7"},
	} {
		all = append(all, dialect{name: "the offset in the name: " + n.name, zone: tokyo, says: n.says,
			text: n.name + ",s1,s2\n" + pen{head: "none", zone: n.zone}.write()})
	}
	return all
}

func cellDialects() []dialect {
	plain := pen{}.write()
	lines := strings.SplitAfter(plain, "\n")
	zeros := strings.Repeat("\x00", 600)
	long := strings.Repeat("lorem ", 350_000) // 2.1 MB
	negative := strings.Replace(wired, "kPa,", "kPa,-1", 1)
	minus := func(sign string) func(int, string, string, string) []string {
		return func(_ int, s, a, b string) []string {
			if a != "" && a != "7999" {
				a = sign + a
			}
			return []string{s, a, b}
		}
	}
	quote := func(_ int, s, a, b string) []string {
		return []string{quoted(s) + " ", quoted(a) + "\t", quoted(b) + "  "}
	}
	all := []dialect{
		{name: "blanks behind quotes", text: pen{row: quote}.write()},
		{name: "blanks behind quotes, semicolons, carriage returns", text: pen{sep: ";", end: "\r\n", row: quote}.write()},
		{name: "a quote within an unquoted field", text: pen{head: "time,s1,s2,note", row: beside(`a 5" pipe`)}.write()},
		{name: "blanks that do not break, around", text: pen{number: func(s string) string { return "\u00a0" + s + "\u202f" }}.write()},
		{name: "blanks that do not break, decimal comma", text: pen{sep: ";", number: func(s string) string { return "\u00a0" + comma(s) }}.write()},
		{name: "a blank that does not break before the unit", text: pen{sep: ";", row: func(_ int, s, a, b string) []string {
			if a != "" && a != "7999" {
				a = comma(a) + "\u00a0kPa"
			}
			return []string{s, a, comma(scaled(b, 100)) + "\u202f%"}
		}}.write()},
		{name: "blanks that do not break, Windows-1252", text: encoded(charmap.Windows1252.NewEncoder(), pen{number: behind("\u00a0")}.write())},
		{name: "blanks that do not break in the header", text: "\u00a0time,s1\u00a0[kPa],s2\u00a0[m3/m3]\n" + pen{head: "none"}.write(), says: `"s1 [kPa]" for "s1" (guessed)`},
		{name: "a minus of its own", text: pen{row: minus("\u2212")}.write(), register: negative},
		{name: "a dash for a minus, Windows-1252", text: encoded(charmap.Windows1252.NewEncoder(), pen{row: minus("\u2013")}.write()), register: negative},
		{name: "columns named with units, unconfigured", text: pen{head: "time,s1 (kPa),s2 (m³/m³)"}.write(), says: "ports from the beginnings"},

		{name: "zeros before a row", text: lines[0] + lines[1] + zeros + lines[2] + lines[3] + lines[4]},
		{name: "a line of zeros", text: lines[0] + lines[1] + zeros + "\n" + lines[2] + lines[3] + lines[4]},
		{name: "zeros at the end", text: plain + strings.Repeat("\x00", 100_000)},
		{name: "zeros at the start", text: strings.Repeat("\x00", 70_000) + "\n" + plain},
		{name: "a field of two megabytes", text: lines[0] + lines[1] + strings.TrimSuffix(lines[2], "\n") + "\n# " + long + "\n" + lines[3] + lines[4]},
		{name: "a note of two megabytes", text: pen{head: "time,s1,s2,note", row: func(i int, s, a, b string) []string {
			return []string{s, a, b, []string{"", long, quoted(long), ""}[i]}
		}}.write()},
		{name: "two kinds of line ends", text: lines[0] + strings.Replace(lines[1]+lines[2], "\n", "\r\n", 1) + lines[3] + lines[4]},
		{name: "carriage returns doubled", text: pen{end: "\r\r\n"}.write()},
		{name: "byte order marks of joined downloads", text: "\ufeff" + lines[0] + lines[1] + lines[2] + "\ufeff" + lines[0] + lines[3] + lines[4], says: "the header again 1 times"},
		{name: "a byte order mark twice", text: "\ufeff\ufeff" + plain},
		{name: "a quoted header that comes again unquoted", text: `"time","s1","s2"` + "\n" + lines[1] + lines[2] + lines[0] + lines[3] + lines[4], says: "the header again 1 times"},
		{name: "a key before the header that says time", text: "Time,2026-05-02 10:00\nTime zone;UTC+2\n" + plain},

		{name: "gzip of several members", file: "L1.csv.gz", text: packed("gz", nil, lines[0]+lines[1]+lines[2][:9]) + packed("gz", nil, lines[2][9:]+lines[3]+lines[4])},
		{name: "zstd of several frames", file: "L1.csv.zst", text: packed("zst", nil, lines[0]+lines[1]) + packed("zst", nil, lines[2]+lines[3]+lines[4])},
		{name: "UTF-16 within gzip", file: "L1.txt.gz", text: packed("gz", nil, encoded(utf16LE.NewEncoder(), plain))},
		{name: "zip of folders within folders", file: "farm.zip", text: packed("zip", []string{"a/b/c/", "a/b/c/L1_1.csv", "a/L1_2.txt", "a/photo.jpg"}, "", lines[0]+lines[1]+lines[2], lines[0]+lines[3]+lines[4], "\xff\xd8")},
		{name: "gzip within zip", file: "farm.zip", text: packed("zip", []string{"L1_1.csv.gz", "L1_2.csv"}, packed("gz", nil, lines[0]+lines[1]+lines[2]), lines[0]+lines[3]+lines[4])},
		{name: "one gzip within zip", file: "L1.zip", text: packed("zip", []string{"x/export.csv.gz"}, packed("gz", nil, plain))},
	}
	for _, word := range []string{"NaN", "nan", "NAN", "NA", "N/A", "n/a", "#N/A", "NULL", "null", "Null", "None", "NONE", "-", "--", "---", "***", "******", "?", "\u2014", "\u00a0", `""`, `"NaN"`, "No Data"} {
		all = append(all, dialect{name: fmt.Sprintf("%q for no value", word), text: wordFor(word)})
	}
	return all
}

// The other clock's column may state an offset of its own: the two are compared as
// instants.
func TestOffsetOfTheOtherClock(t *testing.T) {
	var b strings.Builder
	b.WriteString("received (UTC),s1,sent (GMT-07:00)\n")
	for i := range 20 {
		at := stampOf(i)
		fmt.Fprintf(&b, "%s,20,%s\n", at.Format(time.DateTime), at.In(west).Format(time.DateTime))
	}
	dir := t.TempDir()
	write(t, dir, "L2.csv", []byte(b.String()))
	res := files(t, resolved(t, dir, "Asia/Tokyo", schemas.Source{Path: "*", Columns: map[string]string{"time": "received (UTC)", "device_time": "sent (GMT-07:00)"}}), openFarm(t))
	if len(res.Stamps) != 1 || len(res.Stamps[0].Lags) != 1 || res.Stamps[0].Lags[0].Shift != 0 || res.Stamps[0].Lags[0].Rows != 20 {
		t.Errorf("%+v", res.Stamps)
	}
}
