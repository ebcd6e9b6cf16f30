package simulate

import (
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"probeward/schemas"
)

// What a round is like. Common practice, no source.
const (
	setsOut      = 7 * time.Hour  // on Tuesday, on the farm's clocks
	comesHome    = 15 * time.Hour // no place is begun later
	driving      = 10 * time.Minute
	outOfReach   = 0.05 // share of the places that nobody gets to: a gate, mud, a sprayer at work
	repairsFail  = 0.03 // share of the repairs that look done and are not
	usualMinutes = 30.0 // where the queue says none
)

// stop is a row of a queue: where the crew is sent, and what it is to look at.
type stop struct {
	visit, post, family    string
	probes, loggers, zones []string
	minutes                float64
}

// Send lets the crew go its round with a scan's queue.csv, the first rows first,
// and writes what it found and did into feed/visits.csv.
func (s *Season) Send(queue string) error {
	stops, err := readStops(queue)
	if err != nil {
		return fmt.Errorf("the crew cannot read its list: %w", err)
	}
	y, m, d := s.Until().In(local()).Date()
	midnight := time.Date(y, m, d+1, 0, 0, 0, 0, local())
	now, home := midnight.Add(setsOut).UTC(), midnight.Add(comesHome).UTC()
	s.begin(home)
	for n, place := range stops[:min(len(stops), s.options.Visits)] {
		if now = now.Add(driving); !now.Before(home) {
			break
		}
		s.see(place, now, 100*s.week+n)
		now = now.Add(time.Duration(place.minutes) * time.Minute)
	}
	return s.writeVisits()
}

func readStops(path string) ([]stop, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	all, err := csv.NewReader(file).ReadAll()
	if err != nil || len(all) == 0 {
		return nil, err
	}
	place := map[string]int{}
	for i, name := range all[0] {
		place[name] = i
	}
	for _, name := range []string{"visit", "post", "family", "probes", "loggers", "zone", "minutes"} {
		if _, ok := place[name]; !ok {
			return nil, fmt.Errorf("%s has no column %q", path, name)
		}
	}
	var out []stop
	for _, row := range all[1:] {
		cell := func(name string) string { return row[place[name]] }
		minutes, err := strconv.ParseFloat(cell("minutes"), 64)
		if err != nil {
			minutes = usualMinutes
		}
		out = append(out, stop{visit: cell("visit"), post: cell("post"), family: cell("family"), probes: strings.Fields(cell("probes")),
			loggers: strings.Fields(cell("loggers")), zones: strings.Fields(cell("zone")), minutes: minutes})
	}
	return out, nil
}

// see looks at each thing that a stop is about: the zone's valve, the logger, or
// the probes that it names.
func (s *Season) see(at stop, now time.Time, index int) {
	r := stream(s.options.Seed, forCrew, index)
	reached := r.Float64() >= outOfReach
	row := func(logger, probe, found, outcome, parts string) {
		s.visits = append(s.visits, []string{at.visit, instant(now), at.post, logger, probe, found, outcome, parts, decimal(at.minutes, 0), ""})
	}
	look := func(logger, probe string, fault int) {
		switch {
		case !reached:
			row(logger, probe, "not_seen", "could_not_reach", "")
		case fault < 0:
			row(logger, probe, "nothing_wrong", "left", "")
		default:
			name := s.v.Faults[fault].Fault
			outcome, parts := remedy(name)
			fails := r.Float64() < repairsFail
			row(logger, probe, name, outcome, parts)
			switch {
			case outcome == "replaced":
				s.mend(fault, now)
				s.replace(s.v.Faults[fault].probe, now)
			case outcome != "left" && !fails:
				s.mend(fault, now)
			}
		}
	}
	switch schemas.Family(at.family) {
	case schemas.FamilyWater:
		for _, zone := range at.zones {
			look("", "", s.openAt("zone", zone, now))
		}
	case schemas.FamilyLogger:
		for _, logger := range at.loggers {
			look(logger, "", s.openAt("logger", logger, now))
		}
	default:
		for _, name := range at.probes {
			probe, logger, there := s.standing(name, now)
			if !there {
				row("", name, "not_seen", "left", "")
				continue
			}
			fault := s.openOn(probe, now)
			if fault < 0 { // at the post it shows when the whole logger is to blame
				if k := s.openAt("logger", logger, now); k >= 0 && s.touches(k, probe) {
					fault = k
				}
			}
			look(logger, name, fault)
		}
	}
}

// standing finds a probe that is in the ground, and its logger.
func (s *Season) standing(name string, at time.Time) (probe int, logger string, there bool) {
	for k := range s.v.Probes {
		if p := &s.v.Probes[k]; p.Name == name && (p.ValidTo.IsZero() || p.ValidTo.After(at)) {
			return k, s.v.Posts[p.Post].Logger, true
		}
	}
	return 0, "", false
}

func (s *Season) touches(fault, probe int) bool {
	for _, k := range s.account[fault].probes {
		if k == probe {
			return true
		}
	}
	return false
}

// remedy is what a crew does about a fault, and what it needs for it.
func remedy(fault string) (outcome, parts string) {
	switch fault {
	case "open_circuit", "short_circuit", "cable_damage":
		return "repaired", "gel-filled splice"
	case "gap":
		return "repaired", "port cleaned"
	case "lost_suction":
		return "repaired", "de-aired water"
	case "logger_silent", "logger_power":
		return "repaired", "logger battery"
	case "clock_error":
		return "repaired", "clock set"
	case "irrigation_failure":
		return "repaired", "valve diaphragm"
	case "unlogged_water":
		return "left", "" // it is over before anybody comes
	}
	if row, _ := schemas.FaultNamed(fault); row.Family == schemas.FamilyRegister {
		return "register_mended", ""
	}
	return "replaced", "probe of the same kind, soaked"
}

func (s *Season) writeVisits() error {
	return writeTable(filepath.Join(s.Feed(), "visits.csv"), schemas.Visits.Header(), s.visits)
}
