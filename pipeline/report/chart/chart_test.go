package chart

import (
	"bytes"
	"compress/flate"
	"encoding/base64"
	"encoding/binary"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"math/rand/v2"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"probeward/detectors/detect"
)

// nineWeeks is the usual period, through a change of clocks.
func nineWeeks() (detect.Period, *time.Location) {
	zone := time.FixedZone("UTC-8", -8*3600)
	start := time.Date(2026, 4, 6, 8, 0, 0, 0, time.UTC).UnixMicro()
	return detect.Period{Lookback: start, Window: detect.Span{Start: start + 56*detect.Day, End: start + 63*detect.Day}}, zone
}

func frame() *Frame { return NewFrame(nineWeeks()) }

type dot struct{ x, y int }

var command = regexp.MustCompile(`([MmlhvzL])([^MmlhvzL]*)`)
var whole = regexp.MustCompile(`-?\d+`)

// walk reads a path back: its stretches of points.
func walk(t interface{ Fatalf(string, ...any) }, d string) (out [][]dot) {
	var at dot
	for _, m := range command.FindAllStringSubmatch(d, -1) {
		var n []int
		for _, s := range whole.FindAllString(m[2], -1) {
			v, err := strconv.Atoi(s)
			if err != nil {
				t.Fatalf("%q in %q: %v", s, d, err)
			}
			n = append(n, v)
		}
		switch m[1] {
		case "M":
			at = dot{n[0], n[1]}
			out = append(out, nil)
		case "m":
			at = dot{at.x + n[0], at.y + n[1]}
			out = append(out, nil)
		case "l":
			at = dot{at.x + n[0], at.y + n[1]}
		case "h":
			at.x += n[0]
		case "v":
			at.y += n[0]
		default:
			t.Fatalf("command %q in %q", m[1], d)
		}
		out[len(out)-1] = append(out[len(out)-1], at)
	}
	return out
}

// Every column must show its own least and greatest level: a spike of one reading
// among 6000 is what the chart is there for.
func TestPathKeepsEveryColumnsExtremes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := frame()
		n := rapid.IntRange(1, 3000).Draw(t, "readings")
		step := rapid.Int64Range(1, 120).Draw(t, "minutes") * detect.Minute
		dice := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 7))
		l := Line{Hole: step * 3 / 2}
		at, level := f.period.Lookback, int32(-2500)
		for range n {
			if at += step; dice.IntN(8) == 0 {
				at += 4 * step
			}
			if at >= f.period.Window.End {
				break
			}
			level += int32(dice.IntN(7) - 3)
			v := level
			if dice.IntN(40) == 0 {
				v = int32(dice.IntN(12_000) - 6000)
			}
			l.Time, l.Level = append(l.Time, at), append(l.Level, v)
		}
		c := f.columns(wide)
		low, high := map[int]int{}, map[int]int{}
		for i, at := range l.Time {
			x, v := c.of(at), int(l.Level[i])
			if _, ok := low[x]; !ok {
				low[x], high[x] = v, v
			}
			low[x], high[x] = min(low[x], v), max(high[x], v)
		}
		seenLow, seenHigh := map[int]int{}, map[int]int{}
		alike := map[int]int{} // columns of which the drawing shows either a dash or a level
		for _, stretch := range walk(t, l.path(c)) {
			if len(stretch) < 2 {
				t.Fatalf("a stretch of one point is not seen")
			}
			if len(stretch) == 2 && stretch[1].x == stretch[0].x+1 && stretch[1].y == stretch[0].y {
				alike[stretch[1].x] = stretch[1].y
				stretch = stretch[:1]
			}
			for _, p := range stretch {
				if _, ok := seenLow[p.x]; !ok {
					seenLow[p.x], seenHigh[p.x] = p.y, p.y
				}
				seenLow[p.x], seenHigh[p.x] = min(seenLow[p.x], p.y), max(seenHigh[p.x], p.y)
			}
		}
		for x := range low {
			got, ok := seenLow[x]
			if y, or := alike[x]; or && !ok {
				got, ok, seenHigh[x] = y, true, y
			} else if or && (y == low[x] || y == high[x]) {
				got, seenHigh[x] = min(got, y), max(seenHigh[x], y)
			}
			if !ok || got != low[x] || seenHigh[x] != high[x] {
				t.Fatalf("column %d: drawn %d to %d, read %d to %d", x, seenLow[x], seenHigh[x], low[x], high[x])
			}
		}
	})
}

func TestLineBreaksAtHoles(t *testing.T) {
	f := frame()
	l := Line{Hole: 25 * detect.Minute}
	for i := range int64(4000) {
		if i >= 1000 && i < 2000 {
			continue
		}
		l.Time, l.Level = append(l.Time, f.period.Lookback+i*15*detect.Minute), append(l.Level, int32(i%7))
	}
	if got := len(walk(t, l.path(f.columns(wide)))); got != 2 {
		t.Errorf("%d stretches, want 2: a line through missing readings invents them", got)
	}
	if got := (Line{}).path(f.columns(wide)); got != "" {
		t.Errorf("no reading draws %q", got)
	}
}

func TestLevelsAreOrderedAndComeBack(t *testing.T) {
	for _, q := range []detect.Quantity{detect.Ohms, detect.Tension, detect.WaterContent, detect.Celsius, detect.Raw} {
		r := NewRuler(q, []float64{0.5, 3900})
		for _, v := range []float64{0, 0.31, 12, 240, 3900} {
			if q == detect.WaterContent && v > 1 || q == detect.Celsius && v > 100 {
				continue
			}
			back := r.Value(float64(r.Level(v)))
			tolerance := max(r.Step(), r.Step()*math.Max(v, 1000)) // of a logarithm: a share
			if math.Abs(back-v) > tolerance {
				t.Errorf("%s: %g comes back as %g", q.Unit(), v, back)
			}
		}
	}
	r := NewRuler(detect.Tension, nil)
	if r.Level(10) <= r.Level(100) {
		t.Errorf("10 kPa is wetter than 100 kPa and must stand higher")
	}
	if got := r.Level(math.Inf(1)); got != -mostLevel {
		t.Errorf("an endless value has level %d", got)
	}
}

func TestTicksAreRoundApartAndWithin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := rapid.SampledFrom([]detect.Quantity{detect.Ohms, detect.Tension, detect.WaterContent, detect.Celsius, detect.Raw}).Draw(t, "quantity")
		most := map[detect.Quantity]float64{detect.Ohms: 1e6, detect.Tension: 5000, detect.WaterContent: 1, detect.Celsius: 60, detect.Raw: 4000}[q]
		r := NewRuler(q, []float64{most})
		a := rapid.Float64Range(0, most).Draw(t, "a")
		b := rapid.Float64Range(0, most).Draw(t, "b")
		c := Chart{Main: Use{ID: "r", Ruler: r, Low: min(r.Level(a), r.Level(b)), High: max(r.Level(a), r.Level(b))}}
		low, high := c.levels()
		gap := 24 * (high - low) / plot
		ticks := r.ticks(low, high, gap)
		if len(ticks) < 2 {
			t.Fatalf("%d ticks from %g to %g %s", len(ticks), r.Value(low), r.Value(high), q.Unit())
		}
		for i, x := range ticks {
			if x.Level < low || x.Level > high {
				t.Fatalf("tick %s outside", x.Text)
			}
			for _, y := range ticks[:i] {
				if math.Abs(x.Level-y.Level) < gap {
					t.Fatalf("ticks %s and %s are too near", x.Text, y.Text)
				}
				if x.Text == y.Text {
					t.Fatalf("two ticks say %s", x.Text)
				}
			}
		}
	})
}

func TestNumber(t *testing.T) {
	for v, want := range map[float64]string{0: "0", 0.2: "0.2", 0.12345: "0.1235", -12.5: "−12.5", 1000: "1000", 32767: "32\u202f767", 1234567: "1\u202f234\u202f567", 239.04: "239"} {
		if got := Number(v); got != want {
			t.Errorf("%v is written %q, want %q", v, got, want)
		}
	}
}

func TestTimeTicksStandAtLocalMidnights(t *testing.T) {
	zone, err := time.LoadLocation("America/Boise")
	if err != nil {
		t.Skipf("skipped: no time zones here (apt-get install tzdata): %v", err)
	}
	start := time.Date(2026, 2, 2, 0, 0, 0, 0, zone).UnixMicro() // clocks change on 8 March
	for days, most := range map[int64]int{1: 10, 2: 10, 7: 10, 20: 10, 63: 11, 200: 11, 700: 14} {
		f := NewFrame(detect.Period{Lookback: start, Window: detect.Span{Start: start, End: start + days*detect.Day}}, zone)
		ticks := f.timeTicks()
		if len(ticks) < 1 || len(ticks) > most {
			t.Errorf("%d days: %d ticks", days, len(ticks))
		}
		for _, k := range ticks {
			at := time.UnixMicro(k.at).In(zone)
			if days > 3 && (at.Hour() != 0 || at.Minute() != 0) {
				t.Errorf("%d days: a tick at %s", days, at)
			}
		}
	}
}

func TestExcludedStretchesCoverTheirColumns(t *testing.T) {
	f := frame()
	s := f.period.Lookback
	spans := []detect.Span{{Start: s - detect.Day, End: s + detect.Hour}, {Start: s + 10*detect.Day, End: s + 10*detect.Day + detect.Minute},
		{Start: s + 10*detect.Day + 2*detect.Minute, End: s + 10*detect.Day + 3*detect.Minute}, {Start: s + 62*detect.Day, End: s + 70*detect.Day}}
	out := f.stretches(spans)
	covered := make([]int, wide)
	for _, m := range regexp.MustCompile(`M(\d+) 0h(\d+)`).FindAllStringSubmatch(out, -1) {
		x, _ := strconv.Atoi(m[1])
		w, _ := strconv.Atoi(m[2])
		for i := x; i < x+w; i++ {
			covered[i]++
		}
	}
	c := f.columns(wide)
	for _, span := range spans {
		for at := max(span.Start, s); at < min(span.End, f.period.Window.End); at += detect.Minute {
			if covered[c.of(at)] != 1 {
				t.Fatalf("column %d is covered %d times: %s", c.of(at), covered[c.of(at)], out)
			}
		}
	}
	if got := strings.Count(out, "M"); got != 3 {
		t.Errorf("%d stretches, want 3 (two meet in a column): %s", got, out)
	}
}

func TestChartIsWellFormedAndEscapes(t *testing.T) {
	f := frame()
	r := NewRuler(detect.Tension, nil)
	w := f.period.Window
	water := []detect.Water{{Span: detect.Span{Start: w.Start, End: w.Start + 6*detect.Hour}, MM: detect.Some(12.0)}, {Span: detect.Span{Start: w.Start + 2*detect.Day, End: w.Start + 2*detect.Day + detect.Hour}}}
	l := Line{Time: []int64{w.Start, w.Start + detect.Hour}, Level: []int32{r.Level(20), r.Level(25)}}
	svg := f.Draw(Chart{Caption: "c1", Unit: `<script>"x" & 'y'`, Main: Use{"r1", r, l.Level[1], l.Level[0]}, Out: Use{"o1", r, 0, 0}, Neighbours: []Use{{"n1", r, l.Level[1], l.Level[0]}},
		Excluded: []detect.Span{{Start: w.Start, End: w.Start + detect.Day}}, Finding: w, Open: true, Waterings: "w1", Rain: true})
	page := `<svg>` + f.Shared(water) + f.Waterings("w1", water) + f.Line("r1", l) + f.Line("o1", l) + f.Neighbour("n1", l) + svg + `</svg>`
	d := xml.NewDecoder(strings.NewReader(page))
	seen := map[string]bool{}
	var asked []string
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("%v in %s", err, page)
		}
		if e, ok := token.(xml.StartElement); ok {
			if e.Name.Local == "script" {
				t.Fatal("a name became an element")
			}
			for _, a := range e.Attr {
				switch a.Name.Local {
				case "id":
					seen[a.Value] = true
				case "href":
					asked = append(asked, a.Value[1:])
				}
			}
		}
	}
	for _, id := range asked {
		if !seen[id] {
			t.Errorf("the chart uses %s, which is nowhere", id)
		}
	}
}

func TestPackComesBack(t *testing.T) {
	f := frame()
	l := Line{}
	for i := range int64(5000) {
		if i%97 == 5 {
			continue
		}
		l.Time, l.Level = append(l.Time, f.period.Lookback+i*15*detect.Minute), append(l.Level, int32(-2500+(i*7919)%41-i/9))
	}
	text := f.Pack(l, 1<<20)
	zipped, err := base64.StdEncoding.DecodeString(text)
	if err != nil {
		t.Fatal(err)
	}
	raw, err := io.ReadAll(flate.NewReader(bytes.NewReader(zipped)))
	if err != nil {
		t.Fatal(err)
	}
	in := bytes.NewReader(raw)
	next := func() uint64 {
		v, err := binary.ReadUvarint(in)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	n := int(next())
	if n != len(l.Time) {
		t.Fatalf("%d readings, want %d", n, len(l.Time))
	}
	minute, level := int64(0), int64(0)
	var minutes []int64
	for len(minutes) < n {
		step, times := int64(next()), next()
		for range times {
			minute += step
			minutes = append(minutes, minute)
		}
	}
	for i := range n {
		v, err := binary.ReadVarint(in)
		if err != nil {
			t.Fatal(err)
		}
		level += v
		if minutes[i] != (l.Time[i]-f.period.Lookback)/detect.Minute || int32(level) != l.Level[i] {
			t.Fatalf("reading %d comes back as minute %d, level %d", i, minutes[i], level)
		}
	}
}

func TestPackKeepsToItsBytes(t *testing.T) {
	f, dice := frame(), rand.New(rand.NewPCG(1, 2))
	l := Line{}
	for i := range int64(6000) {
		l.Time, l.Level = append(l.Time, f.period.Lookback+i*15*detect.Minute), append(l.Level, int32(dice.IntN(4000)))
	}
	if full, small := len(f.Pack(l, 1<<20)), len(f.Pack(l, 7000)); full < 12_000 || small > 7000 {
		t.Errorf("%d bytes in full, %d of at most 7000", full, small)
	}
}

func TestLongLinesKeepTheirExtremesWhenPacked(t *testing.T) {
	f := frame()
	l := Line{}
	for i := range int64(60_000) {
		v := int32(i % 11)
		if i == 31_234 {
			v = 9000
		}
		if i == 31_240 {
			v = -9000
		}
		l.Time, l.Level = append(l.Time, f.period.Lookback+i*detect.Minute), append(l.Level, v)
	}
	thin := f.thin(l, packed)
	low, high := int32(0), int32(0)
	for i, v := range thin.Level {
		low, high = min(low, v), max(high, v)
		if i > 0 && thin.Time[i] <= thin.Time[i-1] {
			t.Fatalf("reading %d is not after the one before", i)
		}
	}
	if len(thin.Time) > packed || low != -9000 || high != 9000 {
		t.Errorf("%d readings from %d to %d", len(thin.Time), low, high)
	}
}
