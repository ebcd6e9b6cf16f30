package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"probeward/detectors/detect"
	"probeward/schemas"
)

// head is the top of the page.
type head struct {
	Farm, Window, Lookback, ZoneName, Why string
	Tallies                               []tally
	Read, Used, Repeated, Rejected        string
	Files                                 int
	Cells, Found, Clear, NotEvaluated     string
	HasPrevious                           bool
	News                                  []string
	MoreNews                              int
	Notes                                 []string
}

type tally struct {
	mark
	N int
}

// newsLines is how many lines of news the head shows.
const newsLines = 10

func (w *work) head() head {
	in, j := w.in, w.in.Judged
	h := head{ZoneName: w.say.zone.String(), Why: in.Arranged.Why, HasPrevious: in.Previous != nil, Notes: in.Notes, Files: len(in.Arranged.Files)}
	var farms []string
	for i := range in.Probes {
		if f := in.Probes[i].Farm; f != "" && !slices.Contains(farms, f) {
			farms = append(farms, f)
		}
	}
	slices.Sort(farms)
	h.Farm = strings.Join(farms, ", ")
	p := j.Period
	h.Window = fmt.Sprintf("%s to %s, %d", w.say.at(p.Window.Start), w.say.at(p.Window.End), w.say.year)
	h.Lookback = w.say.at(p.Lookback)
	counts := j.CountVerdicts()
	for _, v := range []schemas.Verdict{schemas.Fit, schemas.Doubtful, schemas.Unfit, schemas.Silent, schemas.Settling, schemas.Unknown} {
		h.Tallies = append(h.Tallies, tally{markOf(v), counts[v]})
	}
	var read, used, repeated, rejected int64
	for i := range in.Arranged.Files {
		f := &in.Arranged.Files[i]
		read, used, repeated, rejected = read+f.Read, used+f.Used, repeated+f.Repeated, rejected+f.Rejected
	}
	h.Read, h.Used, h.Repeated, h.Rejected = thousands(read), thousands(used), thousands(repeated), thousands(rejected)
	cells, found, clear := 0, 0, 0
	for _, c := range j.Matrix {
		cells, found, clear = cells+c.Subjects, found+c.Found, clear+c.Clear
	}
	h.Cells, h.Found, h.Clear, h.NotEvaluated = thousands(int64(cells)), thousands(int64(found)), thousands(int64(clear)), thousands(int64(cells-found-clear))
	if h.HasPrevious {
		h.News = w.news()
		if n := len(h.News); n > newsLines {
			h.News, h.MoreNews = h.News[:newsLines], n-newsLines
		}
	}
	return h
}

// item is a line of news; the least weight comes first.
type item struct {
	weight int
	text   string
}

// news is what differs from the run before, the most important first: what can no
// longer be used, then readings taken back, then what may be used again.
func (w *work) news() []string {
	items := append(w.turns(), w.withdrawals()...)
	now := map[string]bool{}
	for i := range w.in.Visits {
		now[w.in.Visits[i].Name] = true
	}
	gone := 0
	for name := range w.in.Previous.Visits {
		if !now[name] {
			gone++
		}
	}
	if gone > 0 {
		items = append(items, item{80, fmt.Sprintf("%s of the run before %s no longer open.", count(gone, "visit"), are(gone))})
	}
	slices.SortStableFunc(items, func(a, b item) int { return cmp.Compare(a.weight, b.weight) })
	out := make([]string, len(items))
	for i := range items {
		out[i] = items[i].text
	}
	return out
}

func are(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}

// turns are the probes whose verdict changed; those of one logger's fault, and those
// that became fit, stand together.
func (w *work) turns() (out []item) {
	type key struct {
		was, is schemas.Verdict
		why     string
	}
	type bunch struct {
		key
		probes []int
	}
	var bunches []*bunch
	of := map[key]*bunch{}
	for i := range w.in.Probes {
		st := &w.in.Judged.States[i]
		if st.Previous == "" || st.Previous == st.Verdict {
			continue
		}
		k := key{st.Previous, st.Verdict, ""}
		if st.Verdict != schemas.Fit {
			k.why = w.cause(i)
			if st.Main < 0 || w.in.Judged.Findings[st.Main].Subject != schemas.SubjectLogger {
				k.why = w.in.Probes[i].Name + "\x00" + k.why
			}
		}
		if of[k] == nil {
			of[k] = &bunch{key: k}
			bunches = append(bunches, of[k])
		}
		of[k].probes = append(of[k].probes, i)
	}
	weights := map[schemas.Verdict]int{schemas.Unfit: 10, schemas.Silent: 20, schemas.Doubtful: 40, schemas.Unknown: 50, schemas.Settling: 60, schemas.Fit: 70}
	for _, b := range bunches {
		_, why, cut := strings.Cut(b.why, "\x00")
		if !cut {
			why = b.why
		}
		was := "was"
		if len(b.probes) > 1 {
			was = "were"
		}
		text := fmt.Sprintf("%s %s now %s, %s %s", w.names(b.probes, 4), are(len(b.probes)), b.is, was, b.was)
		if why != "" {
			text += ": " + why
		}
		out = append(out, item{weights[b.is], text + "."})
	}
	return out
}

// names lists probes, the first few by name.
func (w *work) names(probes []int, most int) string {
	var list []string
	for i, p := range probes {
		if i == most && len(probes) > most+1 {
			list = append(list, fmt.Sprintf("%d more", len(probes)-most))
			break
		}
		list = append(list, w.in.Probes[p].Name)
	}
	if n := len(list); n > 1 {
		return strings.Join(list[:n-1], ", ") + " and " + list[n-1]
	}
	return strings.Join(list, "")
}

// withdrawals sums up, by zone, what the run before gave and this one takes back.
func (w *work) withdrawals() (out []item) {
	type sum struct {
		hours  float64
		probes map[string]bool
	}
	sums := map[[2]string]*sum{}
	for _, c := range w.in.Changed {
		k := [2]string{"withdrawn", c.Zone}
		if !c.Withdrawn {
			k[0] = "given back"
		}
		if sums[k] == nil {
			sums[k] = &sum{probes: map[string]bool{}}
		}
		sums[k].hours += c.Hours
		sums[k].probes[c.Probe] = true
	}
	keys := make([][2]string, 0, len(sums))
	for k := range sums {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, func(a, b [2]string) int {
		return cmp.Or(-cmp.Compare(a[0], b[0]), -cmp.Compare(sums[a].hours, sums[b].hours), cmp.Compare(a[1], b[1]))
	})
	for _, k := range keys {
		weight := 30
		if k[0] != "withdrawn" {
			weight = 75
		}
		out = append(out, item{weight, fmt.Sprintf("%s: %s of %s %s.", zoneName(k[1]),
			length(int64(sums[k].hours*float64(detect.Hour))), count(len(sums[k].probes), "probe"), k[0])})
	}
	return out
}

func zoneName(zone string) string {
	if zone == "" {
		return "No zone"
	}
	return "Zone " + zone
}
