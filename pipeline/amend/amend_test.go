package amend

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/judge"
	"probeward/pipeline/read"
	"probeward/pipeline/register"
	"probeward/schemas"
)

// The row that is suggested can be read as a row of the register, and differs in
// nothing but what the data contradict.
func TestASuggestedRowIsARow(t *testing.T) {
	path := filepath.Join(t.TempDir(), "probes.csv")
	const header = "Probe;Kind;unit;zone;logger;port;note;depth_cm\n"
	if err := os.WriteFile(path, []byte(header+"A1;granular_matrix;kPa;Z1;L1;P1;\"left, of the post\";60\nA2;granular_matrix;kPa;Z1;L1;P2;;30\nA3;granular_matrix;furlong;Z1;L1;P3;;30\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	reg, err := register.Load(path, "", time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	judged := &judge.Result{States: make([]judge.State, len(reg.Probes)), Findings: []judge.Finding{
		{Subject: schemas.SubjectProbe, Name: "A1", Probe: 0, Family: schemas.FamilyRegister,
			Finding: detect.Finding{Fault: "wrong_zone", Evidence: "answers Z2", Amends: []detect.Amend{{Probe: 0, Column: "zone", Value: "Z2"}}}},
		{Subject: schemas.SubjectProbe, Name: "A2", Probe: 1, Family: schemas.FamilyRegister, MaskedBy: "wrong_kind of A2", Finding: detect.Finding{Fault: "wrong_zone"}},
	}}
	judged.States[1].InGround = true
	mends := Mends(Input{Register: reg, Judged: judged, Files: []string{path}, Notes: reg.Notes, Unheard: []string{"A2", "A3"}, Row: Rows(reg)})
	for _, m := range Mends(Input{Register: reg, Judged: judged, Row: Rows(reg), Strays: []read.Stray{
		{Logger: "L9", Port: "P4", Readings: 7, Files: 2, First: "a.csv"}, {Probe: "a-1", Near: "A1", Readings: 3, Files: 1, First: "b.csv"}}}) {
		switch {
		case m.Subject == "port" && (m.Name != "L9 P4" || !strings.HasPrefix(m.Row, "L9-P4,,L9,P4,")):
			t.Errorf("a port without a row: %+v", m)
		case m.Name == "a-1" && (m.Row != "" || !strings.Contains(m.Evidence, `"A1"`)):
			t.Errorf("a name that is probably another: %+v", m)
		}
	}
	var zone, unit, unheard bool
	for _, m := range mends {
		switch {
		case m.Name == "A1":
			zone = true
			again := filepath.Join(t.TempDir(), "again.csv")
			if err := os.WriteFile(again, []byte(strings.Join(schemas.Probes.Header(), ",")+"\n"+m.Row+"\n"), 0o644); err != nil {
				t.Fatal(err)
			}
			back, err := register.Load(again, "", time.UTC)
			if err != nil {
				t.Fatal(err)
			}
			p, d := back.Probes[0], back.Details[0]
			if p.Zone != "Z2" || p.Name != "A1" || p.DepthCM != detect.Some(60.0) || d.Note != "left, of the post" || len(p.Wirings) != 1 || p.Wirings[0].Port != "P1" {
				t.Errorf("the suggested row reads %+v %+v", p, d)
			}
		case m.Name == "A3" && strings.Contains(m.Problem+m.Evidence, "furlong"):
			unit = true
		case m.Name == "A2" && strings.Contains(m.Problem, "no file holds"):
			unheard = true
		case m.Name == "A2" || m.Name == "A3":
			if strings.Contains(m.Problem, "wrong_zone") || strings.Contains(m.Problem, "no file holds") {
				t.Errorf("masked, or not in the ground: %+v", m)
			}
		}
	}
	if !zone || !unit || !unheard {
		t.Errorf("zone %v, unit %v, unheard %v in %+v", zone, unit, unheard, mends)
	}
}
