package simulate

import (
	"bufio"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

// keptWeeks is how long a download lies in the feed before it is moved away: longer
// than any scan looks back.
const keptWeeks = 11

// then is the farm as it stands on the Monday after the week exported last: what a
// register, an irrigation log and a record of the weather can hold by then.
func (s *Season) then() *Vineyard {
	v := *s.v
	v.Until = s.Until()
	v.Zones = append([]Zone(nil), s.v.Zones...)
	for z := range v.Zones {
		var past []Watering
		for _, w := range v.Zones[z].Waterings {
			if !w.End.After(v.Until) {
				past = append(past, w)
			}
		}
		v.Zones[z].Waterings = past
	}
	v.Probes = nil
	for _, p := range s.v.Probes {
		if !p.ValidFrom.After(v.Until) { // nobody registers what is not yet in the ground
			v.Probes = append(v.Probes, p)
		}
	}
	return &v
}

func (s *Season) writeFeed() error {
	w := *s.w
	w.v = s.then()
	return errors.Join(w.writeFeed(s.Feed()), s.writeVisits())
}

// export writes a post's download of a week, which repeats the end of the one
// before, and moves one away that is too old.
func (s *Season) export(post int, from, until time.Time) error {
	w, rec := s.w, &s.plots[post].rec
	p := &s.v.Posts[post]
	folder, write := filepath.Join(s.Feed(), "readings", "wide"), w.wide
	if p.Long {
		folder, write = filepath.Join(s.Feed(), "readings", "long"), w.long
	}
	name := func(monday time.Time) string {
		return filepath.Join(folder, fmt.Sprintf("%s_%s.csv", p.Logger, monday.In(local()).Format("20060102")))
	}
	again := from
	if s.week > 1 {
		again = from.Add(-fileOverlap)
	}
	r := stream(s.options.Seed, forTelemetry, 1<<24+1000*post+s.week)
	order := w.order(r, rec, rec.grid.at(again), rec.grid.at(until))
	zipped := w.zipped(post)
	if err := writeFile(name(from), zipped, func(out *bufio.Writer) { write(out, rec, order, s.stamp(rec)) }); err != nil {
		return err
	}
	if s.week <= keptWeeks {
		return nil
	}
	old := name(s.monday(s.week - 1 - keptWeeks))
	if zipped {
		old += ".gz"
	}
	return os.Remove(old)
}

// stamp gives what the logger wrote beside a reading. A clock that was wrong left
// false stamps in its memory, so a download that repeats them repeats them so.
func (s *Season) stamp(rec *record) func(i int) time.Time {
	type wrong struct {
		a, b  int
		fault Fault
	}
	var all []wrong
	for k := range s.v.Faults {
		if f := &s.v.Faults[k]; f.Fault == "clock_error" && f.post == rec.post {
			a, b := rec.grid.span(f, s.v.Until)
			all = append(all, wrong{a, b, *f})
		}
	}
	return func(i int) time.Time {
		t := rec.grid.time(i)
		for k := range all {
			if x := &all[k]; i >= x.a && i < x.b {
				t = t.Add(x.fault.clockWrong(t))
			}
		}
		return t
	}
}

// twins adds the week's readings that a fault changed to the truth, beside what
// they would have been. What was lost on the way is not there.
func (s *Season) twins(post int, from, until time.Time) (err error) {
	rec := &s.plots[post].rec
	path := filepath.Join(s.Truth(), "counterfactual", s.v.Posts[post].Logger+".csv")
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		return err
	}
	file, err := os.OpenFile(path, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o666)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	out := bufio.NewWriter(file)
	if s.week == 1 {
		out.WriteString("time,probe,faulty,clean,unit\n")
	}
	m := &s.v.Posts[post].model
	var b []byte
	for k := range rec.probes {
		x := &rec.probes[k]
		for i := rec.grid.at(from); i < rec.grid.at(until); i++ {
			if x.faulty[i] == x.clean[i] || rec.telemetry.lost[i] {
				continue
			}
			b = rec.grid.time(i).AppendFormat(b[:0], time.RFC3339)
			b = append(append(b, ','), s.v.Probes[x.probe].Name...)
			for _, v := range [...]int32{x.faulty[i], x.clean[i]} {
				b = append(b, ',')
				if isValue(v) {
					b = appendDecimal(b, v, m.decimals)
				}
			}
			b = append(append(append(b, ','), m.unit...), '\n')
			out.Write(b)
		}
	}
	return out.Flush()
}

// look notes which faults have shown themselves by now, by the rules of a single
// farm, of which this week is the last.
func (s *Season) look(until time.Time) {
	cut := *s.v
	cut.Until = until
	w := *s.w
	w.v = &cut
	w.faults = make([][]int, len(cut.Posts))
	var asked []int // of the season's faults, by place in cut.Faults
	cut.Faults = nil
	for k, f := range s.v.Faults {
		ended := !f.End.IsZero() && !f.End.After(until)
		switch {
		case !s.account[k].visibleFrom.IsZero() || !f.Start.Before(until),
			ended && (f.Fault == "wrong_zone" || f.End.Before(until.Add(-judged))),
			f.Subject == "zone" && f.Start.Add(24*time.Hour).After(until):
			continue
		}
		if f.post >= 0 {
			w.faults[f.post] = append(w.faults[f.post], len(cut.Faults))
		}
		cut.Faults = append(cut.Faults, f)
		asked = append(asked, k)
	}
	evidence := make([][]shown, len(s.plots))
	for post := range s.plots {
		rec := s.plots[post].rec
		rec.grid.n = rec.grid.at(until)
		evidence[post] = w.shownBy(&rec)
	}
	w.conclude(evidence)
	for i, k := range asked {
		f := &s.v.Faults[k]
		f.Visible, f.Why = cut.Faults[i].Visible, cut.Faults[i].Why
		if f.Visible {
			s.account[k].visibleFrom = until
		}
	}
}

// writeTruth writes what is so by now: every fault that has begun, every probe that
// stood in the ground, every watering.
func (s *Season) writeTruth() error {
	v, until := s.v, s.Until()
	var faults, probes, waterings [][]string
	for k := range v.Faults {
		f := &v.Faults[k]
		if !f.Start.Before(until) {
			continue
		}
		end := f.End
		if end.After(until) {
			end = time.Time{}
		}
		a := &s.account[k]
		var names []string
		for _, probe := range a.probes {
			names = append(names, v.Probes[probe].Name)
		}
		faults = append(faults, []string{f.Subject, f.Name, f.Probe, f.Fault, f.Form, stampOf(f.Start), stampOf(end), decimal(f.Strength, 3),
			bit(!a.visibleFrom.IsZero()), stampOf(a.visibleFrom), a.endedBy, strings.Join(names, " "), f.Why})
	}
	for i := range v.Probes {
		p := &v.Probes[i]
		if p.ValidFrom.After(until) {
			continue
		}
		post := &v.Posts[p.Post]
		probes = append(probes, []string{p.Name, post.Name, post.Logger, v.Zones[post.Zone].Name, strconv.Itoa(p.DepthCM),
			decimal(post.Cadence.Minutes(), 0), stampOf(p.Installed), stampOf(p.ValidTo), p.Meant})
	}
	for _, z := range v.Zones {
		for _, w := range z.Waterings {
			if w.Start.Before(until) {
				waterings = append(waterings, []string{z.Name, stampOf(w.Start), stampOf(w.End), decimal(w.DepthMM, 1), bit(w.Logged), bit(w.Delivered)})
			}
		}
	}
	return errors.Join(
		writeTable(filepath.Join(s.Truth(), "faults.csv"), []string{"subject", "name", "probe", "fault", "form", "start", "end", "strength",
			"visible", "visible_from", "ended_by", "probes", "why"}, faults),
		writeTable(filepath.Join(s.Truth(), "probes.csv"), []string{"probe", "post", "logger", "zone", "depth_cm", "cadence_min", "installed",
			"removed", "meant"}, probes),
		writeTable(filepath.Join(s.Truth(), "waterings.csv"), []string{"zone", "start", "end", "depth_mm", "logged", "delivered"}, waterings))
}

func stampOf(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(time.RFC3339)
}
