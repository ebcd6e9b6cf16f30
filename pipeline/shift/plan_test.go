package shift

import (
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"probeward/detectors/detect"
	"probeward/pipeline/rank"
)

func draw(t *rapid.T, most int) ([]Stop, int, time.Duration, Point, Options) {
	start := Point{41.37, -119.11}
	var stops []Stop
	for i := range rapid.IntRange(0, most).Draw(t, "stops") {
		stops = append(stops, Stop{Name: fmt.Sprint("S", i),
			At:    Point{start.Lat + rapid.Float64Range(-0.1, 0.1).Draw(t, "north"), start.Lon + rapid.Float64Range(-0.1, 0.1).Draw(t, "east")},
			Value: rapid.Float64Range(0.01, 1).Draw(t, "value"), Minutes: float64(rapid.IntRange(5, 90).Draw(t, "minutes"))})
	}
	return stops, rapid.IntRange(1, 2).Draw(t, "crews"), time.Duration(rapid.IntRange(30, 480).Draw(t, "length")) * time.Minute, start,
		Options{SpeedKMH: rapid.Float64Range(5, 50).Draw(t, "speed")}
}

// best is the greatest value of any plan: the least time in which one crew can make
// each set of stops, found by trying every order, and then every sharing out.
func best(stops []Stop, crews int, length time.Duration, start Point, o Options) float64 {
	o = o.Filled()
	n := len(stops)
	least := make([]float64, 1<<n)
	for i := range least {
		least[i] = math.Inf(1)
	}
	least[0] = 0
	var walk func(set int, at Point, t float64)
	walk = func(set int, at Point, t float64) {
		if set != 0 {
			least[set] = min(least[set], t+o.drive(at, start, false))
		}
		for i, s := range stops {
			if next := t + o.drive(at, s.At, true) + s.Minutes; set&(1<<i) == 0 && next <= length.Minutes() {
				walk(set|1<<i, s.At, next)
			}
		}
	}
	walk(0, start, 0)
	value := func(set int) (v float64) {
		for i, s := range stops {
			if set&(1<<i) != 0 {
				v += s.Value
			}
		}
		return v
	}
	top := 0.0
	for a := range least {
		if least[a] > length.Minutes() {
			continue
		}
		top = max(top, value(a))
		if crews == 1 {
			continue
		}
		rest := (1<<n - 1) &^ a
		for b := rest; b > 0; b = (b - 1) & rest { // every set of what is left
			if least[b] <= length.Minutes() {
				top = max(top, value(a|b))
			}
		}
	}
	return top
}

func TestSmallPlansAreNearlyTheBestThereIs(t *testing.T) {
	worst, cases := 1.0, 0
	rapid.Check(t, func(t *rapid.T) {
		stops, crews, length, start, o := draw(t, 8)
		got := 0.0
		for _, c := range Plan(stops, crews, length, start, o) {
			got += c.Value
		}
		top := best(stops, crews, length, start, o)
		if got > top*(1+1e-9) {
			t.Fatalf("the plan is worth %v and the best possible %v: one of the two is wrong", got, top)
		}
		if top > 0 {
			cases++
			worst = min(worst, got/top)
			if got < 0.95*top {
				t.Fatalf("the plan is worth %v, the best %v: %.1f %%", got, top, 100*got/top)
			}
		}
	})
	t.Logf("worst plan of %d: %.2f %% of the best", cases, 100*worst)
}

func TestEveryPlanCanBeDriven(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		stops, crews, length, start, o := draw(t, 30)
		got := Plan(stops, crews, length, start, o)
		if len(got) != crews {
			t.Fatalf("%d crews, want %d", len(got), crews)
		}
		if diff := cmp.Diff(got, Plan(stops, crews, length, start, o)); diff != "" {
			t.Fatalf("another plan of the same stops: %s", diff)
		}
		made := map[int]bool{}
		for _, c := range got {
			clock, at, value := 0.0, start, 0.0
			for _, call := range c.Calls {
				s := stops[call.Stop]
				if made[call.Stop] {
					t.Fatalf("%s is made twice", s.Name)
				}
				made[call.Stop] = true
				clock += o.Filled().drive(at, s.At, true)
				if math.Abs(clock-call.Arrive) > 1e-6 || math.Abs(call.Leave-call.Arrive-s.Minutes) > 1e-6 || call.Name != s.Name {
					t.Fatalf("%+v: want arrival at %v and %v min of work", call, clock, s.Minutes)
				}
				clock, at, value = clock+s.Minutes, s.At, value+s.Value
			}
			clock += o.Filled().drive(at, start, false)
			if math.Abs(clock-c.Back) > 1e-6 || c.Back > length.Minutes()+1e-6 {
				t.Fatalf("back at %v, counted %v, the shift is %v", c.Back, clock, length)
			}
			if math.Abs(value-c.Value) > 1e-9 {
				t.Fatalf("value %v, counted %v", c.Value, value)
			}
		}
		left := Left(stops, got)
		for i := range stops {
			if made[i] == slices.Contains(left, i) {
				t.Fatalf("stop %d is made: %v, and left: %v", i, made[i], left)
			}
		}
	})
}

func TestWhatCannotBePlannedIsLeft(t *testing.T) {
	start := Point{41.37, -119.11}
	near := Point{41.371, -119.11}
	stops := []Stop{
		{Name: "no value", At: near, Minutes: 10},
		{Name: "no number", At: near, Value: math.NaN(), Minutes: 10},
		{Name: "time that runs back", At: near, Value: 1, Minutes: -5},
		{Name: "off the Earth", At: Point{141, 0}, Value: 1, Minutes: 5},
		{Name: "longer than the shift", At: near, Value: 9, Minutes: 600},
		{Name: "good", At: near, Value: 1, Minutes: 5},
	}
	got := Plan(stops, 3, 8*time.Hour, start, Options{})
	if len(got) != 3 || len(got[0].Calls) != 1 || got[0].Calls[0].Name != "good" || len(got[1].Calls)+len(got[2].Calls) != 0 {
		t.Errorf("got %+v", got)
	}
	if Plan(stops, 0, time.Hour, start, Options{}) != nil {
		t.Error("no crews make a plan")
	}
	if c := Plan(stops, 1, time.Hour, Point{math.NaN(), 0}, Options{}); len(c) != 1 || len(c[0].Calls) != 0 {
		t.Errorf("a plan from nowhere: %+v", c)
	}
}

func TestTwoVisitsAtOnePostAreOneParking(t *testing.T) {
	start, post := Point{41.37, -119.11}, Point{41.38, -119.11}
	stops := []Stop{{Name: "cable", At: post, Value: 1, Minutes: 10}, {Name: "logger", At: post, Value: 1, Minutes: 10}}
	c := Plan(stops, 1, 8*time.Hour, start, Options{})[0]
	if len(c.Calls) != 2 || c.Calls[1].Drive != 0 {
		t.Fatalf("got %+v", c)
	}
	// 0.01 deg of latitude is 1.112 km (6371.0088 km × π/180 × 0.01; derived).
	if want := 1.11195*1.3/25*60 + 3; math.Abs(c.Calls[0].Drive-want) > 0.001 {
		t.Errorf("%v min on the way, want %v", c.Calls[0].Drive, want)
	}
	if walk := Plan(stops, 1, 8*time.Hour, start, Options{ParkingMinutes: -1, SpeedKMH: 5})[0].Calls[0].Drive; math.Abs(walk-1.11195*1.3/5*60) > 0.001 {
		t.Errorf("%v min on foot without parking", walk)
	}
}

func TestStopsOfAQueue(t *testing.T) {
	got := Stops([]rank.Visit{
		{Name: "P07-cable", Latitude: detect.Some(41.0), Longitude: detect.Some(-119.0), Priority: 0.02, Minutes: 45},
		{Name: "P08-cable", Priority: 0.01, Minutes: 25},
	})
	if diff := cmp.Diff([]Stop{{"P07-cable", Point{41, -119}, 0.9, 45}}, got); diff != "" {
		t.Error(diff)
	}
}

func BenchmarkPlan(b *testing.B) {
	start := Point{41.37, -119.11}
	var stops []Stop
	for i := range 300 {
		x := float64(i)
		stops = append(stops, Stop{At: Point{start.Lat + 0.03*math.Sin(x*1.7), start.Lon + 0.03*math.Cos(x*2.9)}, Value: 0.5 + 0.4*math.Sin(x), Minutes: 15 + float64(i%5)*10})
	}
	for b.Loop() {
		Plan(stops, 2, 8*time.Hour, start, Options{})
	}
}
