package register

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"probeward/detectors/detect"
	"probeward/pipeline/table"
)

// merge makes one probe of the rows of one name.
func (r *Register) merge(file string, rows []Row) {
	slices.SortStableFunc(rows, func(a, b Row) int {
		return cmp.Or(cmp.Compare(a.Probe, b.Probe), cmp.Compare(from(a), from(b)), cmp.Compare(a.Line, b.Line))
	})
	for len(rows) > 0 {
		n := 1
		for n < len(rows) && rows[n].Probe == rows[0].Probe {
			n++
		}
		r.probe(file, rows[:n:n])
		rows = rows[n:]
	}
}

func from(row Row) int64 {
	if row.ValidFrom.OK {
		return row.ValidFrom.V
	}
	return math.MinInt64
}

// probe adds one probe of its rows, oldest first.
func (r *Register) probe(file string, rows []Row) {
	m := merger{file: file, rows: rows}
	newest := rows[len(rows)-1]
	p := detect.Probe{
		Index: len(r.Probes), Name: newest.Probe,
		Farm:        m.text("farm", func(r Row) string { return r.Farm }),
		Block:       m.text("block", func(r Row) string { return r.Block }),
		Zone:        m.text("zone", func(r Row) string { return r.Zone }),
		Post:        m.text("post", func(r Row) string { return r.Post }),
		Texture:     m.text("soil_texture", func(r Row) string { return r.SoilTexture }),
		DepthCM:     fact(&m, "depth_cm", func(r Row) detect.Maybe[float64] { return r.DepthCM }),
		InstalledOn: fact(&m, "installed_on", func(r Row) detect.Maybe[int64] { return r.InstalledOn }),
		RemovedOn:   fact(&m, "removed_on", func(r Row) detect.Maybe[int64] { return r.RemovedOn }),
		Conditioned: fact(&m, "conditioned", func(r Row) detect.Maybe[bool] { return r.Conditioned }),
		CableM:      fact(&m, "cable_m", func(r Row) detect.Maybe[float64] { return r.CableM }),
		ReferenceTemp: fact(&m, "reference_temp_c", func(r Row) detect.Maybe[float64] {
			return r.ReferenceTempC
		}),
	}
	p.Kind, _, _ = readKind(m.text("kind", func(r Row) string { k, _, _ := readKind(r.Kind); return string(k) }))
	p.Unit = m.text("unit", func(r Row) string { u, _, _ := readUnit(r.Unit); return u })
	scale, offset := m.calibration()
	c := convert(p.Kind, p.Unit, scale, offset)
	p.Quantity, p.Scale, p.Offset = c.quantity, c.scale, c.offset
	if c.problem != "" {
		m.say(newest.Line, "unit", c.severity, c.problem, newest.Unit)
	}
	p.Wirings = m.wirings()
	at := newestPlace(rows)
	r.Probes = append(r.Probes, p)
	r.Details = append(r.Details, Detail{
		Tag: m.text("tag", func(r Row) string { return r.Tag }), Row: m.text("row", func(r Row) string { return r.Row }),
		Latitude: at.Latitude, Longitude: at.Longitude,
		AreaHA:           fact(&m, "area_ha", func(r Row) detect.Maybe[float64] { return r.AreaHA }),
		EmitterOffsetCM:  fact(&m, "emitter_offset_cm", func(r Row) detect.Maybe[float64] { return r.EmitterOffsetCM }),
		Splice:           m.text("splice", func(r Row) string { return r.Splice }),
		CableProtection:  m.text("cable_protection", func(r Row) string { return r.CableProtection }),
		CableAWG:         fact(&m, "cable_awg", func(r Row) detect.Maybe[int64] { return r.CableAWG }),
		Conversion:       m.text("conversion", func(r Row) string { return r.Conversion }),
		TemperatureProbe: m.text("temperature_probe", func(r Row) string { return r.TemperatureProbe }),
		Serial:           m.text("serial", func(r Row) string { return r.Serial }),
		WarrantyUntil:    fact(&m, "warranty_until", func(r Row) detect.Maybe[int64] { return r.WarrantyUntil }),
		Note:             latest(rows, func(r Row) string { return r.Note }),
		Rows:             rows,
	})
	r.Notes = append(r.Notes, m.notes...)
}

// merger settles the facts of one probe over its rows, the newest first.
type merger struct {
	file  string
	rows  []Row
	notes []Note
}

func (m *merger) say(line int, column string, s table.Severity, problem, text string) {
	m.notes = append(m.notes, Note{File: m.file, Line: line, Column: column, Severity: s,
		Subject: "probe", Name: m.rows[0].Probe, Problem: problem, Text: text})
}

func (m *merger) text(column string, get func(Row) string) string {
	return fact(m, column, func(r Row) detect.Maybe[string] {
		s := get(r)
		return detect.Maybe[string]{V: s, OK: s != ""}
	}).V
}

// fact is the newest row's that has it; rows that say otherwise are noted.
func fact[T comparable](m *merger, column string, get func(Row) detect.Maybe[T]) detect.Maybe[T] {
	var won detect.Maybe[T]
	line := 0
	for i := len(m.rows) - 1; i >= 0; i-- {
		v := get(m.rows[i])
		switch {
		case !v.OK:
		case !won.OK:
			won, line = v, m.rows[i].Line
		case v.V != won.V:
			m.say(m.rows[i].Line, column, table.Warning,
				fmt.Sprintf("%s is another on line %d, and the newest row wins (%s): if both were true in their time, give the later stretch a probe name of its own",
					column, line, show(won.V)), show(v.V))
		}
	}
	return won
}

func show[T any](v T) string {
	if t, ok := any(v).(int64); ok && (t > 1e12 || t < -1e12) {
		return detect.Stamp(t) // an instant: no count of the register is as large
	}
	return fmt.Sprint(v)
}

func latest(rows []Row, get func(Row) string) string {
	for _, row := range slices.Backward(rows) {
		if s := get(row); s != "" {
			return s
		}
	}
	return ""
}

// newestPlace is the newest row that has coordinates: a pair is never made of two rows.
func newestPlace(rows []Row) Row {
	for _, row := range slices.Backward(rows) {
		if row.Latitude.OK {
			return row
		}
	}
	return Row{}
}

// calibration gives scale and offset of the newest row that has either, as a pair
// and only among the rows of the newest row's unit.
func (m *merger) calibration() (scale, offset detect.Maybe[float64]) {
	type pair struct{ scale, offset detect.Maybe[float64] }
	unit, _, _ := readUnit(m.rows[len(m.rows)-1].Unit)
	got := fact(m, "scale", func(r Row) detect.Maybe[pair] {
		u, _, _ := readUnit(r.Unit)
		return detect.Maybe[pair]{V: pair{r.Scale, r.Offset}, OK: u == unit && (r.Scale.OK || r.Offset.OK)}
	})
	return got.V.scale, got.V.offset
}
