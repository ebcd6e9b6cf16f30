package publish

import (
	"archive/zip"
	"bytes"
	"cmp"
	"fmt"
	"io"
	"slices"
	"strconv"
	"time"

	"github.com/xuri/excelize/v2"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// A spreadsheet holds what the tables hold, for people: times are the farm's, heads
// are frozen and can be filtered by, and no cell is a formula, whatever it starts
// with. Its bytes follow from its cells.

// page is one table of a spreadsheet.
type page struct {
	name string
	*sheet
	widths map[string]float64 // characters; the others get their head's
}

// spreadsheets writes the visits for the shed's computer, and the zones with the
// window's days for the agronomist's; usable_daily.parquet has the days before.
func (in *Input) spreadsheets(f *folder, queue, zones, days *sheet) error {
	week := &sheet{table: days.table, err: days.err}
	for _, r := range days.rows {
		if r[0].(int64) >= in.Arranged.Period.Window.Start-detect.Day {
			week.rows = append(week.rows, r)
		}
	}
	if err := f.write("queue.xlsx", int64(len(queue.rows)), func(w io.Writer) error {
		return spreadsheet(w, in.Config.Zone, page{"visits", queue, map[string]float64{"check": 60, "bring": 40, "why": 50, "suspected_cause": 40}})
	}); err != nil {
		return err
	}
	return f.write("zones.xlsx", int64(len(zones.rows)), func(w io.Writer) error {
		return spreadsheet(w, in.Config.Zone, page{"zones", zones, nil}, page{"days", week, nil})
	})
}

// spreadsheet writes the pages in order. Instants are shown in the zone.
func spreadsheet(w io.Writer, zone *time.Location, pages ...page) error {
	x := excelize.NewFile()
	defer x.Close()
	head, err := x.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true}, Alignment: &excelize.Alignment{Vertical: "top", WrapText: true}})
	if err != nil {
		return err
	}
	clock := "yyyy-mm-dd hh:mm"
	stamps, err := x.NewStyle(&excelize.Style{CustomNumFmt: &clock, Alignment: &excelize.Alignment{Vertical: "top", Horizontal: "left"}})
	if err != nil {
		return err
	}
	words, err := x.NewStyle(&excelize.Style{NumFmt: 49, Alignment: &excelize.Alignment{Vertical: "top", WrapText: true}})
	if err != nil {
		return err
	}
	for i, p := range pages {
		if p.err != nil {
			return p.err
		}
		if i == 0 {
			err = x.SetSheetName("Sheet1", p.name)
		} else {
			_, err = x.NewSheet(p.name)
		}
		if err == nil {
			err = p.write(x, zone, head, stamps, words)
		}
		if err != nil {
			return fmt.Errorf("page %s: %w", p.name, err)
		}
	}
	if err := about(x, zone, head, words, pages); err != nil {
		return err
	}
	// The document's own dates would differ from run to run.
	if err := x.SetDocProps(&excelize.DocProperties{Creator: program, Created: "2000-01-01T00:00:00Z", Modified: "2000-01-01T00:00:00Z"}); err != nil {
		return err
	}
	var packed bytes.Buffer
	if err := x.Write(&packed); err != nil {
		return err
	}
	return repack(w, packed.Bytes())
}

// repack puts the parts of a packed document in the order of their names: the library
// takes them as its maps give them.
func repack(w io.Writer, packed []byte) error {
	in, err := zip.NewReader(bytes.NewReader(packed), int64(len(packed)))
	if err != nil {
		return err
	}
	slices.SortFunc(in.File, func(a, b *zip.File) int { return cmp.Compare(a.Name, b.Name) })
	out := zip.NewWriter(w)
	for _, part := range in.File {
		h := part.FileHeader
		h.Extra = nil
		to, err := out.CreateRaw(&h)
		if err != nil {
			return err
		}
		from, err := part.OpenRaw()
		if err != nil {
			return err
		}
		if _, err = io.Copy(to, from); err != nil {
			return err
		}
	}
	return out.Close()
}

func (p page) write(x *excelize.File, zone *time.Location, head, stamps, words int) error {
	out, err := x.NewStreamWriter(p.name)
	if err != nil {
		return err
	}
	heads := make([]any, len(p.table.Columns))
	for i, c := range p.table.Columns {
		text := c.Name
		if c.Type == schemas.Time {
			text += " (" + zone.String() + ")"
		} else if c.Unit != "" {
			text += " (" + c.Unit + ")"
		}
		heads[i] = excelize.Cell{StyleID: head, Value: text}
		width := p.widths[c.Name]
		if width == 0 {
			width = min(24, max(9, float64(len(text))+3))
		}
		if c.Type == schemas.Time {
			width = max(width, 17)
		}
		if err := out.SetColWidth(i+1, i+1, width); err != nil {
			return err
		}
	}
	if err := out.SetPanes(&excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	if err := out.SetRow("A1", heads); err != nil {
		return err
	}
	line := make([]any, len(heads))
	for i, r := range p.rows {
		for k, c := range p.table.Columns {
			line[k] = nil
			switch v := r[k].(type) {
			case nil:
			case string:
				line[k] = excelize.Cell{StyleID: words, Value: v}
			case int64:
				line[k] = v
				if c.Type == schemas.Time {
					line[k] = excelize.Cell{StyleID: stamps, Value: wall(v, zone)}
				}
			default:
				line[k] = v
			}
		}
		at, err := excelize.CoordinatesToCellName(1, i+2)
		if err != nil {
			return err
		}
		if err := out.SetRow(at, line); err != nil {
			return err
		}
	}
	if err := out.Flush(); err != nil {
		return err
	}
	last, err := excelize.CoordinatesToCellName(len(heads), len(p.rows)+1)
	if err != nil {
		return err
	}
	return x.AutoFilter(p.name, "A1:"+last, nil)
}

// about writes a last page: what the columns of the others hold.
func about(x *excelize.File, zone *time.Location, head, words int, pages []page) error {
	const name = "about"
	if _, err := x.NewSheet(name); err != nil {
		return err
	}
	out, err := x.NewStreamWriter(name)
	if err != nil {
		return err
	}
	for i, width := range []float64{14, 24, 10, 90} {
		if err := out.SetColWidth(i+1, i+1, width); err != nil {
			return err
		}
	}
	line := 0
	add := func(style int, texts ...string) {
		line++
		cells := make([]any, len(texts))
		for i, text := range texts {
			cells[i] = excelize.Cell{StyleID: style, Value: text}
		}
		if err == nil {
			err = out.SetRow("A"+strconv.Itoa(line), cells)
		}
	}
	add(head, "page", "column", "unit", "what it holds; times are the wall clock of "+zone.String())
	for _, p := range pages {
		for _, c := range p.table.Columns {
			add(words, p.name, c.Name, c.Unit, c.Doc)
		}
	}
	if err != nil {
		return err
	}
	return out.Flush()
}

// wall is the clock on the farm's wall at an instant, as a spreadsheet keeps it:
// without a zone.
func wall(t int64, zone *time.Location) time.Time {
	at := time.UnixMicro(t).In(zone)
	return time.Date(at.Year(), at.Month(), at.Day(), at.Hour(), at.Minute(), at.Second(), 0, time.UTC)
}
