package wrongzone

import (
	_ "embed" // the manual

	"probeward/detectors/detect"
)

//go:embed doc.go
var doc string

// Detector finds posts that answer the water of another zone than the registered one.
var Detector = &detect.Detector{
	Name:  "wrong_zone",
	Doc:   doc,
	Scope: detect.PerFarm,
	Needs: detect.NeedIrrigation,
	Uses:  detect.NeedRain,
	Params: []detect.Param{
		{Name: "merge_hours", Default: 6, Unit: "h", Why: "pulses of one night are one watering to the soil", Source: "common practice, no source"},
		{Name: "early_hours", Default: 2, Unit: "h", Why: "valve controllers and loggers keep different clocks, an hour of summer time included, and an onset is dated by the lowest of noisy readings", Source: "common practice, no source"},
		{Name: "window_hours", Default: 12, Unit: "h", Why: "a probe's answers begin within half a day of each other, counted from the valve: most of the spread is that of the wetness before", Source: "common practice, no source"},
		{Name: "lag_step_hours", Default: 6, Unit: "h", Why: "half a window: no lag lies between two steps", Source: "derived"},
		{Name: "swing_hours", Default: 12, Unit: "h", Why: "the rise that water brings begins, by turning points, at the low of the daily swing or of a calm before it, up to half a day too early", Source: "derived: half a period of the daily swing"},
		{Name: "max_lag_hours", Default: 24, Unit: "h", Why: "a zone that is answered later than a day is no match: with a lag that is free enough, any schedule fits", Source: "common practice, no source"},
		{Name: "own_lag_hours", Default: 48, Unit: "h", Why: "the registered zone is given any lag that slow soil has", Source: "common practice, no source"},
		{Name: "rain_mm", Default: 2, Unit: "mm", Why: "less is held by the canopy and the mulch and wets no probe", Source: "common practice, no source"},
		{Name: "rain_hours", Default: 48, Unit: "h", Why: "a storm reaches deep probes later than a watering does, and all zones at once", Source: "common practice, no source"},
		{Name: "covered_share", Default: 0.7, Unit: "share of the window", Why: "an answer lasts longer than the third of a window that may be missing", Source: "common practice, no source"},
		{Name: "large_share", Default: 0.6, Unit: "of the large rises", Why: "of the rise that one in ten passes: large answers alone stand clear of the daily swing", Source: "common practice, no source"},
		{Name: "size_steps", Default: 3, Unit: "halvings", Why: "smaller rises are tried as well, since nothing is known of the size of an answer before the zone is: 0.6, 0.3 and 0.15", Source: "common practice, no source"},
		{Name: "min_onsets", Default: 5, Unit: "onsets", Why: "fewer fit some zone by luck", Source: "common practice, no source"},
		{Name: "min_separating", Default: 3, Unit: "waterings", Why: "so many that the two zones do not share; with fewer they are one schedule", Source: "common practice, no source"},
		{Name: "min_recall", Default: 0.5, Unit: "share of the waterings", Why: "who stands in a zone answers most of its waterings that are large enough, and the small ones of spring are in the count", Source: "common practice, no source"},
		{Name: "margin", Default: 3.9, Unit: "of the logarithm of likelihoods", Why: "fifty times likelier than under the registered zone, after the price of trying all zones, lags and sizes; no right zone of 16 simulated farms came to zero", Source: "derived: ln 50"},
		{Name: "tie", Default: 3, Unit: "of the logarithm of likelihoods", Why: "zones this near to the best one fit as well: twenty to one is not proof between two", Source: "derived: ln 20"},
		{Name: "prior", Default: 0.02, Unit: "share of the holes", Why: "how many are registered wrongly, for the confidence: one in fifty", Source: "common practice, no source"},
	},
	Since:    "0.1.0",
	RunGroup: run,
}

func run(p *detect.GroupPass) detect.Outcome {
	if len(p.Zones()) < 2 {
		return detect.Unable(detect.Absent, "needs a log of waterings of two zones or more, has %d", len(p.Zones()))
	}
	l := newLook(p)
	if len(l.stands) == 0 {
		return detect.Unable(detect.Absent, "needs moisture probes with a post and a zone that the log of waterings names; the register has none")
	}
	judged := 0
	for i := range l.stands {
		l.judge(&l.stands[i])
		if l.stands[i].says.judged {
			judged++
		}
	}
	if judged == 0 {
		return detect.Unable(detect.NoChance, "needs a post with a probe of %.0f onsets and a zone with %.0f waterings that the post's own does not share; there was none among %d posts",
			p.Param("min_onsets"), p.Param("min_separating"), len(l.stands))
	}
	return detect.Faulty(l.findings()...)
}
