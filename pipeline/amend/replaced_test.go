package amend

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"probeward/pipeline/judge"
	"probeward/pipeline/register"
)

func TestANewSensorAsksForTwoRows(t *testing.T) {
	const header = "probe,logger,port,zone,kind,unit,valid_from,valid_to,installed_on,removed_on,serial\n"
	on := time.Date(2026, 6, 9, 15, 30, 0, 0, time.UTC)
	for name, c := range map[string]struct {
		rows string
		want []string // suggested rows, as they begin
	}{
		"the old row alone": {"A1,L1,P1,Z1,granular_matrix,kPa,2025-04-01,,2025-04-01,,77\n",
			[]string{"A1b,,L1,P1,,,,,Z1,,,,granular_matrix,kPa,2026-06-09T15:30:00Z,,2026-06-09T15:30:00Z,,", "A1,,L1,P1,,,,,Z1,,,,granular_matrix,kPa,2025-04-01,2026-06-09T15:30:00Z,2025-04-01,2026-06-09T15:30:00Z,"}},
		"the old row ends":    {"A1,L1,P1,Z1,granular_matrix,kPa,2025-04-01,2026-06-09,2025-04-01,,\n", nil},
		"a new row of a name": {"A1,L1,P1,Z1,granular_matrix,kPa,2025-04-01,,2025-04-01,,\nA1new,L1,P1,Z1,granular_matrix,kPa,2026-06-10,,2026-06-10,,\n", nil},
		"an end long before":  {"A1,L1,P2,Z1,granular_matrix,kPa,2024-04-01,2025-04-01,,,\nA1,L1,P1,Z1,granular_matrix,kPa,2025-04-01,,,,\n", []string{"A1b,,L1,P1,", "A1,,L1,P1,"}},
		"the next name taken": {"A1,L1,P1,Z1,granular_matrix,kPa,2025-04-01,,,,\nA1b,L1,P9,Z1,granular_matrix,kPa,2025-04-01,,,,\n", []string{"A1c,", "A1,"}},
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "probes.csv")
			if err := os.WriteFile(path, []byte(header+c.rows), 0o644); err != nil {
				t.Fatal(err)
			}
			reg, err := register.Load(path, "", time.UTC)
			if err != nil {
				t.Fatal(err)
			}
			got := Mends(Input{Register: reg, Judged: &judge.Result{States: make([]judge.State, len(reg.Probes))}, Row: Rows(reg),
				Replaced: []Replaced{{Probe: 0, On: on.UnixMicro(), Zone: time.UTC, Evidence: "visits.csv:2: replaced on 2026-06-09"}}})
			if len(got) != len(c.want) {
				t.Fatalf("mends %+v", got)
			}
			for i, m := range got {
				if !strings.HasPrefix(m.Row, c.want[i]) || m.Evidence != "visits.csv:2: replaced on 2026-06-09" || m.Name != "A1" {
					t.Errorf("%+v\nwant the row %s", m, c.want[i])
				}
				if strings.Contains(m.Row, "77") && strings.HasPrefix(m.Row, "A1b") {
					t.Error("the new sensor has the old one's serial number")
				}
			}
		})
	}
}
