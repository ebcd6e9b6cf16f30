package browser

import (
	"context"
	_ "embed"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	cdpbrowser "github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	pagedom "github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

//go:embed js/look.js
var lookScript string

//go:embed axe/axe.min.js
var axeScript string

// chromium is the running browser.
var chromium context.Context

// executable finds Chromium: CHROMIUM, or one of Debian's names.
func executable() (string, error) {
	if name := os.Getenv("CHROMIUM"); name != "" {
		return exec.LookPath(name)
	}
	for _, name := range []string{"chromium", "chromium-browser"} {
		if path, err := exec.LookPath(name); err == nil {
			return path, nil
		}
	}
	return "", fmt.Errorf("there is no chromium in the PATH: apt-get install chromium, or name one in CHROMIUM")
}

func TestMain(m *testing.M) {
	os.Exit(run(m))
}

// run starts the browser with a profile that is thrown away, and no network: nothing
// is resolved, and what does not need resolving goes to a closed port.
func run(m *testing.M) int {
	path, err := executable()
	if err != nil {
		if os.Getenv("CI") == "true" {
			fmt.Fprintln(os.Stderr, "the browser tests cannot run:", err)
			return 1
		}
		fmt.Fprintln(os.Stderr, "skipped: the pages were not opened in a browser:", err)
		return 0
	}
	if err := makeRuns(); err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer os.RemoveAll(runs.dir)
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.UserDataDir(filepath.Join(runs.dir, "profile")),
		chromedp.Flag("host-resolver-rules", "MAP * ~NOTFOUND"), chromedp.Flag("proxy-server", "127.0.0.1:9"),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-dev-shm-usage", true))
	allocated, stop := chromedp.NewExecAllocator(context.Background(), options...)
	defer stop()
	ctx, quit := chromedp.NewContext(allocated)
	defer quit()
	if _, err := chromedp.Run(ctx, chromedp.Location()); err != nil {
		fmt.Fprintln(os.Stderr, "chromium does not start:", err)
		return 1
	}
	chromium = ctx
	return m.Run()
}

// view is how a page is looked at.
type view struct {
	name          string
	width, height int64
	phone         bool   // a touch screen with two dots to a pixel
	dark          bool   // the reader's system is dark
	print         bool   // as it is printed
	noScripts     bool   // scripts are off
	first         string // a script that runs before those of the page
}

var (
	desk      = view{name: "desk", width: 1280, height: 900}
	deskDark  = view{name: "desk dark", width: 1280, height: 900, dark: true}
	phone     = view{name: "phone", width: 390, height: 844, phone: true}
	phoneDark = view{name: "phone dark", width: 390, height: 844, phone: true, dark: true}
	small     = view{name: "small phone", width: 320, height: 568, phone: true}
	paper     = view{name: "paper", width: 703, height: 1000, print: true} // A4 less its margins, at 96 dots an inch
)

// tab is one open page.
type tab struct {
	t         *testing.T
	ctx       context.Context
	downloads string
	dialog    string // the text of the last dialog, which was accepted
	mu        sync.Mutex
	asked     []string // requests other than the page itself
	wrong     []string // errors that the page or the browser wrote
}

// open opens an address in a browser context of its own. When the test ends, it fails
// if the page asked for anything but itself or wrote an error.
func open(t *testing.T, address string, v view) *tab {
	t.Helper()
	ctx, quit := chromedp.NewContext(chromium, chromedp.WithNewBrowserContext())
	ctx, late := context.WithTimeout(ctx, 5*time.Minute)
	p := &tab{t: t, ctx: ctx, downloads: t.TempDir()}
	bare, _, _ := strings.Cut(address, "#")
	heard := func(event any) {
		p.mu.Lock()
		defer p.mu.Unlock()
		switch e := event.(type) {
		case *network.EventRequestWillBeSent:
			if asked, _, _ := strings.Cut(e.Request.URL, "#"); asked != bare && !strings.HasPrefix(asked, "blob:") {
				p.asked = append(p.asked, e.Request.URL)
			}
		case *runtime.EventExceptionThrown:
			p.wrong = append(p.wrong, thrown(e.ExceptionDetails))
		case *log.EventEntryAdded:
			if e.Entry.Level == log.EntryLevelError || e.Entry.Level == log.EntryLevelWarning {
				p.wrong = append(p.wrong, e.Entry.Text)
			}
		case *pagedom.EventJavascriptDialogOpening:
			p.dialog = e.Message
			go chromedp.Call(ctx, pagedom.HandleJavaScriptDialog, pagedom.HandleJavaScriptDialogParams{Accept: true})
		}
	}
	size := []chromedp.EmulateViewportOption{}
	if v.phone {
		size = append(size, chromedp.EmulateScale(2), chromedp.EmulateMobile, chromedp.EmulateTouch)
	}
	media, scheme := "screen", "light"
	if v.print {
		media = "print"
	}
	if v.dark {
		scheme = "dark"
	}
	if err := chromedp.Listen(ctx, heard); err != nil {
		t.Fatal(err)
	}
	call(p, network.Enable, network.EnableParams{})
	call(p, log.Enable, cdp.Empty{})
	p.do(chromedp.EmulateViewport(v.width, v.height, size...))
	call(p, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: media, Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
	call(p, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: v.noScripts})
	if _, err := chromedp.CallBrowser(ctx, cdpbrowser.SetDownloadBehavior, cdpbrowser.SetDownloadBehaviorParams{
		Behavior: cdpbrowser.SetDownloadBehaviorBehaviorAllow, DownloadPath: p.downloads, BrowserContextID: chromedp.FromContext(ctx).BrowserContextID}); err != nil {
		t.Fatal(err)
	}
	if v.first != "" {
		call(p, pagedom.AddScriptToEvaluateOnNewDocument, pagedom.AddScriptToEvaluateOnNewDocumentParams{Source: v.first})
	}
	p.do(chromedp.Navigate(address))
	t.Cleanup(func() {
		late()
		quit()
		p.mu.Lock()
		defer p.mu.Unlock()
		for _, a := range p.asked {
			t.Errorf("the page asked for %s: it must need nothing but itself", a)
		}
		for _, w := range p.wrong {
			t.Errorf("the browser complains: %s", w)
		}
	})
	return p
}

func (p *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	if err := chromedp.Do(p.ctx, steps...); err != nil {
		p.t.Fatal(err)
	}
}

// call sends one command of the protocol.
func call[P, R any](p *tab, cmd cdp.Command[P, R], params P) R {
	p.t.Helper()
	out, err := chromedp.Call(p.ctx, cmd, params)
	if err != nil {
		p.t.Fatal(err)
	}
	return out
}

func thrown(e *runtime.ExceptionDetails) string {
	if e.Exception != nil && e.Exception.Description != "" {
		return e.Text + " " + e.Exception.Description
	}
	return e.Text
}

// look gives what an expression of the page's language is, after look.js was read.
func look[T any](p *tab, expression string) T {
	p.t.Helper()
	p.do(chromedp.Evaluate[chromedp.Void](`if (typeof look === "undefined") { ` + lookScript + ` globalThis.look = look; }`))
	out, err := chromedp.Run(p.ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		p.t.Fatalf("%s: %v", expression, err)
	}
	return out
}

// wait waits until an expression holds.
func (p *tab) wait(expression, what string) {
	p.t.Helper()
	for range 1200 {
		if look[bool](p, expression) {
			return
		}
		time.Sleep(25 * time.Millisecond)
	}
	p.t.Fatalf("half a minute later: not %s", what)
}

// none fails with each line of a list of complaints.
func (p *tab) none(expression, what string) {
	p.t.Helper()
	list := look[[]string](p, expression)
	for k, line := range list {
		if k == 20 {
			p.t.Errorf("and %d more", len(list)-k)
			break
		}
		p.t.Errorf("%s: %s", what, line)
	}
}

// click brings an element to the middle of the screen, lets the page settle, as a
// person does, and clicks there.
func (p *tab) click(selector string) {
	p.t.Helper()
	look[bool](p, fmt.Sprintf(`(async () => { for (let k = 0; k < 3; k++) { document.querySelector(%q).scrollIntoView({ block: "center" });
		await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))); } return true; })()`, selector))
	p.do(chromedp.Click(chromedp.CSS(selector)))
}
