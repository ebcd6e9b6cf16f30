package simulate

import (
	"bufio"
	"path/filepath"
	"strconv"
	"time"
)

// healthy is false for a probe that is at fault or hangs on a logger that is. A
// fault of its zone's water leaves it healthy: it reads what is.
func (v *Vineyard) healthy() []bool {
	out := make([]bool, len(v.Probes))
	for i := range out {
		out[i] = true
	}
	for _, f := range v.Faults {
		if f.probe >= 0 {
			out[f.probe] = false
		}
		for _, i := range f.ports {
			out[i] = false
		}
	}
	return out
}

func (w *world) writeTruth(truth string, lookAlikes []string) error {
	v := w.v
	var faults, probes [][]string
	for _, f := range v.Faults {
		end := ""
		if !f.End.IsZero() && f.End.Before(v.Until) {
			end = f.End.Format(time.RFC3339)
		}
		faults = append(faults, []string{f.Subject, f.Name, f.Probe, f.Fault, f.Form, f.Start.Format(time.RFC3339), end,
			decimal(f.Strength, 3), bit(f.Visible), f.Why})
	}
	for i, ok := range v.healthy() {
		look := noLookAlike
		if ok {
			look = lookAlikes[i]
		}
		probes = append(probes, []string{v.Probes[i].Name, bit(ok), look})
	}
	err := writeTable(filepath.Join(truth, "faults.csv"),
		[]string{"subject", "name", "probe", "fault", "form", "start", "end", "strength", "visible", "why"}, faults)
	if err != nil {
		return err
	}
	return writeTable(filepath.Join(truth, "probes.csv"), []string{"probe", "healthy", "look_alike"}, probes)
}

// writeTwins writes, for a post with faults, what its probes exported beside
// what they would have without: only where the two differ.
func (w *world) writeTwins(truth string, rec *record) error {
	differ := false
	for _, s := range rec.probes {
		differ = differ || &s.faulty[0] != &s.clean[0] || w.v.Probes[s.probe].Unit != w.v.Posts[rec.post].model.unit
	}
	if !differ {
		return nil
	}
	post := &w.v.Posts[rec.post]
	return writeFile(filepath.Join(truth, "counterfactual", post.Logger+".csv"), false, func(out *bufio.Writer) {
		out.WriteString("time,probe,faulty,clean,unit\n")
		var b []byte
		for _, s := range rec.probes {
			p := &w.v.Probes[s.probe]
			if p.Unit != post.model.unit { // all of it is false, in the unit of the register
				w.writeOtherUnit(out, rec, &s)
				continue
			}
			for i, v := range s.faulty {
				if v == s.clean[i] {
					continue
				}
				b = rec.grid.time(i).AppendFormat(b[:0], time.RFC3339)
				b = append(b, ',')
				b = append(b, p.Name...)
				for _, x := range [...]int32{v, s.clean[i]} {
					b = append(b, ',')
					if isValue(x) {
						b = appendDecimal(b, x, post.model.decimals)
					}
				}
				b = append(b, ',')
				b = append(b, post.model.unit...)
				b = append(b, '\n')
				out.Write(b)
			}
		}
	})
}

// writeOtherUnit writes what a probe should have given in the unit that the register
// has, beside what is read as that unit.
func (w *world) writeOtherUnit(out *bufio.Writer, rec *record, s *series) {
	p, m := &w.v.Probes[s.probe], &w.v.Posts[rec.post].model
	factor, places := 100.0, 1 // m3/m3 to %
	switch {
	case m.unit == "ohm":
		factor, places = 0.001, 3
	case m.unit == "%":
		factor, places = 0.01, 3
	}
	var b []byte
	for i, v := range s.faulty {
		if !isValue(v) || !isValue(s.clean[i]) {
			continue
		}
		b = rec.grid.time(i).AppendFormat(b[:0], time.RFC3339)
		b = append(append(append(b, ','), p.Name...), ',')
		b = append(appendDecimal(b, v, m.decimals), ',')
		b = strconv.AppendFloat(b, factor*m.value(s.clean[i]), 'f', places, 64)
		b = append(append(append(b, ','), p.Unit...), '\n')
		out.Write(b)
	}
}

func bit(b bool) string { return strconv.Itoa(map[bool]int{true: 1}[b]) }
