package corroborate

import (
	"slices"
	"testing"

	"probeward/detectors/detect"
	"probeward/pipeline/fieldlog"
)

// The groups of two posts in two zones at one logger: the logger, both zones, and
// last the farm with every probe and every zone's waterings.
func TestGroupsByScope(t *testing.T) {
	e, err := detect.NewExaminer(nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	water := fieldlog.Irrigation{"Z1": {{Span: detect.Span{Start: 1, End: 2}}}, "Z2": {{Span: detect.Span{Start: 3, End: 4}}}}
	at := []detect.Wiring{{Logger: "L", Span: detect.Span{Start: 0, End: 100}}}
	in := Input{
		Probes:   []detect.Probe{{Index: 0, Name: "A", Zone: "Z1", Wirings: at}, {Index: 1, Name: "B", Zone: "Z2", Wirings: at}, {Index: 2, Name: "C"}},
		Reports:  make([]detect.Report, 3),
		Examiner: e, Irrigation: water, Contradictions: make([][]int64, 3),
	}
	for i := range in.Reports {
		in.Reports[i].Summary.Probe = in.Probes[i]
	}
	var got []string
	for _, v := range Groups(in) {
		text := v.Group.Scope.String() + " " + v.Group.Name + ":"
		for _, m := range v.Group.Members {
			text += " " + m.Probe.Name
		}
		got = append(got, text)
		if v.Group.HasRain {
			t.Errorf("%s: rain is known, and nobody measured", text)
		}
		if want := map[detect.Scope][2]int{detect.PerZone: {1, 0}, detect.PerFarm: {0, 2}}[v.Group.Scope]; len(v.Group.Irrigation) != want[0] || len(v.Group.Zones) != want[1] {
			t.Errorf("%s: irrigation %v, zones %v", text, v.Group.Irrigation, v.Group.Zones)
		}
	}
	want := []string{"logger L: A B", "zone Z1: A", "zone Z2: B", "farm farm: A B C"}
	if !slices.Equal(got, want) {
		t.Errorf("groups %q, want %q", got, want)
	}
	in.HasRain = true
	if v := Groups(in); !v[0].Group.HasRain {
		t.Error("a dry record is taken for none")
	}
}
