package read_test

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/apache/arrow/go/v17/arrow/array"
	"github.com/klauspost/compress/zstd"
	"golang.org/x/text/encoding/unicode"

	"probeward/pipeline/read"
	"probeward/pipeline/register"
	"probeward/schemas"
)

// Loggers, gateways and spreadsheets write the same readings in many ways. Each
// dialect below is a small file of the eight readings of an invented logger L1, and
// must give these eight and no others.

// said are the readings: what ports s1 (probe a, kPa) and s2 (probe b, m3/m3) gave
// at each stamp. 7999 is this logger's word for an open circuit.
var said = []struct{ a, b string }{{"12.5", "0.25"}, {"", "0.251"}, {"7999", "0.252"}, {"40.25", "0.3"}}

var stamps = []time.Time{
	time.Date(2026, 5, 2, 10, 0, 0, 0, time.UTC), time.Date(2026, 5, 2, 10, 10, 0, 0, time.UTC),
	time.Date(2026, 5, 2, 10, 20, 0, 0, time.UTC), time.Date(2026, 5, 13, 13, 20, 0, 0, time.UTC),
}

const wired = "probe,logger,port,kind,unit,scale\na,L1,s1,tensiometer,kPa,\nb,L1,s2,dielectric,m3/m3,\n"

// pen writes the readings.
type pen struct {
	sep    string              // comma when empty
	layout string              // of the stamps; 2006-01-02 15:04:05 when empty
	zone   *time.Location      // UTC when nil
	at     []time.Time         // the stamps; the usual ones when nil
	head   string              // the header; time, s1 and s2 when empty
	number func(string) string // nil: as it is
	row    func(i int, stamp, a, b string) []string
	order  []int  // of the rows; nil: in time order
	end    string // of a line; a line feed when empty
}

func (p pen) write() string {
	if p.sep == "" {
		p.sep = ","
	}
	if p.layout == "" {
		p.layout = "2006-01-02 15:04:05"
	}
	if p.zone == nil {
		p.zone = time.UTC
	}
	if p.at == nil {
		p.at = stamps
	}
	if p.head == "" {
		p.head = "time,s1,s2"
	}
	if p.row == nil {
		p.row = func(_ int, stamp, a, b string) []string { return []string{stamp, a, b} }
	}
	if p.order == nil {
		p.order = []int{0, 1, 2, 3}
	}
	if p.end == "" {
		p.end = "\n"
	}
	var b strings.Builder
	if p.head != "none" {
		b.WriteString(strings.ReplaceAll(p.head, ",", p.sep) + p.end)
	}
	for _, i := range p.order {
		cells := []string{said[i].a, said[i].b}
		for k, c := range cells {
			if p.number != nil && c != "" && c != "7999" {
				cells[k] = p.number(c)
			}
		}
		b.WriteString(strings.Join(p.row(i, p.at[i].In(p.zone).Format(p.layout), cells[0], cells[1]), p.sep) + p.end)
	}
	return b.String()
}

// long writes a reading a row.
func (p pen) long() string {
	p.head = "time,probe,value"
	end := p.end
	if end == "" {
		end = "\n"
	}
	sep := p.sep
	if sep == "" {
		sep = ","
	}
	p.row = func(_ int, stamp, a, b string) []string {
		return []string{stamp, "a", a + end + stamp, "b", b}
	}
	return p.write()
}

func comma(s string) string { return strings.Replace(s, ".", ",", 1) }

func quoted(s string) string { return `"` + s + `"` }

func behind(unit string) func(string) string { return func(s string) string { return s + unit } }

type dialect struct {
	name     string
	text     string
	file     string // L1.csv when empty
	zone     string // UTC when empty
	register string // wired when empty
	source   schemas.Source
	at       []time.Time // when other than stamps
	says     string      // a part of the layout or of the ignored columns
}

// canonical are the readings, sorted, each once: the stamp in UTC, the probe, the
// standard value or blank, and the code.
func canonical(reg *register.Register, res *read.Result) []string {
	var lines []string
	for _, r := range res.Batches {
		at, probe := r.Column(schemas.ColTime).(*array.Timestamp), r.Column(schemas.ColProbe).(*array.Uint32)
		value, code := r.Column(schemas.ColValue).(*array.Float64), r.Column(schemas.ColCode).(*array.Uint8)
		for i := range int(r.NumRows()) {
			p := &reg.Probes[probe.Value(i)]
			v := "blank"
			if value.IsValid(i) {
				v = fmt.Sprintf("%.9g", p.Scale*(value.Value(i)-p.Offset))
			}
			lines = append(lines, fmt.Sprintf("%s %s %s %d", time.UnixMicro(int64(at.Value(i))).UTC().Format(time.RFC3339Nano), p.Name, v, code.Value(i)))
		}
	}
	slices.Sort(lines)
	return slices.Compact(lines)
}

// expected are the readings as canonical writes them.
func expected(at []time.Time) []string {
	if at == nil {
		at = stamps
	}
	var lines []string
	for i, s := range said {
		t := at[i].UTC().Format(time.RFC3339Nano)
		for k, v := range []string{s.a, s.b} {
			switch v {
			case "":
				v = "blank 0"
			case "7999":
				v = fmt.Sprintf("blank %d", schemas.CodeOpen)
			default:
				v += " 0"
			}
			lines = append(lines, t+" "+[]string{"a", "b"}[k]+" "+v)
		}
	}
	slices.Sort(lines)
	return lines
}

func (d dialect) read(t *testing.T) (*register.Register, *read.Result) {
	t.Helper()
	dir := t.TempDir()
	if d.file == "" {
		d.file = "L1.csv"
	}
	if d.zone == "" {
		d.zone = "UTC"
	}
	if d.register == "" {
		d.register = wired
	}
	write(t, dir, d.file, []byte(d.text))
	reg, err := register.Load(write(t, t.TempDir(), "probes.csv", []byte(d.register)), "", time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	d.source.Path = "*"
	d.source.FaultCodes = map[string]string{"7999": "open_circuit"}
	return reg, files(t, resolved(t, dir, d.zone, d.source), reg)
}

func at(zone string, texts ...string) []time.Time {
	z, err := time.LoadLocation(zone)
	if err != nil {
		panic(err)
	}
	var all []time.Time
	for _, s := range texts {
		t, err := time.ParseInLocation("2006-01-02 15:04:05.999 -0700", s, z)
		if err != nil {
			panic(err)
		}
		all = append(all, t)
	}
	return all
}

func encoded(e interface{ Bytes([]byte) ([]byte, error) }, text string) string {
	b, err := e.Bytes([]byte(text))
	if err != nil {
		panic(err)
	}
	return string(b)
}

func packed(how string, names []string, texts ...string) string {
	var b bytes.Buffer
	switch how {
	case "gz":
		w := gzip.NewWriter(&b)
		_, _ = w.Write([]byte(texts[0]))
		_ = w.Close()
	case "zst":
		w, err := zstd.NewWriter(&b)
		if err != nil {
			panic(err)
		}
		_, _ = w.Write([]byte(texts[0]))
		_ = w.Close()
	case "zip":
		z := zip.NewWriter(&b)
		for i, n := range names {
			w, err := z.Create(n)
			if err != nil {
				panic(err)
			}
			_, _ = w.Write([]byte(texts[i]))
		}
		_ = z.Close()
	}
	return b.String()
}

var (
	utf16LE = unicode.UTF16(unicode.LittleEndian, unicode.UseBOM)
	utf16BE = unicode.UTF16(unicode.BigEndian, unicode.UseBOM)
	bareLE  = unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM)
	bareBE  = unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM)
	pacific = func() *time.Location { z, _ := time.LoadLocation("America/Los_Angeles"); return z }()
	// The night of 1 November 2026 has the hour from 01:00 to 02:00 twice there.
	twice = at("UTC", "2026-11-01 08:00:00 +0000", "2026-11-01 08:30:00 +0000", "2026-11-01 09:00:00 +0000", "2026-11-01 09:30:00 +0000")
	// The night of 14 March 2027 has no hour from 02:00 to 03:00.
	skipped = at("UTC", "2027-03-14 09:00:00 +0000", "2027-03-14 09:30:00 +0000", "2027-03-14 10:00:00 +0000", "2027-03-14 10:30:00 +0000")
	second  = at("UTC", "2026-05-02 10:00:00.25 +0000", "2026-05-02 10:10:00.5 +0000", "2026-05-02 10:20:00.75 +0000", "2026-05-13 13:20:00 +0000")
)
