package read

import "probeward/detectors/detect"

// Ohms and kilohms. A granular matrix sensor has about 550 ohm in saturated soil and
// some 30,000 ohm in soil that no crop survives (Shock, Barnum & Seddigh 1998: 28 kohm
// at 200 kPa and 24 degC), so the two units cannot be mistaken for each other by a
// sensor that works. What stands at one value may be a lead that touches or is broken,
// and says nothing.
const (
	leastKilohm = 0.3 // a sensor in the wettest soil, of any make, with room below
	mostKilohm  = 100 // one in soil beyond use, with room above
	moves       = 1.02
)

// ofOhms tallies one value in ohms, as the probe's unit makes them.
func (t *tally) ofOhms(v float64) {
	switch {
	case v >= leastKilohm && v <= mostKilohm:
		t.tiny++
	case v >= 1000*1000*leastKilohm:
		t.huge++
	}
}

// ohmContradictions are added to those of other units.
var ohmContradictions = []contradiction{
	{
		denied: func(p *detect.Probe, t *tally) bool {
			return p.Unit == "ohm" && p.Quantity == detect.Ohms && nearly(t.tiny, t.values) && t.max > moves*t.min
		},
		words: "registered in ohm, of which a working sensor has hundreds at least, and their values look like kilohms",
		row:   func(p *detect.Probe) string { return row(p, "kohm", "") },
	},
	{
		denied: func(p *detect.Probe, t *tally) bool {
			return p.Unit == "kohm" && p.Quantity == detect.Ohms && nearly(t.huge, t.values) && t.max > moves*t.min
		},
		words: "registered in kohm, of which a working sensor has a hundred at most, and their values look like ohms",
		row:   func(p *detect.Probe) string { return row(p, "ohm", "") },
	},
}
