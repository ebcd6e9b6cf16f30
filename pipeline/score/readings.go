package score

import (
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/parquet-go/parquet-go"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// before is how much of the time before the window is kept of the readings, for
// tests that look back: a day and a bit.
const before = 25 * detect.Hour

// loadReadings reads the stamps and values of flags.parquet from a day before the
// window to its end, and notes each probe's unit. Blanks are left out.
func loadReadings(path string, window detect.Span, probes map[string]*Probe) (map[string]Readings, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("cannot score: %w", err)
	}
	defer file.Close()
	info, err := file.Stat()
	if err != nil {
		return nil, err
	}
	table, err := parquet.OpenFile(file, info.Size())
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	out := map[string]Readings{}
	var times, values, names, units []parquet.Value
	for _, group := range table.RowGroups() {
		for _, column := range []struct {
			name string
			into *[]parquet.Value
		}{{"time", &times}, {"value", &values}, {"probe", &names}, {"unit", &units}} {
			place := schemas.Flags.Index(column.name)
			if *column.into, err = valuesOf(group.ColumnChunks()[place], (*column.into)[:0]); err != nil {
				return nil, fmt.Errorf("%s: %s: %w", path, column.name, err)
			}
		}
		for i := range times {
			at := times[i].Int64()
			if at < window.Start-before || at >= window.End || values[i].IsNull() {
				continue
			}
			name := string(names[i].ByteArray())
			r := out[name]
			r.Time, r.Value = append(r.Time, at), append(r.Value, values[i].Double())
			out[name] = r
			if p := probes[name]; p != nil && p.Unit == "" {
				p.Unit = string(units[i].ByteArray())
			}
		}
	}
	return out, nil
}

// valuesOf appends all values of a column chunk. Byte arrays are copied: a page's own
// are gone with the page.
func valuesOf(chunk parquet.ColumnChunk, into []parquet.Value) ([]parquet.Value, error) {
	pages := chunk.Pages()
	defer pages.Close()
	buffer := make([]parquet.Value, 4096)
	for {
		page, err := pages.ReadPage()
		if errors.Is(err, io.EOF) {
			return into, nil
		}
		if err != nil {
			return nil, err
		}
		values := page.Values()
		for {
			n, err := values.ReadValues(buffer)
			for _, v := range buffer[:n] {
				if v.Kind() == parquet.ByteArray {
					v = v.Clone()
				}
				into = append(into, v)
			}
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				return nil, err
			}
		}
		parquet.Release(page)
	}
}
