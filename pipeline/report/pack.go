package report

import (
	"encoding/json"
	"fmt"

	"probeward/detectors/detect"
)

// packed is one line for the closer look. Stretches are pairs of minutes since the
// start of the period.
type packed struct {
	Name  string     `json:"n"`
	Floor float64    `json:"f"` // of the logarithm; 0: a plain scale
	Step  float64    `json:"s"` // of the working space in a level
	Unit  string     `json:"u"`
	Hole  int64      `json:"h"` // minutes
	Out   [][2]int64 `json:"x"` // left out
	Zone  string     `json:"w"` // whose waterings
	Data  string     `json:"z"` // as chart.Frame.Pack gives it
}

// pack is what the closer look decodes: all of it in one element that no browser
// reads before it is asked to.
func (w *work) pack() string {
	period := w.in.Judged.Period
	minutes := func(s detect.Span) [2]int64 {
		s = s.Overlap(period.Whole())
		return [2]int64{(s.Start - period.Lookback) / detect.Minute, (s.End - period.Lookback) / detect.Minute}
	}
	out := struct {
		Start int64                 `json:"start"` // seconds
		End   int64                 `json:"end"`
		From  int64                 `json:"from"` // of the judged window
		Zone  string                `json:"zone"`
		Names map[string]string     `json:"names"` // of neighbours
		Water map[string][][2]int64 `json:"water"`
		Lines map[string]packed     `json:"lines"`
	}{period.Lookback / detect.Second, period.Window.End / detect.Second, period.Window.Start / detect.Second, w.say.zone.String(),
		map[string]string{}, map[string][][2]int64{}, map[string]packed{}}
	for p, s := range w.series {
		name := w.in.Probes[p].Name
		if s.neighbour && s.mean.ID != "" {
			out.Names[s.mean.ID] = name
		}
		if !s.main {
			continue
		}
		q, zone := w.in.Probes[p].Quantity, w.in.Probes[p].Zone
		_, unit := unitWords(q)
		floor := map[detect.Quantity]float64{detect.Ohms: detect.OhmFloor, detect.Tension: detect.TensionFloor}[q]
		line := packed{name, floor, s.kept.Ruler.Step(), unit, s.hole / detect.Minute, [][2]int64{}, zone, s.pack}
		for _, e := range w.in.Judged.ExclusionsOf(p) {
			line.Out = append(line.Out, minutes(e.Span))
		}
		if out.Water[zone] == nil && w.in.Irrigation[zone] != nil {
			for _, x := range w.in.Irrigation[zone] {
				if x.Overlap(period.Whole()).Length() > 0 {
					out.Water[zone] = append(out.Water[zone], minutes(x.Span))
				}
			}
		}
		out.Lines[lineID(p)] = line
	}
	b, err := json.Marshal(out)
	if err != nil {
		panic(err) // finite numbers and text alone
	}
	return `<script type="application/json" id="pack">` + string(b) + `</script>`
}

// lineID names a probe's packed line.
func lineID(probe int) string { return fmt.Sprint("p", probe) }
