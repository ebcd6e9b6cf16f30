package crew

import (
	"cmp"
	"slices"

	"probeward/detectors/detect"
	"probeward/pipeline/rank"
)

// tools are those of the trade's things of which one serves a whole round.
var tools = map[string]bool{
	"multimeter":                              true,
	"cutter and stripper":                     true,
	"spade and auger":                         true,
	"phone with the right time":               true,
	"tape measure":                            true,
	"water bottle":                            true,
	"map of valves":                           true,
	"memory reader or cable":                  true,
	"pressure gauge and flow log of the zone": true,
}

// sheets are one for each stop, however many probes it has.
var sheets = map[string]bool{"register sheet of the post": true}

// kinds of sensors in words, where a spare has to be of the same kind.
var kinds = map[detect.Kind]string{
	detect.GranularMatrix:  "granular matrix sensor",
	detect.Tensiometer:     "tensiometer",
	detect.Dielectric:      "dielectric probe",
	detect.SoilTemperature: "soil temperature probe",
	detect.Other:           "other sensor",
}

// need is one thing to bring on the round.
type need struct {
	Count int
	Thing string
	Kinds []string // how many of which sensor, where it is a spare
	Stops []int    // ranks of the stops that ask for it
	tool  bool
}

// spareProbe is how the trade begins the name of a spare that has to match.
const spareProbe = "spare probe"

// needs sums up what the visits ask for: what is used up first, the most of it first;
// then the tools, by how many stops ask for them.
func (in *Input) needs() (used, toolbox []need) {
	at := map[string]*need{}
	ofKind := map[string]map[detect.Kind]int{}
	var order []string
	for i := range in.Visits {
		v := &in.Visits[i]
		for _, thing := range v.Bring {
			n := at[thing]
			if n == nil {
				n = &need{Thing: thing, tool: tools[thing]}
				at[thing], ofKind[thing] = n, map[detect.Kind]int{}
				order = append(order, thing)
			}
			n.Stops = append(n.Stops, i+1)
			if n.tool {
				n.Count = 1
				continue
			}
			if sheets[thing] {
				n.Count++
				continue
			}
			places := in.needing(v, thing)
			n.Count += max(1, len(places))
			for _, p := range places {
				ofKind[thing][in.probe(p).Kind]++
			}
		}
	}
	for _, thing := range order {
		n := *at[thing]
		if n.tool {
			toolbox = append(toolbox, n)
			continue
		}
		if len(thing) > len(spareProbe) && thing[:len(spareProbe)] == spareProbe {
			n.Kinds = spoken(ofKind[thing])
		}
		used = append(used, n)
	}
	byCount := func(a, b need) int {
		return cmp.Or(cmp.Compare(b.Count, a.Count), cmp.Compare(len(b.Stops), len(a.Stops)))
	}
	slices.SortStableFunc(used, byCount)
	slices.SortStableFunc(toolbox, byCount)
	return used, toolbox
}

// needing gives the visit's probes whose own fault asks for the thing.
func (in *Input) needing(v *rank.Visit, thing string) []int {
	var out []int
	for _, f := range in.findings(v) {
		work, ok := rank.WorkFor(f.Fault)
		if ok && f.Probe >= 0 && slices.Contains(work.Bring, thing) && !slices.Contains(out, f.Probe) {
			out = append(out, f.Probe)
		}
	}
	return out
}

func spoken(counts map[detect.Kind]int) []string {
	var all []detect.Kind
	for k := range counts {
		if kinds[k] != "" {
			all = append(all, k)
		}
	}
	slices.SortFunc(all, func(a, b detect.Kind) int { return cmp.Or(cmp.Compare(counts[b], counts[a]), cmp.Compare(a, b)) })
	var out []string
	for _, k := range all {
		out = append(out, plural(counts[k], kinds[k]))
	}
	return out
}
