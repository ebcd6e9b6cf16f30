package publish

import (
	"bytes"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"probeward/schemas"
)

// What a cell starts with never makes it a formula, instants stand in the farm's
// time, and the same rows give the same bytes.
func TestSpreadsheet(t *testing.T) {
	zone, err := time.LoadLocation("America/Los_Angeles")
	if err != nil {
		t.Fatal(err)
	}
	s := &sheet{table: schemas.Installs}
	at := time.Date(2026, 7, 1, 19, 30, 0, 0, time.UTC).UnixMicro()
	s.add(`=HYPERLINK("http://x","y")`, at, nil, 1.5, true, nil, nil, false, "+1 @work, \"-2\"")
	write := func() []byte {
		var b bytes.Buffer
		if err := spreadsheet(&b, zone, page{"installs", s, nil}, page{"again", s, map[string]float64{"why": 60}}); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	first := write()
	if !bytes.Equal(first, write()) {
		t.Error("two writes of the same rows differ")
	}
	x, err := excelize.OpenReader(bytes.NewReader(first))
	if err != nil {
		t.Fatal(err)
	}
	defer x.Close()
	for cell, want := range map[string]string{
		"A1": "probe", "B1": "installed_on (America/Los_Angeles)", "D1": "hours_to_first (h)",
		"A2": `=HYPERLINK("http://x","y")`, "B2": "2026-07-01 12:30", "C2": "", "D2": "1.5", "E2": "TRUE", "H2": "FALSE", "I2": `+1 @work, "-2"`,
	} {
		got, err := x.GetCellValue("again", cell)
		if err != nil || got != want {
			t.Errorf("%s holds %q, want %q (%v)", cell, got, want, err)
		}
		if f, _ := x.GetCellFormula("again", cell); f != "" {
			t.Errorf("%s is the formula %q", cell, f)
		}
	}
	if names := x.GetSheetList(); len(names) != 3 || names[0] != "installs" || names[2] != "about" {
		t.Errorf("pages %q", names)
	}
}
