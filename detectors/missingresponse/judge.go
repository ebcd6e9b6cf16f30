package missingresponse

import (
	"fmt"

	"probeward/detectors/detect"
)

// look judges one probe. A reason says that it could not be judged.
func (z *zone) look(i int) (f detect.Finding, found bool, why detect.Why) {
	me, p := &z.probes[i], z.p
	unable := func(cause detect.Cause, format string, args ...any) (detect.Finding, bool, detect.Why) {
		return detect.Finding{}, false, detect.Why{Cause: cause, Text: fmt.Sprintf(format, args...)}
	}
	span := 0.0
	if me.First.OK {
		span = detect.Hours(me.Last.V-me.First.V) / 24
	}
	switch n := int(p.Param("min_answers")); {
	case span < p.Param("min_days"):
		return unable(detect.TooShort, "needs readings over %.0f d, had %.1f d", p.Param("min_days"), span)
	case len(me.all) == 0:
		return unable(detect.NoChance, "the zone was not watered while the probe was heard")
	case me.answers < n && !z.attested(me):
		switch {
		case len(me.counted) < n && len(me.counted)+me.without >= n:
			return unable(detect.NoChance, "had no room to answer %d of its waterings: at the scale's end, or as wet as it gets", me.without)
		case len(me.counted) < n:
			return unable(detect.TooShort, "needs %d waterings that can be judged, had %d: give more look-back, or wait", n, len(me.counted))
		}
		return unable(detect.NoChance, "never answered enough of its waterings to miss one: %d of %d", me.answers, len(me.counted))
	}
	if last := me.counted[len(me.counted)-1]; last.strong && last.Start < p.Period().Window.Start {
		return unable(detect.NoChance, "no watering in the window could show it: none, rain at the same time, or the probe has no room to answer")
	}
	// The earliest loss that explains all waterings since.
	for from := 1; from < len(me.counted); from++ {
		before, since := me.counted[max(0, from-int(p.Param("memory"))):from], me.counted[from:]
		if f, ok := z.among(i, before, since); ok {
			return f, true, why
		}
		if f, ok := z.alone(i, before, since); ok {
			return f, true, why
		}
	}
	if n := z.silentAtEnd(me); n >= int(p.Param("min_misses")) {
		return unable(detect.NoChance, "stood at the scale's end through its newest %d waterings, which its siblings answered: stuck, or soil that is drier than the scale; a reading in ohms, or water at the dripper, would tell", n)
	}
	return f, false, why
}
