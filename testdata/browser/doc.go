// Package browser proves the two pages of a run in a real browser: crew.html and
// report.html are opened in headless Chromium, as a desk, a phone and a printer show
// them, and used as a person would.
//
// It is a module of its own, so that the browser's protocol is no dependency of
// probeward. It builds probeward, makes invented vineyards, scans them and opens what
// came out. No page may ask for anything but itself: every request is recorded, and
// names are not resolved.
//
// Run it with make browser. Without Chromium the tests are skipped; where CI=true is
// set they fail instead. CHROMIUM names another executable, PROBEWARD a binary that is
// already built. With BROWSER_SHOTS=DIR
// each page is kept as pictures and as a PDF, to look at.
//
// The folder axe holds axe-core 4.14.1, unchanged, with its licences (MPL 2.0 and
// those of its parts).
package browser
