package previous

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"github.com/parquet-go/parquet-go"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// Past is one probe's verdict in one run.
type Past struct {
	Window      detect.Span
	Probe, Zone string
	Verdict     schemas.Verdict
	MainFault   string
	UsableShare detect.Maybe[float64] // 0 to 1
}

// history reads the table of past verdicts, sorted as it was written. A run that has
// none, of an earlier version, counts as empty.
func history(tree fs.FS, dir string) (out []Past, err error) {
	path := dir + "/" + schemas.History.Files[0]
	file, err := tree.Open(schemas.History.Files[0])
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	defer file.Close()
	info, err := file.Stat()
	if err != nil {
		return nil, err
	}
	at, ok := file.(io.ReaderAt)
	if !ok {
		return nil, fmt.Errorf("%s: it cannot be read at random", path)
	}
	p, err := parquet.OpenFile(at, info.Size())
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	place := map[string]int{}
	for i, c := range p.Schema().Columns() {
		if len(c) == 1 {
			place[c[0]] = i
		}
	}
	for _, c := range schemas.History.Columns {
		if _, ok := place[c.Name]; !ok {
			return nil, fmt.Errorf("%s: it has no column %s", path, c.Name)
		}
	}
	for _, group := range p.RowGroups() {
		if out, err = pasts(out, group, place); err != nil {
			return nil, fmt.Errorf("%s: %w", path, err)
		}
	}
	return out, nil
}

func pasts(out []Past, group parquet.RowGroup, place map[string]int) ([]Past, error) {
	rows := group.Rows()
	defer rows.Close()
	buffer := make([]parquet.Row, 256)
	for {
		n, err := rows.ReadRows(buffer)
		for _, row := range buffer[:n] {
			at := func(name string) parquet.Value { return row[place[name]] }
			words := func(name string) string {
				if v := at(name); !v.IsNull() {
					return string(v.ByteArray())
				}
				return ""
			}
			h := Past{Window: detect.Span{Start: at("window_start").Int64(), End: at("window_end").Int64()},
				Probe: words("probe"), Zone: words("zone"), Verdict: schemas.Verdict(words("verdict")), MainFault: words("main_fault")}
			if v := at("usable_share"); !v.IsNull() {
				h.UsableShare = detect.Some(v.Double())
			}
			out = append(out, h)
		}
		if errors.Is(err, io.EOF) {
			return out, nil
		}
		if err != nil {
			return nil, err
		}
	}
}
