package cabledamage

import (
	"fmt"
	"math"
	"strings"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// confidenceLeak is for the least number of waterings, confidenceMost the bound;
// judged, not measured.
const confidenceLeak = 0.80

// leaking is a splice that water bridges, as one of the two rules saw it.
type leaking struct {
	events     []detect.Part // from the valve until the leak was gone, in time order
	tried      int           // waterings that found it dry enough to show
	lowest     float64       // reading, in the standard unit
	readings   int
	confidence float64
	what, then string // words: what it did, and what it did next
	last       int64  // start of the last watering that was looked at
}

// leak finds a splice or a plug that water bridges: the parallel path takes current
// of a block, and part of the voltage of a gauge or a dielectric probe.
func leak(p *detect.Pass) (f detect.Finding, ok bool) {
	var l leaking
	switch {
	case !p.Has(detect.NeedIrrigation):
	case p.Quantity() == detect.WaterContent:
		l, ok = sagging(p)
	case p.Kind() == detect.GranularMatrix:
		if l, ok = nearShort(p); !ok {
			l, ok = bridged(p)
		}
	case p.Kind() == detect.Tensiometer:
		l, ok = bridged(p)
	}
	if !ok {
		return f, false
	}
	return l.finding(p), true
}

// nearShort finds the gross form: the reading falls to near a short within minutes
// of the valve, and is back at the level of before within a day, at two waterings or
// more and at most of those that found it dry. Not in sand, which can dry as fast.
func nearShort(p *detect.Pass) (l leaking, ok bool) {
	if p.Has(detect.NeedTexture) && coarse(p.Texture()) {
		return l, false
	}
	t, v := p.Time(), p.Value()
	soon := max(int64(p.Param("leak_minutes")*float64(detect.Minute)), 2*p.Cadence())
	late := p.ParamHours("leak_hours")
	fall := p.Param("leak_fall")
	l.lowest = math.Inf(1)
	waterings := p.Irrigation()
	for k, water := range waterings {
		if k > 0 && water.Start-waterings[k-1].Start < late {
			continue // the one before may still drip
		}
		from := p.From(water.Start)
		if from == 0 || from == len(t) || water.Start-t[from-1] > 2*p.Cadence() {
			continue
		}
		before := v[from-1]
		if v[from-1]/fall < floorOf(p) {
			continue // too wet to fall so far
		}
		l.tried++
		low, at := before, -1
		for j := from; j < len(t) && t[j]-water.Start <= soon; j++ {
			if v[j] < low {
				low, at = v[j], j
			}
		}
		if at < 0 || low > before/fall {
			continue
		}
		for j := at + 1; j < len(t) && t[j]-water.Start <= water.Length()+late; j++ {
			if v[j] >= before/p.Param("leak_return") {
				l.events = append(l.events, detect.Part{Span: detect.Span{Start: t[from], End: t[j]}, Flag: schemas.FlagFail})
				l.lowest = math.Min(l.lowest, low)
				l.readings += j - from
				break
			}
		}
	}
	if len(l.events) < int(p.Param("leak_events")) || 2*len(l.events) < l.tried {
		return l, false
	}
	l.last = waterings[len(waterings)-1].Start
	l.confidence = confidenceLeak + 0.08*(float64(len(l.events))-p.Param("leak_events"))
	l.what = fmt.Sprintf("fell by a factor of %.0f or more", fall)
	l.then = fmt.Sprintf("was back at the level of before within %.0f h of its end", p.Param("leak_hours"))
	return l, true
}

// finding words a leak and marks its readings. What lies between two waterings is
// suspect: a leak caps the dry end as well.
func (l *leaking) finding(p *detect.Pass) detect.Finding {
	end := p.Period().Window.End
	first, last := l.events[0], l.events[len(l.events)-1]
	soon := max(int64(p.Param("leak_minutes")*float64(detect.Minute)), 2*p.Cadence())
	f := detect.Finding{
		Start: first.Start, End: last.End, Readings: l.readings,
		Confidence: math.Min(confidenceMost, l.confidence),
		Measured:   float64(len(l.events)), Threshold: p.Param("leak_events"), Unit: "waterings",
		Evidence: fmt.Sprintf("at %d of %d waterings that found it dry it %s, to as little as %.4g %s, within %s of the water, and %s: water in a splice or plug, not in soil",
			len(l.events), l.tried, l.what, l.lowest, p.Quantity().Unit(), detect.Length(soon), l.then),
	}
	parts := make([]detect.Part, 0, 2*len(l.events))
	at := first.Start
	for _, e := range l.events {
		if e.Start > at {
			parts = append(parts, detect.Part{Span: detect.Span{Start: at, End: e.Start}, Flag: schemas.FlagSuspect})
		}
		if e.Start = max(e.Start, at); e.End > e.Start {
			parts = append(parts, e)
			at = e.End
		}
	}
	// It stands until a watering shows otherwise.
	f.Open = l.last < last.End
	if f.Open && at < end {
		parts = append(parts, detect.Part{Span: detect.Span{Start: at, End: end}, Flag: schemas.FlagSuspect})
	}
	f.Parts = parts
	return f
}

// coarse says whether the register's words mean a soil that may drain within hours.
func coarse(texture string) bool {
	texture = strings.ToLower(texture)
	return strings.Contains(texture, "sand") && !strings.Contains(texture, "clay")
}

// floorOf is the wettest that a whole granular matrix sensor tells from wetter: its
// dead zone of 10 kPa, or the 1000 ohm that are the same by the published forms.
func floorOf(p *detect.Pass) float64 {
	if p.Quantity() == detect.Ohms {
		return detect.OhmFloor / 2
	}
	return detect.TensionFloor / 2
}
