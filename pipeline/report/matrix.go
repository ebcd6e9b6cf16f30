package report

import (
	"cmp"
	"fmt"
	"html"
	"html/template"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"probeward/detectors/detect"
)

// matrix is every probe against every detector.
type matrix struct {
	Detectors []string
	Rows      []matrixRow
	Reasons   []reason
	Cells     int
}

type matrixRow struct {
	Name, Link string
	mark
	Cells template.HTML
}

// reason is why cells were not evaluated: one for all that differ in numbers alone.
type reason struct {
	N             int
	Cells, Probes int
	Cause, Text   string
	Example       bool // the text's numbers are those of one of several cells
	Remedy        string
	Counted       string // cells and probes, in words
	Detectors     string
	detectors     []string
	lastProbe     int
}

// causes in words, and what helps.
var causes = [...][2]string{
	detect.NotRun:   {"not run", "see the warnings of the run"},
	detect.Absent:   {"something is absent", "add to the register, the export or the logs what the reason names; where a zone has no such sensor, nothing is to be done"},
	detect.TooShort: {"too short", "give a longer lookback or more of the export, or wait until there is enough"},
	detect.NoChance: {"no chance to see it", "nothing to do: nothing happened that could have shown the fault"},
}

// answer of one detector about one probe.
type answer struct {
	applies bool
	detect.Outcome
}

func (w *work) matrix() matrix {
	in := w.in
	var m matrix
	all := append(slices.Clone(in.ProbeDetectors), in.GroupDetectors...)
	for _, d := range all {
		m.Detectors = append(m.Detectors, title(d.Name))
	}
	groups := w.groupAnswers()
	found := w.foundBy()
	index := map[string]int{}
	for p := range in.Probes {
		var cells strings.Builder
		for k, d := range all {
			a := answer{applies: true}
			if k >= len(in.ProbeDetectors) {
				a = groups[p*len(in.GroupDetectors)+k-len(in.ProbeDetectors)]
			} else if p < len(in.Reports) && k < len(in.Reports[p].Outcomes) {
				a.Outcome = in.Reports[p].Outcomes[k]
			}
			finding, has := found[cell{d.Name, p}]
			switch {
			case has:
				fmt.Fprintf(&cells, `<td class="f"><a href="#finding-%d" title="found: %s">F</a>`, finding+1, html.EscapeString(title(d.Name)))
			case !a.applies:
				cells.WriteString(`<td title="does not apply">`)
			case a.State == detect.NotEvaluated:
				n := m.count(index, d.Name, a.Why, p)
				fmt.Fprintf(&cells, `<td class="n" title="not evaluated: reason %d">n%d`, n, n)
			default: // found of others of the group is clear of this one
				cells.WriteString(`<td class="c" title="clear">c`)
			}
		}
		m.Cells += len(all)
		m.Rows = append(m.Rows, matrixRow{Name: in.Probes[p].Name, Link: w.probeLink(p), mark: markOf(in.Judged.States[p].Verdict), Cells: template.HTML(cells.String())})
	}
	for i := range m.Reasons {
		r := &m.Reasons[i]
		r.Detectors = strings.Join(r.detectors, ", ")
		r.Counted = count(r.Cells, "cell") + " of " + count(r.Probes, "probe")
	}
	return m
}

var digits = regexp.MustCompile(`[0-9]+(\.[0-9]+)?`)

// count books a cell that was not evaluated and gives the number of its reason.
func (m *matrix) count(index map[string]int, detector string, why detect.Why, probe int) int {
	key := strconv.Itoa(int(why.Cause)) + digits.ReplaceAllString(why.String(), "#")
	n, ok := index[key]
	if !ok {
		n = len(m.Reasons)
		index[key] = n
		c := causes[detect.NotRun]
		if int(why.Cause) < len(causes) {
			c = causes[why.Cause]
		}
		m.Reasons = append(m.Reasons, reason{N: n + 1, Cause: c[0], Remedy: c[1], Text: why.String(), lastProbe: -1})
	}
	r := &m.Reasons[n]
	r.Cells++
	if r.lastProbe != probe {
		r.Probes++
		r.lastProbe = probe
	}
	r.Example = r.Example || r.Text != why.String()
	if name := title(detector); !slices.Contains(r.detectors, name) {
		r.detectors = append(r.detectors, name)
	}
	return r.N
}

type cell struct {
	detector string
	probe    int
}

// foundBy gives, for each cell, the first of its findings on the page.
func (w *work) foundBy() map[cell]int {
	out := map[cell]int{}
	for _, f := range w.order {
		for _, p := range w.touched(f) {
			c := cell{w.in.Judged.Findings[f].Detector, p}
			if _, ok := out[c]; !ok {
				out[c] = f
			}
		}
	}
	return out
}

// groupAnswers lays the groups' answers out by probe: a probe that was at two
// loggers is evaluated where one of them was.
func (w *work) groupAnswers() []answer {
	n := len(w.in.GroupDetectors)
	out := make([]answer, n*len(w.in.Probes))
	order := make([]int, len(w.in.Groups))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		x, y := &w.in.Groups[a].Group, &w.in.Groups[b].Group
		return cmp.Or(cmp.Compare(x.Scope, y.Scope), strings.Compare(x.Name, y.Name))
	})
	for _, i := range order {
		g := &w.in.Groups[i]
		for m := range g.Group.Members {
			p := g.Group.Members[m].Probe.Index
			for k, d := range w.in.GroupDetectors {
				if d.Scope != g.Group.Scope || p >= len(w.in.Probes) {
					continue
				}
				a := &out[p*n+k]
				var o detect.Outcome
				if k < len(g.Outcomes) {
					o = g.Outcomes[k]
				}
				if !a.applies || o.State > a.State {
					a.Outcome = o
				}
				a.applies = true
			}
		}
	}
	return out
}
