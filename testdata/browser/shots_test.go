package browser

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	pagedom "github.com/chromedp/cdproto/page"
)

// TestPictures keeps the pages as pictures, in pieces of a screen or two, and as PDF.
// It proves nothing: it is there to look.
func TestPictures(t *testing.T) {
	dir := os.Getenv("BROWSER_SHOTS")
	if dir == "" {
		t.Skip("skipped: BROWSER_SHOTS names no folder for pictures")
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	keep := func(name string, b []byte) {
		if err := os.WriteFile(filepath.Join(dir, name), b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct{ title, address string }{
		{"crew", page(t, runs.plan, "crew.html")}, {"report", page(t, runs.demo, "report.html")},
		{"none-crew", page(t, runs.none, "crew.html")}, {"none-report", page(t, runs.none, "report.html")},
	} {
		for _, v := range []view{desk, deskDark, phone} {
			if only := os.Getenv("BROWSER_VIEW"); only != "" && only != v.name {
				continue
			}
			p := open(t, c.address, v)
			name := c.title + "-" + strings.ReplaceAll(v.name, " ", "-")
			// What a browser leaves undrawn off the screen would be empty in a picture.
			whole := look[float64](p, `document.head.append(Object.assign(document.createElement("style"), { textContent: "* { content-visibility: visible !important; }" })), document.documentElement.scrollHeight`)
			const piece = 1600.0
			for k := 0; float64(k)*piece < whole && k < 12; k++ {
				look[bool](p, fmt.Sprintf(`(async () => { scrollTo(0, %f); await new Promise((d) => setTimeout(d, 80)); return true; })()`, float64(k)*piece))
				b := call(p, pagedom.CaptureScreenshot, pagedom.CaptureScreenshotParams{CaptureBeyondViewport: new(true),
					Clip: &pagedom.Viewport{Y: float64(k) * piece, Width: float64(v.width), Height: min(piece, whole-float64(k)*piece), Scale: 1}})
				keep(fmt.Sprintf("%s-%02d.png", name, k), b.Data)
			}
		}
		p := open(t, c.address, paper)
		pdf, err := chromedp.Run(p.ctx, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4), chromedp.PDFPreferCSSPageSize(), chromedp.PDFPrintBackground()))
		if err != nil {
			t.Fatal(err)
		}
		keep(c.title+".pdf", pdf)
	}
}
