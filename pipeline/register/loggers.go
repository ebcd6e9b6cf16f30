package register

import (
	"fmt"
	"slices"
	"strings"

	"probeward/pipeline/table"
)

// gather lists the loggers of the loggers table and those that only probes name.
func (r *Register) gather(f *table.File, probesFile string) {
	at := map[string]int{}
	if f != nil {
		r.Notes = append(r.Notes, f.Notes...)
		for _, t := range f.Rows {
			l := Logger{Name: t.Text("logger"), Post: t.Text("post"), Latitude: t.Number("latitude"), Longitude: t.Number("longitude"),
				Serial: t.Text("serial"), Note: t.Text("note"), Listed: true}
			say := func(column, problem string) {
				n := t.Note(column, table.Warning, problem)
				n.Subject, n.Name = "logger", l.Name
				r.Notes = append(r.Notes, n)
			}
			if problem := place(&l.Latitude, &l.Longitude); problem != "" {
				say("latitude", problem)
			}
			if _, twice := at[l.Name]; twice {
				say("logger", "the logger has a row above already; this one is left out")
				continue
			}
			at[l.Name] = len(r.Loggers)
			r.Loggers = append(r.Loggers, l)
		}
	}
	for i := range r.Probes {
		for _, row := range r.Details[i].Rows {
			if row.Logger == "" {
				continue
			}
			j, ok := at[row.Logger]
			if !ok {
				j = len(r.Loggers)
				at[row.Logger] = j
				r.Loggers = append(r.Loggers, Logger{Name: row.Logger})
				if f != nil {
					r.Notes = append(r.Notes, Note{File: probesFile, Line: row.Line, Column: "logger", Severity: table.Info,
						Subject: "logger", Name: row.Logger, Problem: fmt.Sprintf("the logger has no row in %s", f.Name), Text: row.Logger})
				}
			}
			l := &r.Loggers[j]
			if l.Post == "" {
				l.Post = row.Post
			}
			if !l.Latitude.OK {
				l.Latitude, l.Longitude = row.Latitude, row.Longitude
			}
		}
	}
	slices.SortFunc(r.Loggers, func(a, b Logger) int { return strings.Compare(a.Name, b.Name) })
}

// pairs checks that each probe's temperature probe is registered and measures
// temperature, and notes names that differ too little to be told apart.
func (r *Register) pairs(file string) {
	for i, d := range r.Details {
		if d.TemperatureProbe == "" {
			continue
		}
		n := Note{File: file, Line: d.Rows[len(d.Rows)-1].Line, Column: "temperature_probe", Severity: table.Warning,
			Subject: "probe", Name: r.Probes[i].Name, Text: d.TemperatureProbe}
		j, ok := r.Named(d.TemperatureProbe)
		switch {
		case !ok:
			n.Suggest, _ = r.Nearest(d.TemperatureProbe)
			n.Problem = fmt.Sprintf("the register has no probe %q: no temperature is taken beside this one", d.TemperatureProbe)
		case r.Probes[j].Unit != degC:
			n.Problem = fmt.Sprintf("probe %q exports %s, not degC: no temperature is taken beside this one", d.TemperatureProbe, r.Probes[j].Unit)
		default:
			continue
		}
		r.Notes = append(r.Notes, n)
		r.Details[i].TemperatureProbe = ""
	}
	for _, p := range r.Probes {
		if same := r.folded[table.Fold(p.Name)]; len(same) > 1 && same[0] == p.Name {
			i, _ := r.Named(same[1])
			r.Notes = append(r.Notes, Note{File: file, Line: r.Details[i].Rows[0].Line, Column: "probe", Severity: table.Warning,
				Subject: "probe", Name: same[1], Text: same[1], Suggest: p.Name,
				Problem: fmt.Sprintf("differs from probe %q only in case, blanks or hyphens: if it is one probe, write one name", p.Name)})
		}
	}
}
