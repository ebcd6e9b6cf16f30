package browser

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// bad is a page on which everything that the tests measure is wrong.
const bad = `<!doctype html><meta name="viewport" content="width=device-width"><title>bad</title>
<body style="background:#fff"><p style="color:#777">grey words</p><p style="color:rgb(0 0 0 / 40%)">thin words</p>
<svg width="90" height="30"><g><rect width="90" height="30" fill="#222"/><text y="20" fill="#444">dark on dark</text></g></svg>
<div style="width:500px">wide</div><button style="width:20px;height:20px"></button>
<img src="http://probes.invalid/pixel.png"><script>throw new Error("broken script")</script></body>`

// The measures themselves: what is wrong is seen, and told.
func TestMeasuresSeeWhatIsWrong(t *testing.T) {
	path := filepath.Join(t.TempDir(), "bad.html")
	if err := os.WriteFile(path, []byte(bad), 0o644); err != nil {
		t.Fatal(err)
	}
	p := open(t, "file://"+path, phone)
	words := strings.Join(look[[]string](p, `look.faint(7)`), "\n")
	for _, want := range []string{"grey words", "thin words", "dark on dark"} {
		if !strings.Contains(words, want) {
			t.Errorf("%q is faint, and it is not told: %s", want, words)
		}
	}
	if strings.Contains(words, "wide") {
		t.Errorf("black on white is called faint: %s", words)
	}
	// Grey #777 on white is 4.48 to 1 (the example of many WCAG texts; derived from its formula).
	if !strings.Contains(words, "has 4.48 to 1") {
		t.Errorf("the contrast of #777 on white is not 4.48: %s", words)
	}
	if n := look[int](p, `look.narrow(48).length`); n != 1 {
		t.Errorf("%d small buttons, want 1", n)
	}
	if n := look[int](p, `look.wide(390).length`); n < 2 {
		t.Error("what is wider than the screen is not told")
	}
	p.do(chromedp.Evaluate[chromedp.Void](axeScript))
	got := look[struct{ Violations []string }](p, "look.violations("+wcag+", false)")
	for _, rule := range []string{"image-alt", "button-name", "html-has-lang", "color-contrast"} {
		if !slices.ContainsFunc(got.Violations, func(v string) bool { return strings.HasPrefix(v, rule+" at ") }) {
			t.Errorf("%s is not found: %q", rule, got.Violations)
		}
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if !slices.Equal(p.asked, []string{"http://probes.invalid/pixel.png"}) {
		t.Errorf("the page asked for a picture, and told are %q", p.asked)
	}
	if !strings.Contains(strings.Join(p.wrong, "\n"), "broken script") {
		t.Errorf("the script broke, and told are %q", p.wrong)
	}
	p.asked, p.wrong = nil, nil
}
