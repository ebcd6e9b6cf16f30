package detect

// Stretch is a run of stamps that go together.
type Stretch struct {
	Span
	Open     bool // it reaches the end of the series
	Readings int  // stamps
}

// CodedStretches are the stretches in which the logger wrote one fault code in place
// of values, at least so many stamps with no value between; in time order.
func (p *Pass) CodedStretches(code uint8, least int) []Stretch {
	var out []Stretch
	coded, t, v := p.series.Coded, p.series.Time, 0
	for i := 0; i < len(coded); {
		if coded[i].Code != code {
			i++
			continue
		}
		for v < len(t) && t[v] < coded[i].Time {
			v++
		}
		j := i + 1
		for j < len(coded) && coded[j].Code == code && (v == len(t) || coded[j].Time < t[v]) {
			j++
		}
		if j-i >= least {
			s := Stretch{
				Span: Span{coded[i].Time, coded[j-1].Time + max(p.Cadence(), 1)},
				Open: v == len(t) && j == len(coded), Readings: j - i,
			}
			if v < len(t) {
				s.End = min(s.End, t[v])
			}
			out = append(out, s)
		}
		i = j
	}
	return out
}

// Bounded joins parts that touch or overlap, and then those that lie near each other,
// nearer ones first, until there are at most so many; the worse flag holds for what
// was joined. Parts come sorted by start.
func Bounded(parts []Part, most int) []Part {
	for near := int64(0); ; near = 2*near + Hour {
		joined := parts[:0:0]
		for _, part := range parts {
			if n := len(joined); n > 0 && part.Start-joined[n-1].End <= near {
				last := &joined[n-1]
				last.End = max(last.End, part.End)
				if part.Flag.Severity() > last.Flag.Severity() {
					last.Flag = part.Flag
				}
				continue
			}
			joined = append(joined, part)
		}
		if parts = joined; len(parts) <= most {
			return parts
		}
	}
}
