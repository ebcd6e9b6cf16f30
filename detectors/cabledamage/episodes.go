package cabledamage

import (
	"fmt"
	"math"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// mostParts bounds the parts of one finding; nearer flips then become one part.
const mostParts = 200

// Shares of such findings that are expected to be real: judged, not measured.
const (
	confidenceLeast  = 0.80 // with the least number of flips
	confidenceEach   = 0.03 // for each more
	confidenceMost   = 0.95
	confidenceBlanks = 0.55 // runs of blanks alone
	confidenceSpread = 0.20 // more as their share grows to a half
)

// episodes joins flips until nothing happened for the quiet time, and keeps those
// episodes in which enough of them came close together.
func (s *scan) episodes(all []flip) []detect.Finding {
	quiet := int64(s.p.Param("quiet_days") * float64(detect.Day))
	var out []detect.Finding
	for i := 0; i < len(all); {
		end, j := all[i].End, i+1
		for j < len(all) && all[j].Start-end <= quiet {
			end = max(end, all[j].End)
			j++
		}
		if f, ok := s.episode(all[i:j], end, quiet); ok {
			out = append(out, f)
		}
		i = j
	}
	return out
}

// tally weighs flips.
type tally struct {
	strong, weak float64
	runs         int // of blanks
	readings     int
}

func (c *tally) add(x flip) {
	c.readings += x.readings
	if x.blank && !x.coded {
		c.weak += x.weight
		c.runs++
	} else {
		c.strong += x.weight
	}
}

func (s *scan) enough(c tally) bool {
	return c.strong >= 1 && c.strong+c.weak >= s.p.Param("min_flips") || c.runs >= int(s.p.Param("min_blank_runs"))
}

func (s *scan) episode(flips []flip, end, quiet int64) (f detect.Finding, ok bool) {
	join := int64(s.p.Param("join_days") * float64(detect.Day))
	if s.same(flips) {
		join = quiet
	}
	var whole, near tally
	last := flips[0].End
	for _, x := range flips {
		if x.Start-last > join {
			near = tally{}
		}
		last = max(last, x.End)
		near.add(x)
		whole.add(x)
		ok = ok || s.enough(near)
	}
	// A port that gives blanks as often is one that loses contact, whatever values it
	// gives beside them.
	if ok && !s.oneState(flips) {
		blanks, _ := s.between(flips[0].Start, end)
		ok = blanks >= len(flips)
	}
	if !ok {
		return f, false
	}
	least := s.p.Param("min_flips")
	f = detect.Finding{
		Start: flips[0].Start, End: end, Readings: whole.readings,
		Measured: float64(len(flips)), Threshold: least, Unit: "flips",
	}
	window := s.p.Period().Window
	f.Open = window.End-end <= quiet
	if f.Open {
		end = window.End
	}
	f.Parts = s.parts(flips, end)

	blanks, values := s.between(f.Start, f.End)
	share := 0.0
	if blanks+values > 0 {
		share = float64(blanks) / float64(blanks+values)
	}
	if whole.strong >= 1 && whole.strong+whole.weak >= least {
		f.Confidence = math.Min(confidenceMost, confidenceLeast+confidenceEach*(whole.strong+whole.weak-least))
	}
	if whole.runs >= int(s.p.Param("min_blank_runs")) {
		f.Confidence = math.Max(f.Confidence, confidenceBlanks+confidenceSpread*math.Min(1, share/0.5))
	}
	if whole.strong < 1 {
		f.Measured, f.Threshold, f.Unit = share, s.p.Param("blank_share"), "1"
	}
	f.Evidence = s.words(f, len(flips)-whole.runs, whole.runs, share)
	return f, true
}

// between counts blanks and values of a stretch.
func (s *scan) between(from, to int64) (blanks, values int) {
	for _, t := range s.p.Blanks() {
		if from <= t && t < to {
			blanks++
		}
	}
	return blanks, s.p.From(to) - s.p.From(from)
}

// parts are the flips, which fail, and what lies between them, which is suspect.
// Blanks have no value to flag, so a run of them only parts the rest.
func (s *scan) parts(flips []flip, end int64) []detect.Part {
	for near := int64(0); ; near = 2*near + detect.Hour {
		var out []detect.Part
		add := func(span detect.Span, flag schemas.Flag) {
			if span.End <= span.Start {
				return
			}
			if n := len(out); n > 0 && out[n-1].Flag == flag && out[n-1].End == span.Start {
				out[n-1].End = span.End
				return
			}
			out = append(out, detect.Part{Span: span, Flag: flag})
		}
		at := flips[0].Start
		for _, x := range flips {
			if x.blank || x.End <= at {
				continue
			}
			flag := schemas.FlagSuspect
			if x.Start-at <= near && len(out) > 0 && out[len(out)-1].Flag == schemas.FlagFail {
				flag = schemas.FlagFail
			}
			add(detect.Span{Start: at, End: x.Start}, flag)
			add(detect.Span{Start: max(at, x.Start), End: x.End}, schemas.FlagFail)
			at = x.End
		}
		add(detect.Span{Start: at, End: end}, schemas.FlagSuspect)
		if len(out) <= mostParts {
			return out
		}
	}
}

func (s *scan) words(f detect.Finding, jumps, runs int, share float64) string {
	span := fmt.Sprintf("since %s", detect.Stamp(f.Start))
	if !f.Open {
		span = fmt.Sprintf("%s to %s", detect.Stamp(f.Start), detect.Stamp(f.End))
	}
	jumped := fmt.Sprintf("%d flips to a dead or impossible state and back", jumps)
	blanked := fmt.Sprintf("%d runs of blanks (%.0f %% of the stamps) while the logger spoke", runs, 100*share)
	limit := fmt.Sprintf("%.0f flips within %.0f days of each other are enough", s.p.Param("min_flips"), s.p.Param("join_days"))
	switch {
	case runs == 0:
		return fmt.Sprintf("%s %s, readings lost in them: %d; %s", jumped, span, f.Readings, limit)
	case jumps == 0:
		return fmt.Sprintf("%s %s; %.0f a week and %.0f %% are enough", blanked, span, s.p.Param("min_blank_runs"), 100*s.p.Param("blank_share"))
	}
	return fmt.Sprintf("%s and %s %s, readings lost in the flips: %d; %s", jumped, blanked, span, f.Readings, limit)
}
