package browser

import (
	"encoding/csv"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// crewPages are the crew's page of every run, by what is special about it.
func crewPages(t *testing.T) map[string]string {
	return map[string]string{"demo": page(t, runs.demo, "crew.html"), "none": page(t, runs.none, "crew.html"), "plan": page(t, runs.plan, "crew.html"), "spiteful": page(t, runs.spiteful, "crew.html")}
}

// Sun on the screen: every word has 7 to 1 (WCAG 2.2, 1.4.6; from memory), in both schemes and
// on paper.
func TestCrewWordsAreStrong(t *testing.T) {
	for title, address := range crewPages(t) {
		views := []view{desk, phoneDark, paper}
		if title == "demo" {
			views = []view{desk, deskDark, phone, phoneDark, paper}
		}
		for _, v := range views {
			t.Run(title+"/"+v.name, func(t *testing.T) {
				t.Parallel()
				p := open(t, address, v)
				look[bool](p, `look.all("details").forEach((d) => d.open = true), true`)
				p.none(`look.faint(7)`, "words")
			})
		}
	}
}

// Gloves: what is tapped is 48 px or more, both ways, and nothing is pushed sideways.
func TestCrewFitsAPhoneAndAGlove(t *testing.T) {
	for title, address := range crewPages(t) {
		for _, v := range []view{phone, small} {
			t.Run(title+"/"+v.name, func(t *testing.T) {
				t.Parallel()
				p := open(t, address, v)
				look[bool](p, `look.all("details").forEach((d) => d.open = true), true`)
				if title != "none" {
					p.none(`look.narrow(48)`, "tap target")
				}
				p.none(`look.wide(`+map[bool]string{true: "390", false: "320"}[v.name == phone.name]+`)`, "sideways")
			})
		}
	}
}

func TestSpitefulNamesStayNames(t *testing.T) {
	for _, name := range []string{"crew.html", "report.html"} {
		p := open(t, page(t, runs.spiteful, name), desk)
		if title := look[string](p, `document.title`); title == "broken" {
			t.Errorf("%s: a name was read as markup", name)
		}
		if n := look[int](p, `look.all("img").length`); n != 0 {
			t.Errorf("%s: %d pictures came out of names", name, n)
		}
		if !look[bool](p, `document.body.textContent.includes("<img src=x onerror=")`) {
			t.Errorf("%s: the names are not there as they were written", name)
		}
	}
}

// choose sets a list and tells the page, as a person's choice does.
const choose = `const choose = (id, value) => { const e = document.getElementById(id); e.value = value; if (e.value !== value) throw new Error(id + " does not offer " + value); e.dispatchEvent(new Event("change", {bubbles: true})); };`

const note = "cut lead, \"chewed\"\nsecond line; =1+1, ünïcode"

// fill writes down two stops: one in full, of another only what was found.
func fill(p *tab) {
	p.t.Helper()
	look[bool](p, `(() => { `+choose+` choose("r1-0-f", "cable_damage"); choose("r1-0-o", "repaired"); choose("r2-0-f", "nothing_wrong"); return true; })()`)
	p.do(chromedp.SendKeys(chromedp.CSS("#r1-min"), "35"), chromedp.SendKeys(chromedp.CSS("#r1-parts"), "2 gel caps, 1 m cable"),
		chromedp.SendKeys(chromedp.CSS("#r1-note"), note))
}

// columns are those of a table, as probeward prints them.
func columns(t *testing.T, table string) (names []string) {
	t.Helper()
	out, err := exec.Command(runs.binary, "schema", table).Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range regexp.MustCompile(`(?m)^[* ] (\w+) `).FindAllStringSubmatch(string(out), -1) {
		names = append(names, m[1])
	}
	return names
}

func TestWhatTheCrewWritesComesBack(t *testing.T) {
	p := open(t, page(t, runs.demo, "crew.html"), phone)
	fill(p)
	p.do(chromedp.Reload())
	kept := look[[]string](p, `["r1-0-f", "r1-0-o", "r1-min", "r1-parts", "r1-note", "r2-0-f", "r2-0-o"].map((id) => document.getElementById(id).value)`)
	if want := []string{"cable_damage", "repaired", "35", "2 gel caps, 1 m cable", note, "nothing_wrong", ""}; !slices.Equal(kept, want) {
		t.Errorf("after a reload the form holds %q, want %q", kept, want)
	}
	if missing := look[string](p, `document.getElementById("missing").textContent`); !strings.Contains(missing, "Stop 2") || !strings.Contains(missing, "what was done") {
		t.Errorf("what stop 2 lacks is not said: %q", missing)
	}
	if noted := look[int](p, `look.all("#glance .noted").filter(look.seen).length`); noted != 1 {
		t.Errorf("%d stops are marked as noted, want 1", noted)
	}
	text := look[string](p, `document.getElementById("text").value`)

	// The file: what the download gives is the text, and a scan reads it.
	p.click("#save")
	path := filepath.Join(p.downloads, "visits.csv")
	var file []byte
	for range 1200 {
		if b, err := os.ReadFile(path); err == nil && len(b) > 0 {
			file = b
			break
		}
		time.Sleep(25 * time.Millisecond)
	}
	if got := strings.ReplaceAll(string(file), "\r\n", "\n"); got != text {
		t.Errorf("the file holds %q, the text says %q", got, text)
	}
	rows, err := csv.NewReader(strings.NewReader(string(file))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if want := columns(t, "visits"); len(want) < 5 || len(rows) != 2 || !slices.Equal(rows[0], want) {
		t.Fatalf("rows %q, want one row below %q", rows, want)
	}
	cell := map[string]string{}
	for k, name := range rows[0] {
		cell[name] = rows[1][k]
	}
	if _, err := time.Parse(time.RFC3339, cell["visited_on"]); err != nil {
		t.Error(err)
	}
	for name, want := range map[string]string{"found": "cable_damage", "outcome": "repaired", "minutes": "35", "parts": "2 gel caps, 1 m cable", "note": note} {
		if cell[name] != want {
			t.Errorf("%s is %q, want %q", name, cell[name], want)
		}
	}
	if cell["visit"] == "" {
		t.Error("the row does not say of which visit it is")
	}
	feed := filepath.Join(t.TempDir(), "feed")
	if err := os.CopyFS(feed, os.DirFS(filepath.Join(runs.vineyard, "feed"))); err != nil {
		t.Fatal(err)
	}
	scan, err := os.ReadFile(filepath.Join(feed, "scan.yaml"))
	if err == nil {
		err = os.WriteFile(filepath.Join(feed, "scan.yaml"), append(scan, "\nvisits: visits.csv\n"...), 0o644)
	}
	if err == nil {
		err = os.WriteFile(filepath.Join(feed, "visits.csv"), file, 0o644)
	}
	if err != nil {
		t.Fatal(err)
	}
	next := filepath.Join(t.TempDir(), "next")
	if err := command(runs.binary, "scan", feed, "--previous", runs.demo, "--out", next); err != nil {
		t.Fatal(err)
	}
	rejects, err := os.ReadFile(filepath.Join(next, "rejects.csv"))
	if err != nil || strings.Contains(string(rejects), "visits.csv") {
		t.Errorf("the next scan does not take the file: %v\n%.800s", err, rejects)
	}

	// Forgetting asks first.
	p.click("#clear")
	p.wait(`document.getElementById("text").value === ""`, "forgotten")
	if !strings.Contains(p.dialog, "Forget") {
		t.Errorf("nobody asked before forgetting: %q", p.dialog)
	}
	p.do(chromedp.Reload())
	if v := look[string](p, `document.getElementById("r1-note").value`); v != "" {
		t.Errorf("forgotten, and back after a reload: %q", v)
	}
}

func TestCrewWithStorageDenied(t *testing.T) {
	v := phone
	v.first = `for (const name of ["localStorage", "sessionStorage", "indexedDB"]) Object.defineProperty(window, name, { get() { throw new DOMException("denied", "SecurityError"); } });`
	p := open(t, page(t, runs.demo, "crew.html"), v)
	if said := look[string](p, `document.getElementById("kept").textContent`); !strings.Contains(said, "keeps nothing") {
		t.Errorf("that nothing is kept is not said: %q", said)
	}
	fill(p)
	if text := look[string](p, `document.getElementById("text").value`); !strings.Contains(text, "cable_damage,repaired") {
		t.Errorf("the text to send is %q", text)
	}
}

func TestCrewWithoutScripts(t *testing.T) {
	v := phone
	v.noScripts = true
	p := open(t, page(t, runs.demo, "crew.html"), v)
	queue, err := os.Open(filepath.Join(runs.demo, "queue.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer queue.Close()
	rows, err := csv.NewReader(queue).ReadAll()
	if err != nil || len(rows) < 5 {
		t.Fatalf("%d visits, %v", len(rows)-1, err)
	}
	if look[bool](p, `document.documentElement.classList.contains("scripted")`) {
		t.Fatal("scripts ran; this test would prove nothing")
	}
	for _, part := range []string{".stop", ".stop .check", ".stop .bring", ".stop .facts", "#glance li", ".map svg"} {
		want := len(rows) - 1
		if part == ".map svg" {
			want = 1
		}
		if n := look[int](p, `look.all("`+part+`").filter(look.seen).length`); n != want {
			t.Errorf("%d of %s can be seen, want %d", n, part, want)
		}
	}
	for _, part := range []string{"form", "#send-body", ".order", "select", ".screen"} {
		if n := look[int](p, `look.all("`+part+`").filter(look.seen).length`); n != 0 {
			t.Errorf("%d of %s can be seen and do nothing", n, part)
		}
	}
	if !look[bool](p, `look.seen(document.querySelector("noscript p")) && document.querySelector("noscript").textContent.includes("printed page")`) {
		t.Error("what to do instead of the form is not said")
	}
}

// Another order moves the stops themselves, and says so.
func TestCrewInAnotherOrder(t *testing.T) {
	p := open(t, page(t, runs.demo, "crew.html"), phone)
	ranks := func() []int { return look[[]int](p, `look.all("#cards > .stop").map((e) => +e.dataset.rank)`) }
	way := look[[]int](p, `look.all("#cards > .stop").slice().sort((a, b) => (a.dataset.route || 1e9) - (b.dataset.route || 1e9)).map((e) => +e.dataset.rank)`)
	by := ranks()
	p.click(`[data-order="route"]`)
	if got := ranks(); !slices.Equal(got, way) || slices.Equal(got, by) {
		t.Errorf("the short way round is %v, want %v (by rank: %v)", got, way, by)
	}
	if said := look[string](p, `document.getElementById("order-said").textContent`); !strings.Contains(said, "short way") {
		t.Errorf("the new order is not said: %q", said)
	}
	p.click(`[data-order="rank"]`)
	if got := ranks(); !slices.Equal(got, by) {
		t.Errorf("back by rank: %v, want %v", got, by)
	}
}

// On paper every stop is there, with lines to write on and without what paper cannot do.
func TestCrewOnPaper(t *testing.T) {
	p := open(t, page(t, runs.demo, "crew.html"), paper)
	stops := look[int](p, `look.all(".stop").filter(look.seen).length`)
	if lines := look[int](p, `look.all(".stop .paper").filter(look.seen).length`); stops == 0 || lines != stops {
		t.Errorf("%d stops, %d with lines to write on", stops, lines)
	}
	for _, part := range []string{"button", "select", ".screen", "nav", ".walk"} {
		if n := look[int](p, `look.all("`+part+`").filter(look.seen).length`); n != 0 {
			t.Errorf("%d of %s are printed", n, part)
		}
	}
	if n := look[int](p, `look.all(".stop").filter((e) => e.getBoundingClientRect().height > 1045).length`); n != 0 {
		t.Errorf("%d stops are taller than a page of A4", n)
	}
	printed(t, p, stops)
}

// printed prints a page on A4 and counts the sheets.
func printed(t *testing.T, p *tab, most int) {
	t.Helper()
	pdf, err := chromedp.Run(p.ctx, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4), chromedp.PDFPreferCSSPageSize(), chromedp.PDFPrintBackground()))
	if err != nil {
		t.Fatal(err)
	}
	sheets := len(regexp.MustCompile(`/Type\s*/Page\b[^s]`).FindAll(pdf, -1))
	t.Logf("%d sheets of A4", sheets)
	if sheets == 0 || sheets > most {
		t.Errorf("%d sheets of A4, want 1 to %d", sheets, most)
	}
}
