package crew

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

func style(t *testing.T) string {
	t.Helper()
	b, err := assets.ReadFile("assets/style.css")
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

var (
	roots    = regexp.MustCompile(`(?s):root \{(.*?)\}`)
	property = regexp.MustCompile(`--([a-z-]+):\s*(#[0-9a-f]{6}|[0-9]+px)`)
	anyHex   = regexp.MustCompile(`#[0-9a-fA-F]{3,8}\b`)
)

// schemesOf gives the custom properties of the light, the dark and the printed page;
// what a later one leaves out is the first's.
func schemesOf(t *testing.T) map[string]map[string]string {
	t.Helper()
	blocks := roots.FindAllStringSubmatch(style(t), -1)
	if len(blocks) != 3 {
		t.Fatalf("%d blocks of custom properties, want light, dark and print", len(blocks))
	}
	out := map[string]map[string]string{}
	for i, name := range []string{"light", "dark", "print"} {
		out[name] = map[string]string{}
		for k, v := range out["light"] {
			out[name][k] = v
		}
		for _, p := range property.FindAllStringSubmatch(blocks[i][1], -1) {
			out[name][p[1]] = p[2]
		}
	}
	return out
}

// luminance and contrast as WCAG 2.2 defines them (relative luminance, contrast
// ratio; checked against its black on white of 21).
func luminance(hex string) float64 {
	l := 0.0
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		n, _ := strconv.ParseUint(hex[1+2*i:3+2*i], 16, 8)
		c := float64(n) / 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		l += weight * c
	}
	return l
}

func contrast(a, b string) float64 {
	x, y := luminance(a), luminance(b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

func TestContrast(t *testing.T) {
	if got := contrast("#000000", "#ffffff"); math.Abs(got-21) > 1e-9 {
		t.Fatalf("black on white is %v", got)
	}
	for name, c := range schemesOf(t) {
		for _, text := range [][2]string{
			{"ink", "paper"}, {"ink", "card"}, {"ink", "tint"}, {"soft", "paper"}, {"soft", "card"}, {"soft", "tint"},
			{"wine", "paper"}, {"wine", "card"}, {"wine", "tint"}, {"on-wine", "wine"}, {"on-ochre", "ochre"}, {"paper", "ink"},
		} {
			if name == "print" && text[0] == "on-wine" {
				continue // nothing is printed on a dark ground
			}
			if got := contrast(c[text[0]], c[text[1]]); got < 7 {
				t.Errorf("%s: %s on %s has a contrast of %.2f, under 7", name, text[0], text[1], got)
			}
		}
		for _, edge := range [][2]string{{"line", "paper"}, {"line", "card"}, {"line", "tint"}, {"focus", "paper"}, {"focus", "card"}, {"focus", "tint"}} {
			if got := contrast(c[edge[0]], c[edge[1]]); got < 3 {
				t.Errorf("%s: %s on %s has a contrast of %.2f, under 3", name, edge[0], edge[1], got)
			}
		}
	}
}

// Every colour is a custom property, so that the contrasts above are all there are.
func TestColoursStandInOnePlace(t *testing.T) {
	rest := roots.ReplaceAllString(style(t), "")
	if found := anyHex.FindString(strings.ReplaceAll(rest, "#text", "")); found != "" && !strings.Contains("#send-body #missing", found) {
		t.Errorf("%s stands outside of the custom properties", found)
	}
	for _, word := range []string{"rgb(", "rgba(", "hsl(", ": white", ": black", "opacity"} {
		if strings.Contains(rest, word) {
			t.Errorf("%q stands outside of the custom properties", word)
		}
	}
	defined := schemesOf(t)["light"]
	for _, use := range regexp.MustCompile(`var\(--([a-z-]+)\)`).FindAllStringSubmatch(rest, -1) {
		if defined[use[1]] == "" {
			t.Errorf("--%s is used and not defined", use[1])
		}
	}
}

func TestWhatIsTappedIsLarge(t *testing.T) {
	if got := schemesOf(t)["light"]["tap"]; got != "48px" {
		t.Errorf("a tap needs %s, want 48px", got)
	}
	css := regexp.MustCompile(`(?s)@media print.*`).ReplaceAllString(style(t), "")
	for _, selector := range []string{"button, .button", "select, input, textarea", "summary", ".glance a", ".plan td a", "#missing a", ".skip"} {
		rule := regexp.MustCompile(`(?s)(?:^|\n)` + regexp.QuoteMeta(selector) + ` \{([^}]*)\}`).FindStringSubmatch(css)
		if rule == nil || !strings.Contains(rule[1], "min-height: var(--tap)") {
			t.Errorf("%q may be less than a tap high", selector)
		}
	}
}

func TestPaperKeepsAStopTogether(t *testing.T) {
	css := style(t)
	paper := css[strings.Index(css, "@media print"):]
	for _, rule := range []string{".stop { break-inside: avoid;", ".ruled", "@page"} {
		if !strings.Contains(paper, rule) {
			t.Errorf("the printed page has no %q", rule)
		}
	}
}
