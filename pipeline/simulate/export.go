package simulate

import (
	"bufio"
	"compress/gzip"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"time"
)

const (
	fileSpan    = 21 * 24 * time.Hour // of one download
	fileOverlap = 36 * time.Hour      // that the next one repeats
	stampLayout = "2006-01-02 15:04"  // of a wide export, in the farm's zone
)

// exportRecord writes a post's downloads below feed and returns how many
// distinct readings with a value are in them.
func (w *world) exportRecord(feed string, rec *record) (int, error) {
	post := &w.v.Posts[rec.post]
	folder := filepath.Join(feed, "readings", "wide")
	if post.Long {
		folder = filepath.Join(feed, "readings", "long")
	}
	r := stream(w.v.options.Seed, forTelemetry, 1<<20+rec.post)
	zipped := w.zipped(rec.post)
	for k, start := 0, w.v.Start; start.Before(w.v.Until); k, start = k+1, start.Add(fileSpan) {
		from := start
		if k > 0 {
			from = from.Add(-fileOverlap)
		}
		order := w.order(r, rec, rec.grid.at(from), rec.grid.at(start.Add(fileSpan)))
		name := fmt.Sprintf("%s_%s.csv", post.Logger, start.In(local()).Format("20060102"))
		write := w.wide
		if post.Long {
			write = w.long
		}
		stamp := rec.stamps(w.v.Until, k)
		path := filepath.Join(folder, name)
		if err := writeFile(path, zipped && k == 0, func(out *bufio.Writer) { write(out, rec, order, stamp) }); err != nil {
			return 0, err
		}
	}
	readings := 0
	for _, s := range rec.probes {
		for i, v := range s.faulty {
			if isValue(v) && !rec.telemetry.lost[i] {
				readings++
			}
		}
	}
	return readings, nil
}

// zipped: the first long logger's first download was compressed by somebody, or
// the second wide one's where there is no long one.
func (w *world) zipped(post int) bool {
	for i, p := range w.v.Posts {
		if p.Long {
			return i == post
		}
	}
	return post == min(1, len(w.v.Posts)-1)
}

// order is the readings of one download as they were written: in time order,
// but for a few that were sent again late, and without those that were lost.
func (w *world) order(r *rand.Rand, rec *record, a, b int) []int {
	rows := make([]int, 0, b-a)
	for i := a; i < b; i++ {
		if !rec.telemetry.lost[i] {
			rows = append(rows, i)
		}
	}
	for range r.IntN(3) {
		n, late := 2+r.IntN(6), 6+r.IntN(40)
		if len(rows) < 3*(n+late) {
			break
		}
		at := r.IntN(len(rows) - n - late)
		block := append([]int(nil), rows[at:at+n]...)
		copy(rows[at:], rows[at+n:at+n+late])
		copy(rows[at+late:], block)
	}
	if w.v.Posts[rec.post].Resends { // days of it came twice, one after the other
		for range 4 {
			n := min(len(rows)/3, 40+r.IntN(200))
			if n == 0 {
				break
			}
			at := r.IntN(len(rows) - n)
			rows = slices.Insert(rows, at+n, rows[at:at+n]...)
		}
	}
	return rows
}

// wide writes one row a time and one column a port, stamps in the farm's zone.
func (w *world) wide(out *bufio.Writer, rec *record, order []int, stamp func(int) time.Time) {
	post := &w.v.Posts[rec.post]
	farm := local()
	var ports [9][]int // of rec.probes, by port number
	last := 0
	for k, s := range rec.probes {
		n := int(w.v.Probes[s.probe].Port[1] - '0')
		ports[n] = append(ports[n], k)
		last = max(last, n)
	}
	out.WriteString("TIMESTAMP,RECORD,batt_v,soil_temp_c")
	for n := 1; n <= last; n++ {
		fmt.Fprintf(out, ",P%d_%s", n, columnUnit(post.model.unit))
	}
	out.WriteByte('\n')
	var b []byte
	for _, i := range order {
		b = stamp(i).In(farm).AppendFormat(b[:0], stampLayout)
		b = append(b, ',')
		b = strconv.AppendInt(b, int64(i+1), 10)
		b = append(b, ',')
		b = appendDecimal(b, int32(rec.telemetry.batteryCV[i]), 2)
		b = append(b, ',')
		b = appendDecimal(b, int32(rec.telemetry.tempTenths[i]), 1)
		for n := 1; n <= last; n++ {
			b = append(b, ',')
			v := absent
			for _, k := range ports[n] { // a re-used port: the probe that was on it then
				if x := rec.probes[k].faulty[i]; x != absent {
					v = x
				}
			}
			switch v {
			case absent:
				b = append(b, "NAN"...)
			case blank:
			default:
				b = appendDecimal(b, v, post.model.decimals)
			}
		}
		b = append(b, '\n')
		out.Write(b)
	}
}

// long writes one row a reading, stamps in UTC.
func (w *world) long(out *bufio.Writer, rec *record, order []int, stamp func(int) time.Time) {
	post := &w.v.Posts[rec.post]
	out.WriteString("time,probe,value,unit,temperature_c,battery_v\n")
	var b, at []byte
	for _, i := range order {
		at = stamp(i).UTC().AppendFormat(at[:0], time.RFC3339)
		for _, s := range rec.probes {
			v := s.faulty[i]
			if v == absent {
				continue
			}
			b = append(b[:0], at...)
			b = append(b, ',')
			b = append(b, w.v.Probes[s.probe].Name...)
			b = append(b, ',')
			if v != blank {
				b = appendDecimal(b, v, post.model.decimals)
			}
			b = append(b, ',')
			b = append(b, w.v.Probes[s.probe].Unit...) // the gateway has it from the register
			b = append(b, ',')
			b = appendDecimal(b, int32(rec.telemetry.tempTenths[i]), 1)
			b = append(b, ',')
			b = appendDecimal(b, int32(rec.telemetry.batteryCV[i]), 2)
			b = append(b, '\n')
			out.Write(b)
		}
	}
}

func columnUnit(unit string) string {
	switch unit {
	case "m3/m3":
		return "vwc"
	case "%":
		return "pct"
	}
	return unit
}

// appendDecimal writes v × 10^-decimals.
func appendDecimal(b []byte, v int32, decimals int) []byte {
	if decimals == 0 {
		return strconv.AppendInt(b, int64(v), 10)
	}
	x := int64(v)
	if x < 0 {
		b = append(b, '-')
		x = -x
	}
	scale := int64(math.Pow10(decimals))
	b = strconv.AppendInt(b, x/scale, 10)
	b = append(b, '.')
	for rest := x % scale; scale > 1; rest %= scale {
		scale /= 10
		b = append(b, byte('0'+rest/scale))
	}
	return b
}

// writeFile creates a file, gzipped or not, and fills it. Write errors of the
// buffer stick and come out of its Flush.
func writeFile(path string, zipped bool, fill func(*bufio.Writer)) (err error) {
	if zipped {
		path += ".gz"
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		return err
	}
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	defer func() {
		if cerr := f.Close(); err == nil {
			err = cerr
		}
	}()
	var to io.Writer = f
	var z *gzip.Writer
	if zipped {
		z = gzip.NewWriter(f) // without a name or time, so that the bytes repeat
		to = z
	}
	out := bufio.NewWriterSize(to, 1<<16)
	fill(out)
	if err := out.Flush(); err != nil {
		return err
	}
	if z != nil {
		if err := z.Close(); err != nil {
			return err
		}
	}
	return f.Sync()
}
