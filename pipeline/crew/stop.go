package crew

import (
	"cmp"
	"fmt"
	"html/template"
	"slices"
	"strings"

	"probeward/pipeline/rank"
	"probeward/schemas"
)

// manyProbes is from how many on a stop lists its probes in lines and not in a table.
const manyProbes = 8

// stop is one visit as the page shows it.
type stop struct {
	Rank               int
	Visit, Place, Kind string
	Title              string // of the main fault
	Tag                string
	Where              []pair // block, row, zone, loggers
	Said               []said // what is wrong, the main thing first
	Percent            int
	Sure               string
	Since, Lasted      string
	Runs, Last         string
	Minutes            float64
	Rows               []probeRow
	Groups             []probeGroup
	Check, Bring       []string
	Why                []string
	Geo                template.URL
	Lat, Lon           string
	QR                 *code
	Route              int // 0: none
	PlanKey            int // place in the plan's order; 0: none
	PlanText           string
	Remarks, People    []string
	Lines              []line
	OnPaper            []string // labels of the lines
	HasPlace, Water    bool
}

type pair struct{ Name, Value string }

// said is one fault of a stop.
type said struct {
	Title, Sentence, Who string
	Percent              int
	Sure                 string
	Evidence             []string
}

type probeRow struct{ Probe, Port, Depth, Wrong string }

type probeGroup struct {
	Logger string
	Probes []probeRow
}

func (in *Input) stop(i int) (stop, error) {
	v := &in.Visits[i]
	main := ""
	if len(v.Faults) > 0 {
		main = v.Faults[0]
	}
	s := stop{
		Rank: i + 1, Visit: v.Name, Place: placeOf(v), Kind: kindOf(v), Tag: v.Tag,
		Percent: percent(v.Confidence), Sure: sure(v.Confidence), Minutes: v.Minutes, Last: in.when(v.LastReading),
		Title: title(main), Water: v.Family == schemas.FamilyWater, Bring: v.Bring, People: in.people(v.Places),
	}
	for _, step := range v.Check {
		s.Check = append(s.Check, sentence(step))
	}
	for _, part := range strings.Split(v.Why, "; ") {
		s.Why = append(s.Why, strings.TrimSpace(part))
	}
	for _, p := range []pair{{"Farm", v.Farm}, {"Block", in.blocks(v)}, {"Row", v.Row}, {"Zone", strings.Join(v.Zones, ", ")}, {"Logger", strings.Join(v.Loggers, ", ")}} {
		// Of a zone's visit the place is its valve: its loggers are those that saw it.
		water := v.Family == schemas.FamilyWater && (p.Name == "Zone" || p.Name == "Logger")
		if p.Value == "" || water || p.Name == "Farm" && !strings.Contains(in.farm(), ", ") {
			continue
		}
		s.Where = append(s.Where, p)
	}
	if v.OpenSince.OK {
		s.Since = in.dayOf(in.local(v.OpenSince.V))
		s.Lasted = lasted(v.OpenSince.V, max(v.OpenSince.V, in.Window.End))
	}
	if v.RunsOpen > 1 {
		s.Runs = fmt.Sprintf("on %d lists in a row", v.RunsOpen)
	}
	if hasPlace(v) {
		s.HasPlace = true
		s.Lat, s.Lon, s.Geo = degrees(v.Latitude.V), degrees(v.Longitude.V), template.URL(geoURI(v))
		var err error
		if s.QR, err = qrCode(geoURI(v)); err != nil {
			return s, err
		}
	}
	if v.RouteOrder.OK {
		s.Route = v.RouteOrder.V
	}
	for _, r := range in.Remarks {
		if r.Visit == v.Name && r.Visit != "" {
			s.Remarks = append(s.Remarks, sentence(r.Text))
		}
	}
	s.PlanKey, s.PlanText = in.planOf(v.Name)
	in.what(v, &s)
	in.who(v, &s)
	s.Lines = mainLines(v)
	for _, l := range s.Lines {
		s.OnPaper = append(s.OnPaper, l.Label)
	}
	return s, nil
}

// placeOf names where a stop is.
func placeOf(v *rank.Visit) string {
	switch {
	case v.Family == schemas.FamilyWater && len(v.Zones) > 0:
		return "Zone " + strings.Join(v.Zones, ", ")
	case v.Post != "":
		return v.Post
	case len(v.Loggers) > 0:
		return "Logger " + strings.Join(v.Loggers, ", ")
	default:
		return strings.Join(v.Probes, ", ")
	}
}

// blocks of a visit's probes; a block's name may hold blanks.
func (in *Input) blocks(v *rank.Visit) string {
	var out []string
	for _, p := range v.Places {
		if b := in.probe(p).Block; b != "" && !slices.Contains(out, b) {
			out = append(out, b)
		}
	}
	slices.Sort(out)
	return cmp.Or(strings.Join(out, ", "), v.Block)
}

// kindOf says what a place is.
func kindOf(v *rank.Visit) string {
	switch {
	case v.Family == schemas.FamilyWater:
		return "the zone's valve"
	case v.Post != "" && v.Family == schemas.FamilyLogger:
		return "the logger at this post"
	case v.Post != "":
		return "post"
	case len(v.Loggers) > 0:
		return "no post in the register"
	default:
		return "probe; neither post nor logger in the register"
	}
}

// what puts the findings under their faults, in the visit's order.
func (in *Input) what(v *rank.Visit, s *stop) {
	findings := in.findings(v)
	for _, name := range v.Faults {
		fault, _ := schemas.FaultNamed(name)
		one := said{Title: title(name), Sentence: sentence(fault.Sentence)}
		most := 0.0
		var who []string
		for _, f := range findings {
			if f.Fault != name {
				continue
			}
			most = max(most, f.Confidence)
			label := f.Name
			if f.Probe >= 0 {
				label = in.label(f.Probe)
			} else if f.Subject == schemas.SubjectZone {
				label = "Zone " + f.Name
			}
			if label != s.Place && !slices.Contains(who, label) {
				who = append(who, label)
			}
			if f.Evidence != "" {
				one.Evidence = append(one.Evidence, sentence(label+": "+f.Evidence))
			}
		}
		slices.Sort(who)
		one.Who, one.Percent, one.Sure = strings.Join(who, ", "), percent(most), sure(most)
		s.Said = append(s.Said, one)
	}
}

// label names a probe as one finds it at the post.
func (in *Input) label(place int) string {
	name := in.probe(place).Name
	if port := in.state(place).Port; port != "" {
		name += " on " + port
	}
	return name
}

// who lists the probes: a few in a table, each with what is wrong; many by logger.
func (in *Input) who(v *rank.Visit, s *stop) {
	findings := in.findings(v)
	groups := map[string]*probeGroup{}
	for k, name := range v.Probes {
		row := probeRow{Probe: name, Port: "–", Depth: "–"}
		if k < len(v.Ports) && v.Ports[k] != "-" {
			row.Port = v.Ports[k]
		}
		if k < len(v.Depths) {
			row.Depth = depth(v.Depths[k], in.Units)
		}
		place := -1
		if k < len(v.Places) {
			place = v.Places[k]
		}
		var wrong []string
		for _, f := range findings {
			if (f.Probe == place || f.Probe < 0 && slices.Contains(f.Probes, place)) && !slices.Contains(wrong, title(f.Fault)) {
				wrong = append(wrong, title(f.Fault))
			}
		}
		row.Wrong = strings.Join(wrong, "; ")
		logger := cmp.Or(in.state(place).Logger, "no logger")
		if groups[logger] == nil {
			groups[logger] = &probeGroup{Logger: logger}
		}
		groups[logger].Probes = append(groups[logger].Probes, row)
		s.Rows = append(s.Rows, row)
	}
	// Of a logger's or a zone's fault every row would say the same.
	if shared := v.Family == schemas.FamilyLogger || s.Water; !shared && len(s.Rows) <= manyProbes {
		return
	}
	s.Rows = nil
	for _, g := range groups {
		s.Groups = append(s.Groups, *g)
	}
	slices.SortFunc(s.Groups, func(a, b probeGroup) int { return strings.Compare(a.Logger, b.Logger) })
}

// mainLines are what the crew says something of at a stop: the logger, the zone, or
// each probe.
func mainLines(v *rank.Visit) []line {
	var out []line
	switch {
	case v.Family == schemas.FamilyLogger && len(v.Loggers) > 0:
		for _, l := range v.Loggers {
			out = append(out, line{Logger: l, Label: "Logger " + l})
		}
	case v.Family == schemas.FamilyWater:
		out = []line{{Label: placeOf(v)}}
	default:
		return probeLines(v)
	}
	return out
}

func probeLines(v *rank.Visit) []line {
	out := []line{}
	for k, p := range v.Probes {
		label := p
		if k < len(v.Ports) && v.Ports[k] != "-" {
			label += ", port " + v.Ports[k]
		}
		out = append(out, line{Probe: p, Label: label})
	}
	return out
}

func (in *Input) roundStop(i int, s stop) roundStop {
	v := &in.Visits[i]
	r := roundStop{Visit: v.Name, Rank: i + 1, Place: s.Place, Post: v.Post, Lines: s.Lines, More: []line{}, Suspected: []option{}}
	for _, f := range v.Faults {
		r.Suspected = append(r.Suspected, option{f, title(f)})
	}
	if len(s.Lines) == 0 || s.Lines[0].Probe == "" {
		r.More = probeLines(v)
	}
	for _, lines := range [][]line{r.Lines, r.More} {
		for k := range lines {
			if p := lines[k].Probe; p != "" {
				if at := slices.Index(v.Probes, p); at >= 0 && at < len(v.Places) {
					lines[k].Logger = in.state(v.Places[at]).Logger
				}
			}
		}
	}
	return r
}

func visitsHeader() []string { return schemas.Visits.Header() }
