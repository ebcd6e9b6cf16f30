package proposal

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"

	"github.com/apache/arrow/go/v17/arrow/array"

	"probeward/pipeline/read"
	"probeward/pipeline/register"
	"probeward/schemas"
)

// row is a probe that is heard and has no row in a register.
type row struct {
	probe, logger, port string
	depth               string // as the port's name says it, in cm
	kind, unit          string // empty: to be filled in
	note                string
	said                string // the unit that the export writes beside its values
	values, negative    int64
	share, percent      int64 // values from 0 to 1, and beyond 1.5 up to 100
	kilohms, ohms       int64 // values from 0.3 to 100, and of 300 and more
	least, largest      float64
}

// heard lists the probes of the folder's files: the names in a long export, and each
// numeric column of a logger in a wide one that does not speak of another thing.
func (d *draft) heard() ([]row, error) {
	sights, err := read.Look(d.ctx, d.input(d.conf, &register.Register{}))
	if err != nil {
		return nil, err
	}
	found := map[[3]string]bool{}
	for i := range sights {
		s := &sights[i]
		if !s.Laid {
			continue
		}
		if s.Long {
			for _, n := range s.Strangers {
				found[[3]string{n.Probe, "", ""}] = true
			}
			continue
		}
		for _, logger := range loggersOf(s) {
			left := s.Left
			for _, q := range s.Ports {
				found[[3]string{logger + "-" + q.Port, logger, q.Port}] = true
				left = nil // the configuration says which columns are ports
			}
			for _, c := range left {
				if c = strings.TrimSpace(c); c != "" && !another(c) {
					found[[3]string{logger + "-" + c, logger, c}] = true
				}
			}
		}
	}
	rows := make([]row, 0, len(found))
	for f := range found {
		if f[0] != "" {
			rows = append(rows, row{probe: f[0], logger: f[1], port: f[2]})
		}
	}
	slices.SortFunc(rows, func(a, b row) int { return cmp.Compare(a.probe, b.probe) })
	if len(rows) == 0 {
		return nil, nil
	}
	// Once for the units that a long export writes beside its values, which a register
	// of stand-ins refuses, and once with them.
	for range 2 {
		if err := d.weigh(rows); err != nil {
			return nil, err
		}
		if !slices.ContainsFunc(rows, func(r row) bool { return r.said != "" }) {
			break
		}
	}
	rows = slices.DeleteFunc(rows, func(r row) bool { return r.values == 0 && r.logger != "" })
	for i := range rows {
		rows[i].judge()
	}
	return rows, nil
}

// dated is an ending of a file's name that says when it was written.
var dated = regexp.MustCompile(`[-_. ]+(?:19|20)\d{2}[-_.]?(?:\d{2}|W\d{2})(?:[-_.]?\d{2})?(?:[-_.T ]?\d{4,6})?$`)

// loggersOf gives the loggers of a wide file: of its column, else the file's name
// without a date at its end. A scan finds it as the start of the name.
func loggersOf(s *read.Sight) (names []string) {
	if s.Logger != "" {
		return []string{s.Logger} // as the configuration says
	}
	if s.LoggerColumn == "" {
		return []string{strings.TrimSpace(dated.ReplaceAllString(read.Stem(s.Path), ""))}
	}
	for _, n := range s.Strangers {
		if n.Logger != "" && !slices.Contains(names, n.Logger) {
			names = append(names, n.Logger)
		}
	}
	return names
}

// anotherWords are words of columns that no soil moisture probe stands in.
var anotherWords = []string{"record", "rec", "recno", "id", "index", "idx", "no", "nr", "number", "seq", "rain", "rainfall", "precip", "precipitation", "wind", "solar", "solarad",
	"radiation", "par", "pressure", "air", "panel", "lat", "latitude", "lon", "longitude", "et0", "voltage", "volt", "v", "signal", "flow", "rh", "snow", "dew"}

// another says whether a column's name speaks of something else than a probe's value.
func another(column string) bool {
	words := words(column)
	if slices.Contains(words, "soil") && !slices.Contains(words, "flag") {
		return false
	}
	return read.Aside(strings.ReplaceAll(column, "_", " ")) || slices.ContainsFunc(words, func(w string) bool { return slices.Contains(anotherWords, w) })
}

func words(name string) []string {
	return strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return strings.ContainsRune(" _-()[],;:./", r) })
}

// weigh reads the folder with the rows as its register and notes their values' sizes.
func (d *draft) weigh(rows []row) error {
	reg, err := standIn(rows)
	if err != nil {
		return err
	}
	res, err := read.Files(d.ctx, d.input(d.conf, reg))
	if err != nil {
		return err
	}
	defer res.Release()
	place := map[string]*row{}
	for i := range rows {
		r := &rows[i]
		r.values, r.negative, r.share, r.percent, r.kilohms, r.ohms = 0, 0, 0, 0, 0, 0
		r.least, r.largest = math.Inf(1), math.Inf(-1)
		place[r.probe] = r
	}
	by := make([]*row, len(reg.Probes))
	for i := range reg.Probes {
		by[i] = place[reg.Probes[i].Name]
	}
	for _, j := range res.Rejects {
		if j.Probe >= 0 && j.Column != "" && by[j.Probe] != nil && by[j.Probe].said == "" {
			if unit, ok := read.UnitNamed(j.Text); ok {
				by[j.Probe].said = unit
			}
		}
	}
	for _, b := range res.Batches {
		probes, values := b.Column(schemas.ColProbe).(*array.Uint32), b.Column(schemas.ColValue).(*array.Float64)
		for i := range int(b.NumRows()) {
			if r := by[probes.Value(i)]; r != nil && values.IsValid(i) {
				r.add(values.Value(i))
			}
		}
	}
	return nil
}

func (r *row) add(v float64) {
	r.values++
	r.least, r.largest = min(r.least, v), max(r.largest, v)
	switch {
	case v < 0:
		r.negative++
	case v <= 1:
		r.share++
	case v > 1.5 && v <= 100:
		r.percent++
	}
	switch {
	case v >= 0.3 && v <= 100:
		r.kilohms++
	case v >= 300:
		r.ohms++
	}
}

// nearly says whether these are nearly all of the row's values, of which there are
// enough to say so.
func (r *row) nearly(n int64) bool { return r.values >= 24 && float64(n) >= 0.95*float64(r.values) }

var (
	depthInCM  = regexp.MustCompile(`(?i)(?:^|[^0-9.])(\d{1,3}) ?cm(?:$|[^a-z0-9])`)
	waterWords = []string{"vwc", "moisture", "water", "theta", "swc"}
)

// judge fills in what the names and the values leave one reading of, and says in the
// note what they leave open.
func (r *row) judge() {
	name := r.port
	if name == "" {
		name = r.probe
	}
	w := words(name)
	has := func(among ...string) bool {
		return slices.ContainsFunc(w, func(s string) bool { return slices.Contains(among, s) })
	}
	if m := depthInCM.FindStringSubmatch(name); m != nil {
		r.depth = m[1]
	}
	why := ""
	r.unit = r.said
	if r.unit != "" {
		why = "unit as the export writes it"
	} else if unit, ok := read.UnitNamed(name); ok {
		r.unit, why = unit, "unit by the name"
	}
	water := slices.ContainsFunc(w, func(s string) bool { return slices.Contains(waterWords, s) })
	var open []string
	switch {
	case r.unit != "":
	case r.values > 0 && r.least == r.largest:
		open = append(open, "unit: one value throughout; leave the row out if it is the name of a station or a setting")
	case water && r.nearly(r.share):
		r.unit, why = "m3/m3", "a water content by the name, a share of 1 by its size"
	case water && r.nearly(r.percent):
		r.unit, why = "%", "a water content by the name, percents by its size"
	case has("resistance", "res") && r.nearly(r.ohms):
		r.unit, why = "ohm", "a resistance by the name, ohms by its size"
	case has("resistance", "res") && r.nearly(r.kilohms):
		r.unit, why = "kohm", "a resistance by the name, kilohms by its size"
	case has("temp", "temperature") && has("soil"):
		open = append(open, "unit: degC and kind: soil_temperature, if it is Celsius")
	case r.nearly(r.negative):
		open = append(open, "unit: all negative, so kPa with scale -1 if it is a potential")
	case r.nearly(r.ohms):
		open = append(open, "unit: ohm if it is a resistance, count or mV if raw")
	case r.nearly(r.share):
		open = append(open, "unit: m3/m3 if it is a water content, else as the logger's manual says")
	default:
		could := []string{"kPa (the same as cbar)"}
		if r.nearly(r.percent + r.share) {
			could = append(could, "%")
		}
		if r.nearly(r.kilohms) {
			could = append(could, "kohm")
		}
		open = append(open, "unit: "+strings.Join(append(could, "mV", "count"), ", ")+" are possible by size")
	}
	switch r.unit { // the kinds that can export the unit
	case "ohm", "kohm":
		r.kind = "granular_matrix"
	case "m3/m3":
		r.kind = "dielectric"
	case "%":
		if water {
			r.kind = "dielectric"
		} else {
			open = append(open, "kind: dielectric, if this is a water content")
		}
	case "degC":
		if has("soil") {
			r.kind = "soil_temperature"
		} else {
			open = append(open, "kind: soil_temperature, if it is in the ground")
		}
	case "kPa", "cbar":
		open = append(open, "kind: granular_matrix or tensiometer, or dielectric in a ceramic")
		if r.nearly(r.negative) {
			open = append(open, "scale: all negative, so -1")
		}
	default:
		if len(open) > 0 && !strings.Contains(open[0], "kind:") {
			open = append(open, "kind")
		}
	}
	sizes := "no value"
	if r.values > 0 {
		sizes = fmt.Sprintf("%s from %s to %s", amount(r.values, "value"), number(r.least), number(r.largest))
	}
	parts := []string{sizes}
	if why != "" {
		parts = append(parts, why)
	}
	if len(open) > 0 {
		parts = append(parts, "fill in "+strings.Join(open, "; "))
	}
	r.note = strings.Join(parts, "; ")
}

// written is the register to be filled in.
func written(rows []row) []byte {
	lines := [][]string{{"probe", "logger", "port", "post", "zone", "depth_cm", "kind", "unit", "scale", "installed_on", "soil_texture", "note"}}
	for _, r := range rows {
		lines = append(lines, []string{r.probe, r.logger, r.port, "", "", r.depth, r.kind, r.unit, "", "", "", r.note})
	}
	return table(lines)
}

// joinable is a register with stand-ins for what is to be filled in.
func joinable(rows []row) []byte {
	lines := [][]string{{"probe", "logger", "port", "kind", "unit"}}
	for _, r := range rows {
		lines = append(lines, []string{r.probe, r.logger, r.port, or(r.kind, "other"), or(or(r.unit, r.said), "count")})
	}
	return table(lines)
}

func table(lines [][]string) []byte {
	var b bytes.Buffer
	_ = csv.NewWriter(&b).WriteAll(lines) // into memory: it cannot fail
	return b.Bytes()
}
