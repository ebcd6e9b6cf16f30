package browser

import (
	"strconv"
	"testing"

	"github.com/chromedp/chromedp"
)

// wcag are axe-core's tags for levels A and AA of WCAG 2.0, 2.1 and 2.2.
const wcag = `["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22a", "wcag22aa"]`

// Everything that a rule of axe-core finds fails; what it cannot decide is printed
// with -v.
func TestNoAccessibilityRuleIsBroken(t *testing.T) {
	every := []view{desk, deskDark, phone, phoneDark, paper}
	some := []view{desk, phoneDark}
	for _, c := range []struct {
		title, run, name string
		views            []view
	}{
		{"crew", runs.demo, "crew.html", every},
		{"report", runs.demo, "report.html", every},
		{"crew with a plan", runs.plan, "crew.html", some},
		{"nothing to visit", runs.none, "crew.html", some},
		{"nothing found", runs.none, "report.html", some},
		{"crew, spiteful names", runs.spiteful, "crew.html", some},
		{"report, spiteful names", runs.spiteful, "report.html", some[1:]},
	} {
		for _, v := range c.views {
			t.Run(c.title+"/"+v.name, func(t *testing.T) {
				t.Parallel()
				p := open(t, page(t, c.run, c.name), v)
				// What is folded is read too, and one closer look is open.
				look[bool](p, `look.all("details").forEach((d) => d.open = true), true`)
				if zoom := `look.all("button.zoom")[0]`; look[bool](p, `!!`+zoom+` && look.seen(`+zoom+`)`) {
					look[bool](p, zoom+`.click(), true`)
					p.wait(`!!document.querySelector(".near canvas")`, "a closer look")
				}
				p.do(chromedp.Evaluate[chromedp.Void](axeScript))
				got := look[struct {
					Passes             int
					Violations, Unsure []string
				}](p, "look.violations("+wcag+", "+strconv.FormatBool(v.print)+")")
				for _, line := range got.Violations {
					t.Error(line)
				}
				for _, line := range got.Unsure {
					t.Log("not decided: ", line)
				}
				if got.Passes < 10 {
					t.Errorf("only %d rules of axe-core passed; this test would prove nothing", got.Passes)
				}
			})
		}
	}
}
