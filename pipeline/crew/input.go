package crew

import (
	"cmp"
	"fmt"
	"strings"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/judge"
	"probeward/pipeline/rank"
	"probeward/pipeline/register"
	"probeward/pipeline/shift"
	"probeward/schemas"
)

// Names of the files.
const (
	PageName    = "crew.html"
	GeoJSONName = "queue.geojson"
	GPXName     = "queue.gpx"
)

// Input is what the crew is to know. Nothing in it is written to.
type Input struct {
	Title   string            // of the run, as its folder is named; may be empty
	RunID   string            // what the browser keeps the results under; empty: title, farm and window
	Visits  []rank.Visit      // the most useful first
	Probes  []detect.Probe    // the register
	Details []register.Detail // by place in the register
	Judged  *judge.Result
	Window  detect.Span
	Zone    *time.Location // of dates on the page; nil: UTC
	Units   schemas.Units  // of depths
	Plan    *Plan          // nil: none was asked for
	Remarks []Remark       // what else is to be said
}

// Remark is a line about a visit, or about the whole round when Visit is empty:
// what came of the last visit there, say.
type Remark struct{ Visit, Text string }

// Plan is a shift's plan and what it rests on. Calls name visits.
type Plan struct {
	Length time.Duration
	Start  shift.Point
	Crews  []shift.Crew
	Opts   shift.Options
}

// File is one file of the run. Rows are its stops.
type File struct {
	Name  string
	Bytes []byte
	Rows  int64
}

// Files writes the page and the files beside it, by name.
func Files(in Input) ([]File, error) {
	if in.Zone == nil {
		in.Zone = time.UTC
	}
	if in.Judged == nil {
		in.Judged = &judge.Result{}
	}
	located := int64(0)
	for i := range in.Visits {
		if hasPlace(&in.Visits[i]) {
			located++
		}
	}
	var out []File
	for _, f := range []struct {
		name string
		rows int64
		make func() ([]byte, error)
	}{
		{PageName, int64(len(in.Visits)), in.page},
		{GeoJSONName, int64(len(in.Visits)), in.geoJSON},
		{GPXName, located, in.gpx},
	} {
		b, err := f.make()
		if err != nil {
			return nil, fmt.Errorf("%s: %w", f.name, err)
		}
		out = append(out, File{f.name, b, f.rows})
	}
	return out, nil
}

// hasPlace says whether a visit has coordinates on Earth.
func hasPlace(v *rank.Visit) bool {
	return v.Latitude.OK && v.Longitude.OK && v.Latitude.V >= -90 && v.Latitude.V <= 90 &&
		v.Longitude.V >= -180 && v.Longitude.V <= 180
}

func (in *Input) local(t int64) time.Time { return time.UnixMicro(t).In(in.Zone) }

// farm names the farms of the round.
func (in *Input) farm() string {
	var names []string
	seen := map[string]bool{"": true}
	for i := range in.Visits {
		if f := in.Visits[i].Farm; !seen[f] {
			seen[f] = true
			names = append(names, f)
		}
	}
	if len(names) == 0 && len(in.Probes) > 0 {
		return in.Probes[0].Farm
	}
	return strings.Join(names, ", ")
}

func (in *Input) runID() string {
	return cmp.Or(in.RunID, strings.Join([]string{in.Title, in.farm(),
		time.UnixMicro(in.Window.Start).UTC().Format(time.RFC3339), time.UnixMicro(in.Window.End).UTC().Format(time.RFC3339)}, "|"))
}

// probe, state and detail of a place in the register; empty ones beyond it.
func (in *Input) probe(place int) detect.Probe {
	if place >= 0 && place < len(in.Probes) {
		return in.Probes[place]
	}
	return detect.Probe{}
}

func (in *Input) state(place int) judge.State {
	if place >= 0 && place < len(in.Judged.States) {
		return in.Judged.States[place]
	}
	return judge.State{}
}

// findings of a visit.
func (in *Input) findings(v *rank.Visit) []*judge.Finding {
	var out []*judge.Finding
	for _, i := range v.Findings {
		if i >= 0 && i < len(in.Judged.Findings) {
			out = append(out, &in.Judged.Findings[i])
		}
	}
	return out
}
