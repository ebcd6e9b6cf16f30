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
const confidenceLeak = 0.70

// leak finds a splice that water bridges: the reading falls to near a short within
// minutes of the valve, and is back at the level of before within a day, at two
// waterings or more and at most of those that found it dry. Only in ohms and kPa,
// and not in sand, which can dry as fast.
func leak(p *detect.Pass) (f detect.Finding, ok bool) {
	if p.Quantity() == detect.WaterContent || p.Kind() != detect.GranularMatrix || !p.Has(detect.NeedIrrigation) {
		return f, false
	}
	if p.Has(detect.NeedTexture) && strings.Contains(strings.ToLower(p.Texture()), "sand") &&
		!strings.Contains(strings.ToLower(p.Texture()), "clay") {
		return f, false
	}
	t, v := p.Time(), p.Value()
	soon := max(int64(p.Param("leak_minutes")*float64(detect.Minute)), 2*p.Cadence())
	late := int64(p.Param("leak_hours") * float64(detect.Hour))
	fall := p.Param("leak_fall")
	var events []detect.Part
	tried, lowest, readings := 0, math.Inf(1), 0
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
		tried++
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
				events = append(events, detect.Part{Span: detect.Span{Start: t[from], End: t[j]}, Flag: schemas.FlagFail})
				lowest = math.Min(lowest, low)
				readings += j - from
				break
			}
		}
	}
	if len(events) < int(p.Param("leak_events")) || 2*len(events) < tried {
		return f, false
	}
	end := p.Period().Window.End
	first, last := events[0], events[len(events)-1]
	f = detect.Finding{
		Start: first.Start, End: last.End, Readings: readings,
		Confidence: math.Min(confidenceMost, confidenceLeak+0.08*(float64(len(events))-p.Param("leak_events"))),
		Measured:   float64(len(events)), Threshold: p.Param("leak_events"), Unit: "waterings",
		Evidence: fmt.Sprintf("at %d of %d waterings that found it dry it fell to as little as %.4g %s within %s of the valve and was back at the level of before within %.0f h of the end: water in a splice, not in soil",
			len(events), tried, lowest, p.Quantity().Unit(), detect.Length(soon), p.Param("leak_hours")),
	}
	// What lies between two waterings is suspect: a leak caps the dry end as well.
	parts := make([]detect.Part, 0, 2*len(events))
	at := first.Start
	for _, e := range events {
		if e.Start > at {
			parts = append(parts, detect.Part{Span: detect.Span{Start: at, End: e.Start}, Flag: schemas.FlagSuspect})
		}
		if e.Start = max(e.Start, at); e.End > e.Start {
			parts = append(parts, e)
			at = e.End
		}
	}
	// It stands until a watering shows otherwise.
	f.Open = waterings[len(waterings)-1].Start < last.End
	if f.Open && at < end {
		parts = append(parts, detect.Part{Span: detect.Span{Start: at, End: end}, Flag: schemas.FlagSuspect})
	}
	f.Parts = parts
	return f, true
}

// floorOf is the wettest that a whole granular matrix sensor tells from wetter: its
// dead zone of 10 kPa, or the 1000 ohm that are the same by the published forms.
func floorOf(p *detect.Pass) float64 {
	if p.Quantity() == detect.Ohms {
		return detect.OhmFloor / 2
	}
	return detect.TensionFloor / 2
}
