package feedback

import (
	"fmt"

	"probeward/detectors/robust"
	"probeward/pipeline/fieldlog"
	"probeward/schemas"
)

// How visits move a ranking; see the package comment.
const (
	Weight  = 8.0  // visits that a detector's own confidence is worth
	Lowest  = 0.25 // of the confidence, at least
	Highest = 0.99
	Doubt   = 4.0 // odds lost by a visit that found nothing wrong
)

// z95 is the two-sided 95 % point of the normal distribution.
const z95 = 1.959964

// Rate is how often a detector's finding was a fault where the crew looked.
type Rate struct {
	Detector   string
	Hits       int // a fault was found
	Named      int // of these: the very fault
	Misses     int // nothing was wrong
	NotReached int // nobody got there, or it was not seen
	Share      float64
	Low, High  float64 // of the share; 0 to 1 without a visit
}

// String says it in a line.
func (r Rate) String() string {
	return fmt.Sprintf("%s: a fault at %d of %d places looked at (%.0f to %.0f %%)", r.Detector, r.Hits, r.Hits+r.Misses, 100*r.Low, 100*r.High)
}

// visitKey is one stop of one round.
type visitKey struct {
	visit string
	at    int64
}

// excuse finds the stops at which a logger was to blame.
func (b *Book) excuse() {
	b.excused = map[visitKey]bool{}
	for i := range b.Rows {
		r := &b.Rows[i]
		if f, _ := schemas.FaultNamed(r.Fault()); f.Subject == schemas.SubjectLogger {
			b.excused[visitKey{r.Visit.Visit, r.VisitedOn}] = true
		}
	}
}

// rate counts, in the order of the table of faults.
func (b *Book) rate() {
	by := map[string]*Rate{}
	for i := range b.Rows {
		r := &b.Rows[i]
		for _, fault := range r.Suspected {
			if by[fault] == nil {
				by[fault] = &Rate{Detector: fault}
			}
			x := by[fault]
			switch {
			case !r.Seen():
				x.NotReached++
			case r.Fault() != "":
				x.Hits++
				if r.Fault() == fault {
					x.Named++
				}
			case r.Found == fieldlog.NothingWrong && !b.excused[visitKey{r.Visit.Visit, r.VisitedOn}]:
				x.Misses++
			}
		}
	}
	for _, f := range schemas.Faults() {
		if x := by[f.Name]; x != nil {
			n := x.Hits + x.Misses
			x.Low, x.High = 0, 1
			if n > 0 {
				x.Share = float64(x.Hits) / float64(n)
				x.Low, x.High = robust.Wilson(x.Hits, n, z95)
			}
			b.Rates = append(b.Rates, *x)
		}
	}
}

// RateOf gives a detector's rate; false: no visit was owed to it.
func (b *Book) RateOf(detector string) (Rate, bool) {
	if b != nil {
		for _, r := range b.Rates {
			if r.Detector == detector {
				return r, true
			}
		}
	}
	return Rate{}, false
}

// Sure is a finding's confidence as the ranking takes it: the detector's word and
// what the crew met where it sent them.
func (b *Book) Sure(detector string, confidence float64) float64 {
	r, ok := b.RateOf(detector)
	if n := r.Hits + r.Misses; !ok || n == 0 {
		return confidence
	} else {
		moved := (Weight*confidence + float64(r.Hits)) / (Weight + float64(n))
		return min(max(moved, Lowest*confidence), max(Highest, confidence))
	}
}

// doubted divides the odds of a confidence by Doubt for each of n visits.
func doubted(confidence float64, n int) float64 {
	for range n {
		confidence /= confidence + Doubt*(1-confidence)
	}
	return confidence
}
