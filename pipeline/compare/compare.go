// Package compare holds two runs of one farm against each other: whose verdict
// changed, which visits are new or gone, and which readings were withdrawn or given
// back.
//
// # What is compared
//
// A probe is at fault while its verdict is unfit, silent or doubtful. It is new at
// fault when it is so in the later run alone, still open when it is so in both, and
// cleared when it was and is now fit or settling (new in the ground). Whatever else
// changed (a fit probe that can no longer be judged, say) is listed apart: unknown is
// never taken for cleared.
//
// Readings are withdrawn when the later run leaves out a stretch that the earlier one
// gave, restored the other way round. Both are counted over the time that both runs
// looked at, since what a run never saw it could not give. Hours left out of the time
// that only one of them saw are a number of their own. Hours are of probes: two probes
// for an hour are two.
package compare

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/runfolder"
	"probeward/schemas"
)

// Window is what one run judged. Times are RFC 3339 in UTC.
type Window struct {
	Folder   string `json:"folder"`
	Lookback string `json:"lookback_start"`
	Start    string `json:"window_start"`
	End      string `json:"window_end"`
	Zone     string `json:"timezone"`
}

// Windows are both, and how they lie to each other. Relation is same, overlap, follow
// (end on start), apart or reversed (the first run given is the later one).
type Windows struct {
	Earlier    Window  `json:"earlier"`
	Later      Window  `json:"later"`
	Relation   string  `json:"relation"`
	BothJudged float64 `json:"hours_both_judged"` // of the windows alone
	BothLooked float64 `json:"hours_both_looked"` // look-back and window
	Note       string  `json:"note"`
}

// Probe is one probe's change. Before and After are verdicts; empty where the probe is
// not in that run.
type Probe struct {
	Probe       string `json:"probe"`
	Zone        string `json:"zone"`
	Before      string `json:"before"`
	After       string `json:"after"`
	FaultBefore string `json:"fault_before"`
	FaultAfter  string `json:"fault_after"`
	Since       string `json:"since"`    // RFC 3339; of the fault that stands, else of the one that stood
	Override    string `json:"override"` // a person's word in the later run
	Watch       string `json:"watch"`    // what is wanting after a mend
}

// Visit is one visit of either queue. A rank of 0 is none.
type Visit struct {
	Visit      string   `json:"visit"`
	RankBefore int64    `json:"rank_before"`
	RankAfter  int64    `json:"rank_after"`
	Probes     []string `json:"probes"`
	Faults     []string `json:"faults"`
	Minutes    float64  `json:"minutes"`
}

// Day is what changed of one zone's readings on one day at the farm.
type Day struct {
	Zone      string   `json:"zone"`
	Day       string   `json:"day"`
	Withdrawn float64  `json:"withdrawn_hours"`
	Restored  float64  `json:"restored_hours"`
	Probes    []string `json:"probes"`
	Reasons   []string `json:"reasons"`
}

// Counts are the lengths of the lists, and hours.
type Counts struct {
	NewFaults     int     `json:"new_faults"`
	StillOpen     int     `json:"still_open"`
	Cleared       int     `json:"cleared"`
	OtherChanges  int     `json:"other_changes"`
	Unchanged     int     `json:"unchanged_and_not_at_fault"`
	ProbesNew     int     `json:"probes_new"`
	ProbesGone    int     `json:"probes_gone"`
	VisitsNew     int     `json:"visits_new"`
	VisitsOpen    int     `json:"visits_still_open"`
	VisitsGone    int     `json:"visits_gone"`
	Withdrawn     float64 `json:"withdrawn_hours"`
	Restored      float64 `json:"restored_hours"`
	OnlyLater     float64 `json:"left_out_hours_only_later_saw"`
	OnlyEarlier   float64 `json:"left_out_hours_only_earlier_saw"`
	ProbesInBoth  int     `json:"probes_in_both"`
	ProbesEarlier int     `json:"probes_earlier"`
	ProbesLater   int     `json:"probes_later"`
}

// Diff is the comparison. Lists of probes are sorted by name, visits by rank, days by
// zone and day.
type Diff struct {
	Windows      Windows `json:"windows"`
	Counts       Counts  `json:"counts"`
	NewFaults    []Probe `json:"new_faults"`
	StillOpen    []Probe `json:"still_open"`
	Cleared      []Probe `json:"cleared"`
	OtherChanges []Probe `json:"other_changes"`
	ProbesNew    []Probe `json:"probes_new"`
	ProbesGone   []Probe `json:"probes_gone"`
	VisitsNew    []Visit `json:"visits_new"`
	VisitsOpen   []Visit `json:"visits_still_open"`
	VisitsGone   []Visit `json:"visits_gone"`
	Readings     []Day   `json:"readings_changed"`

	zone *time.Location
}

// Runs compares two runs, the earlier one first.
func Runs(a, b *runfolder.Run) (*Diff, error) {
	d := &Diff{Windows: windows(a, b), zone: b.Zone,
		NewFaults: []Probe{}, StillOpen: []Probe{}, Cleared: []Probe{}, OtherChanges: []Probe{}, ProbesNew: []Probe{}, ProbesGone: []Probe{},
		VisitsNew: []Visit{}, VisitsOpen: []Visit{}, VisitsGone: []Visit{}, Readings: []Day{}}
	before, err := byName(a, schemas.Health, "probe")
	if err != nil {
		return nil, err
	}
	after, err := byName(b, schemas.Health, "probe")
	if err != nil {
		return nil, err
	}
	d.probes(before, after)
	if err := d.visits(a, b); err != nil {
		return nil, err
	}
	d.readings(a, b, before, after)
	c := &d.Counts
	c.NewFaults, c.StillOpen, c.Cleared, c.OtherChanges = len(d.NewFaults), len(d.StillOpen), len(d.Cleared), len(d.OtherChanges)
	c.ProbesNew, c.ProbesGone = len(d.ProbesNew), len(d.ProbesGone)
	c.VisitsNew, c.VisitsOpen, c.VisitsGone = len(d.VisitsNew), len(d.VisitsOpen), len(d.VisitsGone)
	if c.ProbesInBoth == 0 {
		d.Windows.Note += "; no probe is in both: these are not two runs of one farm"
	}
	return d, nil
}

func byName(r *runfolder.Run, t schemas.Table, column string) (map[string]runfolder.Row, error) {
	rows, err := r.Rows(t)
	if err != nil {
		return nil, err
	}
	out := make(map[string]runfolder.Row, len(rows))
	for _, row := range rows {
		out[row.Text(column)] = row
	}
	return out, nil
}

// names gives the names of both, sorted, each once.
func names(a, b map[string]runfolder.Row) []string {
	all := slices.Collect(maps.Keys(a))
	for name := range b {
		if _, ok := a[name]; !ok {
			all = append(all, name)
		}
	}
	slices.Sort(all)
	return all
}

func atFault(verdict string) bool {
	switch schemas.Verdict(verdict) {
	case schemas.Unfit, schemas.Silent, schemas.Doubtful:
		return true
	}
	return false
}

func (d *Diff) probes(before, after map[string]runfolder.Row) {
	c := &d.Counts
	c.ProbesEarlier, c.ProbesLater = len(before), len(after)
	for _, name := range names(before, after) {
		old, was := before[name]
		now, is := after[name]
		p := Probe{Probe: name, Zone: cmp.Or(now.Text("zone"), old.Text("zone")),
			Before: old.Text("verdict"), After: now.Text("verdict"),
			FaultBefore: old.Text("main_fault"), FaultAfter: now.Text("main_fault"),
			Since: cmp.Or(now.Text("since"), old.Text("since")), Override: now.Text("override"), Watch: now.Text("watch")}
		switch {
		case !was:
			d.ProbesNew = append(d.ProbesNew, p)
			if atFault(p.After) {
				d.NewFaults = append(d.NewFaults, p)
			}
			continue
		case !is:
			d.ProbesGone = append(d.ProbesGone, p)
			continue
		}
		c.ProbesInBoth++
		switch {
		case atFault(p.Before) && atFault(p.After):
			d.StillOpen = append(d.StillOpen, p)
		case atFault(p.After):
			d.NewFaults = append(d.NewFaults, p)
		case atFault(p.Before) && p.After != string(schemas.Unknown):
			d.Cleared = append(d.Cleared, p)
		case p.Before != p.After:
			d.OtherChanges = append(d.OtherChanges, p)
		default:
			c.Unchanged++
		}
	}
}

func (d *Diff) visits(a, b *runfolder.Run) error {
	before, err := byName(a, schemas.Queue, "visit")
	if err != nil {
		return err
	}
	after, err := byName(b, schemas.Queue, "visit")
	if err != nil {
		return err
	}
	for _, name := range names(before, after) {
		old, was := before[name]
		now, is := after[name]
		row := now
		if !is {
			row = old
		}
		v := Visit{Visit: name, RankBefore: old.Integer("rank"), RankAfter: now.Integer("rank"), Probes: row.Words("probes"), Faults: row.Words("faults")}
		v.Minutes, _ = row.Number("minutes")
		switch {
		case was && is:
			d.VisitsOpen = append(d.VisitsOpen, v)
		case is:
			d.VisitsNew = append(d.VisitsNew, v)
		default:
			d.VisitsGone = append(d.VisitsGone, v)
		}
	}
	for _, list := range [][]Visit{d.VisitsNew, d.VisitsOpen, d.VisitsGone} {
		slices.SortStableFunc(list, func(x, y Visit) int {
			return cmp.Or(cmp.Compare(x.RankAfter, y.RankAfter), cmp.Compare(x.RankBefore, y.RankBefore))
		})
	}
	return nil
}

// windows says which weeks are compared.
func windows(a, b *runfolder.Run) Windows {
	w := Windows{Earlier: window(a), Later: window(b)}
	x, y := a.Past.Period, b.Past.Period
	w.BothJudged = detect.Hours(max(0, x.Window.Overlap(y.Window).Length()))
	w.BothLooked = detect.Hours(max(0, x.Whole().Overlap(y.Whole()).Length()))
	switch {
	case x.Window == y.Window:
		w.Relation, w.Note = "same", "both runs judge the same window"
	case y.Window.End < x.Window.End || y.Window.End == x.Window.End && y.Window.Start < x.Window.Start:
		w.Relation, w.Note = "reversed", "the first run given is the later one: new and gone are turned round; give the earlier run first"
	case w.BothJudged > 0:
		w.Relation, w.Note = "overlap", fmt.Sprintf("the windows overlap by %s", length(w.BothJudged))
	case x.Window.End == y.Window.Start:
		w.Relation, w.Note = "follow", "the later window follows the earlier one without a break"
	default:
		w.Relation, w.Note = "apart", fmt.Sprintf("%s lie between the windows, which neither run judged", length(detect.Hours(y.Window.Start-x.Window.End)))
	}
	if w.BothLooked == 0 {
		w.Note += "; the runs looked at no time together, so no reading can have been withdrawn or restored"
	}
	if w.Earlier.Zone != w.Later.Zone {
		w.Note += fmt.Sprintf("; the timezones differ, and days are those of %s", w.Later.Zone)
	}
	return w
}

func window(r *runfolder.Run) Window {
	p := r.Manifest.Period
	return Window{Folder: r.Name, Lookback: p.Lookback, Start: p.Start, End: p.End, Zone: r.Zone.String()}
}

// length says hours as a person would.
func length(hours float64) string {
	switch {
	case hours == 1:
		return "1 hour"
	case hours < 48:
		return strings.TrimSuffix(fmt.Sprintf("%.1f", hours), ".0") + " hours"
	}
	return strings.TrimSuffix(fmt.Sprintf("%.1f", hours/24), ".0") + " days"
}
