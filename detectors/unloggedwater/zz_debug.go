package unloggedwater

import (
	"fmt"
	"os"

	"probeward/detectors/detect"
	"probeward/detectors/robust"
)

func (l *look) debug() {
	z := os.Getenv("DBGZ")
	members := l.p.Members()
	if z == "" || len(members) == 0 || members[0].Probe.Zone != z {
		return
	}
	fmt.Println("zone", z, "occasions", len(l.occasions), "probes", len(l.probes), "rain", len(l.rain), "whole", detect.Stamp(l.whole.Start), detect.Stamp(l.whole.End))
	for _, o := range l.occasions {
		fmt.Printf("  occ %s +%.1fh %.1fmm rained %v\n", detect.Stamp(o.Start), detect.Hours(o.Length()), o.MM.V, o.Rained)
	}
	for _, r := range l.rain {
		fmt.Printf("  rain %s +%.1fh %.1fmm\n", detect.Stamp(r.Start), detect.Hours(r.Length()), r.MM.V)
	}
	for i := range members {
		m := &members[i]
		if !m.Probe.Moisture() || m.Values == 0 {
			continue
		}
		h := l.rule.Habit(m, l.occasions, l.rain)
		g, n := 0, 0
		for _, a := range h.At {
			if a.Seen {
				n++
				if a.Given {
					g++
				}
			}
		}
		least, _ := robust.Wilson(g, n, 1.28)
		normal := -1
		for k := range l.probes {
			if l.probes[k].Probe.Index == m.Probe.Index {
				normal = k
			}
		}
		fmt.Printf("  %s %.0fcm %d/%d least %.2f days %d quiet %.4f usual %.4f lag %.1f latest %.1f normal %v unit %.4f\n", m.Probe.Name, m.Probe.DepthCM.V, g, n, least, h.Days, h.Quiet, h.Usual, detect.Hours(h.Lag), detect.Hours(h.Latest), normal >= 0, m.Waterings.Unit)
		for _, w := range m.Wettings {
			if w.Peak > l.whole.End-8*detect.Day {
				ex := false
				if normal >= 0 {
					ex = l.probes[normal].explained(w, l.rule.Plateau)
				}
				fmt.Printf("      %s .. %s rise %.4f (of least %.2f) explained %v\n", detect.Stamp(w.Onset), detect.Stamp(w.Peak), w.Rise, w.Rise/h.Least, ex)
			}
		}
	}
	for _, o := range l.onsets {
		fmt.Println("  onset", o.probe, detect.Stamp(o.water), o.Rise)
	}
}
