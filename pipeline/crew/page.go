package crew

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"slices"
	"strings"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/judge"
	"probeward/pipeline/rank"
)

//go:embed assets
var assets embed.FS

var pageTemplate = template.Must(template.New("crew.html.tmpl").Funcs(template.FuncMap{
	"span": span, "plural": plural, "ranks": ranks, "list": func(l []string) string { return strings.Join(l, ", ") },
}).ParseFS(assets, "assets/*.tmpl"))

// pageData is what the template shows.
type pageData struct {
	Heading, RunTitle, Farm, Week, AsOf string
	CSS                                 template.CSS
	Scripts                             []template.JS
	Stops                               []stop
	Work                                float64
	Used, Tools                         []need
	Map                                 *plot
	Plan                                *planned
	Remarks                             []string
	Plain                               []option
	Outcomes                            []option
	Groups                              []group
	Round                               round
	Routed                              bool // some stop has a place on the round
	From, To                            string
}

// round is what the page's scripts work on.
type round struct {
	Run      string      `json:"run"`
	Header   []string    `json:"header"`
	Plain    []option    `json:"plain"`
	Groups   []group     `json:"groups"`
	Outcomes []option    `json:"outcomes"`
	Stops    []roundStop `json:"stops"`
}

type roundStop struct {
	Visit     string   `json:"visit"`
	Rank      int      `json:"rank"`
	Place     string   `json:"place"`
	Post      string   `json:"post"`
	Suspected []option `json:"suspected"`
	Lines     []line   `json:"lines"`
	More      []line   `json:"more"`
}

// line is one thing of which the crew says what it found.
type line struct {
	Logger string `json:"logger"`
	Probe  string `json:"probe"`
	Label  string `json:"label"`
}

func (in *Input) page() ([]byte, error) {
	css, err := assets.ReadFile("assets/style.css")
	if err != nil {
		return nil, err
	}
	d := pageData{
		Heading: in.heading(), RunTitle: in.Title, Farm: in.farm(), Week: in.week(), AsOf: in.asOf(),
		CSS: template.CSS(css), Map: in.plot(), Plan: in.planned(),
		Plain: plainFound, Outcomes: outcomes, Groups: foundGroups(),
		From: day(in.local(in.Window.Start)), To: day(in.local(max(in.Window.Start, in.Window.End-1))),
	}
	for _, name := range []string{"assets/visits.js", "assets/page.js"} {
		b, err := assets.ReadFile(name)
		if err != nil {
			return nil, err
		}
		d.Scripts = append(d.Scripts, template.JS(b))
	}
	d.Used, d.Tools = in.needs()
	for _, r := range in.Remarks {
		switch {
		case r.Visit == "":
			d.Remarks = append(d.Remarks, sentence(r.Text))
		case !slices.ContainsFunc(in.Visits, func(v rank.Visit) bool { return v.Name == r.Visit }):
			d.Remarks = append(d.Remarks, sentence(r.Visit+", no longer on the list: "+r.Text))
		}
	}
	d.Round = round{Run: in.runID(), Header: visitsHeader(), Plain: plainFound, Groups: d.Groups, Outcomes: outcomes, Stops: []roundStop{}}
	for i := range in.Visits {
		s, err := in.stop(i)
		if err != nil {
			return nil, err
		}
		d.Stops = append(d.Stops, s)
		d.Work += in.Visits[i].Minutes
		d.Routed = d.Routed || s.Route > 0
		d.Round.Stops = append(d.Round.Stops, in.roundStop(i, s))
	}
	var b bytes.Buffer
	if err := pageTemplate.Execute(&b, d); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// heading names the round: farm and week.
func (in *Input) heading() string {
	parts := []string{"Service round"}
	if f := in.farm(); f != "" {
		parts = append(parts, f)
	}
	return strings.Join(append(parts, in.week()), ", ")
}

// week is the ISO week of the window's last instant.
func (in *Input) week() string {
	year, week := in.local(in.Window.End - 1).ISOWeek()
	return fmt.Sprintf("week %d of %d", week, year)
}

// asOf is the window's end: what the round is true of.
func (in *Input) asOf() string {
	t := in.local(in.Window.End)
	zone := in.Zone.String()
	if _, offset := t.Zone(); zone != "UTC" {
		zone += ", UTC" + t.Format("-07:00")
		if offset == 0 {
			zone = in.Zone.String() + ", same as UTC"
		}
	}
	return t.Format("Monday 2 January 2006, 15:04") + " (" + zone + ")"
}

// ranks writes numbers of stops: 3, 7 and 9.
func ranks(list []int) string {
	var words []string
	for _, n := range list {
		words = append(words, fmt.Sprint(n))
	}
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

// people gives a person's words about the visit's probes, and when they end.
func (in *Input) people(places []int) []string {
	var out []string
	for i := range in.Judged.Overrides {
		o := &in.Judged.Overrides[i]
		if !slices.Contains(places, o.Probe) || o.Expired {
			continue
		}
		until := "until someone takes it back"
		if o.Ends.OK {
			until = "until " + day(in.local(o.Ends.V))
		}
		out = append(out, fmt.Sprintf("%s %s, %s: %s", in.probe(o.Probe).Name, actions[o.Action], until, o.Why))
	}
	return out
}

// actions of an override in words.
var actions = map[string]string{
	judge.Ignore: "has findings that somebody set aside", judge.Accept: "is used on somebody's word", judge.Exclude: "is left out on somebody's word",
}

func (in *Input) when(m detect.Maybe[int64]) string {
	if !m.OK {
		return ""
	}
	t := in.local(m.V)
	s := t.Format("Mon 2 Jan 15:04")
	if t.Year() != in.local(in.Window.End).Year() {
		s = t.Format("2 Jan 2006, 15:04")
	}
	return s
}

// dayOf leaves the year out where it is the round's.
func (in *Input) dayOf(t time.Time) string {
	if t.Year() != in.local(in.Window.End-1).Year() {
		return t.Format("2 Jan 2006")
	}
	return day(t)
}
