package simulate

import (
	"bufio"
	"encoding/csv"
	"fmt"
	"math"
	"path/filepath"
	"strconv"
	"time"

	"probeward/schemas"
)

// scanConfig is what a user would have written to read this feed.
const scanConfig = `# An invented vineyard: how its exports are laid out.
timezone: America/Los_Angeles
units: {depth: cm, area: ha}
window: 7d
lookback: 8w
readings:
%sprobes: probes.csv
loggers: loggers.csv
irrigation: irrigation.csv
weather: weather.csv
`

const wideSource = `  - path: readings/wide/*.csv%s
    shape: wide
    logger: 'filename:(JB-L\d+)'
    ports: ['^(P\d)_']
    columns: {time: TIMESTAMP, temperature_c: soil_temp_c, battery_v: batt_v}
    time_format: "2006-01-02 15:04"
    missing: ["NAN"]
    ignore: [RECORD]
`

const longSource = `  - path: readings/long/*.csv%s
    shape: long
    columns: {time: time, probe: probe, value: value, unit: unit, temperature_c: temperature_c, battery_v: battery_v}
`

// writeFeed writes everything that a scan reads beside the readings.
func (w *world) writeFeed(feed string) error {
	v := w.v
	if err := writeTable(filepath.Join(feed, "probes.csv"), schemas.Probes.Header(), v.register()); err != nil {
		return err
	}
	if err := writeTable(filepath.Join(feed, "loggers.csv"), schemas.Loggers.Header(), v.loggers()); err != nil {
		return err
	}
	if err := writeTable(filepath.Join(feed, "irrigation.csv"), schemas.Irrigation.Header(), v.irrigation()); err != nil {
		return err
	}
	if err := writeTable(filepath.Join(feed, "weather.csv"), schemas.Weather.Header(), v.weather()); err != nil {
		return err
	}
	return writeFile(filepath.Join(feed, "scan.yaml"), false, func(out *bufio.Writer) {
		sources := ""
		for _, s := range []struct {
			text string
			long bool
		}{{wideSource, false}, {longSource, true}} {
			plain, zipped := 0, 0
			for i, p := range v.Posts {
				if p.Long != s.long {
					continue
				}
				plain++
				if w.zipped(i) {
					zipped++
				}
			}
			if plain > 0 {
				sources += fmt.Sprintf(s.text, "")
			}
			if zipped > 0 {
				sources += fmt.Sprintf(s.text, ".gz")
			}
		}
		fmt.Fprintf(out, scanConfig, sources)
	})
}

// register is a row for each probe, with the columns of the register by name.
func (v *Vineyard) register() [][]string {
	var table [][]string
	for i := range v.Probes {
		p := &v.Probes[i]
		post := &v.Posts[p.Post]
		zone := v.Zones[p.RegisteredZone]
		block := v.Zones[post.Zone].Block
		if p.wrongBlock {
			block = zone.Block
		}
		r := stream(v.options.Seed, forProbe, 1<<20+i)
		row := map[string]string{
			"probe": p.Name, "farm": v.Farm, "logger": post.Logger, "port": p.Port, "post": post.Name, "tag": post.Tag,
			"row": post.Row, "block": block, "zone": zone.Name,
			"latitude": decimal(post.Latitude, 6), "longitude": decimal(post.Longitude, 6),
			"depth_cm": strconv.Itoa(p.DepthCM), "kind": p.Kind, "unit": p.Unit,
			"installed_on": date(p.Installed), "soil_texture": v.Zones[post.Zone].Texture,
			"splice": "gel cap", "cable_protection": [...]string{"conduit", "buried", "bare"}[r.IntN(3)],
			"cable_m": strconv.Itoa(2 + p.DepthCM/30 + r.IntN(8)), "cable_awg": "20",
			"emitter_offset_cm": strconv.Itoa(15 + 5*r.IntN(7)),
			"area_ha":           decimal(zone.AreaHa/4, 2),
			"serial":            p.Serial, "warranty_until": date(p.Installed.AddDate(3, 0, 0)),
			"valid_from": instant(p.ValidFrom), "valid_to": instant(p.ValidTo), "removed_on": date(p.ValidTo),
		}
		if p.Kind == granularMatrix {
			row["conditioned"] = strconv.FormatBool(r.IntN(8) > 0)
			row["conversion"] = post.model.conversion
			if post.model.referenceC != 0 {
				row["reference_temp_c"] = decimal(post.model.referenceC, 0)
			}
		}
		if p.Predecessor {
			row["note"] = "taken out"
		}
		line := make([]string, 0, len(schemas.Probes.Columns))
		for _, c := range schemas.Probes.Columns {
			line = append(line, row[c.Name])
		}
		table = append(table, line)
	}
	return table
}

func (v *Vineyard) loggers() [][]string {
	var table [][]string
	for _, p := range v.Posts {
		table = append(table, []string{p.Logger, p.Name, decimal(p.Latitude, 6), decimal(p.Longitude, 6), p.Serial, ""})
	}
	return table
}

func (v *Vineyard) irrigation() [][]string {
	var table [][]string
	for _, z := range v.Zones {
		for _, e := range z.Waterings {
			if e.Logged {
				table = append(table, []string{z.Name, instant(e.Start.Add(-e.LoggedSoon)), instant(e.End.Add(-e.LoggedSoon)), decimal(e.DepthMM, 1),
					decimal(math.Round(e.DepthMM*z.AreaHa*1e4/100)*100, 0), ""})
			}
		}
	}
	return table
}

func (v *Vineyard) weather() [][]string {
	var table [][]string
	c := &v.sky
	for t := v.Start.Add(-7 * 24 * time.Hour); t.Before(v.Until); t = t.Add(time.Hour) {
		h := c.hour(t)
		table = append(table, []string{t.Format(time.RFC3339), decimal(c.rain[h], 1), decimal(c.air[h], 1),
			decimal(c.rh[h], 0), decimal(c.wind[h], 1), decimal(c.solar[h], 0), decimal(c.et0[h], 3)})
	}
	return table
}

func decimal(x float64, places int) string { return strconv.FormatFloat(x, 'f', places, 64) }

// date is a day at the farm; empty for none.
func date(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.In(local()).Format(time.DateOnly)
}

// instant is a stamp with the farm's offset; empty for none.
func instant(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.In(local()).Format(time.RFC3339)
}

func writeTable(path string, header []string, rows [][]string) error {
	var table *csv.Writer
	err := writeFile(path, false, func(out *bufio.Writer) {
		table = csv.NewWriter(out)
		table.Write(header) // an error sticks until Error
		table.WriteAll(rows)
	})
	if err != nil {
		return err
	}
	return table.Error()
}
