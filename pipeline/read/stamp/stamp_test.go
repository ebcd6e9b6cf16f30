package stamp_test

import (
	"regexp"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"pgregory.net/rapid"

	"probeward/pipeline/read/stamp"
)

var layouts = []string{
	"2006-01-02 15:04:05", "2006-01-02T15:04:05Z07:00", "2006/01/02 15:04", "01/02/06 03:04 PM",
	"1/2/2006 15:04", "02.01.2006 15:04:05", "2006-01-02", "Jan 2 2006 15:04", "2006-01-02 15:04:05.000", "02-Jan-06 15:04",
}

// beyond is what Parse reads and time.Parse does not: the end of the day, and blanks
// or dots where tidy takes them out.
var beyond = regexp.MustCompile("24:00|  |[mM]\\.|[^\x00-\x7f]")

// The law: Parse answers as time.Parse does, whatever the text.
func same(t interface{ Fatalf(string, ...any) }, layout, text string) {
	f, err := stamp.Compile(layout)
	if err != nil {
		t.Fatalf("Compile(%q): %v", layout, err)
	}
	got, _, ok := f.Parse([]byte(text))
	want, err := time.Parse(layout, text)
	if strings.ContainsRune(text, 0) || len(text) > 64 {
		return // never a stamp here
	}
	if ok && err != nil && beyond.MatchString(text) {
		return
	}
	if ok != (err == nil) || ok && got != want.UnixMicro() {
		t.Fatalf("%q as %q: %v, %v; time.Parse %v, %v", text, layout, got, ok, want, err)
	}
}

func TestParseAgreesWithTimeParse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		layout := rapid.SampledFrom(layouts).Draw(t, "layout")
		at := time.Unix(rapid.Int64Range(-2_000_000_000, 5_000_000_000).Draw(t, "unix"), 0).UTC()
		text := []byte(at.Format(layout))
		for range rapid.IntRange(0, 2).Draw(t, "damages") {
			i := rapid.IntRange(0, len(text)-1).Draw(t, "place")
			text[i] = rapid.SampledFrom([]byte("0123456789 :/-.,TZPAM")).Draw(t, "byte")
		}
		same(t, layout, string(text))
	})
}

func FuzzParse(f *testing.F) {
	for i, l := range layouts {
		f.Add(i, time.Date(2026, 2, 28, 12, 30, 0, 0, time.UTC).Format(l))
	}
	f.Add(0, "2026-02-29 00:00:00")
	f.Add(3, "12/31/99 12:00 AM")
	f.Fuzz(func(t *testing.T, i int, s string) { same(t, layouts[uint(i)%uint(len(layouts))], s) })
}

func TestCompileRefuses(t *testing.T) {
	for layout, word := range map[string]string{
		"15:04":                "names no day",
		"YYYY-MM-DD HH:mm":     "names no day",
		"2006-01-02 15:04 MST": "abbreviation",
	} {
		if _, err := stamp.Compile(layout); err == nil || !strings.Contains(err.Error(), word) {
			t.Errorf("Compile(%q) = %v, want an error with %q", layout, err, word)
		}
	}
}

func TestEpoch(t *testing.T) {
	want := time.Date(2026, 5, 20, 10, 0, 0, 0, time.UTC).UnixMicro()
	for _, c := range []struct {
		layout, text string
		ok           bool
		add          int64
	}{
		{"epoch", "1779271200", true, 0},
		{"epoch", "1779271200.25", true, 250_000},
		{"epoch_ms", "1779271200000", true, 0},
		{"epoch_us", "1779271200000000", true, 0},
		{"epoch", "1779271200000", false, 0},
		{"epoch", "17792712x0", false, 0},
		{"epoch", "12", false, 0},
	} {
		f, err := stamp.Compile(c.layout)
		if err != nil {
			t.Fatal(err)
		}
		got, zoned, ok := f.Parse([]byte(c.text))
		if ok != c.ok || ok && (got != want+c.add || !zoned) {
			t.Errorf("%s %q = %d, %v, %v; want %d", c.layout, c.text, got, zoned, ok, want+c.add)
		}
	}
}

// What no layout of package time reads.
func TestBeyond(t *testing.T) {
	for _, c := range []struct{ layout, text, want string }{
		{"2006-01-02 15:04:05", "2026-02-28 24:00:00", "2026-03-01 00:00:00"},
		{"2006-01-02 15:04", "2026-12-31 24:00", "2027-01-01 00:00:00"},
		{"2006-01-02 15:04:05", "2026-02-28 24:00:01", ""},
		{"2006-01-02 15:04", "2026-02-28 24:30", ""},
		{"2006-01-02 15:04", "2026-02-28 25:00", ""},
		{"2006-01-02 3:04 PM", "2026-02-28 24:00 AM", ""},
		{"2006-01-02 15:04", "2026-05-02\u00a010:00", "2026-05-02 10:00:00"},
		{"2006-01-02 15:04", "2026-05-02\xa010:00", "2026-05-02 10:00:00"},
		{"2006-01-02 15:04", "\u200e2026-05-02   10:00\u00a0", "2026-05-02 10:00:00"},
		{"1/2/2006, 3:04 PM", "5/2/2026, 10:00\u202fAM", "2026-05-02 10:00:00"},
		{"1/2/2006 3:04 PM", "5/2/2026 1:00 p.m.", "2026-05-02 13:00:00"},
		{"1/2/2006 3:04 PM", "5/2/2026 1:00 P. M.", "2026-05-02 13:00:00"},
		// 46144 is 2026-05-02, by a spreadsheet's own count: 45658 is 2025-01-01, and 486 days follow.
		{"day_number", "46144", "2026-05-02 00:00:00"},
		{"day_number", "46144.5", "2026-05-02 12:00:00"},
		{"day_number", "46144,4166667", "2026-05-02 10:00:00"},
		{"day_number", "46144.4166666667", "2026-05-02 10:00:00"},
		{"day_number", "46144.416666666664", "2026-05-02 10:00:00"},
		{"day_number", "46144.4167", "2026-05-02 10:00:00"},
		{"day_number", "46144.416678241", "2026-05-02 10:00:01"},
		{"day_number", "46144.41668", "2026-05-02 10:00:01"},
		{"day_number", "46144.9999999", "2026-05-02 23:59:59.99136"},
		{"day_number", "46144.4169", ""}, // 10:00:20, give or take four seconds
		{"day_number", "46144.417", ""},  // any of two minutes
		{"day_number", "36525.5", ""},
		{"day_number", "73051", ""},
		{"day_number", "46144.5.5", ""},
		{"day_number", "4614", ""},
	} {
		f, err := stamp.Compile(c.layout)
		if err != nil {
			t.Fatal(err)
		}
		got := ""
		if at, zoned, ok := f.Parse([]byte(c.text)); ok {
			if got = time.UnixMicro(at).UTC().Format("2006-01-02 15:04:05.999999"); zoned {
				got += " zoned"
			}
		}
		if got != c.want {
			t.Errorf("%q as %s is %q, want %q", c.text, c.layout, got, c.want)
		}
	}
}

// Day numbers of whole days alone could count anything.
func TestGuessDayNumbers(t *testing.T) {
	g := stamp.NewGuess()
	g.Add([]byte("46144"))
	g.Add([]byte("46145"))
	if _, err := g.Format(); err == nil || !strings.Contains(err.Error(), "time_format: day_number") {
		t.Errorf("whole days: %v", err)
	}
	g.Add([]byte("46145.25"))
	if f, err := g.Format(); err != nil || f.Used() != "day_number" || f.Zoned() {
		t.Errorf("with a fraction: %v, %v", f, err)
	}
}

func zone(t *testing.T, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// US clocks in 2026: forward on 8 March at 02:00, back on 1 November at 02:00
// (Energy Policy Act of 2005, section 110).
func TestClock(t *testing.T) {
	layout := "2006-01-02 15:04"
	for _, c := range []struct{ name, stamps, want string }{
		{"autumn, quarter hours", "11-01 00:45, 11-01 01:00, 11-01 01:45, 11-01 01:00, 11-01 01:45, 11-01 02:00",
			"07:45 08:00 08:45 09:00 09:45 10:00"},
		{"autumn, hourly: the same stamp twice", "10-31 23:00, 11-01 00:00, 11-01 01:00, 11-01 01:00, 11-01 02:00",
			"06:00 07:00 08:00 09:00 10:00"},
		{"autumn, a row repeated", "11-01 01:00, 11-01 01:15, 11-01 01:15, 11-01 01:30", "08:00 08:15 08:15 08:30"},
		{"autumn, the second pass alone is not known", "11-01 01:30", "08:30"},
		{"autumn, a clock set back by days is no second pass", "11-03 01:00, 11-01 01:00", "09:00 08:00"},
		{"spring", "03-08 01:45, 03-08 02:15, 03-08 03:00", "09:45 none 10:00"},
		{"summer", "07-01 12:00", "19:00"},
	} {
		t.Run(c.name, func(t *testing.T) {
			clock := stamp.NewClock(zone(t, "America/Los_Angeles"))
			var turn stamp.Turn
			var got []string
			for _, s := range strings.Split(c.stamps, ", ") {
				wall, err := time.Parse(layout, "2026-"+s)
				if err != nil {
					t.Fatal(err)
				}
				at, ok := clock.Plain(wall.UnixMicro())
				if !ok {
					at, ok = clock.Resolve(wall.UnixMicro(), &turn)
				}
				if !ok {
					got = append(got, "none")
					continue
				}
				got = append(got, time.UnixMicro(at).UTC().Format("15:04"))
			}
			if s := strings.Join(got, " "); s != c.want {
				t.Errorf("got %s, want %s", s, c.want)
			}
		})
	}
}

// The law: where a wall reading is of one instant only, the clock gives that
// instant, in any zone and in any order of asking.
func TestClockAgreesWithDate(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		z, err := time.LoadLocation(rapid.SampledFrom([]string{"America/Los_Angeles", "Europe/Paris", "Australia/Lord_Howe", "UTC", "Asia/Kolkata", "America/Boise"}).Draw(t, "zone"))
		if err != nil {
			t.Fatal(err)
		}
		clock := stamp.NewClock(z)
		for _, u := range rapid.SliceOfN(rapid.Int64Range(0, 4_000_000_000), 1, 20).Draw(t, "unix") {
			at := time.Unix(u, 0).In(z)
			_, offset := at.Zone()
			wall := (u + int64(offset)) * 1_000_000
			got, ok := clock.Plain(wall)
			first, second, n := clock.Instants(wall)
			if n == 0 || u*1_000_000 != first && u*1_000_000 != second {
				t.Fatalf("%v in %v: instants %d %d (%d)", at, z, first, second, n)
			}
			if ok && (n != 1 || got != u*1_000_000) {
				t.Fatalf("%v in %v: plain %d, %d instants", at, z, got, n)
			}
		}
	})
}

func TestGuess(t *testing.T) {
	for _, c := range []struct{ name, stamps, want string }{
		{"iso", "2026-05-01 10:00:00|2026-05-01 10:10:00", "2026-05-01T10:10:00Z"},
		{"iso with and without seconds", "2026-05-01 10:00:05|2026-05-01 10:10", "2026-05-01T10:10:00Z"},
		{"offset", "2026-05-01T10:00:00+02:00", "2026-05-01T08:00:00Z"},
		{"slashes, year first", "2026/05/01 10:00", "2026-05-01T10:00:00Z"},
		{"month first by a late day", "05/01/2026 10:00|05/02/2026 10:00|5/13/2026 9:00", "2026-05-13T09:00:00Z"},
		{"day first by a late day", "01/05/2026 10:00|13/05/2026 10:00", "2026-05-13T10:00:00Z"},
		{"half days", "05/13/26 01:00 PM", "2026-05-13T13:00:00Z"},
		{"dots are days first", "01.05.2026 10:00", "2026-05-01T10:00:00Z"},
		{"days alone", "2026-05-01|2026-05-02", "2026-05-02T00:00:00Z"},
		{"epoch", "1779271200", "2026-05-20T10:00:00Z"},
		{"neither day nor month", "05/01/2026 10:00|05/02/2026 10:00", `error: write time_format: "1/2/2006 15:04" or time_format: "2/1/2006 15:04"`},
		{"both", "05/13/2026 10:00|13/05/2026 10:00", "error: some stamps can only be read as month first and some only as day first"},
		{"nothing", "yesterday|today", "error: no usual time format"},
	} {
		t.Run(c.name, func(t *testing.T) {
			g := stamp.NewGuess()
			var last []byte
			for _, s := range strings.Split(c.stamps, "|") {
				last = []byte(s)
				g.Add(last)
			}
			f, err := g.Format()
			if want, isError := strings.CutPrefix(c.want, "error: "); isError {
				if err == nil || !strings.Contains(err.Error(), want) {
					t.Fatalf("error %v, want %q", err, want)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			at, _, ok := f.Parse(last)
			if got := time.UnixMicro(at).UTC().Format(time.RFC3339); !ok || got != c.want {
				t.Errorf("%s read by %s: %s, %v; want %s", last, f.Used(), got, ok, c.want)
			}
		})
	}
}

func BenchmarkParse(b *testing.B) {
	for _, c := range []struct{ layout, text string }{
		{"2006-01-02 15:04:05", "2026-05-13 10:20:00"},
		{"2006-01-02T15:04:05Z07:00", "2026-05-13T10:20:00Z"},
		{"01/02/06 03:04 PM", "05/13/26 10:20 AM"},
	} {
		f, err := stamp.Compile(c.layout)
		if err != nil {
			b.Fatal(err)
		}
		text := []byte(c.text)
		b.Run("tokens/"+c.layout[:8], func(b *testing.B) {
			for b.Loop() {
				f.Parse(text)
			}
		})
		b.Run("time/"+c.layout[:8], func(b *testing.B) {
			for b.Loop() {
				_, _ = time.Parse(c.layout, string(text))
			}
		})
	}
}
