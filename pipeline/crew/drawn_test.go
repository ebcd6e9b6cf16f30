package crew

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/boombuler/barcode/qr"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"probeward/detectors/detect"
	"probeward/pipeline/rank"
)

func visitAt(lat, lon float64, order int) rank.Visit {
	return rank.Visit{Name: "V", Latitude: detect.Some(lat), Longitude: detect.Some(lon), RouteOrder: detect.Some(order), Faults: []string{"gap"}}
}

func TestNumbersOnTheMapDoNotCover(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var in Input
		for i := range rapid.IntRange(1, 40).Draw(t, "stops") {
			in.Visits = append(in.Visits, visitAt(41+rapid.Float64Range(0, 0.01).Draw(t, "lat"), -119+rapid.Float64Range(0, 0.01).Draw(t, "lon"), i+1))
		}
		p := (&in).plotted()
		for i, a := range p.Marks {
			if a.X < 0 || a.X > mapWidth || a.Y < 0 || a.Y > p.Height || a.Left() < 0 || a.Left()+a.Width > mapWidth || a.Top() < 0 || a.Top()+labelHeight > p.Height {
				t.Fatalf("stop %d lies beyond the map: %+v", a.Rank, a)
			}
			for _, b := range p.Marks[i+1:] {
				if shared(a.Label, a.Width/2, labelHeight/2, b.Label, b.Width/2, labelHeight/2) > 0 {
					t.Fatalf("the numbers %d and %d cover each other: %+v %+v", a.Rank, b.Rank, a, b)
				}
			}
		}
	})
}

func (in *Input) plotted() *plot {
	if in.Judged == nil {
		in.Judged = smallRound().Judged
	}
	return in.plot()
}

// 0.01 degrees of latitude are 1,112 m (6371.0088 km × π/180 × 0.01; derived).
func TestTheMapIsTrueToScale(t *testing.T) {
	in := Input{Visits: []rank.Visit{visitAt(41, -119, 2), visitAt(41.01, -119, 1), visitAt(41, -119.01, 3), {Name: "nowhere", Faults: []string{"gap"}}}}
	p := in.plotted()
	m := p.Marks
	north, west := m[0].Y-m[1].Y, m[0].X-m[2].X
	if north <= 0 || west <= 0 {
		t.Fatalf("north is not up or west not left: %+v", m)
	}
	if got := west / north; math.Abs(got-math.Cos(41*math.Pi/180)) > 0.005 {
		t.Errorf("a degree of longitude is %v of one of latitude, want the cosine of the latitude", got)
	}
	if p.BarLabel != "200 m" || math.Abs(p.BarWidth/north-200/1111.95) > 0.005 {
		t.Errorf("bar %q of %v where 1112 m are %v", p.BarLabel, p.BarWidth, north)
	}
	if want := "3 stops seen from above, north up. The short way round goes 2, 1, 3. 1 stop without coordinates not shown."; p.Text != want {
		t.Errorf("the map says %q, want %q", p.Text, want)
	}
	if !strings.HasPrefix(p.Way, "M") || strings.Count(p.Way, "L") != 2 {
		t.Errorf("way %q", p.Way)
	}
	if (&Input{Visits: []rank.Visit{{Name: "nowhere"}}}).plot() != nil {
		t.Error("a map of nothing")
	}
	one := Input{Visits: []rank.Visit{visitAt(41, -119, 1)}}
	if p := one.plotted(); p == nil || math.IsNaN(p.Marks[0].X+p.Marks[0].Y+p.Height+p.BarWidth) || p.Way != "" {
		t.Errorf("a single stop: %+v", p)
	}
	far := Input{Visits: []rank.Visit{visitAt(-17, 179.999, 1), visitAt(-17, -179.999, 2)}}
	if p := far.plotted(); p.Marks[1].X <= p.Marks[0].X || p.BarLabel != "50 m" {
		t.Errorf("over the 180th meridian the map goes the long way: %+v, %s", p.Marks, p.BarLabel)
	}
}

func TestTheCodeIsWhatWasEncoded(t *testing.T) {
	const text = "geo:41.375438,-119.116907"
	c, err := qrCode(text)
	if err != nil {
		t.Fatal(err)
	}
	img, err := qr.Encode(text, qr.M, qr.Unicode)
	if err != nil {
		t.Fatal(err)
	}
	n := img.Bounds().Dx()
	if c.Size != n+8 {
		t.Errorf("size %d, want %d modules and four of quiet on each side", c.Size, n)
	}
	dark := make([]bool, c.Size*c.Size)
	for _, run := range strings.Split(strings.TrimSuffix(c.Path, "z"), "z") {
		var x, y, w, back int
		if _, err := sscan(run, &x, &y, &w, &back); err != nil || w != back {
			t.Fatalf("run %q: %v", run, err)
		}
		for k := range w {
			dark[y*c.Size+x+k] = true
		}
	}
	for y := range c.Size {
		for x := range c.Size {
			want := false
			if x >= 4 && y >= 4 && x < n+4 && y < n+4 {
				r, _, _, _ := img.At(x-4, y-4).RGBA()
				want = r == 0
			}
			if dark[y*c.Size+x] != want {
				t.Fatalf("module %d,%d is dark: %v, want %v", x, y, dark[y*c.Size+x], want)
			}
		}
	}
}

func TestWhatToBringIsCounted(t *testing.T) {
	in := smallRound()
	used, toolbox := in.needs()
	count := func(list []need) map[string]int {
		out := map[string]int{}
		for _, n := range list {
			out[n.Thing] = n.Count
		}
		return out
	}
	u, k := count(used), count(toolbox)
	for thing, want := range map[string]int{
		"gel-filled press-fit splices": 2, // the open lead and the flat line's
		"spare two-core cable":         1,
		"spare logger or radio":        1,
		"valve key and diaphragm":      1,
	} {
		if u[thing] != want {
			t.Errorf("%d × %s, want %d", u[thing], thing, want)
		}
	}
	if k["multimeter"] != 1 || u["multimeter"] != 0 {
		t.Errorf("a multimeter is no tool: %v, %v", k, u)
	}
	at := slices.IndexFunc(used, func(n need) bool { return strings.HasPrefix(n.Thing, spareProbe) })
	if at < 0 {
		t.Fatal("no spare probe for a flat line")
	}
	if diff := cmp.Diff([]string{"1 tensiometer"}, used[at].Kinds); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff([]int{1}, used[at].Stops); diff != "" {
		t.Error(diff)
	}
}

// A tool whose name the trade's table changed would be packed once a probe.
func TestEveryToolIsInTheTrade(t *testing.T) {
	in := map[string]bool{}
	spare := false
	for fault := range titles {
		w, _ := rank.WorkFor(fault)
		for _, b := range w.Bring {
			in[b] = true
			spare = spare || strings.HasPrefix(b, spareProbe)
		}
	}
	for _, list := range []map[string]bool{tools, sheets} {
		for name := range list {
			if !in[name] {
				t.Errorf("no fault asks for %q", name)
			}
		}
	}
	if !spare {
		t.Errorf("nothing begins with %q", spareProbe)
	}
}

// sscan reads one run of a code's path.
func sscan(run string, x, y, w, back *int) (int, error) {
	return fmt.Sscanf(run, "M%d %dh%dv1h-%d", x, y, w, back)
}
