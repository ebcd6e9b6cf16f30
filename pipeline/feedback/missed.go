package feedback

import (
	"probeward/detectors/detect"
	"probeward/schemas"
)

// enoughMisses waterings in a row prove a loss, as missing_irrigation_response has it:
// one may be a dripper's.
const enoughMisses = 2

// missedAgain says whether a probe that was mended for its missing answers still gives
// none. What it used to answer lies before the work, so the second look has nothing to
// hold the readings since against; but the work was to bring the answer back. It has
// not when the probe answered no watering since, two or more, of those that at least
// half of the zone's other probes answered.
func (s *settling) missedAgain(group *detect.Group, f *detect.Finding, probe int) (detect.Finding, bool) {
	m, ok := s.last(schemas.SubjectProbe, s.Book.in.Register.Probes[probe].Name, probe, f.Fault, f.Start)
	if !ok {
		return detect.Finding{}, false
	}
	own := &s.in.Reports[probe].Summary.Waterings
	var first int64
	misses := 0
	for i := range own.At {
		at := &own.At[i]
		if at.Start < m.Done || at.Blind || at.AtEnd || at.Level >= own.Dead {
			continue
		}
		if answered(at, own.Unit) {
			return detect.Finding{}, false
		}
		others, yes := 0, 0
		for k := range group.Members {
			other := &group.Members[k]
			if other.Probe.Index == probe {
				continue
			}
			for j := range other.Waterings.At {
				if o := &other.Waterings.At[j]; o.Start == at.Start && !o.Blind {
					others++
					if answered(o, other.Waterings.Unit) {
						yes++
					}
				}
			}
		}
		if others == 0 || 2*yes < others {
			continue
		}
		if misses == 0 {
			first = at.Start
		}
		misses++
	}
	if misses < enoughMisses {
		return detect.Finding{}, false
	}
	again := *f
	again.Start, again.ExcludeFrom, again.Parts = first, first, nil
	return again, true
}

// answered says whether a rise is more than quiet time brings.
func answered(at *detect.Watered, unit float64) bool { return unit > 0 && at.Rise >= answerUnits*unit }
