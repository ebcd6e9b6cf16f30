package cabledamage

import (
	"fmt"
	"os"

	"probeward/detectors/detect"
)

func debug(p *detect.Pass, all []watering) {
	if os.Getenv("DBGP") != fmt.Sprint(p.Place()) {
		return
	}
	for _, w := range all {
		fmt.Fprintf(os.Stderr, "%s rained %v calm %v before %.2f quick %.3f stay %.3f back %.3f top %.2f\n", detect.Stamp(w.Start), w.rained, w.calm, w.before, w.quick, w.stay, w.back, w.top)
	}
}
