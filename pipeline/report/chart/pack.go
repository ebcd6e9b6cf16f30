package chart

import (
	"bytes"
	"encoding/base64"
	"encoding/binary"

	"probeward/detectors/detect"
)

// packed is how many readings a line keeps at most for the close look: nine weeks at
// 15 minutes. A longer one is thinned as the static line is, in columns.
const packed = 6144

// Pack gives a line for the close look, as base64 of a raw deflate stream (RFC 1951)
// of whole numbers of 7 bits a byte, the lowest first:
//
//	readings
//	then runs of (minutes from the reading before, how often)
//	then steps of the level from the reading before, as zig-zag
//
// The first reading counts from the start of the period and from level 0. A text of
// more than most bytes is made again with half as many columns, down to those of the
// static line.
func (f *Frame) Pack(l Line, most int) string {
	for n := packed; ; n /= 2 {
		if text := f.encode(f.thin(l, n)); len(text) <= most || n <= 2*wide {
			return text
		}
	}
}

func (f *Frame) encode(l Line) string {
	raw := binary.AppendUvarint(nil, uint64(len(l.Time)))
	last, step, times := int64(0), uint64(0), uint64(0)
	flush := func() {
		if times > 0 {
			raw = binary.AppendUvarint(binary.AppendUvarint(raw, step), times)
		}
	}
	for _, t := range l.Time {
		minute := (t - f.period.Lookback) / detect.Minute
		if s := uint64(minute - last); s == step {
			times++
		} else {
			flush()
			step, times = s, 1
		}
		last = minute
	}
	flush()
	level := int64(0)
	for _, v := range l.Level {
		raw = binary.AppendVarint(raw, int64(v)-level)
		level = int64(v)
	}
	var out bytes.Buffer
	f.deflate.Reset(&out)
	_, err := f.deflate.Write(raw)
	if err == nil {
		err = f.deflate.Close()
	}
	if err != nil {
		panic(err) // a buffer that refuses bytes
	}
	return base64.StdEncoding.EncodeToString(out.Bytes())
}

// thin cuts a line to the period, and to the extremes of columns when it has more
// than so many readings.
func (f *Frame) thin(l Line, most int) Line {
	whole := f.period.Whole()
	from, to := 0, len(l.Time)
	for from < to && l.Time[from] < whole.Start {
		from++
	}
	for to > from && l.Time[to-1] >= whole.End {
		to--
	}
	l.Time, l.Level = l.Time[from:to], l.Level[from:to]
	if len(l.Time) <= most {
		return l
	}
	c := f.columns(most / 2)
	out := Line{Hole: l.Hole}
	keep := func(i int) {
		out.Time = append(out.Time, l.Time[i])
		out.Level = append(out.Level, l.Level[i])
	}
	for i := 0; i < len(l.Time); {
		low, high, j := i, i, i
		for x := c.of(l.Time[i]); j < len(l.Time) && c.of(l.Time[j]) == x; j++ {
			if l.Level[j] < l.Level[low] {
				low = j
			}
			if l.Level[j] > l.Level[high] {
				high = j
			}
		}
		keep(min(low, high))
		if low != high {
			keep(max(low, high))
		}
		i = j
	}
	return out
}
