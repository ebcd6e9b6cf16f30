package amend

import (
	"maps"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/register"
)

// Replaced is a sensor that the crew has exchanged.
type Replaced struct {
	Probe    int // place in the register
	On       int64
	Zone     *time.Location
	Evidence string // which row of the visits says so
}

// dayAround is how far a date in the register and the visit's may lie apart: one is
// written in the field, the other at the desk.
const dayAround = 2 * detect.Day

// exchanged suggests the rows that a new sensor asks for: the old one's end, and the
// new one's own name, since its readings are held against nothing that the old one
// gave. None when the register has either.
func (in *Input) exchanged(r Replaced) []Mend {
	reg := in.Register
	near := func(at detect.Maybe[int64]) bool {
		return at.OK && at.V >= r.On-dayAround && at.V <= r.On+dayAround
	}
	rows := reg.Details[r.Probe].Rows
	for i := range rows {
		if near(rows[i].ValidTo) || near(rows[i].RemovedOn) || near(rows[i].InstalledOn) || near(rows[i].ValidFrom) {
			return nil
		}
	}
	if len(rows) > 0 {
		old := rows[len(rows)-1]
		for p := range reg.Details {
			for _, row := range reg.Details[p].Rows {
				if p != r.Probe && old.Port != "" && row.Logger == old.Logger && row.Port == old.Port && (near(row.ValidFrom) || near(row.InstalledOn)) {
					return nil
				}
			}
		}
	}
	at := time.UnixMicro(r.On).In(r.zone()).Format(time.RFC3339)
	name := reg.Probes[r.Probe].Name
	cells := in.Row(r.Probe)
	begun := maps.Clone(cells)
	for _, c := range []string{"serial", "warranty_until", "removed_on", "valid_to", "conditioned"} {
		delete(begun, c)
	}
	return []Mend{
		{Severity: "error", Subject: "probe", Name: name, Problem: "replaced, and the register still has the old sensor there: end its row",
			Evidence: r.Evidence, Row: suggestion(cells, map[string]string{"valid_to": at, "removed_on": at})},
		{Severity: "error", Subject: "probe", Name: name, Problem: "replaced, and the register has no row of the new sensor: add it under a name of its own",
			Evidence: r.Evidence, Row: suggestion(begun, map[string]string{"probe": in.nextName(reg, name), "valid_from": at, "installed_on": at})},
	}
}

func (r *Replaced) zone() *time.Location {
	if r.Zone == nil {
		return time.UTC
	}
	return r.Zone
}

// nextName is the name with the first letter from b on that no probe has.
func (in *Input) nextName(reg *register.Register, name string) string {
	for letter := 'b'; letter <= 'z'; letter++ {
		if _, taken := reg.Named(name + string(letter)); !taken {
			return name + string(letter)
		}
	}
	return name + "-new"
}
