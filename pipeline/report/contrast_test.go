package report

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// WCAG 2.2, 1.4.3 and 1.4.11: text 4.5, what carries meaning in a chart 3 (checked
// against the published formula of relative luminance).
const (
	textRatio  = 4.5
	shapeRatio = 3.0
)

// pairs lists each colour with every bed it stands on.
var pairs = []struct {
	ink, beds string
	least     float64
}{
	{"ink", "paper sheet note alert good window", textRatio},
	{"soft", "paper sheet note plot", textRatio},
	{"link", "paper sheet note alert", textRatio},
	{"fit", "paper sheet note good", textRatio}, {"doubtful", "paper sheet note", textRatio}, {"unfit", "paper sheet note alert", textRatio},
	{"silent", "paper sheet note", textRatio}, {"settling", "paper sheet note", textRatio}, {"water", "paper sheet note", textRatio},
	{"sheet", "unfit", textRatio}, // the F of the matrix
	{"on-bar", "bar", textRatio}, {"on-bar-soft", "bar", textRatio},
	{"focus", "paper sheet note plot", shapeRatio}, {"edge", "sheet note", shapeRatio},
	{"usable", "plot hatch-bed window", shapeRatio}, {"raw", "plot hatch-bed window", shapeRatio}, {"near", "plot", shapeRatio},
	{"bracket", "sheet window", shapeRatio}, {"rain", "sheet", shapeRatio}, {"irrigation", "sheet window", shapeRatio},
}

// quiet are colours that nobody has to see to understand: beds, rules, the hatch
// whose stretches the text tells, too.
var quiet = strings.Fields("paper sheet note alert good window plot hatch-bed bar rule grid hatch hair")

func TestContrast(t *testing.T) {
	b, err := files.ReadFile("page.css")
	if err != nil {
		t.Fatal(err)
	}
	css := string(b)
	roots := regexp.MustCompile(`(?s):root \{(.*?)\}`).FindAllStringSubmatch(css, -1)
	if len(roots) != 2 {
		t.Fatalf("%d sets of colours, want a light and a dark one", len(roots))
	}
	property := regexp.MustCompile(`--([a-z-]+): (#[0-9a-f]{6});`)
	colours := map[string]string{}
	for n, name := range []string{"light", "dark"} {
		for _, m := range property.FindAllStringSubmatch(roots[n][1], -1) {
			colours[m[1]] = m[2]
		}
		for _, p := range pairs {
			for _, bed := range strings.Fields(p.beds) {
				if got := ratio(t, colours[p.ink], colours[bed]); got < p.least {
					t.Errorf("%s: %s on %s has a contrast of %.2f, want %.1f", name, p.ink, bed, got, p.least)
				}
			}
		}
	}
	for c := range colours {
		seen := strings.Contains(" "+strings.Join(quiet, " ")+" ", " "+c+" ")
		for _, p := range pairs {
			seen = seen || p.ink == c
		}
		if !seen {
			t.Errorf("the colour %s is held to no contrast", c)
		}
	}
	rest := regexp.MustCompile(`(?s):root \{.*?\}`).ReplaceAllString(css, "")
	if m := regexp.MustCompile(`#[0-9a-fA-F]{3,8}\b|rgba?\(|hsl`).FindString(strings.ReplaceAll(rest, "url(#hx)", "")); m != "" && !strings.HasPrefix(m, "#fx") {
		t.Errorf("the colour %s stands outside of the properties, where no test sees it", m)
	}
}

// ratio of two colours by WCAG's relative luminance.
func ratio(t *testing.T, a, b string) float64 {
	x, y := luminance(t, a), luminance(t, b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

func luminance(t *testing.T, c string) float64 {
	if len(c) != 7 {
		t.Fatalf("%q is no colour", c)
	}
	sum := 0.0
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		v, err := strconv.ParseUint(c[1+2*i:3+2*i], 16, 8)
		if err != nil {
			t.Fatal(err)
		}
		s := float64(v) / 255
		if s <= 0.04045 {
			s /= 12.92
		} else {
			s = math.Pow((s+0.055)/1.055, 2.4)
		}
		sum += weight * s
	}
	return sum
}

func TestRatioIsThePublishedOne(t *testing.T) {
	if got := fmt.Sprintf("%.2f %.2f", ratio(t, "#000000", "#ffffff"), ratio(t, "#777777", "#ffffff")); got != "21.00 4.48" {
		t.Errorf("contrast of black and of #777 on white: %s, want 21.00 and 4.48 (WCAG 2.2, techniques; from memory)", got)
	}
}
