package crew

import (
	"fmt"
	"strconv"
)

// planned is a shift's plan as the page shows it.
type planned struct {
	Crews []plannedCrew
	Left  []int // ranks of the stops that are not in it
	Rests string
}

type plannedCrew struct {
	Number int
	Calls  []plannedCall
	Home   string
	Back   string
	Sum    string
}

type plannedCall struct {
	At, Place   string
	Rank        int
	Work, Drive string
}

// planned puts the plan into words; nil when there is none.
func (in *Input) planned() *planned {
	if in.Plan == nil {
		return nil
	}
	o := in.Plan.Opts.Filled()
	ranked := map[string]int{}
	for i := range in.Visits {
		ranked[in.Visits[i].Name] = i + 1
	}
	parking := fmt.Sprintf("%s min to park and find the post", short(o.ParkingMinutes))
	if o.ParkingMinutes < 0 {
		parking = "no time for parking"
	}
	p := &planned{Rests: fmt.Sprintf("Reckoned for a shift of %s that starts and ends at %s, %s; with %s km/h on the way, a way %s times as long as the straight line, and %s.",
		span(in.Plan.Length.Minutes()), degrees(in.Plan.Start.Lat), degrees(in.Plan.Start.Lon), short(o.SpeedKMH), short(o.Detour), parking)}
	made := map[string]bool{}
	for n, c := range in.Plan.Crews {
		crew := plannedCrew{Number: n + 1, Home: span(c.Home), Back: clock(c.Back)}
		drive, work := c.Home, 0.0
		for _, call := range c.Calls {
			made[call.Name] = true
			r := ranked[call.Name]
			if r == 0 {
				continue // a plan of another queue
			}
			drive, work = drive+call.Drive, work+call.Leave-call.Arrive
			crew.Calls = append(crew.Calls, plannedCall{At: clock(call.Arrive), Place: placeOf(&in.Visits[r-1]), Rank: r,
				Work: span(call.Leave - call.Arrive), Drive: span(call.Drive)})
		}
		crew.Sum = fmt.Sprintf("%s, %s of work, %s on the way", plural(len(crew.Calls), "stop"), span(work), span(drive))
		p.Crews = append(p.Crews, crew)
	}
	for i := range in.Visits {
		if !made[in.Visits[i].Name] {
			p.Left = append(p.Left, i+1)
		}
	}
	return p
}

// planOf is a visit's place in the plan: an order over all crews, and words.
func (in *Input) planOf(visit string) (int, string) {
	if in.Plan == nil {
		return 0, ""
	}
	order := 0
	for n, c := range in.Plan.Crews {
		for _, call := range c.Calls {
			if order++; call.Name == visit {
				return order, fmt.Sprintf("Crew %d, %s after the start", n+1, clock(call.Arrive))
			}
		}
	}
	return 0, "Not in this shift"
}

func short(v float64) string { return strconv.FormatFloat(v, 'g', 4, 64) }
