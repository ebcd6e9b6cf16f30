package register

import (
	"fmt"
	"math"

	"probeward/detectors/detect"
	"probeward/detectors/soil"
	"probeward/pipeline/table"
	"probeward/schemas"
)

// rows reads the usable rows and checks each for itself.
func (r *Register) rows(f *table.File) []Row {
	rows := make([]Row, 0, len(f.Rows))
	for _, t := range f.Rows {
		row := Row{
			Line:  t.Line,
			Probe: t.Text("probe"), Farm: t.Text("farm"), Logger: t.Text("logger"), Port: t.Text("port"),
			Post: t.Text("post"), Tag: t.Text("tag"), Row: t.Text("row"), Block: t.Text("block"), Zone: t.Text("zone"),
			Latitude: t.Number("latitude"), Longitude: t.Number("longitude"), DepthCM: t.Number("depth_cm"),
			Kind: t.Text("kind"), Unit: t.Text("unit"),
			ValidFrom: t.Time("valid_from"), ValidTo: t.Time("valid_to"),
			InstalledOn: t.Time("installed_on"), RemovedOn: t.Time("removed_on"),
			SoilTexture: t.Text("soil_texture"), Conditioned: t.Boolean("conditioned"),
			Splice: t.Text("splice"), CableProtection: t.Text("cable_protection"),
			CableM: t.Number("cable_m"), CableAWG: t.Integer("cable_awg"),
			EmitterOffsetCM: t.Number("emitter_offset_cm"), AreaHA: t.Number("area_ha"),
			Scale: t.Number("scale"), Offset: t.Number("offset"),
			Conversion: t.Text("conversion"), ReferenceTempC: t.Number("reference_temp_c"),
			TemperatureProbe: t.Text("temperature_probe"), Serial: t.Text("serial"),
			WarrantyUntil: t.Time("warranty_until"), Note: t.Text("note"),
			Cells: map[string]string{},
		}
		for _, c := range schemas.Probes.Columns {
			if text := t.Text(c.Name); text != "" {
				row.Cells[c.Name] = text
			}
		}
		r.check(t, &row)
		rows = append(rows, row)
	}
	return rows
}

// check mends or blanks what cannot be in one row.
func (r *Register) check(t table.Row, row *Row) {
	say := func(column string, s table.Severity, suggest, format string, args ...any) {
		n := t.Note(column, s, fmt.Sprintf(format, args...))
		n.Subject, n.Name, n.Suggest = "probe", row.Probe, suggest
		r.Notes = append(r.Notes, n)
	}
	if _, problem, suggest := readKind(row.Kind); problem != "" {
		say("kind", table.Warning, suggest, "%s", problem)
	}
	if _, problem, suggest := readUnit(row.Unit); problem != "" {
		say("unit", table.Warning, suggest, "%s", problem)
	}
	if row.ValidFrom.OK && row.ValidTo.OK && row.ValidTo.V <= row.ValidFrom.V {
		say("valid_to", table.Warning, "", "valid_to is not after valid_from: this row's logger and port are left out")
	}
	for _, column := range []string{"valid_from", "valid_to"} {
		if t.Unread(column) {
			say(column, table.Warning, "", "without a %s that can be read, nobody knows when this row's logger and port hold: they are left out", column)
			row.Adrift = true
		}
	}
	if row.InstalledOn.OK && row.RemovedOn.OK && row.RemovedOn.V < row.InstalledOn.V {
		say("removed_on", table.Warning, "", "removed_on is before installed_on; taken as missing")
		row.RemovedOn = detect.Maybe[int64]{}
	}
	if row.Port != "" && row.Logger == "" {
		say("logger", table.Warning, "", "a port without its logger joins no wide export: name the logger")
	}
	if d := row.DepthCM; d.OK && d.V < 0 {
		say("depth_cm", table.Warning, fmt.Sprint(-d.V), "depth is counted downwards: read as %g cm below the surface", -d.V)
		row.DepthCM.V = -d.V
	}
	if d := row.DepthCM; d.OK && d.V > 1000 {
		say("depth_cm", table.Warning, fmt.Sprint(d.V/10), "%g cm is deeper than roots or augers go: is it mm? taken as missing", d.V)
		row.DepthCM = detect.Maybe[float64]{}
	}
	if row.SoilTexture != "" {
		if known, ok := soil.TextureNamed(row.SoilTexture); ok {
			row.SoilTexture = known.Name
		} else {
			near, _ := table.Nearest(row.SoilTexture, textureNames())
			say("soil_texture", table.Warning, near, "%q is none of the twelve texture classes; taken as missing, and the loosest texture's bounds hold", row.SoilTexture)
			row.SoilTexture = ""
		}
	}
	for _, c := range []struct {
		column string
		value  *detect.Maybe[float64]
	}{{"cable_m", &row.CableM}, {"area_ha", &row.AreaHA}, {"emitter_offset_cm", &row.EmitterOffsetCM}} {
		if c.value.OK && c.value.V < 0 {
			say(c.column, table.Warning, "", "%s cannot be negative; taken as missing", c.column)
			*c.value = detect.Maybe[float64]{}
		}
	}
	if problem := place(&row.Latitude, &row.Longitude); problem != "" {
		say("latitude", table.Warning, "", "%s", problem)
	}
}

// place blanks a pair of coordinates that is no place on earth, or is half one.
func place(lat, lon *detect.Maybe[float64]) string {
	problem := ""
	switch {
	case lat.OK != lon.OK:
		problem = "latitude and longitude go together, and one is missing"
	case !lat.OK:
		return ""
	case math.Abs(lat.V) > 90 && math.Abs(lon.V) <= 90:
		problem = fmt.Sprintf("latitude %g is beyond 90 degrees: were latitude and longitude swapped?", lat.V)
	case math.Abs(lat.V) > 90 || math.Abs(lon.V) > 180:
		problem = fmt.Sprintf("%g, %g is no place in degrees of WGS 84", lat.V, lon.V)
	case lat.V == 0 && lon.V == 0:
		problem = "0, 0 lies in the sea and stands for a position that was never taken"
	default:
		return ""
	}
	*lat, *lon = detect.Maybe[float64]{}, detect.Maybe[float64]{}
	return problem + "; taken as missing"
}

func textureNames() []string {
	var names []string
	for _, t := range soil.Textures() {
		names = append(names, t.Name)
	}
	return names
}

// switches says what an empty column of the register switches off.
var switches = []struct{ column, off string }{
	{"logger", "nothing is judged by logger, and wide exports cannot be joined"},
	{"port", "wide exports cannot be joined"},
	{"post", "visits are gathered by logger instead of by post"},
	{"zone", "no probe is held against its neighbours or its zone's water"},
	{"depth_cm", "no order of depths is judged"},
	{"installed_on", "no probe is known to be new in the ground"},
	{"soil_texture", "the loosest texture's bounds hold for all"},
	{"latitude", "no route and no map"},
	{"area_ha", "every probe counts for the same area"},
}

// lacks notes the columns that the register leaves out or leaves empty throughout.
func (r *Register) lacks(f *table.File) {
	for _, s := range switches {
		used := false
		for _, row := range f.Rows {
			if row.Text(s.column) != "" {
				used = true
				break
			}
		}
		if !used {
			r.Notes = append(r.Notes, Note{File: f.Name, Column: s.column, Severity: table.Info,
				Problem: fmt.Sprintf("no row has %s: %s", s.column, s.off)})
		}
	}
}
