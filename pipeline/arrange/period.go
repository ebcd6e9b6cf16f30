package arrange

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/apache/arrow/go/v17/arrow"
	"github.com/apache/arrow/go/v17/arrow/array"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// Ask is what a person may say about the period; what is absent follows from the
// data and the configuration.
type Ask struct {
	Since, Until     detect.Maybe[int64]
	Window, Lookback int64 // lengths
	Zone             *time.Location
}

// Settled is the period that the data give, and the farm's span beside it.
type Settled struct {
	Period detect.Period
	// Farm is the span of days on which a good part of the loggers report.
	Farm    detect.Span
	Loggers int // that were heard at all
	Why     string
}

// ErrNothing says that no reading is left to look at.
var ErrNothing = errors.New("no usable input")

// Shares of loggers that make a day count. Half is what "most" means; a quarter,
// and two loggers, keeps the early seasons of a growing farm within its span and
// one logger with a clock of its own out of it.
const (
	mostLoggers = 0.5
	goodPart    = 0.25
)

// tally counts, for each day, which loggers were heard, and the last stamp of each.
type tally struct {
	zone    *time.Location
	loggers map[string]int
	days    map[int64][]int64 // local day → last stamp by logger; 0 is unheard

	dayFrom, dayTo int64 // the local day of the stamp before, to spare the calendar
	day            int64
}

func newTally(zone *time.Location) *tally {
	return &tally{zone: zone, loggers: map[string]int{}, days: map[int64][]int64{}}
}

// localDay numbers the days of the zone; its first call for a day asks the calendar.
func (c *tally) localDay(t int64) int64 {
	if t >= c.dayFrom && t < c.dayTo {
		return c.day
	}
	y, m, d := time.UnixMicro(t).In(c.zone).Date()
	c.dayFrom = time.Date(y, m, d, 0, 0, 0, 0, c.zone).UnixMicro()
	c.dayTo = time.Date(y, m, d+1, 0, 0, 0, 0, c.zone).UnixMicro()
	c.day = time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix() / 86400
	return c.day
}

func (c *tally) logger(name string) int {
	i, ok := c.loggers[name]
	if !ok {
		i = len(c.loggers)
		c.loggers[name] = i
	}
	return i
}

func (c *tally) hear(logger int, t int64) {
	day := c.localDay(t)
	row := c.days[day]
	for len(row) <= logger {
		row = append(row, 0)
	}
	row[logger] = max(row[logger], t)
	c.days[day] = row
}

// listen goes through the batches once. A probe's logger is the one that the
// register names for the stamp; probes without a logger count as one of their own.
func (c *tally) listen(batches []arrow.Record, probes []detect.Probe) {
	single := make([]int, len(probes)) // logger + 1 of probes with one wiring
	for _, b := range batches {
		times := micros(b.Column(schemas.ColTime).(*array.Timestamp).TimestampValues())
		who := b.Column(schemas.ColProbe).(*array.Uint32).Uint32Values()
		lastProbe, lastTime := -1, int64(-1)
		for i, t := range times {
			p := int(who[i])
			// Ports of one row share its stamp, and most rows share a day: one
			// reading of a probe every few hours is enough to know it was heard,
			// but the last stamp of the day must be right.
			if p == lastProbe && t == lastTime {
				continue
			}
			lastProbe, lastTime = p, t
			if single[p] == 0 {
				if len(probes[p].Wirings) > 1 {
					c.hear(c.logger(loggerAt(&probes[p], t)), t)
					continue
				}
				single[p] = 1 + c.logger(loggerAt(&probes[p], t))
			}
			c.hear(single[p]-1, t)
		}
	}
}

// loggerAt names the logger of a probe at an instant; of a probe that the register
// puts at no logger, a name of its own.
func loggerAt(p *detect.Probe, t int64) string {
	for _, w := range p.Wirings {
		if w.Holds(t) && w.Logger != "" {
			return w.Logger
		}
	}
	return "probe " + p.Name
}

// settle draws the period from the tally and what was asked.
func (c *tally) settle(ask Ask) (Settled, error) {
	days := make([]int64, 0, len(c.days))
	counts := make([]int, 0, len(c.days))
	for d := range c.days {
		days = append(days, d)
	}
	slices.Sort(days)
	for _, d := range days {
		counts = append(counts, heard(c.days[d]))
	}
	sorted := slices.Clone(counts)
	slices.Sort(sorted)
	usual := float64(sorted[len(sorted)/2])

	s := Settled{Loggers: len(c.loggers)}
	least := max(1, int(goodPart*usual+0.999))
	if s.Loggers >= 3 {
		least = max(2, least)
	}
	first, last, newest := -1, -1, -1
	for i, n := range counts {
		if n >= least {
			if first < 0 {
				first = i
			}
			last = i
		}
		if float64(n) >= mostLoggers*usual {
			newest = i
		}
	}
	if first < 0 {
		first, last = newest, newest
	}
	s.Farm = detect.Span{Start: c.dayStart(days[first]), End: c.dayStart(days[last] + 1)}

	p := &s.Period
	if ask.Until.OK {
		p.Window.End = ask.Until.V
		s.Why = "until as asked"
	} else {
		p.Window.End = c.reach(days[newest])
		s.Why = fmt.Sprintf("until follows from the newest day on which most loggers report: %d of %d usual",
			counts[newest], int(usual))
	}
	if ask.Since.OK {
		p.Window.Start = ask.Since.V
	} else {
		p.Window.Start = p.Window.End - ask.Window
	}
	p.Lookback = p.Window.Start - ask.Lookback
	if p.Window.Start >= p.Window.End {
		return s, fmt.Errorf("%w: the window is empty: since %s is not before until %s", ErrNothing,
			detect.Stamp(p.Window.Start), detect.Stamp(p.Window.End))
	}
	return s, nil
}

func heard(row []int64) (n int) {
	for _, t := range row {
		if t != 0 {
			n++
		}
	}
	return n
}

func (c *tally) dayStart(day int64) int64 {
	u := time.Unix(day*86400, 0).UTC()
	return time.Date(u.Year(), u.Month(), u.Day(), 0, 0, 0, 0, c.zone).UnixMicro()
}

// reach is the instant up to which a day can be judged: its end, or, when the
// export stops within the day, just after the last stamp that a quarter of its
// loggers reach. To the hour, so that loggers a few minutes apart all count.
func (c *tally) reach(day int64) int64 {
	var lasts []int64
	for _, t := range c.days[day] {
		if t != 0 {
			lasts = append(lasts, t)
		}
	}
	slices.Sort(lasts)
	t := lasts[len(lasts)-1-len(lasts)/4]
	return min(c.dayStart(day+1), t-mod(t, detect.Hour)+detect.Hour)
}

func mod(a, b int64) int64 { return ((a % b) + b) % b }
