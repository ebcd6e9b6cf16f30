package report

import (
	"fmt"
	"html/template"
	"strings"

	"probeward/pipeline/report/chart"
	"probeward/schemas"
)

// findings are the three lists of the page.
type findings struct {
	Standing, Ended, Explained []finding
	Families                   []string
	Charts                     int
	Rain                       string // of the wettest day; empty: none
}

// finding is one, with its chart.
type finding struct {
	ID, ProbeID       string // the second where it is the probe's first
	Title, Subject    string
	Where, When       string
	mark              // what it makes of the probe
	Sure              string
	Measured          string
	Evidence          string
	Readings          string
	Masked            string
	Visit, VisitLink  string
	Family, Key       string
	Chart             template.HTML
	Told, Label       string // id and text of the caption
	Line, Others      string // ids for the closer look
	Days              []dayRow
	DaysUnit, DaysFor string
	TableElsewhere    string // link to the probe's first chart
}

// flagWords say what happens to the readings.
func flagWords(flag schemas.Flag) string {
	switch flag {
	case schemas.FlagFail:
		return "left out (flag 4)"
	case schemas.FlagSuspect:
		return "kept, marked suspect (flag 3)"
	case schemas.FlagMissing:
		return "missing (flag 9)"
	}
	return "true, and kept"
}

func (w *work) findings() findings {
	var out findings
	if most := w.frame.WettestDay(w.in.Rain); most > 0 {
		out.Rain = chart.Number(most) + " mm"
	}
	families := map[string]bool{}
	shown := map[int]string{} // the finding that has a probe's daily table
	for n, i := range w.order {
		f := w.finding(n, i, shown)
		families[f.Family] = true
		if f.Chart != "" {
			out.Charts++
		}
		switch w.groupOf(i) {
		case standing:
			out.Standing = append(out.Standing, f)
		case ended:
			out.Ended = append(out.Ended, f)
		default:
			out.Explained = append(out.Explained, f)
		}
	}
	for _, f := range schemas.Faults() {
		if name := string(f.Family); families[name] {
			out.Families = append(out.Families, name)
			delete(families, name)
		}
	}
	return out
}

func (w *work) finding(n, place int, shown map[int]string) finding {
	j := w.in.Judged
	f := &j.Findings[place]
	fault, _ := schemas.FaultNamed(f.Fault)
	out := finding{ID: fmt.Sprintf("finding-%d", place+1), Title: title(f.Fault), Subject: f.Name, Family: string(f.Family), Sure: sure(f.Confidence), Evidence: w.say.evidence(f.Evidence)}
	if out.Evidence == "" {
		out.Evidence = faultWords(f.Fault)
	}
	switch f.Subject {
	case schemas.SubjectProbe:
		p := &w.in.Probes[f.Probe]
		if w.firstOf[f.Probe] == n {
			out.ProbeID = anchor("probe", p.Name)
		}
		out.Where = join(w.say.depth(p.DepthCM), part("zone ", p.Zone), part("post ", p.Post), part("block ", p.Block))
		out.Key = join(p.Name, p.Zone, p.Block, p.Post)
	default:
		out.Subject = string(f.Subject) + " " + f.Name
		out.Where = "concerns " + w.names(w.touched(place), 12)
		for _, p := range w.touched(place) {
			out.Key += w.in.Probes[p].Name + " " + w.in.Probes[p].Zone + " "
		}
	}
	out.Key = strings.ToLower(join(out.Key, out.Title, out.Subject, out.Family))
	if v := fault.VerdictFor(f.Confidence); v != "" {
		out.mark = markOf(v)
	} else {
		out.mark = mark{Shape: "≈", Word: "water", Class: "v-water"}
	}
	out.When = fmt.Sprintf("%s to %s (%s)", w.say.at(f.Start), w.say.at(f.End), length(f.End-f.Start))
	if f.Open {
		out.When = fmt.Sprintf("since %s, still so (%s)", w.say.at(f.Start), length(f.End-f.Start))
	}
	out.Measured = measured(f.Measured, f.Threshold, f.Unit)
	out.Readings = thousands(int64(f.Readings)) + " of them; " + flagWords(f.Flag)
	if f.MaskedBy != "" {
		out.Masked = join("explained by "+strings.ReplaceAll(f.MaskedBy, "_", " "), f.MaskedWhy)
	}
	if v := w.visitOf[place]; v >= 0 {
		out.Visit, out.VisitLink = fmt.Sprintf("%d", v+1), fmt.Sprintf("#stop-%d", v+1)
	}
	w.show(&out, place, shown)
	return out
}

// show adds the chart, and the daily table where it is the probe's first.
func (w *work) show(out *finding, place int, shown map[int]string) {
	d := &w.charts[place]
	if d.main < 0 {
		return
	}
	s := w.series[d.main]
	out.Chart, out.Told, out.Label = template.HTML(d.svg), fmt.Sprintf("told-%d", place+1), d.label
	out.Line = lineID(d.main)
	var ids []string
	for _, n := range d.neighbours {
		if id := w.series[n].mean.ID; id != "" {
			ids = append(ids, id)
		}
	}
	out.Others = strings.Join(ids, " ")
	if to, ok := shown[d.main]; ok {
		out.TableElsewhere = to
		return
	}
	shown[d.main] = "#" + out.ID
	out.Days, out.DaysFor = s.days, w.in.Probes[d.main].Name
	_, out.DaysUnit = unitWords(w.in.Probes[d.main].Quantity)
}

// measured writes what was measured and against what. A unit of many words stands
// once, behind both.
func measured(value, threshold float64, unit string) string {
	if unit == "1" {
		unit = ""
	}
	if len(unit) > 8 {
		return fmt.Sprintf("%s; threshold %s (%s)", chart.Number(value), chart.Number(threshold), unit)
	}
	return fmt.Sprintf("%s; threshold %s", strings.TrimSpace(chart.Number(value)+" "+unit), strings.TrimSpace(chart.Number(threshold)+" "+unit))
}

// join puts texts behind each other with commas; empty ones go.
func join(parts ...string) string {
	var out []string
	for _, p := range parts {
		if p != "" {
			out = append(out, p)
		}
	}
	return strings.Join(out, ", ")
}

// part puts a word before a name, unless the name begins with it.
func part(word, name string) string {
	if name == "" || strings.HasPrefix(strings.ToLower(name), strings.TrimSpace(word)) {
		return name
	}
	return word + name
}
