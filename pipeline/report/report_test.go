package report

import (
	"bytes"
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"probeward/detectors/detect"
	"probeward/pipeline/judge"
	"probeward/schemas"
)

// parsed is a page as a browser would see it.
type parsed struct {
	text     string
	ids      map[string]int
	hrefs    []string
	elements map[string]int
	headings []string
	nodes    []*html.Node
}

func parse(t *testing.T, page []byte) *parsed {
	t.Helper()
	root, err := html.Parse(bytes.NewReader(page))
	if err != nil {
		t.Fatal(err)
	}
	p := &parsed{ids: map[string]int{}, elements: map[string]int{}}
	var text strings.Builder
	var walk func(n *html.Node)
	walk = func(n *html.Node) {
		if n.Type == html.TextNode && n.Parent.Data != "script" && n.Parent.Data != "style" {
			text.WriteString(n.Data)
		}
		if n.Type == html.ElementNode {
			p.nodes = append(p.nodes, n)
			p.elements[n.Data]++
			if len(n.Data) == 2 && n.Data[0] == 'h' && n.Data[1] >= '1' && n.Data[1] <= '6' {
				p.headings = append(p.headings, n.Data)
			}
			for _, a := range n.Attr {
				switch a.Key {
				case "id":
					p.ids[a.Val]++
				case "href":
					p.hrefs = append(p.hrefs, a.Val)
				}
			}
		}
		for c := n.FirstChild; c != nil; c = c.NextSibling {
			walk(c)
		}
	}
	walk(root)
	p.text = text.String()
	return p
}

func attr(n *html.Node, key string) string {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val
		}
	}
	return ""
}

func write(t testing.TB, in Input) []byte {
	t.Helper()
	b, err := Page(in)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestEveryProbeAndFindingIsThere(t *testing.T) {
	in := farm(30, 9)
	in.Judged.Findings[4].MaskedBy, in.Judged.Findings[4].MaskedWhy = "logger_silent of L1", "the logger sent nothing"
	in.Judged.Findings[5].Open, in.Judged.Findings[5].Start, in.Judged.Findings[5].End = false, in.Judged.Period.Lookback+detect.Day, in.Judged.Period.Lookback+2*detect.Day
	p := parse(t, write(t, in))
	for i := range in.Probes {
		name := in.Probes[i].Name
		if p.ids["probe-"+name] != 1 {
			t.Errorf("%s has %d places to go to, want 1", name, p.ids["probe-"+name])
		}
		if got := strings.Count(p.text, name); got < 2 { // matrix and health
			t.Errorf("%s is named %d times", name, got)
		}
	}
	for i := range in.Judged.Findings {
		if p.ids[fmt.Sprintf("finding-%d", i+1)] != 1 {
			t.Errorf("finding %d is not there once", i+1)
		}
	}
	for id, n := range p.ids {
		if n > 1 {
			t.Errorf("%d elements share the id %s", n, id)
		}
	}
	for _, h := range p.hrefs {
		if to, ok := strings.CutPrefix(h, "#"); ok && p.ids[to] == 0 {
			t.Errorf("a link leads to %s, which is nowhere", h)
		} else if !ok && !strings.HasPrefix(h, "crew.html") {
			t.Errorf("a link leads off the page: %s", h)
		}
	}
	for _, want := range []string{"explained by logger silent of L1", "Ended before the window: 1", "Explained by another cause, or silenced: 1", "Standing, or ended within the window: 7",
		"sure, 80 %", "3.2; threshold 2", "the scatter since 2 Jun 00:00 is"} {
		if !strings.Contains(p.text, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
}

func TestTheLedgerAndTheCellsAreOnThePage(t *testing.T) {
	in := farm(10, 2)
	text := parse(t, write(t, in)).text
	f := in.Arranged.Files[0]
	for _, n := range []int64{f.Read, f.Used, f.Repeated, f.Rejected} {
		if !strings.Contains(text, thousands(n)+" ") {
			t.Errorf("%d is not on the page", n)
		}
	}
	if !strings.Contains(text, "needs 48 readings, had 4 (for one of them; the numbers differ)") || !strings.Contains(text, "2 cells of 2 probes") {
		t.Errorf("the reasons of what was not evaluated are not counted together")
	}
}

// A name is text, wherever it stands: in cells, in attributes, in the data of the
// closer look.
func TestHostileNamesStayText(t *testing.T) {
	in := farm(4, 4)
	const evil = `</script><img src=x onerror=alert(1)>"'><svg onload=1>&`
	for i := range in.Probes {
		in.Probes[i].Name = fmt.Sprint(evil, i)
		in.Probes[i].Zone, in.Probes[i].Post, in.Probes[i].Block, in.Probes[i].Farm = evil, evil, evil, evil
		in.Judged.Findings[i].Name, in.Judged.Findings[i].Evidence, in.Judged.Findings[i].Unit, in.Judged.Findings[i].MaskedWhy = in.Probes[i].Name, evil, evil, evil
		in.Judged.States[i].NotEvaluatedWhy = evil
	}
	in.Irrigation[evil] = in.Irrigation["Z00"]
	for i := range in.Judged.Coverage {
		in.Judged.Coverage[i].Zone, in.Judged.Coverage[i].Block = evil, evil
	}
	in.Notes = []string{evil}
	in.Reports[0].Outcomes[0] = detect.Unable(detect.Absent, "%s", evil)
	in.Visits[0].Name, in.Visits[0].Cause, in.Visits[0].Why, in.Visits[0].Post = evil, evil, evil, evil
	in.Judged.Overrides = []judge.Applied{{Override: judge.Override{Probe: 0, Action: "ignore", Why: evil}}}
	in.Changed = []Changed{{Zone: evil, Probe: evil, Day: in.Judged.Period.Window.Start, Withdrawn: true, Hours: 3, Reasons: evil}}
	in.Previous = last(in)
	plain := parse(t, write(t, farm(4, 4)))
	p := parse(t, write(t, in))
	if p.elements["img"] != 0 || p.elements["script"] != plain.elements["script"] || p.elements["svg"] != plain.elements["svg"] {
		t.Errorf("a name became an element: %d img, %d script, %d svg", p.elements["img"], p.elements["script"], p.elements["svg"])
	}
	for _, n := range p.nodes {
		for _, a := range n.Attr {
			if strings.HasPrefix(a.Key, "on") {
				t.Errorf("a name became the attribute %s of %s", a.Key, n.Data)
			}
		}
	}
	if !strings.Contains(p.text, evil) {
		t.Error("the name is not on the page as it is")
	}
}

func TestSameInputSameBytes(t *testing.T) {
	in := farm(40, 12)
	in.Previous = last(in)
	for i := range in.Judged.States {
		in.Judged.States[i].Previous = schemas.Fit
	}
	first := write(t, in)
	for range 3 {
		if !bytes.Equal(first, write(t, in)) {
			t.Fatal("the same input gave other bytes")
		}
	}
}

func TestNewsLeadWithWhatIsLost(t *testing.T) {
	in := farm(24, 6)
	in.Previous = last(in)
	for i := range in.Judged.States {
		in.Judged.States[i].Previous = schemas.Fit
	}
	in.Judged.States[3].Verdict = schemas.Unfit
	in.Judged.States[20].Previous = schemas.Silent
	in.Changed = []Changed{{Zone: "Z00", Probe: "P0001", Day: in.Judged.Period.Lookback, Withdrawn: true, Hours: 24}, {Zone: "Z00", Probe: "P0002", Day: in.Judged.Period.Lookback, Hours: 6}}
	w := &work{in: &in, say: newWords(&in)}
	w.places()
	h := w.head()
	if len(h.News) == 0 || !strings.Contains(h.News[0], "P0003 is now unfit, was fit") || !strings.Contains(h.News[1], "withdrawn") {
		t.Errorf("news: %q", h.News)
	}
	all := strings.Join(h.News, "\n")
	for _, want := range []string{"P0020 is now fit, was silent", "given back", "1 visit of the run before is no longer open"} {
		if !strings.Contains(all, want) {
			t.Errorf("news lack %q: %s", want, all)
		}
	}
}

func TestBlindZonesAreSaidFirst(t *testing.T) {
	in := farm(12, 2)
	row := &in.Judged.Coverage[1]
	row.Blind, row.BlindSince, row.LastTrusted = true, detect.Some(in.Judged.Period.Window.Start), detect.Some(in.Judged.Period.Window.Start-detect.Hour)
	text := parse(t, write(t, in)).text
	for _, want := range []string{"Blind now: Zone Z00 at 60 cm", "Blind: none of 6 probes can be trusted, since 1 Jun 00:00. Last trusted reading: 31 May 23:00."} {
		if !strings.Contains(text, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
}

// No page of this program says how much to water.
func TestNoOrderToWater(t *testing.T) {
	text := strings.ToLower(parse(t, write(t, farm(12, 4))).text)
	for _, word := range []string{"irrigate", "apply ", "should water", "needs water", "schedule"} {
		if strings.Contains(text, word) {
			t.Errorf("the page says %q", word)
		}
	}
}

func TestStructureForReadersWhoDoNotSee(t *testing.T) {
	in := farm(20, 6)
	in.Judged.Overrides = []judge.Applied{{Override: judge.Override{Probe: 0, Action: "ignore", Why: "a test"}}}
	p := parse(t, write(t, in))
	level := 0
	for _, h := range p.headings {
		n := int(h[1] - '0')
		if n > level+1 {
			t.Errorf("a heading %s after one of level %d", h, level)
		}
		level = n
	}
	for _, landmark := range []string{"header", "main", "nav", "footer", "h1"} {
		if p.elements[landmark] != 1 {
			t.Errorf("%d %s, want 1", p.elements[landmark], landmark)
		}
	}
	captions := 0
	for _, n := range p.nodes {
		switch n.Data {
		case "html":
			if attr(n, "lang") != "en" {
				t.Error("the page does not say its language")
			}
		case "caption":
			captions++
		case "th":
			if s := attr(n, "scope"); s != "row" && s != "col" {
				t.Errorf("a head of a table without a scope")
			}
		case "svg":
			if attr(n, "class") == "ch" && (attr(n, "role") != "img" || p.ids[attr(n, "aria-labelledby")] != 1) {
				t.Errorf("a chart without its text")
			}
		case "figcaption":
			if told := n.FirstChild.Data; !strings.Contains(told, "As read from") || !strings.Contains(told, "Left out") {
				t.Errorf("a chart says only %q", told)
			}
		case "div":
			if strings.Contains(" "+attr(n, "class")+" ", " box ") && (attr(n, "tabindex") != "0" || attr(n, "aria-label") == "") {
				t.Error("a box that scrolls cannot be reached, or has no name")
			}
		}
	}
	if captions != p.elements["table"] {
		t.Errorf("%d captions of %d tables", captions, p.elements["table"])
	}
}

// The page must open where there is no network: nothing in it may ask for one.
func TestPageAsksNoNetwork(t *testing.T) {
	page := write(t, farm(6, 3))
	p := parse(t, page)
	for _, n := range p.nodes {
		if attr(n, "src") != "" || n.Data == "link" || n.Data == "iframe" || n.Data == "object" {
			t.Errorf("%s loads something", n.Data)
		}
	}
	for _, bad := range []string{"@import", "url(http", "fetch(", "XMLHttpRequest", "sendBeacon", "WebSocket"} {
		if bytes.Contains(page, []byte(bad)) {
			t.Errorf("the page holds %s", bad)
		}
	}
	if !bytes.Contains(page, []byte("default-src 'none'")) || !bytes.Contains(page, []byte("MIT License")) {
		t.Error("the policy, or the licence of what is embedded, is missing")
	}
}

// The budget: 500 charts on one page stay below 10 MB.
func TestFiveHundredChartsStayWithinTheBudget(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: the page of 500 charts (run without -short)")
	}
	in := farm(520, 510)
	page := write(t, in)
	charts := bytes.Count(page, []byte(`<svg class="ch"`))
	t.Logf("%d charts, %.1f MB", charts, float64(len(page))/1e6)
	if charts != mostCharts {
		t.Errorf("%d charts, want %d", charts, mostCharts)
	}
	if len(page) > 10e6 {
		t.Errorf("%d bytes, over 10 MB", len(page))
	}
	if to := os.Getenv("REPORT_PAGE"); to != "" {
		if err := os.WriteFile(to, page, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

func TestJudgementOfOtherProbesIsRefused(t *testing.T) {
	in := farm(4, 1)
	in.Probes = in.Probes[:3]
	if _, err := Page(in); err == nil {
		t.Error("a page was written of probes that were not judged")
	}
}

func TestDaysOfTheTableAddUp(t *testing.T) {
	in := farm(2, 1)
	w := &work{in: &in, say: newWords(&in)}
	var s detect.Series
	in.Arranged.Partitions[0].View(0).Series(&in.Probes[0], &s)
	rows := w.days(&s, in.Judged.ExclusionsOf(0))
	readings, usable := 0, 0
	for _, r := range rows {
		readings, usable = readings+r.Readings, usable+r.Usable
	}
	out := outside{spans: in.Judged.ExclusionsOf(0)}
	left := 0
	for _, at := range s.Time {
		if out.holds(at) {
			left++
		}
	}
	if readings != len(s.Time) || usable != len(s.Time)-left || left == 0 {
		t.Errorf("%d readings, %d usable, want %d and %d", readings, usable, len(s.Time), len(s.Time)-left)
	}
	if len(rows) != 7+8 || !regexp.MustCompile(`^Sun 7 Jun$`).MatchString(rows[0].Day) || rows[14].Day != "6 Apr to 12 Apr" {
		t.Errorf("%d rows, %q to %q", len(rows), rows[0].Day, rows[len(rows)-1].Day)
	}
}

func TestAnchorsNeverMeet(t *testing.T) {
	seen := map[string]string{}
	for _, name := range []string{"a b", "a_b", "a_20b", "a/b", "a", "ä", "A B", ""} {
		id := anchor("probe", name)
		if other, ok := seen[id]; ok {
			t.Errorf("%q and %q share %s", name, other, id)
		}
		if strings.ContainsAny(id, " \t\n\"'<>&") {
			t.Errorf("%q gives the id %q", name, id)
		}
		seen[id] = name
	}
}

func BenchmarkPageOf500Charts(b *testing.B) {
	in := farm(520, 500)
	b.ResetTimer()
	for range b.N {
		b.SetBytes(int64(len(write(b, in))))
	}
}
