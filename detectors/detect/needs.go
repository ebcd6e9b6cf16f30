package detect

import (
	"math/bits"
	"strings"
)

// Needs is a set of the things that a detector may be handed.
type Needs uint32

// What there is to need. Readings in time order and the probe's kind and name are
// always there.
const (
	NeedOhms        Needs = 1 << iota // resistance before any conversion
	NeedWetness                       // a moisture series: ohms, kPa or m3/m3
	NeedTemperature                   // soil temperature beside the readings
	NeedBattery                       // the logger's battery beside the readings
	NeedDepth                         // depth in the register
	NeedTexture                       // soil texture in the register
	NeedInstalledOn                   // date of installation in the register
	NeedIrrigation                    // a log of waterings that names the probe's zone
	NeedRain                          // rain in the weather
	NeedDemand                        // reference evapotranspiration in the weather
	NeedScaleEnd                      // the dry end of the exported scale, where the data show one
	NeedClock                         // the stamps in the order written (group detectors)
	needsEnd
)

var needWords = map[Needs][2]string{
	NeedOhms:        {"ohms", "needs ohms; this export holds %s"},
	NeedWetness:     {"a moisture series", "needs a moisture reading in ohms, kPa or m3/m3; this series holds %s: give the register a kind, unit and scale that lead there"},
	NeedTemperature: {"soil temperature", "needs soil temperature; map a temperature_c column, or name a temperature_probe in the register"},
	NeedBattery:     {"battery", "needs the logger's battery; map a battery_v column"},
	NeedDepth:       {"depth", "needs depth_cm in the register"},
	NeedTexture:     {"soil texture", "needs soil_texture in the register"},
	NeedInstalledOn: {"date of installation", "needs installed_on in the register"},
	NeedIrrigation:  {"log of waterings", "needs a log of waterings for the zone; give irrigation.csv rows with its name"},
	NeedRain:        {"rain", "needs rain_mm in weather.csv"},
	NeedDemand:      {"evapotranspiration", "needs et0_mm in weather.csv"},
	NeedScaleEnd:    {"scale's end", "needs the scale's dry end, and no value stands out that several probes reach and none passes"},
	NeedClock:       {"stamps in the order written", "needs the stamps in the order written; this input has none"},
}

// String lists the set in words.
func (n Needs) String() string {
	var words []string
	for one := Needs(1); one < needsEnd; one <<= 1 {
		if n&one != 0 {
			words = append(words, needWords[one][0])
		}
	}
	if len(words) == 0 {
		return "readings only"
	}
	return strings.Join(words, ", ")
}

// first gives the lowest member of a set that is not empty.
func (n Needs) first() Needs { return 1 << bits.TrailingZeros32(uint32(n)) }
