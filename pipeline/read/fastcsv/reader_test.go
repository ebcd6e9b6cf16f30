package fastcsv_test

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"regexp"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"probeward/pipeline/read/fastcsv"
)

type record struct {
	Line  int
	Cells []string
}

func fast(src io.Reader, sep byte) ([]record, error) {
	r := fastcsv.New(src, sep)
	var all []record
	for r.Next() {
		rec := record{Line: r.Line()}
		for i := range r.Len() {
			rec.Cells = append(rec.Cells, string(r.Cell(i)))
		}
		all = append(all, rec)
	}
	return all, r.Err()
}

// trimmed cuts what the reader cuts: every byte up to the space.
func trimmed(s string) string {
	return strings.TrimFunc(s, func(r rune) bool { return r <= ' ' })
}

func reference(text string, sep byte) ([]record, error) {
	c := csv.NewReader(strings.NewReader(text))
	c.Comma, c.LazyQuotes, c.FieldsPerRecord = rune(sep), true, -1
	c.TrimLeadingSpace = sep != '\t'
	var all []record
	for {
		cells, err := c.Read()
		if errors.Is(err, io.EOF) {
			return all, nil
		}
		if err != nil {
			return nil, err
		}
		line, _ := c.FieldPos(0)
		for i := range cells {
			cells[i] = trimmed(cells[i])
		}
		if len(cells) > 1 || cells[0] != "" {
			all = append(all, record{line, cells})
		}
	}
}

func TestRecords(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       []record
	}{
		{"plain", "a,b\n1,2\n", []record{{1, []string{"a", "b"}}, {2, []string{"1", "2"}}}},
		{"no last line end", "a,b\n1,2", []record{{1, []string{"a", "b"}}, {2, []string{"1", "2"}}}},
		{"spaces and carriage returns", "a , b\r\n\r\n* * * ,2\r\r\n", []record{{1, []string{"a", "b"}}, {3, []string{"* * *", "2"}}}},
		{"quoted", "\"2026-05-01 10:00:00\",0,\"x\"\r\n", []record{{1, []string{"2026-05-01 10:00:00", "0", "x"}}}},
		{"doubled quotes", "\"a\"\"b\",c\nd,e\n", []record{{1, []string{`a"b`, "c"}}, {2, []string{"d", "e"}}}},
		{"line end in quotes", "\"a\nb\",c\nd\n", []record{{1, []string{"a\nb", "c"}}, {3, []string{"d"}}}},
		{"separator in quotes", "\"a,b\",c\n", []record{{1, []string{"a,b", "c"}}}},
		{"blanks before a quote", "a, \"b,c\"\n", []record{{1, []string{"a", "b,c"}}}},
		{"blanks behind a quote", "\"a\" ,\"b,c\"\t,\"d\" \r\n\"e\"\t\r\n", []record{{1, []string{"a", "b,c", "d"}}, {2, []string{"e"}}}},
		{"a quote and a blank within", "\"5\" pipe\",1\n", []record{{1, []string{`5" pipe`, "1"}}}},
		{"doubled quotes, line ends and blanks in one record", "\"a\"\"\r\nb\" , \"c\",d\ne\n", []record{{1, []string{"a\"\nb", "c", "d"}}, {3, []string{"e"}}}},
		{"quote within", "5\" pipe,1\n", []record{{1, []string{`5" pipe`, "1"}}}},
		{"a quote that nothing closes spoils its line alone", "\"a,b\nc,d\n", []record{{1, []string{`"a`, "b"}}, {2, []string{"c", "d"}}}},
		{"empty cells", ",,\n", []record{{1, []string{"", "", ""}}}},
		{"empty", "", nil},
		{"blank", " \n\t\n", nil},
	} {
		for _, src := range []io.Reader{strings.NewReader(c.text), iotest.OneByteReader(strings.NewReader(c.text)), iotest.DataErrReader(strings.NewReader(c.text))} {
			got, err := fast(src, ',')
			if err != nil {
				t.Errorf("%s: %v", c.name, err)
			}
			if d := cmp.Diff(c.want, got); d != "" {
				t.Errorf("%s: (-want +got)\n%s", c.name, d)
			}
		}
	}
}

// closed says whether every quote that opens a cell is closed before the end,
// where the two readers must agree.
func closed(text string, sep byte) bool {
	end := strings.NewReader(text + "\n" + "end" + string(sep) + "end")
	c := csv.NewReader(end)
	c.Comma, c.LazyQuotes, c.FieldsPerRecord = rune(sep), true, -1
	c.TrimLeadingSpace = sep != '\t'
	all, err := c.ReadAll()
	if err != nil || len(all) == 0 {
		return false
	}
	last := all[len(all)-1]
	return len(last) == 2 && last[0] == "end" && last[1] == "end"
}

// blankBehind finds what the two cut in another way: a quote, blanks, and the end of
// the cell.
var blankBehind = map[byte]*regexp.Regexp{
	',': regexp.MustCompile("\"[ \t\v\f\r]+(,|\n|$)"), ';': regexp.MustCompile("\"[ \t\v\f\r]+(;|\n|$)"), '\t': regexp.MustCompile("\"[ \v\f\r]+(\t|\n|$)"),
}

func same(t interface{ Fatalf(string, ...any) }, text string, sep byte) {
	if len(text) > fastcsv.MaxQuoted/2 || !closed(text, sep) || blankBehind[sep].MatchString(strings.ReplaceAll(text, "\r\n", "\n")) {
		if _, err := fast(strings.NewReader(text), sep); err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		return
	}
	want, err := reference(text, sep)
	if err != nil {
		t.Fatalf("reference of %q: %v", text, err)
	}
	for _, src := range []io.Reader{strings.NewReader(text), iotest.OneByteReader(strings.NewReader(text))} {
		got, err := fast(src, sep)
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Fatalf("%q: (-encoding/csv +fastcsv)\n%s", text, d)
		}
	}
}

func TestAgreesWithEncodingCSV(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bits := rapid.SliceOfN(rapid.SampledFrom([]string{`"`, `""`, ",", ";", "\n", "\r\n", "\r", "a", " ", "0.5", "é", "\t"}), 0, 40)
		same(t, strings.Join(bits.Draw(t, "text"), ""), rapid.SampledFrom([]byte(",;\t")).Draw(t, "sep"))
	})
}

func FuzzReader(f *testing.F) {
	for _, s := range []string{
		"a,b\n", "\"a\"\"b\",\n", "\"\r\n\",x\r\n", "\"", "\"a\" b,c\n", "a\x00,\xff\n",
		"\"2026-05-01 10:00:00\",\"0,25\",\"\"\r\n", "\"a\" ,b\n", "\"\"\"\",\"\"\n", "\"a\nb\n\",\"c\"", "\ufefftime,\"s1\"\n",
		",,\n\n , \n", "\"a\"\r\r\n", "a\"b\"c,\"d\"e\"\n", "\"a,b\n" + "c,d\n\"e\"\n",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) { same(t, s, ',') })
}

// Rows across the edge of the buffer, and lines longer than it.
func TestLongText(t *testing.T) {
	var b bytes.Buffer
	for i := range 40_000 {
		b.WriteString("2026-05-01 10:00:00,")
		if i%1000 == 7 {
			b.WriteString("\"" + strings.Repeat("x\n", 300) + "\"")
		}
		if i == 20_000 {
			b.WriteString(strings.Repeat("y", 700_000))
		}
		b.WriteString(",0.25\n")
	}
	want, err := reference(b.String(), ',')
	if err != nil {
		t.Fatal(err)
	}
	got, err := fast(bytes.NewReader(b.Bytes()), ',')
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Fatal(d[:min(len(d), 2000)])
	}
	if _, err := fast(io.LimitReader(zeros{}, 40<<20), ','); !errors.Is(err, fastcsv.ErrLine) {
		t.Errorf("a line of 40 MiB: %v", err)
	}
}

type zeros struct{}

func (zeros) Read(b []byte) (int, error) { clear(b); return len(b), nil }

func BenchmarkReader(b *testing.B) {
	text := []byte(strings.Repeat("2026-05-01 10:00:00,r12-p3-60,0.2135\n", 50_000))
	b.Run("fastcsv", func(b *testing.B) {
		b.SetBytes(int64(len(text)))
		for b.Loop() {
			for r := fastcsv.New(bytes.NewReader(text), ','); r.Next(); {
				_ = r.Cell(2)
			}
		}
	})
	b.Run("encoding_csv", func(b *testing.B) {
		b.SetBytes(int64(len(text)))
		for b.Loop() {
			r := csv.NewReader(bytes.NewReader(text))
			r.ReuseRecord = true
			for {
				if _, err := r.Read(); err != nil {
					break
				}
			}
		}
	})
}
