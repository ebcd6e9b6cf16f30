package config

import (
	"fmt"
	"os"
	"path"
	"regexp"
	"strings"
	"time"

	"probeward/schemas"
)

// check finds what a schema cannot say.
func (d *document) check(resolve func(string) string) {
	if name, ok := d.root["timezone"].(string); ok {
		if _, err := zoneNamed(name); err != nil {
			d.say("/timezone", "%s", err)
		}
	}
	for _, key := range []string{"window", "lookback"} {
		text, ok := d.root[key].(string)
		if !ok {
			continue
		}
		span, err := schemas.ParseSpan(text)
		switch {
		case err != nil:
			d.say("/"+key, "%s", err)
		case span <= 0 && key == "window":
			d.say("/"+key, "a window of no length judges nothing: write 7d, say")
		}
	}
	for _, key := range tableKeys {
		name, ok := d.root[key].(string)
		if !ok || strings.Contains(resolve(name), "://") {
			continue
		}
		if info, err := os.Stat(resolve(name)); err != nil {
			d.say("/"+key, "no file %q: paths are relative to the folder that is scanned", name)
		} else if info.IsDir() {
			d.say("/"+key, "%q is a folder, and a file is wanted", name)
		}
	}
	sources, _ := d.root["readings"].([]any)
	for i, s := range sources {
		if source, ok := s.(map[string]any); ok {
			d.source(fmt.Sprintf("/readings/%d", i), source)
		}
	}
}

// zoneNamed finds a zone; the machine's own is refused, since results would depend
// on where they were made.
func zoneNamed(name string) (*time.Location, error) {
	if name == "Local" || name == "" {
		return nil, fmt.Errorf("%q is whatever the machine has: write an IANA name such as America/Los_Angeles, or UTC", name)
	}
	zone, err := time.LoadLocation(name)
	if err == nil {
		return zone, nil
	}
	near := ""
	if spelt := strings.ReplaceAll(name, " ", "_"); spelt != name {
		if _, err := time.LoadLocation(spelt); err == nil {
			near = "; was " + spelt + " meant?"
		}
	}
	return nil, fmt.Errorf("no zone is called %q%s: write an IANA name such as America/Los_Angeles, or UTC", name, near)
}

// canonical are our columns that an export's can be mapped to.
var canonical = append(schemas.ReadingsLong.Header(), "logger", "port", "date")

// source checks one entry of readings.
func (d *document) source(p string, s map[string]any) {
	if glob, ok := s["path"].(string); ok {
		if _, err := path.Match(glob, ""); err != nil {
			d.say(p+"/path", "%q is no glob: a [ is not closed, or a \\ stands last", glob)
		} else if strings.TrimSpace(glob) == "" {
			d.say(p+"/path", "path is empty: write a file or a glob such as exports/*.csv")
		}
	}
	if logger, ok := s["logger"].(string); ok {
		how, expr, _ := strings.Cut(logger, ":")
		if how == "filename" || how == "header" {
			d.expression(p+"/logger", expr)
		}
	}
	for i, v := range list(s["ports"]) {
		d.expression(fmt.Sprintf("%s/ports/%d", p, i), v)
	}
	names := list(s["names"])
	seen := map[string]bool{}
	for i, n := range names {
		if n != "" && seen[n] {
			d.say(fmt.Sprintf("%s/names/%d", p, i), "the name %q stands twice", n)
		}
		seen[n] = true
	}
	columns, _ := s["columns"].(map[string]any)
	for key, v := range columns {
		if !contains(canonical, key) {
			d.sayKey(under(p+"/columns", key), "%s", unknown("column of ours", key, canonical))
		} else if theirs, ok := v.(string); ok && len(names) > 0 && !seen[theirs] {
			d.say(under(p+"/columns", key), "%s", unknown("column in names", theirs, names))
		}
	}
	if len(names) > 0 && columns["time"] == nil && !seen["time"] {
		d.say(p+"/names", "none of the names is time: name it so, or map it with columns: {time: NAME}")
	}
	if layout, ok := s["time_format"].(string); ok {
		if problem := layoutProblem(layout); problem != "" {
			d.say(p+"/time_format", "%s", problem)
		}
	}
	codes, _ := s["fault_codes"].(map[string]any)
	for code, v := range codes {
		if fault, ok := v.(string); ok {
			if _, known := schemas.FaultNamed(fault); !known {
				d.say(under(p+"/fault_codes", code), "%s", unknown("fault", fault, faultNames()))
			}
		}
		if contains(list(s["missing"]), code) {
			d.sayKey(under(p+"/fault_codes", code), "%q stands under missing too: it can be only one of them", code)
		}
	}
}

func (d *document) expression(pointer, expr string) {
	if _, err := regexp.Compile(expr); err != nil {
		d.say(pointer, "no regular expression: %s", strings.TrimPrefix(err.Error(), "error parsing regexp: "))
	}
}

// layoutProblem says what a time layout lacks: an instant that is written and read
// again has to come back to the day, and to the hour where one is written.
func layoutProblem(layout string) string {
	const remedy = "write how Mon Jan 2 15:04:05 2006 would look, such as 2006-01-02 15:04:05"
	switch layout {
	case "epoch", "epoch_ms", "epoch_us", "day_number": // see stamp.Compile
		return ""
	}
	if strings.Contains(layout, "%") {
		return fmt.Sprintf("%q has percent signs: %s", layout, remedy)
	}
	was := time.Date(2013, 11, 28, 17, 43, 59, 0, time.UTC)
	got, err := time.Parse(layout, was.Format(layout))
	switch {
	case err != nil:
		return fmt.Sprintf("%q cannot read what it writes: %s", layout, remedy)
	case got.Year() != was.Year():
		return fmt.Sprintf("%q has no year: %s", layout, remedy)
	case got.Month() != was.Month():
		return fmt.Sprintf("%q has no month: %s", layout, remedy)
	case got.Day() != was.Day():
		return fmt.Sprintf("%q has no day: %s", layout, remedy)
	case got.Hour() == 5:
		return fmt.Sprintf("%q has a clock of 12 hours and does not say which half: write 15 for the hour, or add PM", layout)
	case got.Hour() == 0 && (got.Minute() != 0 || got.Second() != 0):
		return fmt.Sprintf("%q has minutes and no hour: %s", layout, remedy)
	}
	return ""
}

func list(v any) []string {
	items, _ := v.([]any)
	out := make([]string, 0, len(items))
	for _, item := range items {
		s, _ := item.(string)
		out = append(out, s)
	}
	return out
}

func contains(all []string, name string) bool {
	for _, a := range all {
		if a == name {
			return true
		}
	}
	return false
}

func faultNames() []string {
	var names []string
	for _, f := range schemas.Faults() {
		names = append(names, f.Name)
	}
	return names
}
