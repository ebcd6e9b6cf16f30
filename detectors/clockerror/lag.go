package clockerror

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// lags are the findings of device clocks that stood away from that of what received
// their messages. No message arrives before it is sent, so a clock ahead is wrong
// whatever its share; one behind could be messages that waited, and counts when all
// of them are behind by the same.
func (l *look) lags(files []detect.Stamps) []event {
	var out []event
	for i := range files {
		f := &files[i]
		var run []detect.Lag // wrong, with no right stretch between
		for _, g := range f.Lags {
			switch {
			case float64(g.Rows) < l.p.Param("lag_messages"):
			case l.away(g):
				run = append(run, g)
			case l.alone(g) && len(run) > 0 && g.Start >= latest(run):
				out = append(out, l.lagging(f, run, true))
				run = nil
			}
		}
		if len(run) > 0 {
			out = append(out, l.lagging(f, run, false))
		}
	}
	return out
}

// away says whether a stretch is a wrong clock's.
func (l *look) away(g detect.Lag) bool {
	least := l.span("lag_least", detect.Hour)
	return g.Shift >= least || g.Shift <= -least && l.alone(g)
}

// alone says whether nearly all messages of its time are of the stretch.
func (l *look) alone(g detect.Lag) bool {
	return float64(g.Rows) >= l.p.Param("lag_share")*float64(g.Among)
}

func latest(run []detect.Lag) (t int64) {
	for _, g := range run {
		t = max(t, g.End)
	}
	return t
}

// lagSteps is how many steps the evidence names.
const lagSteps = 6

// lagging words one finding.
func (l *look) lagging(f *detect.Stamps, run []detect.Lag, mended bool) event {
	out := detect.Finding{Unit: "h", Threshold: l.p.Param("lag_least"), Confidence: 0.85}
	var steps []string
	most, zone, shared := int64(0), true, true
	said, since, rows := "", int64(0), 0 // the step at hand
	say := func() {
		if rows > 0 {
			steps = append(steps, fmt.Sprintf("%s from %s (%d messages)", said, detect.Stamp(since), rows))
		}
	}
	for i, g := range run {
		at, flag := g.Span, schemas.FlagNone
		at.End += max(1, f.Cadence)
		if f.ByDevice {
			at.Start, at.End = at.Start+g.Shift, at.End+g.Shift
			flag = schemas.FlagFail
			if !l.alone(g) {
				flag = schemas.FlagSuspect
			}
		}
		out.Parts = append(out.Parts, detect.Part{Span: at, Flag: flag})
		if i == 0 || at.Start < out.Start {
			out.Start = at.Start
		}
		out.End = max(out.End, at.End)
		out.Readings += g.Rows
		if size(g.Shift) > size(most) {
			most = g.Shift
		}
		if g.Shift > 0 {
			out.Confidence = 0.95
		}
		zone = zone && fromGrid(g.Shift, detect.Hour) <= 2*detect.Minute
		shared = shared && !l.alone(g)
		if text := beside(g.Shift); text != said {
			say()
			said, since, rows = text, g.Start, 0
		}
		rows += g.Rows
	}
	say()
	out.Parts = apart(out.Parts)
	out.Measured = detect.Hours(most)
	out.Open = !mended && out.End+detect.Day >= l.whole.End
	if n := len(steps); n > lagSteps {
		steps = append(steps[:lagSteps], fmt.Sprintf("and %d more, at most %s", n-lagSteps, beside(most)))
	}
	text := fmt.Sprintf("%s: against the clock of what received its messages, the device's stood %s", f.File, strings.Join(steps, ", "))
	switch {
	case zone && shared:
		text += "; whole hours, beside messages stamped rightly: one of two ways that the messages take keeps another zone"
	case zone && most > 0:
		text += "; whole hours, and no message arrives before it is sent: it keeps another zone, or summer time"
	case zone:
		text += "; whole hours: another zone, or summer time"
	case most < 0 && len(steps) > 1:
		text += "; in steps, as of a clock that stands still while the device is off"
	}
	if f.ByDevice {
		text += "; the readings have its stamps"
	} else {
		text += "; the readings have the receiver's stamps, and stand"
	}
	out.Evidence = text
	return event{out, f.File}
}

// apart sorts parts, joins those of one flag that meet, and cuts the others off each
// other: set back, a clock runs through its past once more.
func apart(parts []detect.Part) []detect.Part {
	slices.SortFunc(parts, func(a, b detect.Part) int {
		return cmp.Or(cmp.Compare(a.Start, b.Start), cmp.Compare(a.End, b.End), cmp.Compare(b.Flag, a.Flag))
	})
	out := parts[:0]
	for _, p := range parts {
		if n := len(out); n > 0 && p.Start <= out[n-1].End {
			if p.Flag == out[n-1].Flag {
				out[n-1].End = max(out[n-1].End, p.End)
				continue
			}
			p.Start = out[n-1].End
		}
		if p.Start < p.End {
			out = append(out, p)
		}
	}
	return out
}

// beside words a shift.
func beside(shift int64) string {
	text := fmt.Sprintf("%.1f h", detect.Hours(size(shift)))
	if minutes := (size(shift) + detect.Minute/2) / detect.Minute; minutes < 100 {
		text = fmt.Sprintf("%d min", minutes)
	}
	if shift < 0 {
		return text + " behind"
	}
	return text + " ahead"
}

func size(d int64) int64 { return max(d, -d) }

// compared says whether any file has both clocks.
func compared(files []detect.Stamps) bool {
	return slices.ContainsFunc(files, func(f detect.Stamps) bool { return len(f.Lags) > 0 })
}
