package register

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"probeward/detectors/detect"
	"probeward/pipeline/table"
	"probeward/schemas"
)

func read(t *testing.T, probes, loggers string) *Register {
	t.Helper()
	f, err := table.Parse("probes.csv", []byte(probes), schemas.Probes, time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	var l *table.File
	if loggers != "" {
		if l, err = table.Parse("loggers.csv", []byte(loggers), schemas.Loggers, time.UTC); err != nil {
			t.Fatal(err)
		}
	}
	r, err := build(f, l)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// told writes the notes above info as line column: problem.
func told(r *Register) []string {
	var out []string
	for _, n := range errorsOf(r) {
		out = append(out, fmt.Sprintf("%d %s: %s", n.Line, n.Column, n.Problem))
	}
	return out
}

func expect(t *testing.T, r *Register, want ...string) {
	t.Helper()
	got := told(r)
	if len(got) != len(want) {
		t.Fatalf("got %d notes, want %d:\n%s", len(got), len(want), strings.Join(got, "\n"))
	}
	for i, w := range want {
		place, words, _ := strings.Cut(w, ": ")
		if !strings.HasPrefix(got[i], place+": ") || !strings.Contains(got[i], words) {
			t.Errorf("got  %s\nwant %s", got[i], w)
		}
	}
}

func day(d int) int64 { return time.Date(2026, 1, d, 0, 0, 0, 0, time.UTC).UnixMicro() }

func TestUnitsBecomeStandard(t *testing.T) {
	for _, c := range []struct {
		kind, unit, scale, offset string
		quantity                  detect.Quantity
		raw, standard             float64
		says                      string
	}{
		{"granular_matrix", "ohm", "", "", detect.Ohms, 1500, 1500, ""},
		{"granular_matrix", "kohm", "", "", detect.Ohms, 1.5, 1500, ""},
		{"granular_matrix", "kΩ", "", "", detect.Ohms, 1.5, 1500, ""},
		{"granular_matrix", "kohm", "1.1", "0.5", detect.Ohms, 1.5, 1100, ""},
		{"granular_matrix", "kohm", "1000", "", detect.Ohms, 1.5, 1500, ""}, // the factor written out
		{"Granular Matrix", "cbar", "", "", detect.Tension, 33, 33, ""},
		{"tensiometer", "KPA", "-1", "", detect.Tension, -33, 33, ""},
		{"tensiometer", "mV", "0.0562954", "370", detect.Tension, 370, 0, ""},
		{"tensiometer", "mV", "", "370", detect.Raw, 500, 500, "without a scale stays raw"},
		{"tensiometer", "mV", "0", "", detect.Raw, 500, 500, "without a scale stays raw"},
		{"tensiometer", "ohm", "", "", detect.Raw, 500, 500, "does not export ohm"},
		{"dielectric", "m3/m3", "", "", detect.WaterContent, 0.25, 0.25, ""},
		{"dielectric", "%", "", "", detect.WaterContent, 25, 0.25, ""},
		{"dielectric", "count", "0.001", "200", detect.WaterContent, 450, 0.25, ""},
		{"dielectric", "kPa", "", "", detect.Tension, 33, 33, ""},
		{"soil_temperature", "degC", "", "", detect.Celsius, 21, 21, ""},
		{"soil_temperature", "count", "0.5555556", "32", detect.Celsius, 212, 100, ""},
		{"other", "degC", "", "", detect.Celsius, 21, 21, ""},
		{"other", "%", "", "", detect.Raw, 40, 40, ""},
		{"capacitance", "m3/m3", "", "", detect.WaterContent, 0.2, 0.2, "is no kind"},
		{"dielectric", "furlong", "", "", detect.Raw, 7, 7, "is no unit"},
	} {
		t.Run(strings.Join([]string{c.kind, c.unit, c.scale, c.offset}, " "), func(t *testing.T) {
			r := read(t, fmt.Sprintf("probe,kind,unit,scale,offset\nP,%s,%s,%s,%s\n", c.kind, c.unit, c.scale, c.offset), "")
			p := r.Probes[0]
			got := p.Scale * (c.raw - p.Offset)
			if p.Quantity != c.quantity || math.Abs(got-c.standard) > 1e-4*math.Max(1, math.Abs(c.standard)) {
				t.Errorf("%g becomes %g %s, want %g %s", c.raw, got, p.Quantity.Unit(), c.standard, c.quantity.Unit())
			}
			if notes := strings.Join(told(r), "\n"); (c.says == "") != (notes == "") && c.scale != "0" || !strings.Contains(notes, c.says) {
				t.Errorf("notes %q, want one that says %q", notes, c.says)
			}
		})
	}
}

func TestRowsOfOneProbeMerge(t *testing.T) {
	r := read(t, `probe,logger,port,kind,unit,valid_from,valid_to,zone,depth_cm,note
B,L2,1,other,degC,,,,,
A,L1,s1,dielectric,%,2026-01-01,2026-01-05,North,30,first
A,L1,s1,dielectric,%,2026-01-05,2026-01-10,North,,
A,L2,s3,dielectric,%,2026-01-10,,South,,moved
`, "logger,post,latitude,longitude\nL1,post 7,38.5,-122.5\nL1,x,,\nL9,,99,10\n")
	expect(t, r, "3 logger: has a row above already", "4 latitude: swapped?",
		"3 zone: the newest row wins (South)", "4 zone: the newest row wins (South)")
	a := r.Probes[0]
	want := []detect.Wiring{
		{Logger: "L1", Port: "s1", Span: detect.Span{Start: day(1), End: day(10)}},
		{Logger: "L2", Port: "s3", Span: detect.Span{Start: day(10), End: math.MaxInt64}},
	}
	if d := cmp.Diff(want, a.Wirings); d != "" || a.Zone != "South" || a.DepthCM.V != 30 || r.Details[0].Note != "moved" {
		t.Errorf("probe A is %+v, its wirings differ by (-want +got):\n%s", a, d)
	}
	if i, ok := r.Named("B"); !ok || i != 1 || r.Probes[1].Index != 1 {
		t.Errorf("B is at %d %v", i, ok)
	}
	if d := cmp.Diff([]Claim{{0, detect.Span{Start: day(10), End: math.MaxInt64}}}, r.At("L2", "s3")); d != "" {
		t.Errorf("L2 s3 (-want +got):\n%s", d)
	}
	if len(r.At("L2", "s1")) != 0 || !r.KnowsPort("s1") || r.KnowsPort("s9") {
		t.Error("ports of one logger are taken for another's")
	}
	if !r.HasLogger("L9") || !r.HasLogger("L2") || r.HasLogger("L3") {
		t.Error("the loggers are not those of the two tables")
	}
	if d := cmp.Diff([]string{"1", "s3"}, r.PortsOf("L2")); d != "" {
		t.Error(d)
	}
	if r.Loggers[0].Post != "post 7" || !r.Loggers[0].Latitude.OK || r.Loggers[2].Latitude.OK {
		t.Errorf("loggers %+v", r.Loggers)
	}
}

func TestOpenEndsRunToTheNextRow(t *testing.T) {
	r := read(t, "probe,logger,port,kind,unit,valid_from,valid_to\nA,L,2,other,degC,2026-01-05,\nA,L,1,other,degC,,\n", "")
	want := []detect.Wiring{
		{Logger: "L", Port: "1", Span: detect.Span{Start: math.MinInt64, End: day(5)}},
		{Logger: "L", Port: "2", Span: detect.Span{Start: day(5), End: math.MaxInt64}},
	}
	if d := cmp.Diff(want, r.Probes[0].Wirings); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
	expect(t, r)
}

func TestOnePortTwoProbes(t *testing.T) {
	r := read(t, "probe,logger,port,kind,unit,valid_from,valid_to\nA,L,1,other,degC,,2026-01-05\nB,L,1,other,degC,2026-01-04,\nC,L,1,other,degC,2026-02-01,\n", "")
	expect(t, r, "3 port: probe A (line 2) claims it too, 2026-01-04 00:00Z to 2026-01-05 00:00Z",
		"4 port: probe B (line 3) claims it too, from 2026-02-01 00:00Z on")
	if len(r.At("L", "1")) != 3 {
		t.Errorf("claims %+v, want all three kept", r.At("L", "1"))
	}
	// One was dug out before the other went in: nobody overlaps.
	r = read(t, "probe,logger,port,kind,unit,installed_on,removed_on\nA,L,1,other,degC,,2026-01-05\nB,L,1,other,degC,2026-01-07,\n", "")
	expect(t, r)
	if d := cmp.Diff([]Claim{{0, detect.Span{Start: math.MinInt64, End: day(5)}}, {1, detect.Span{Start: day(7), End: math.MaxInt64}}}, r.At("L", "1")); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}

func TestWhatCannotBe(t *testing.T) {
	r := read(t, `probe,logger,port,kind,unit,depth_cm,latitude,longitude,soil_texture,valid_from,valid_to,temperature_probe,cable_m,installed_on,removed_on
A 1,L,1,dielectric,%,-30,0,0,Sandy_Loam,,,a-1,-5,2026-01-02,2026-01-01
a-1,L,2,dielectric,%,3000,38,,sandy lome,2026-01-05,2026-01-05,,,,
C,L,3,dielectric,%,,38,-122,,soon,,nobody,,,
,L,4,dielectric,%,,,,,,,,,,
D,,5,,%,,,,,,,,,,
`, "")
	expect(t, r,
		"2 cable_m: cannot be negative", "2 depth_cm: read as 30 cm", "2 latitude: 0, 0 lies in the sea", "2 removed_on: before installed_on",
		"2 temperature_probe: exports %, not degC",
		"3 depth_cm: is it mm?", "3 latitude: one is missing", "3 probe: differs from probe \"A 1\" only in case", "3 soil_texture: none of the twelve", "3 valid_to: is not after valid_from",
		"4 temperature_probe: no probe \"nobody\"", "4 valid_from: is no time", "4 valid_from: nobody knows when",
		"5 probe: probe is empty", "6 kind: kind is empty")
	if r.Rejected != 2 || len(r.Probes) != 3 {
		t.Errorf("%d rejected and %d probes, want 2 and 3", r.Rejected, len(r.Probes))
	}
	if p := r.Probes[0]; p.DepthCM.V != 30 || p.Texture != "sandy loam" || p.RemovedOn.OK || p.CableM.OK {
		t.Errorf("%+v", p)
	}
	for _, i := range []int{1, 2} {
		if p := r.Probes[i]; (p.Name == "C" || p.Name == "a-1") && len(p.Wirings) != 0 {
			t.Errorf("%s is wired although nobody knows when: %+v", p.Name, p.Wirings)
		}
	}
}

func TestNearestNames(t *testing.T) {
	r := read(t, "probe,kind,unit\nS1-P04,other,degC\nS1-P05,other,degC\n1-25E,other,degC\n", "")
	for name, want := range map[string]string{"s1 p04": "S1-P04", "S1P05": "S1-P05", "S1-P06": "", "12-5E": "", "S1-P04": ""} {
		if got, _ := r.Nearest(name); got != want {
			t.Errorf("%q: %q, want %q", name, got, want)
		}
	}
}

func TestNoRegister(t *testing.T) {
	if _, err := Load("", "", time.UTC); err == nil || !strings.Contains(err.Error(), "columns probe, kind and unit") {
		t.Errorf("%v", err)
	}
	f, err := table.Parse("probes.csv", []byte("probe,kind,unit\nA,,\n"), schemas.Probes, time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := build(f, nil); err == nil || !strings.Contains(err.Error(), "no usable row") || !strings.Contains(err.Error(), "line 2") {
		t.Errorf("%v", err)
	}
}

// Whatever the register: no panic; places, names and claims agree; and the order of
// the rows changes no probe's name, place or claims.
func TestAnyRegister(t *testing.T) {
	header := "probe,logger,port,kind,unit,valid_from,valid_to,installed_on,depth_cm,scale,temperature_probe\n"
	cells := [][]string{
		{"A", "B", "a", "A 1", ""}, {"L", "M", ""}, {"1", "2", ""}, {"dielectric", "tensiometer", "x", ""},
		{"%", "mV", "kPa", "?", ""}, {"", "2026-01-01", "2026-02-01", "?"}, {"", "2026-01-15", "2026-03-01"},
		{"", "2026-01-20"}, {"", "30", "-1", "NaN", "1e308"}, {"", "0", "-1", "1e308"}, {"", "A", "Z"},
	}
	rapid.Check(t, func(t *rapid.T) {
		rows := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) string {
			var c []string
			for _, choices := range cells {
				c = append(c, rapid.SampledFrom(choices).Draw(t, "cell"))
			}
			return strings.Join(c, ",")
		}), 1, 8).Draw(t, "rows")
		load := func(rows []string) *Register {
			f, err := table.Parse("probes.csv", []byte(header+strings.Join(rows, "\n")+"\n"), schemas.Probes, time.UTC)
			if err != nil {
				t.Fatal(err)
			}
			r, err := build(f, nil)
			if err != nil {
				return nil
			}
			return r
		}
		r := load(rows)
		other := load(rapid.Permutation(rows).Draw(t, "order"))
		if (r == nil) != (other == nil) {
			t.Fatal("usable in one order and not in another")
		}
		if r == nil {
			return
		}
		for i, p := range r.Probes {
			if at, ok := r.Named(p.Name); !ok || at != i || p.Index != i || other.Probes[i].Name != p.Name {
				t.Fatalf("%s is at %d, named at %d", p.Name, i, at)
			}
			for _, w := range p.Wirings {
				if w.Start >= w.End {
					t.Fatalf("an empty wiring %+v", w)
				}
			}
		}
		if d := cmp.Diff(r.claims, other.claims, cmp.AllowUnexported(socket{})); d != "" {
			t.Fatalf("claims depend on the order of rows:\n%s", d)
		}
	})
}
