package simulate

import (
	"cmp"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"
)

// History is how many weeks of readings lie before the first week of a season:
// what a scan looks back on.
const History = 8

// SeasonOptions say which season to invent. A zero field takes the default of
// SeasonDefaults, but for Seed, Visits and PerWeek: there may be none of them.
type SeasonOptions struct {
	Seed    uint64
	Probes  int           // moisture probes in the register at the start
	Weeks   int           // that are judged, one scan each
	Visits  int           // places that the crew sees in a week, at most
	Start   time.Time     // of the history: a Monday's midnight at the farm
	Cadence time.Duration // of most loggers
	PerWeek float64       // faults that begin in a week, on average
	Export  string        // as in Options
	Shape   string        // as in Options
}

// SeasonDefaults is half a year of 110 probes, from a wet April to a dry October.
func SeasonDefaults() SeasonOptions {
	return SeasonOptions{
		Probes: 110, Weeks: 26, Visits: 10, PerWeek: 3, Cadence: 15 * time.Minute,
		Start:  time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC),
		Export: "mixed", Shape: "mixed",
	}
}

// Season is a farm that lives week by week while somebody scans it and a crew
// mends what the scan sends it to. Advance writes what has arrived by the next
// Monday, Send lets the crew go its round on the Tuesday after. The folder holds
// feed/, as on any day of that Monday, and truth/, as far as it has come.
//
// Physics is causal: what was exported never changes, and a repair changes only
// what comes after it.
type Season struct {
	v       *Vineyard // as it is now; its Until is the end of the season
	w       *world
	options SeasonOptions
	dir     string
	plots   []plot // by post
	planned []event
	next    int // of planned
	account []account
	place   []int // by place, which is the index of the first probe there: the probe there now
	week    int   // exported so far, the history's counted
	visits  [][]string
}

// account is what the season keeps of a fault beside its row in the vineyard.
type account struct {
	visibleFrom time.Time // end of the first week in which it showed; zero: not yet
	endedBy     string    // crew, itself; empty: it stands
	natural     time.Time // when it would have ended by itself; zero: never
	probes      []int     // that a logger's fault touches
	starved     func(i int) bool
	was         int    // zone in the register before
	unit        string // there before; empty: it did not change
}

// NewSeason lays out a farm for a season below dir, which must not exist or be
// empty. Nothing is exported yet.
func NewSeason(dir string, o SeasonOptions) (*Season, error) {
	o = o.filled()
	if o.Weeks < 1 || o.Visits < 0 || o.PerWeek < 0 {
		return nil, errors.New("cannot simulate a season of less than 1 week, 0 visits or 0 faults a week")
	}
	entries, err := os.ReadDir(dir)
	if err == nil && len(entries) > 0 {
		return nil, fmt.Errorf("%s is not empty; choose another folder for the season", dir)
	}
	v, err := Plan(Options{Seed: o.Seed, Probes: o.Probes, Weeks: History + o.Weeks, Start: o.Start,
		Cadence: o.Cadence, Export: o.Export, Shape: o.Shape})
	if err != nil {
		return nil, err
	}
	s := &Season{v: &v, options: o, dir: dir}
	s.earlier()
	for z := range v.Zones {
		season(&v.Zones[z])
	}
	s.w = newWorld(&v)
	for k := range v.Probes {
		s.place = append(s.place, k)
	}
	for post := range v.Posts {
		s.plots = append(s.plots, s.newPlot(post))
	}
	s.planned = s.plan()
	for range History {
		if err := s.advance(); err != nil {
			return nil, err
		}
	}
	return s, nil
}

func (o SeasonOptions) filled() SeasonOptions {
	d := SeasonDefaults()
	o.Probes, o.Weeks = cmp.Or(o.Probes, d.Probes), cmp.Or(o.Weeks, d.Weeks)
	if o.Start.IsZero() {
		o.Start = d.Start
	}
	o.Cadence, o.Export, o.Shape = cmp.Or(o.Cadence, d.Cadence), cmp.Or(o.Export, d.Export), cmp.Or(o.Shape, d.Shape)
	return o
}

// earlier moves what the plan lets happen near its end, a new probe and a
// replaced one, to before the first scan.
func (s *Season) earlier() {
	weeks := -7 * (s.options.Weeks - 1)
	for k := range s.v.Probes {
		for _, t := range []*time.Time{&s.v.Probes[k].Installed, &s.v.Probes[k].ValidFrom, &s.v.Probes[k].ValidTo} {
			if t.After(s.v.Start) {
				*t = t.AddDate(0, 0, weeks)
			}
		}
	}
}

// season leaves a zone the waterings of a growing season: none in the wet spring,
// less than the vines ask for from late summer on, none after harvest.
func season(z *Zone) {
	kept := z.Waterings[:0]
	for _, w := range z.Waterings {
		day := w.Start.In(local()).YearDay()
		if day < 96 || day > 285 {
			continue
		}
		if day > 230 {
			w.End = w.Start.Add(time.Duration(0.75 * float64(w.End.Sub(w.Start)))).Truncate(time.Minute)
			w.DepthMM = round3(0.75 * w.DepthMM)
		}
		kept = append(kept, w)
	}
	z.Waterings = kept
}

// Until is the end of the week exported last: a Monday's midnight at the farm.
func (s *Season) Until() time.Time { return s.monday(s.week) }

// Done says whether all weeks were exported.
func (s *Season) Done() bool { return s.week >= History+s.options.Weeks }

// Feed is the folder that a scan reads.
func (s *Season) Feed() string { return filepath.Join(s.dir, "feed") }

// Truth is the folder that no scan reads.
func (s *Season) Truth() string { return filepath.Join(s.dir, "truth") }

// monday is so many weeks after the history's start, on the farm's clocks.
func (s *Season) monday(weeks int) time.Time {
	return s.v.Start.In(local()).AddDate(0, 0, 7*weeks).UTC()
}

// Advance lets a week pass and writes the feed and the truth as of its end.
func (s *Season) Advance() error {
	if s.Done() {
		return errors.New("the season is over")
	}
	if err := s.advance(); err != nil {
		return err
	}
	return errors.Join(s.writeFeed(), s.writeTruth())
}

func (s *Season) advance() error {
	from := s.monday(s.week)
	s.week++
	until := s.monday(s.week)
	s.begin(until)
	for post := range s.plots {
		s.plots[post].fill(s, from, until)
		if err := s.export(post, from, until); err != nil {
			return fmt.Errorf("cannot write the week's readings: %w", err)
		}
		if err := s.twins(post, from, until); err != nil {
			return fmt.Errorf("cannot write the truth: %w", err)
		}
	}
	s.look(until)
	for k := range s.v.Faults {
		if f := &s.v.Faults[k]; !f.End.IsZero() && !f.End.After(until) && s.account[k].endedBy == "" {
			s.account[k].endedBy = "itself"
		}
	}
	return nil
}
