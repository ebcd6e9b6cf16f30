package fieldlog

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/table"
	"probeward/schemas"
)

// Note is what a table's reader has to say about a row.
type Note = table.Note

// Irrigation is the waterings by zone: sorted by start and not overlapping.
type Irrigation map[string][]detect.Water

// longest watering that is taken without a doubt. Drip sets run for a day or two;
// beyond a week a valve was forgotten, or a date mistyped (common practice, no source).
const longest = 7 * detect.Day

// LoadIrrigation reads the log of waterings. Waterings of a zone that overlap become
// one, their depths added; the depth is absent when that of any part is. A volume
// without the zone's area gives no depth. Rows that repeat word for word count once.
func LoadIrrigation(path string, zone *time.Location) (Irrigation, []Note, error) {
	f, err := table.Load(path, schemas.Irrigation, zone)
	if err != nil {
		return nil, nil, fmt.Errorf("irrigation: %w", err)
	}
	log, notes := irrigation(f)
	return log, notes, nil
}

func irrigation(f *table.File) (Irrigation, []Note) {
	log, notes := Irrigation{}, f.Notes
	seen, volumes := map[string]map[detect.Water]int{}, 0
	for _, r := range f.Rows {
		zone := r.Text("zone")
		w := detect.Water{Span: detect.Span{Start: r.Time("start").V, End: r.Time("end").V}, MM: r.Number("depth_mm")}
		say := func(column string, s table.Severity, problem string) {
			n := r.Note(column, s, problem)
			n.Subject, n.Name = "zone", zone
			notes = append(notes, n)
		}
		if w.End <= w.Start {
			say("end", table.Error, "the end is not after the start; the row is left out")
			continue
		}
		if w.Length() > longest {
			say("end", table.Warning, fmt.Sprintf("a watering of %s: check the dates", detect.Length(w.Length())))
		}
		if w.MM.OK && w.MM.V < 0 {
			say("depth_mm", table.Warning, "a depth below 0 mm; taken as missing")
			w.MM = detect.Maybe[float64]{}
		}
		if w.MM.OK && w.MM.V == 0 {
			say("depth_mm", table.Info, "0 mm were applied: this is no watering; the row is left out")
			continue
		}
		if !w.MM.OK && r.Number("volume_l").OK {
			volumes++
		}
		if line, twice := seen[zone][w]; twice {
			say("", table.Info, fmt.Sprintf("repeats line %d and counts once", line))
			continue
		}
		if seen[zone] == nil {
			seen[zone] = map[detect.Water]int{}
		}
		seen[zone][w] = r.Line
		log[zone] = append(log[zone], w)
	}
	for zone, waters := range log {
		log[zone] = mergeWater(waters)
	}
	if volumes > 0 {
		notes = append(notes, Note{File: f.Name, Column: "volume_l", Severity: table.Info,
			Problem: fmt.Sprintf("%d waterings have a volume and no depth: without the zone's area no depth follows; fill in depth_mm", volumes)})
	}
	table.SortNotes(notes)
	return log, notes
}

// mergeWater sorts waterings and makes those that overlap one. Waterings that only
// touch stay apart.
func mergeWater(ws []detect.Water) []detect.Water {
	slices.SortFunc(ws, func(a, b detect.Water) int {
		return cmp.Or(cmp.Compare(a.Start, b.Start), cmp.Compare(a.End, b.End), cmp.Compare(a.MM.V, b.MM.V))
	})
	out := ws[:0]
	for _, w := range ws {
		n := len(out)
		if n == 0 || out[n-1].End <= w.Start {
			out = append(out, w)
			continue
		}
		last := &out[n-1]
		last.End = max(last.End, w.End)
		if last.MM.OK && w.MM.OK {
			last.MM.V += w.MM.V
		} else {
			last.MM = detect.Maybe[float64]{}
		}
	}
	return out
}
