package report

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/arrange"
	"probeward/pipeline/corroborate"
	"probeward/pipeline/feedback"
	"probeward/pipeline/fieldlog"
	"probeward/pipeline/judge"
	"probeward/pipeline/previous"
	"probeward/pipeline/rank"
	"probeward/pipeline/report/chart"
)

// Input is what the page rests on. Nothing in it is written to.
type Input struct {
	Probes   []detect.Probe // the register, sorted by name
	Arranged *arrange.Result
	Judged   *judge.Result
	Visits   []rank.Visit // by rank
	Notes    []string     // of the run as a whole

	// The cells of the matrix: the detectors in the order of the outcomes, the probe
	// detectors' reports by place in the register, and the groups' verdicts.
	ProbeDetectors, GroupDetectors []*detect.Detector
	Reports                        []detect.Report
	Groups                         []corroborate.Verdict

	Irrigation fieldlog.Irrigation
	Rain       []detect.Water
	Zone       *time.Location // of all times on the page; nil: UTC
	Inches     bool           // depths in inches

	Previous *previous.Run // nil: there was no run before
	Changed  []Changed     // against it

	Book  *feedback.Book // what visits say; nil: there were none
	Quiet []rank.Quieted // findings that wait because of them
}

// Changed is a row of the table exclusions_changed: how much of a probe's day was
// withdrawn or given back since the run before.
type Changed struct {
	Zone, Probe string
	Day         int64   // its midnight at the farm
	Withdrawn   bool    // else given back
	Hours       float64 // of the day
	Reasons     string  // the faults, blank between
}

//go:embed page.tmpl page.css page.js uplot
var files embed.FS

var page = template.Must(template.New("page.tmpl").ParseFS(files, "page.tmpl"))

// Page writes the page. An error says that the input does not belong together.
func Page(in Input) ([]byte, error) {
	if in.Judged == nil || in.Arranged == nil || len(in.Judged.States) != len(in.Probes) {
		return nil, fmt.Errorf("report: the judgement is not of these %d probes", len(in.Probes))
	}
	w := &work{in: &in, say: newWords(&in)}
	w.frame = chart.NewFrame(in.Judged.Period, in.Zone)
	w.places()
	w.chartsOf()
	v := &view{
		Head: w.head(), Zones: w.zones(), Stops: w.stops(), Matrix: w.matrix(),
		Findings: w.findings(), Health: w.health(), Overrides: w.overrides(), Season: w.season(),
		Defs: template.HTML(w.defs.String()), Pack: template.HTML(w.pack()),
	}
	v.Blind = blindOf(v.Zones)
	for _, part := range []struct {
		name string
		to   *string
	}{{"page.css", &v.css}, {"page.js", &v.js}, {"uplot/uPlot.min.css", &v.plotCSS}, {"uplot/uPlot.iife.min.js", &v.plotJS}, {"uplot/LICENSE", &v.licence}} {
		b, err := files.ReadFile(part.name)
		if err != nil {
			return nil, fmt.Errorf("report: %w", err)
		}
		*part.to = string(b)
	}
	var out bytes.Buffer
	if err := page.Execute(&out, v); err != nil {
		return nil, fmt.Errorf("report: %w", err)
	}
	return out.Bytes(), nil
}

// work is a page under way.
type work struct {
	in    *Input
	say   *words
	frame *chart.Frame

	stopOf  []int // place in Visits of a probe's visit; -1: none
	visitOf []int // place in Visits of a finding's visit; -1: none
	order   []int // findings in the order of the page
	firstOf []int // place in order of a probe's own first finding; -1: none

	series map[int]*series // by place in the register, of those that are drawn
	charts []drawn         // by place of the finding
	defs   bytes.Buffer
}

// view is what the template reads.
type view struct {
	Head      head
	Blind     []string
	Zones     []zone
	Stops     []stop
	Matrix    matrix
	Findings  findings
	Health    []healthRow
	Overrides []overrideRow
	Season    season
	Defs      template.HTML
	Pack      template.HTML

	css, js, plotCSS, plotJS, licence string
}

// Style is the page's own sheet and that of the closer look.
func (v *view) Style() template.HTML {
	return template.HTML("<style>\n" + v.plotCSS + "\n" + v.css + "</style>")
}

// Script is the closer look's library under its licence, and the page's own script.
func (v *view) Script() template.HTML {
	return template.HTML("<script>\n/*\n" + v.licence + "\n*/\n" + v.plotJS + "\n</script>\n<script>\n" + v.js + "</script>")
}
