package crew

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"errors"
	"io"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"probeward/detectors/detect"
	"probeward/pipeline/rank"
	"probeward/pipeline/shift"
	"probeward/schemas"
)

// element is one element of a parsed page.
type element struct {
	name     string
	attr     map[string]string
	children []*element
	words    string // its own text and that of all within, in order
}

func (e *element) all(match func(*element) bool) (out []*element) {
	if match(e) {
		out = append(out, e)
	}
	for _, c := range e.children {
		out = append(out, c.all(match)...)
	}
	return out
}

func ofName(name string) func(*element) bool { return func(e *element) bool { return e.name == name } }

var rawText = regexp.MustCompile(`(?s)(<(?:script|style)[^>]*>).*?(</(?:script|style)>)`)

// parse reads a page as elements; tags that are not balanced fail the test. Scripts
// and styles are left out, since XML would read them as markup.
func parse(t *testing.T, page []byte) *element {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(rawText.ReplaceAll(page, []byte("$1$2"))))
	d.Strict, d.AutoClose, d.Entity = false, []string{"meta", "br", "link", "input"}, xml.HTMLEntity
	root := &element{}
	stack := []*element{root}
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("the page is not well formed: %v", err)
		}
		top := stack[len(stack)-1]
		switch tk := token.(type) {
		case xml.StartElement:
			e := &element{name: tk.Name.Local, attr: map[string]string{}}
			for _, a := range tk.Attr {
				e.attr[a.Name.Local] = a.Value
			}
			top.children = append(top.children, e)
			stack = append(stack, e)
		case xml.EndElement:
			if top.name != tk.Name.Local {
				t.Fatalf("<%s> is closed by </%s>", top.name, tk.Name.Local)
			}
			stack = stack[:len(stack)-1]
		case xml.CharData:
			for _, e := range stack {
				e.words += string(tk)
			}
		}
	}
	return root
}

func flatWords(e *element) string { return strings.Join(strings.Fields(e.words), " ") }

func TestEveryVisitIsOnThePage(t *testing.T) {
	in := smallRound()
	root := parse(t, file(t, in, PageName))
	cards := root.all(func(e *element) bool { return e.name == "article" })
	if len(cards) != len(in.Visits) {
		t.Fatalf("%d cards, want %d", len(cards), len(in.Visits))
	}
	for i, v := range in.Visits {
		if cards[i].attr["data-visit"] != v.Name {
			t.Errorf("card %d is of %s, want rank order: %s", i+1, cards[i].attr["data-visit"], v.Name)
		}
		said := flatWords(cards[i])
		want := append([]string{v.Block, v.Row, v.Post, v.Tag, title(v.Faults[0]), sure(v.Confidence), span(v.Minutes)}, v.Probes...)
		want = append(want, v.Bring...)
		for _, c := range v.Check {
			want = append(want, sentence(c))
		}
		for _, f := range v.Faults {
			want = append(want, title(f))
		}
		for _, w := range want {
			if !strings.Contains(said, w) {
				t.Errorf("the card of %s lacks %q", v.Name, w)
			}
		}
	}
	first := flatWords(cards[0])
	for _, w := range []string{"97 out of 100", "Fri 5 Jun", "3 days", "on 2 lists in a row", "41.37, -119.11", "30 cm", "s2", "read 199999 ohm",
		"P07-60 is used on somebody's word, until Mon 15 Jun: read by hand & fine", "Last visit: nothing wrong was found."} {
		if !strings.Contains(first, w) {
			t.Errorf("the first card lacks %q", w)
		}
	}
	whole := flatWords(root)
	for _, w := range []string{"Home, week 23 of 2026", "Monday 8 June 2026, 00:00", "1 h 40 min", "Two crews share the truck."} {
		if !strings.Contains(whole, w) {
			t.Errorf("the page lacks %q", w)
		}
	}
	for _, caution := range []string{"Machines.", "Digging.", "Pump and valve power.", "Sprays.", "Heat.", "Lightning.", "Local codes"} {
		if n := strings.Count(whole, caution); n != 1 {
			t.Errorf("caution %q stands %d times, want once", caution, n)
		}
	}
	links := root.all(func(e *element) bool { return e.name == "a" && strings.HasPrefix(e.attr["href"], "geo:") })
	if len(links) != 2 || links[0].attr["href"] != "geo:41.37,-119.11" {
		t.Errorf("%d geo links, want those of the two stops with coordinates", len(links))
	}
}

func TestThePageIsNavigable(t *testing.T) {
	in := smallRound()
	in.Plan = &Plan{Length: 8 * time.Hour, Start: shift.Point{Lat: 41.37, Lon: -119.12}, Crews: shift.Plan(shift.Stops(in.Visits), 2, 8*time.Hour, shift.Point{Lat: 41.37, Lon: -119.12}, shift.Options{})}
	root := parse(t, file(t, in, PageName))
	ids := map[string]bool{}
	for _, e := range root.all(func(e *element) bool { return e.attr["id"] != "" }) {
		if ids[e.attr["id"]] {
			t.Errorf("id %q stands twice", e.attr["id"])
		}
		ids[e.attr["id"]] = true
	}
	for _, e := range root.all(func(e *element) bool { return true }) {
		refs := strings.Fields(e.attr["aria-labelledby"])
		if h := e.attr["href"]; strings.HasPrefix(h, "#") {
			refs = append(refs, h[1:])
		}
		if e.name == "label" {
			refs = append(refs, e.attr["for"])
		}
		for _, r := range refs {
			if !ids[r] {
				t.Errorf("<%s> points to %q, which is nowhere", e.name, r)
			}
		}
	}
	level := 0
	for _, e := range root.all(func(e *element) bool {
		return len(e.name) == 2 && e.name[0] == 'h' && e.name[1] >= '1' && e.name[1] <= '6'
	}) {
		n := int(e.name[1] - '0')
		if n > level+1 {
			t.Errorf("<%s>%s comes after a heading of level %d", e.name, e.words, level)
		}
		level = n
	}
	for _, want := range []string{"main", "header", "footer", "nav", "h1"} {
		if len(root.all(ofName(want))) == 0 {
			t.Errorf("no <%s>", want)
		}
	}
	if html := root.all(ofName("html")); len(html) != 1 || html[0].attr["lang"] != "en" {
		t.Error("the page does not say its language")
	}
	if !strings.Contains(flatWords(root), "Crew 1, 0:0") || !strings.Contains(flatWords(root), "Not in this shift: stop 3") {
		t.Error("the plan is not on the page")
	}
}

// The page needs no network: nothing in it can load anything.
func TestThePageIsOneFile(t *testing.T) {
	page := string(file(t, smallRound(), PageName))
	for _, loads := range []string{"http:", "https:", "src=", "@import", "url(", "<link", "fetch(", "XMLHttpRequest", "import("} {
		if strings.Contains(page, loads) {
			t.Errorf("the page holds %q", loads)
		}
	}
	if !strings.Contains(page, "default-src 'none'") {
		t.Error("the page does not forbid loading")
	}
}

func TestSpitefulNamesAreEscaped(t *testing.T) {
	in := smallRound()
	in.Title = `</title><script>alert("'")</script>`
	in.Remarks = append(in.Remarks, Remark{Text: "a note with \"quotes\",\nlines & </section>"})
	in.Visits[0].Post = "</script><b>P07"
	page := file(t, in, PageName)
	if n := bytes.Count(page, []byte("<script")); n != 3 {
		t.Errorf("%d scripts, want 3", n)
	}
	root := parse(t, page)
	if n := len(root.all(func(e *element) bool { return e.name == "th" && e.words == spiteful })); n != 1 {
		t.Errorf("the probe's name is a cell %d times, want once", n)
	}
	if !strings.Contains(flatWords(root), `A note with "quotes", lines & </section>`) {
		t.Error("the note is not on the page as it was written")
	}
	data := regexp.MustCompile(`(?s)<script type="application/json" id="round">(.*?)</script>`).FindSubmatch(page)
	if data == nil {
		t.Fatal("the page holds no data for its forms")
	}
	var r round
	if err := json.Unmarshal(data[1], &r); err != nil {
		t.Fatal(err)
	}
	if len(r.Stops) != 3 || r.Stops[0].Lines[0].Probe != spiteful || r.Stops[0].Post != "</script><b>P07" {
		t.Errorf("the data changed on its way: %+v", r.Stops[0])
	}
	if !slices.Equal(r.Header, []string{"visit", "visited_on", "post", "logger", "probe", "found", "outcome", "parts", "minutes", "note"}) {
		t.Errorf("header %v", r.Header)
	}
}

func TestWhatTheCrewIsAsked(t *testing.T) {
	in := smallRound()
	var asked []roundStop
	for i := range in.Visits {
		s, err := in.stop(i)
		if err != nil {
			t.Fatal(err)
		}
		asked = append(asked, in.roundStop(i, s))
	}
	for i, want := range [][2]int{{2, 0}, {1, 1}, {1, 3}} { // probes; the logger and its probe; the zone and its probes
		if got := [2]int{len(asked[i].Lines), len(asked[i].More)}; got != want {
			t.Errorf("stop %d: %v lines, want %v", i+1, got, want)
		}
	}
	if l := asked[0].Lines[1]; l.Logger != "L7" || l.Probe != "P07-60" {
		t.Errorf("line %+v", l)
	}
	if l := asked[1].Lines[0]; l.Logger != "L8" || l.Probe != "" {
		t.Errorf("line %+v", l)
	}
	offered := map[string]bool{}
	for _, g := range foundGroups() {
		for _, o := range g.Options {
			if offered[o.Value] {
				t.Errorf("%s is offered twice", o.Value)
			}
			offered[o.Value] = true
		}
	}
	for _, f := range schemas.Faults() {
		if !offered[f.Name] {
			t.Errorf("%s is not offered", f.Name)
		}
		if titles[f.Name] == "" {
			t.Errorf("%s has no plain words", f.Name)
		}
	}
}

func TestNothingToVisit(t *testing.T) {
	in := smallRound()
	in.Visits = nil
	files, err := Files(in)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if f.Rows != 0 || len(f.Bytes) == 0 {
			t.Errorf("%s: %d rows, %d bytes", f.Name, f.Rows, len(f.Bytes))
		}
	}
	said := flatWords(parse(t, files[0].Bytes))
	if !strings.Contains(said, "Nothing to visit") || !strings.Contains(said, "Home, week 23 of 2026") {
		t.Errorf("the empty page says %q", said)
	}
	if strings.Contains(string(files[0].Bytes), "<script") {
		t.Error("an empty page has forms")
	}
	if _, err := Files(Input{}); err != nil {
		t.Errorf("of nothing at all: %v", err)
	}
	bare := Input{Visits: []rank.Visit{{Name: "bare"}}, Remarks: []Remark{{Visit: "gone", Text: "mended"}}}
	said = flatWords(parse(t, file(t, bare, PageName)))
	if !strings.Contains(said, "no coordinates for this place") || !strings.Contains(said, "Gone, no longer on the list: mended.") {
		t.Errorf("a visit of which nothing is known: %q", said)
	}
}

func TestSameInputSameBytes(t *testing.T) {
	one, err := Files(smallRound())
	if err != nil {
		t.Fatal(err)
	}
	for range 5 {
		other, err := Files(smallRound())
		if err != nil {
			t.Fatal(err)
		}
		for i := range one {
			if one[i].Name != other[i].Name || !bytes.Equal(one[i].Bytes, other[i].Bytes) {
				t.Errorf("%s differs between two runs", one[i].Name)
			}
		}
	}
}

func TestDepthsInTheFarmsUnit(t *testing.T) {
	in := smallRound()
	in.Units.Depth = "in"
	if !strings.Contains(flatWords(parse(t, file(t, in, PageName))), "11.8 in") {
		t.Error("30 cm is not 11.8 in on the page")
	}
}

func TestWords(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{span(45), "45 min"}, {span(60), "1 h"}, {span(335), "5 h 35 min"}, {clock(65.4), "1:05"},
		{sure(0.97), "almost certain"}, {sure(0.75), "likely"}, {sure(0.3), "a hint, no more"},
		{lasted(0, 3*detect.Hour), "3 hours"}, {lasted(0, 14*detect.Day), "14 days"}, {lasted(0, 70*detect.Day), "10 weeks"},
		{depth("30", schemas.Units{}), "30 cm"}, {depth("-", schemas.Units{}), "–"}, {ranks([]int{3, 7, 9}), "3, 7 and 9"},
		{sentence("walk the cable"), "Walk the cable."}, {degrees(-0.0000001), "0"}, {degrees(10), "10"}, {degrees(-119.116907), "-119.116907"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}
