package report

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/report/chart"
	"probeward/schemas"
)

// words says things as the farm would.
type words struct {
	zone   *time.Location
	year   int // of the window's end: left out of dates of the same year
	inches bool
}

func newWords(in *Input) *words {
	w := &words{zone: in.Zone, inches: in.Inches}
	if w.zone == nil {
		w.zone = time.UTC
	}
	w.year = time.UnixMicro(in.Judged.Period.Window.End - 1).In(w.zone).Year()
	return w
}

func (w *words) local(t int64) time.Time { return time.UnixMicro(t).In(w.zone) }

// at gives an instant of the farm's clock to the minute.
func (w *words) at(t int64) string { return w.day(t) + w.local(t).Format(" 15:04") }

// day gives a date of the farm's calendar.
func (w *words) day(t int64) string {
	l := w.local(t)
	if l.Year() == w.year {
		return l.Format("2 Jan")
	}
	return l.Format("2 Jan 2006")
}

func (w *words) maybe(t detect.Maybe[int64], none string) string {
	if !t.OK {
		return none
	}
	return w.at(t.V)
}

// sortable gives an instant as text that sorts as time does.
func (w *words) sortable(t detect.Maybe[int64]) string {
	if !t.OK {
		return ""
	}
	return time.UnixMicro(t.V).UTC().Format("2006-01-02T15:04")
}

var stampForm = regexp.MustCompile(`\d{4}-\d\d-\d\d \d\d:\d\dZ`)

// evidence puts a detector's stamps, which are in UTC, on the farm's clock.
func (w *words) evidence(text string) string {
	return stampForm.ReplaceAllStringFunc(text, func(s string) string {
		t, err := time.Parse("2006-01-02 15:04Z", s)
		if err != nil {
			return s
		}
		return w.at(t.UnixMicro())
	})
}

// depth below the surface, in the farm's unit.
func (w *words) depth(cm detect.Maybe[float64]) string {
	switch {
	case !cm.OK:
		return "no depth given"
	case w.inches:
		return strings.TrimSuffix(strconv.FormatFloat(cm.V/2.54, 'f', 1, 64), ".0") + " in"
	default:
		return chart.Number(cm.V) + " cm"
	}
}

// faultWords is what a fault is, in a sentence without a subject.
func faultWords(fault string) string {
	if f, ok := schemas.FaultNamed(fault); ok {
		return f.Sentence
	}
	if fault == "override" {
		return "a person said so"
	}
	return title(fault)
}

// title is a fault's name with blanks.
func title(fault string) string { return strings.ReplaceAll(fault, "_", " ") }

// reasonsOf joins the sentences of faults.
func reasonsOf(faults []string) string {
	out := make([]string, len(faults))
	for i, f := range faults {
		out[i] = faultWords(f)
	}
	return strings.Join(out, "; ")
}

// sure is a confidence in words. The words' edges are a coin, the house's own
// sureness, and one error in twenty.
func sure(confidence float64) string {
	word := "possible"
	switch {
	case confidence >= 0.95:
		word = "almost certain"
	case confidence >= schemas.Sureness:
		word = "sure"
	case confidence >= 0.5:
		word = "likely"
	}
	return fmt.Sprintf("%s, %.0f %%", word, 100*confidence)
}

// length of time, short.
func length(d int64) string {
	switch {
	case d < 2*detect.Hour:
		return fmt.Sprintf("%d min", d/detect.Minute)
	case d < 2*detect.Day:
		return fmt.Sprintf("%.0f h", detect.Hours(d))
	default:
		return fmt.Sprintf("%.1f days", detect.Days(d))
	}
}

// count writes a number of things: "1 probe", "2 probes".
func count(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + one + "s"
}

// thousands writes a whole number with thin blanks between thousands.
func thousands(n int64) string {
	s := strconv.FormatInt(n, 10)
	var b strings.Builder
	for i, c := range s {
		if i > 0 && (len(s)-i)%3 == 0 && s[i-1] != '-' {
			b.WriteString("\u202f")
		}
		b.WriteRune(c)
	}
	return b.String()
}

// anchor is an id for a name: letters, digits, points and hyphens as they are, all
// else as its bytes, so that two names never share one.
func anchor(kind, name string) string {
	var b strings.Builder
	b.WriteString(kind + "-")
	for i := range len(name) {
		c := name[i]
		if c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '.' || c == '-' {
			b.WriteByte(c)
		} else {
			fmt.Fprintf(&b, "_%02x", c)
		}
	}
	return b.String()
}

// mark is a verdict for eyes that tell no colours: a shape and a word.
type mark struct{ Shape, Word, Class, Means string }

func markOf(v schemas.Verdict) mark {
	m := mark{"?", string(v), "v-" + string(v), "too much could not be evaluated"}
	switch v {
	case schemas.Fit:
		m.Shape, m.Means = "●", "can be trusted"
	case schemas.Doubtful:
		m.Shape, m.Means = "◐", "use with care"
	case schemas.Unfit:
		m.Shape, m.Means = "✕", "not to be used"
	case schemas.Silent:
		m.Shape, m.Means = "○", "no readings arrive"
	case schemas.Settling:
		m.Shape, m.Means = "△", "new in the ground"
	}
	return m
}
