package browser

import (
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

func reportPages(t *testing.T) map[string]string {
	return map[string]string{"demo": page(t, runs.demo, "report.html"), "none": page(t, runs.none, "report.html"), "spiteful": page(t, runs.spiteful, "report.html")}
}

// Every word has 4.5 to 1 (WCAG 2.2, 1.4.3; from memory), the single signs too.
func TestReportWordsCanBeRead(t *testing.T) {
	for title, address := range reportPages(t) {
		for _, v := range []view{desk, deskDark, paper} {
			t.Run(title+"/"+v.name, func(t *testing.T) {
				t.Parallel()
				p := open(t, address, v)
				look[bool](p, `look.all("details").forEach((d) => d.open = true), true`)
				p.none(`look.faint(4.5)`, "words")
			})
		}
	}
}

func TestReportFitsAPhone(t *testing.T) {
	for title, address := range reportPages(t) {
		for _, v := range []view{phone, small} {
			t.Run(title+"/"+v.name, func(t *testing.T) {
				t.Parallel()
				p := open(t, address, v)
				look[bool](p, `look.all("details").forEach((d) => d.open = true), true`)
				p.none(fmt.Sprintf("look.wide(%d)", v.width), "sideways")
			})
		}
	}
}

func TestReportTablesSort(t *testing.T) {
	p := open(t, page(t, runs.demo, "report.html"), desk)
	rows := func(column int) []string {
		return look[[]string](p, fmt.Sprintf(`look.all("#t-health tbody tr").map((r) => { const c = r.cells[%d]; return c.dataset.s ?? c.textContent.trim(); })`, column))
	}
	state := func(column int) string {
		return look[string](p, fmt.Sprintf(`document.querySelectorAll("#t-health thead th")[%d].getAttribute("aria-sort") || ""`, column))
	}
	ordered := func(list []string, up bool) bool {
		return look[bool](p, fmt.Sprintf(`((l) => { const n = l.filter((v) => v !== ""), t = n.slice().sort((a, b) => isNaN(a) || isNaN(b) ? a.localeCompare(b, "en", {numeric: true}) : a - b); if (!%t) t.reverse(); return l.slice(0, n.length).every((v) => v !== "") && t.every((v, i) => v === n[i]) && new Set(n).size > 1; })(%s)`, up, quoted(list)))
	}
	const verdict, depth, usable = 1, 4, 9
	click := func(column int) {
		p.click(fmt.Sprintf("#t-health thead th:nth-child(%d) button", column+1))
	}
	before := strings.Join(rows(0), " ")
	for _, column := range []int{verdict, depth, usable} {
		click(column)
		if state(column) != "ascending" || !ordered(rows(column), true) {
			t.Errorf("column %d: %q, %.20q", column, state(column), rows(column))
		}
		// The same by keyboard: the button has the focus.
		p.do(chromedp.KeyEvent("\r"))
		if state(column) != "descending" || !ordered(rows(column), false) {
			t.Errorf("column %d by keyboard: %q, %.20q", column, state(column), rows(column))
		}
	}
	if n := look[int](p, `look.all("#t-health [aria-sort]").length`); n != 1 {
		t.Errorf("%d columns say that the table is sorted by them", n)
	}
	click(0)
	if state(0) != "ascending" || len(strings.Fields(before)) != len(strings.Fields(strings.Join(rows(0), " "))) {
		t.Error("rows were lost on the way")
	}
}

func quoted(list []string) string {
	var b strings.Builder
	for k, v := range list {
		b.WriteString(map[bool]string{true: "[", false: ","}[k == 0])
		fmt.Fprintf(&b, "%q", v)
	}
	return b.String() + "]"
}

func TestReportFilters(t *testing.T) {
	p := open(t, page(t, runs.demo, "report.html"), desk)
	type count struct{ Shown, All, Said, SaidAll int }
	of := func(form, items string) count {
		return look[count](p, fmt.Sprintf(`(() => { const all = look.all(%q), [shown, whole] = document.querySelector('form[data-for="%s"] output').textContent.match(/\d+/g).map(Number);
			return { Shown: all.filter((e) => !e.hidden).length, All: all.length, Said: shown, SaidAll: whole }; })()`, items, form))
	}
	name := look[string](p, `document.querySelector("#cards article").id && document.querySelector("#t-health tbody th").textContent`)
	for _, c := range []struct{ form, items string }{{"t-health", "#t-health tbody tr"}, {"t-matrix", "#t-matrix tbody tr"}, {"cards", "#cards article"}} {
		box := fmt.Sprintf(`form[data-for="%s"] input[type=search]`, c.form)
		whole := of(c.form, c.items)
		if whole.Shown != whole.All || whole.Said != whole.All || whole.All < 5 {
			t.Errorf("%s: %+v before anything is asked for", c.form, whole)
		}
		p.do(chromedp.SendKeys(chromedp.CSS(box), "nothing has this name"))
		if none := of(c.form, c.items); none.Shown != 0 || none.Said != 0 {
			t.Errorf("%s: %+v for a name that nothing has", c.form, none)
		}
		look[bool](p, fmt.Sprintf(`(() => { const e = document.querySelector(%q); e.value = ""; e.dispatchEvent(new Event("input", {bubbles: true})); return true; })()`, box))
		word := name
		if c.form == "cards" {
			word = look[string](p, `document.querySelector("#cards article .of").textContent.trim().split(" ").pop()`)
		}
		p.do(chromedp.SendKeys(chromedp.CSS(box), word))
		if some := of(c.form, c.items); some.Shown == 0 || some.Shown == some.All || some.Shown != some.Said {
			t.Errorf("%s: %+v for %q", c.form, some, word)
		}
	}
	p.do(chromedp.Reload())
	p.click(`form[data-for="t-matrix"] input[type=checkbox]`)
	if some := of("t-matrix", "#t-matrix tbody tr"); some.Shown == 0 || some.Shown == some.All || look[bool](p, `look.all("#t-matrix tbody tr").some((r) => r.hidden === !!r.querySelector("td.f"))`) {
		t.Errorf("rows with something found: %+v", some)
	}
}

func TestReportLooksCloser(t *testing.T) {
	p := open(t, page(t, runs.demo, "report.html"), desk)
	const first = `document.querySelector("button.zoom")`
	state := func() string { return look[string](p, first+`.getAttribute("aria-expanded")`) }
	shut := func(how string) {
		t.Helper()
		if state() != "false" || look[int](p, `look.all(".near").length`) != 0 {
			t.Errorf("%s: still open", how)
		}
	}
	inked := `(() => { const c = document.querySelector(".near canvas"); if (!c) return false; const d = c.getContext("2d").getImageData(0, 0, c.width, c.height).data; const s = new Set(); for (let i = 0; i < d.length; i += 4) s.add(d[i] + "," + d[i + 1] + "," + d[i + 2]); return s.size > 5; })()`
	shut("before")
	// By keyboard.
	look[bool](p, first+`.focus(), true`)
	p.do(chromedp.KeyEvent("\r"))
	p.wait(first+`.getAttribute("aria-expanded") === "true"`, "open by keyboard")
	p.wait(inked, "drawn")
	if !look[bool](p, `document.activeElement === `+first) {
		t.Error("the focus was lost by opening")
	}
	p.do(chromedp.KeyEvent("\t"))
	if !look[bool](p, `document.activeElement.closest(".near .keys") !== null`) {
		t.Errorf("the tab key leads to %s, not into what was opened", look[string](p, `look.name(document.activeElement)`))
	}
	picture := look[string](p, `document.querySelector(".near canvas").toDataURL()`)
	p.do(chromedp.KeyEvent("\r"))
	p.wait(fmt.Sprintf(`document.querySelector(".near canvas").toDataURL() !== %q`, picture), "nearer")
	look[bool](p, first+`.focus(), true`)
	p.do(chromedp.KeyEvent("\r"))
	shut("by keyboard")
	// By mouse.
	p.click("button.zoom")
	p.wait(inked, "drawn by mouse")
	p.click("button.zoom")
	p.wait(first+`.getAttribute("aria-expanded") === "false"`, "closed by mouse")
	shut("by mouse")
}

// A link to a probe, as the crew's page and other tables write it, shows the probe.
func TestReportLeadsToAProbe(t *testing.T) {
	address := page(t, runs.demo, "report.html")
	all := look[[]string](open(t, address, desk), `look.all("[id^=probe-]").map((e) => e.id)`)
	if len(all) < 100 {
		t.Fatalf("%d probes can be linked to", len(all))
	}
	closed := look[[]string](open(t, address, desk), `look.all("details:not([open]) [id^=probe-]").map((e) => e.id)`)
	for _, id := range append([]string{all[0], all[len(all)/2], all[len(all)-1]}, closed...) {
		for _, v := range []view{desk, phone} {
			p := open(t, address+"#"+id, v)
			p.wait(fmt.Sprintf(`(() => { const e = document.getElementById(%q), r = (e.getClientRects().length && e.getBoundingClientRect().height ? e : e.parentElement).getBoundingClientRect(); return r.height > 0 && r.top > -5 && r.top < innerHeight; })()`, id), "showing "+id)
		}
	}
}

// The keyboard goes through the page, and it is seen where it is.
func TestFocusIsSeen(t *testing.T) {
	type ring struct {
		Name, Style     string
		Body, Inside    bool
		Width, Contrast float64
	}
	for _, c := range []struct{ run, name string }{{runs.demo, "crew.html"}, {runs.demo, "report.html"}} {
		for _, v := range []view{desk, deskDark} {
			t.Run(c.name+"/"+v.name, func(t *testing.T) {
				p := open(t, page(t, c.run, c.name), v)
				seen := map[string]bool{}
				for range 60 {
					p.do(chromedp.KeyEvent("\t"))
					r := look[ring](p, `(({name, style, body, inside, width, contrast}) => ({Name: name, Style: style, Body: body, Inside: inside, Width: width, Contrast: contrast}))(look.ring())`)
					if r.Body {
						break
					}
					seen[r.Name] = true
					if r.Style == "none" || r.Width < 2 || r.Contrast < 3 || !r.Inside {
						t.Errorf("focus on %s: outline %s, %.1f px, %.1f to 1, on the screen: %t", r.Name, r.Style, r.Width, r.Contrast, r.Inside)
					}
				}
				if len(seen) < 20 {
					t.Errorf("the keyboard reaches %d places only", len(seen))
				}
			})
		}
	}
}

func TestReportWithoutScripts(t *testing.T) {
	v := desk
	v.noScripts = true
	p := open(t, page(t, runs.demo, "report.html"), v)
	for _, part := range []string{"form", "button", "select", ".near"} {
		if n := look[int](p, `look.all("`+part+`").filter(look.seen).length`); n != 0 {
			t.Errorf("%d of %s can be seen and do nothing", n, part)
		}
	}
	for part, least := range map[string]int{"main > section": 6, "#t-health tbody tr": 120, "#t-matrix tbody tr": 120, "#cards article": 10, "svg.ch": 10, ".zone": 5, ".stops > li": 5} {
		look[bool](p, `look.all("details").forEach((d) => d.open = true), true`)
		if n := look[int](p, `look.all("`+part+`").filter(look.seen).length`); n < least {
			t.Errorf("%d of %s can be seen, want %d or more", n, part, least)
		}
	}
}

func TestReportOnPaper(t *testing.T) {
	p := open(t, page(t, runs.demo, "report.html"), paper)
	for _, part := range []string{"form", "button:not(th button)", "nav"} {
		if n := look[int](p, `look.all("`+part+`").filter(look.seen).length`); n != 0 {
			t.Errorf("%d of %s are printed", n, part)
		}
	}
	printed(t, p, 60)
}

// A page of 500 charts: its bytes are bound, its seconds are told.
func TestReportOfFiveHundredCharts(t *testing.T) {
	info, err := os.Stat(runs.many)
	if err != nil {
		t.Fatal(err)
	}
	start := time.Now()
	p := open(t, "file://"+runs.many, desk)
	charts := look[int](p, `look.all("svg.ch").length`)
	t.Logf("%d charts, %.1f MB: read in %.2f s, with the browser's way there %.2f s", charts, float64(info.Size())/1e6,
		look[float64](p, `performance.getEntriesByType("navigation")[0].loadEventEnd / 1000`), time.Since(start).Seconds())
	if charts < 400 {
		t.Errorf("%d charts; this test would prove nothing", charts)
	}
	if info.Size() > 10e6 {
		t.Errorf("%d bytes, over 10 MB", info.Size())
	}
	p.none("look.wide(1280)", "sideways")
}
