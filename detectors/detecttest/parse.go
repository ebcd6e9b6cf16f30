package detecttest

import (
	"fmt"
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
	"time"

	"probeward/detectors/detect"
)

// section is one probe of a case.
type section struct {
	probe  detect.Probe
	series detect.Series
	ctx    detect.Context
	wants  []want
	// elsewhere: of the farm, and not of the group
	elsewhere bool
}

// want is a finding that a row asks for.
type want struct {
	detect.Span // the row's readings
	line        int
	fault       string // empty: any
	open, sure  bool
	unsure      bool
}

// kase is one file.
type kase struct {
	name     string
	verdict  string // find, clear or skip
	period   detect.Period
	cause    string
	sections []*section
	group    detect.Group
	touches  []string
	start    int64 // of the group's finding; 0: anywhere
	groupWon bool  // a group finding is wanted
}

type parser struct {
	k       kase
	cadence int64
	water   []detect.Water
	rain    []detect.Water
	zone    string // whose waterings the next lines give; empty: the case's own
	demand  float64
	has     detect.Needs
	end     detect.Maybe[float64]
	columns []string
	next    int64
	counter uint64
}

func parse(path string) (*kase, error) {
	raw, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	name := path[strings.LastIndexByte(path, '/')+1:]
	parts := strings.Split(name, ".")
	if len(parts) < 3 {
		return nil, fmt.Errorf("%s: a case is called NAME.find.csv, NAME.clear.csv or NAME.skip.csv", path)
	}
	p := &parser{cadence: 15 * detect.Minute}
	p.k.name, p.k.verdict = name, parts[len(parts)-2]
	for i, line := range strings.Split(strings.TrimRight(string(raw), "\n"), "\n") {
		line = strings.TrimRight(line, "\r")
		var err error
		switch {
		case strings.TrimSpace(line) == "":
		case strings.HasPrefix(line, "#"):
			err = p.comment(strings.TrimSpace(line[1:]))
		case strings.HasPrefix(line, "time,"):
			p.columns = strings.Split(line, ",")
		default:
			err = p.row(line, i+1)
		}
		if err != nil {
			return nil, fmt.Errorf("%s:%d: %w", path, i+1, err)
		}
	}
	if len(p.k.sections) == 0 {
		return nil, fmt.Errorf("%s: no probe", path)
	}
	if p.k.period.Window.End == 0 {
		return nil, fmt.Errorf("%s: no period", path)
	}
	return &p.k, nil
}

var keyValue = regexp.MustCompile(`(\w+)=(\S+)`)

func (p *parser) comment(text string) error {
	key, rest, ok := strings.Cut(text, ":")
	if !ok {
		return nil // words for the reader
	}
	rest = strings.TrimSpace(rest)
	values := map[string]string{}
	for _, m := range keyValue.FindAllStringSubmatch(rest, -1) {
		values[m[1]] = m[2]
	}
	var err error
	switch key {
	case "period":
		if p.k.period.Window, err = span(values["window"]); err != nil {
			return err
		}
		p.k.period.Lookback, err = instant(values["lookback"])
	case "cadence":
		var d time.Duration
		d, err = time.ParseDuration(rest)
		p.cadence = d.Microseconds()
	case "water":
		if p.zone != "" {
			p.k.group.Zones[p.zone], err = addWater(p.k.group.Zones[p.zone], rest)
			break
		}
		p.has |= detect.NeedIrrigation
		p.water, err = addWater(p.water, rest)
	case "zone":
		if p.k.group.Zones == nil {
			p.k.group.Zones = map[string][]detect.Water{}
		}
		p.zone = rest
		p.k.group.Zones[rest] = []detect.Water{}
	case "rain":
		p.has |= detect.NeedRain
		p.rain, err = addWater(p.rain, rest)
	case "demand":
		p.has |= detect.NeedDemand
		p.demand, err = strconv.ParseFloat(rest, 64)
	case "scale_end":
		var v float64
		v, err = strconv.ParseFloat(rest, 64)
		p.end = detect.Some(v)
	case "probe":
		err = p.start(values)
	case "group":
		scope, name, _ := strings.Cut(rest, " ")
		p.k.group.Name = name
		switch scope {
		case "logger":
			p.k.group.Scope = detect.PerLogger
		case "zone":
			p.k.group.Scope = detect.PerZone
		case "farm":
			p.k.group.Scope = detect.PerFarm
		default:
			err = fmt.Errorf("a group is a logger, a zone or a farm, not a %q", scope)
		}
	case "farm":
		p.k.group.Farm, err = span(strings.Fields(rest)[0])
		if n := values["loggers"]; err == nil && n != "" {
			p.k.group.Loggers, err = strconv.Atoi(n)
		}
	case "contradictions":
		p.k.group.Contradictions = []int64{}
		if rest != "none" {
			var s detect.Span
			if s, err = span(rest); err == nil {
				for t := s.Start; t < s.End; t += p.cadence {
					p.k.group.Contradictions = append(p.k.group.Contradictions, t)
				}
			}
		}
	case "stamps":
		err = p.stamps(values)
	case "want":
		word, _, _ := strings.Cut(rest+" ", " ")
		if word == "find" {
			p.k.groupWon = true
			if s := values["start"]; s != "" {
				p.k.start, err = instant(s)
			}
			if s := values["touches"]; s != "" {
				p.k.touches = strings.Split(s, ",")
			}
		} else {
			p.k.cause = rest
		}
	}
	return err
}

func addWater(list []detect.Water, text string) ([]detect.Water, error) {
	if text == "none" {
		return list, nil
	}
	f := strings.Fields(text)
	s, err := span(f[0])
	if err != nil {
		return nil, err
	}
	w := detect.Water{Span: s}
	if len(f) > 1 {
		mm, err := strconv.ParseFloat(strings.TrimSuffix(f[1], "mm"), 64)
		if err != nil {
			return nil, err
		}
		w.MM = detect.Some(mm)
	}
	return append(list, w), nil
}

func (p *parser) stamps(values map[string]string) error {
	s := detect.Stamps{File: values["file"], Logger: p.k.group.Name, Unordered: values["unordered"] == "yes"}
	d, err := time.ParseDuration(values["cadence"])
	if err != nil {
		return err
	}
	s.Cadence = d.Microseconds()
	for _, text := range strings.Split(values["segments"], ",") {
		if text == "" {
			continue
		}
		lines, times, _ := strings.Cut(text, "@")
		from, to, _ := strings.Cut(lines, "-")
		var g detect.Segment
		if g.FromLine, err = strconv.Atoi(from); err != nil {
			return err
		}
		if g.ToLine, err = strconv.Atoi(to); err != nil {
			return err
		}
		sp, err := span(times)
		if err != nil {
			return err
		}
		g.First, g.Last, g.Rows = sp.Start, sp.End, g.ToLine-g.FromLine+1
		s.Rows += g.Rows
		s.Segments = append(s.Segments, g)
	}
	s.ByDevice = values["by"] == "device"
	for _, text := range strings.Split(values["lags"], ",") {
		if text == "" {
			continue
		}
		g, err := lag(text)
		if err != nil {
			return err
		}
		s.Lags = append(s.Lags, g)
	}
	p.k.group.Stamps = append(p.k.group.Stamps, s)
	return nil
}

// lag reads SHIFT@START/END*ROWS:AMONG.
func lag(text string) (g detect.Lag, err error) {
	shift, rest, _ := strings.Cut(text, "@")
	times, counts, _ := strings.Cut(rest, "*")
	d, err := time.ParseDuration(shift)
	if err != nil {
		return g, err
	}
	g.Shift = d.Microseconds()
	if g.Span, err = span(times); err != nil {
		return g, err
	}
	_, err = fmt.Sscanf(counts, "%d:%d", &g.Rows, &g.Among)
	return g, err
}

// quantities that a case's unit stands for; cases are written in standard units.
var quantities = map[string]detect.Quantity{
	"ohm": detect.Ohms, "kPa": detect.Tension, "m3/m3": detect.WaterContent, "degC": detect.Celsius, "raw": detect.Raw,
}

func (p *parser) start(values map[string]string) error {
	q, ok := quantities[values["unit"]]
	if !ok {
		return fmt.Errorf("unit %q: a case is written in ohm, kPa, m3/m3, degC or raw", values["unit"])
	}
	s := &section{probe: detect.Probe{
		Index: len(p.k.sections), Name: values["name"], Kind: detect.Kind(values["kind"]),
		Unit: values["unit"], Quantity: q, Scale: 1, Zone: values["zone"], Post: values["post"],
		Texture: values["texture"],
	}, elsewhere: values["elsewhere"] == "yes"}
	if l := values["logger"]; l != "" {
		s.probe.Wirings = []detect.Wiring{{Logger: l, Port: values["port"], Span: detect.Span{Start: math.MinInt64, End: math.MaxInt64}}}
	}
	if d := values["depth_cm"]; d != "" {
		v, err := strconv.ParseFloat(d, 64)
		if err != nil {
			return err
		}
		s.probe.DepthCM = detect.Some(v)
	}
	if d := values["installed_on"]; d != "" {
		t, err := instant(d)
		if err != nil {
			return err
		}
		s.probe.InstalledOn = detect.Some(t)
	}
	if n := values["siblings"]; n != "" {
		v, err := strconv.Atoi(n)
		if err != nil {
			return err
		}
		s.ctx.Siblings = v
	}
	s.ctx.Irrigation, s.ctx.HasIrrigation = p.water, p.has&detect.NeedIrrigation != 0
	s.ctx.Rain, s.ctx.HasRain = p.rain, p.has&detect.NeedRain != 0
	s.ctx.HasDemand, s.ctx.ScaleEnd = p.has&detect.NeedDemand != 0, p.end
	if s.ctx.HasDemand {
		for t := p.k.period.Lookback; t < p.k.period.Window.End; t += detect.Day {
			s.ctx.Demand = append(s.ctx.Demand, detect.Demand{Span: detect.Span{Start: t, End: t + detect.Day}, MM: p.demand})
		}
	}
	p.k.sections = append(p.k.sections, s)
	p.k.group.Irrigation, p.k.group.Rain = p.water, p.rain
	if s.ctx.HasIrrigation && p.water == nil {
		p.k.group.Irrigation = []detect.Water{} // a log without a watering
	}
	p.k.group.HasRain = p.has&detect.NeedRain != 0
	p.next = p.k.period.Lookback
	return nil
}

func (p *parser) row(line string, number int) error {
	if len(p.k.sections) == 0 || p.columns == nil {
		return fmt.Errorf("a row before its probe and its header")
	}
	cells := strings.Split(line, ",")
	cell := func(name string) string {
		for i, c := range p.columns {
			if c == name && i < len(cells) {
				return strings.TrimSpace(cells[i])
			}
		}
		return ""
	}
	if t := cell("time"); t != "" {
		at, err := instant(t)
		if err != nil {
			return err
		}
		p.next = at
	}
	s := p.k.sections[len(p.k.sections)-1]
	from := p.next
	before := len(s.series.Time)
	for _, term := range strings.Fields(cell("value")) {
		if err := p.term(s, term); err != nil {
			return err
		}
	}
	if err := fill(&s.series.Temperature, s.series.Time, before, cell("temperature_c")); err != nil {
		return err
	}
	if err := fill(&s.series.Battery, s.series.Time, before, cell("battery_v")); err != nil {
		return err
	}
	if text := cell("want"); text != "" {
		words := strings.Fields(text)
		w := want{Span: detect.Span{Start: from, End: p.next}, line: number}
		if words[0] != "find" {
			w.fault = words[0]
		}
		for _, word := range words[1:] {
			switch word {
			case "open":
				w.open = true
			case "sure":
				w.sure = true
			case "unsure":
				w.unsure = true
			default:
				return fmt.Errorf("want %q: open, sure or unsure may follow", word)
			}
		}
		s.wants = append(s.wants, w)
	}
	return nil
}

func span(text string) (detect.Span, error) {
	a, b, ok := strings.Cut(text, "/")
	if !ok {
		return detect.Span{}, fmt.Errorf("%q: a span is START/END", text)
	}
	from, err := instant(a)
	if err != nil {
		return detect.Span{}, err
	}
	to, err := instant(b)
	return detect.Span{Start: from, End: to}, err
}

func instant(text string) (int64, error) {
	for _, layout := range []string{"2006-01-02T15:04Z07:00", time.RFC3339, "2006-01-02"} {
		if t, err := time.Parse(layout, text); err == nil {
			return t.UnixMicro(), nil
		}
	}
	return 0, fmt.Errorf("%q: a time is 2026-06-01T00:00Z or 2026-06-01", text)
}
