// What the tests measure on a page.
var look = (() => {
  const all = (q, root = document) => Array.from(root.querySelectorAll(q));
  // seen: is drawn, has a size, and is not cut away for screen readers only.
  const seen = (e) => {
    if (!e.checkVisibility({ opacityProperty: true, visibilityProperty: true, contentVisibilityAuto: false })) return false;
    const r = e.getBoundingClientRect();
    return r.width > 1 && r.height > 1 && getComputedStyle(e).clipPath !== "inset(50%)";
  };
  const canvas = new OffscreenCanvas(1, 1).getContext("2d", { willReadFrequently: true });
  const rgba = (css) => {
    canvas.clearRect(0, 0, 1, 1);
    canvas.fillStyle = css;
    canvas.fillRect(0, 0, 1, 1);
    const [r, g, b, a] = canvas.getImageData(0, 0, 1, 1).data;
    return [r, g, b, a / 255];
  };
  const over = (top, under) => [0, 1, 2].map((k) => top[k] * top[3] + under[k] * (1 - top[3])).concat(1);
  const level = (c) => {
    const [r, g, b] = c.slice(0, 3).map((v) => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; });
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  // Relative luminance and contrast as WCAG 2.2 defines them.
  const contrast = (a, b) => { const x = level(a), y = level(b); return (Math.max(x, y) + 0.05) / (Math.min(x, y) + 0.05); };
  // ground: what is painted behind an element, up to the first that hides all behind it.
  const ground = (e) => {
    const layers = [];
    for (let n = e; n; n = n.parentElement) {
      const box = n.closest("g") && Array.from(n.parentElement ? n.parentElement.children : []).find((c) => c.tagName === "rect" && c !== n);
      if (n instanceof SVGElement && box) { layers.push(rgba(getComputedStyle(box).fill)); }
      const c = rgba(getComputedStyle(n).backgroundColor);
      if (c[3] > 0) layers.push(c);
      if (layers.length && layers[layers.length - 1][3] === 1) break;
    }
    return layers.reverse().reduce((under, top) => over(top, under), rgba("Canvas"));
  };
  const name = (e) => e.tagName.toLowerCase() + (e.id ? "#" + e.id : "") + Array.from(e.classList, (c) => "." + c).join("") +
    " “" + (e.textContent || e.value || "").trim().replace(/\s+/g, " ").slice(0, 40) + "”";

  // faint: words below a contrast, each look of them once.
  const faint = (least) => {
    const bad = new Map();
    let words = 0;
    const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    const test = (e) => {
      words++;
      const style = getComputedStyle(e), under = ground(e);
      const ink = over(rgba(e instanceof SVGElement ? style.fill : style.color), under);
      const ratio = contrast(ink, under);
      const key = e.tagName + e.className + style.color;
      if (ratio < least && !bad.has(key)) bad.set(key, name(e) + " has " + ratio.toFixed(2) + " to 1, less than " + least);
    };
    while (walk.nextNode()) {
      const e = walk.currentNode.parentElement;
      if (walk.currentNode.data.trim() && !["SCRIPT", "STYLE", "OPTION", "TITLE", "DESC"].includes(e.tagName) && seen(e)) test(e);
    }
    all("input, select, textarea").filter(seen).forEach(test);
    if (!words) bad.set("", "no words were found: the check would prove nothing");
    return Array.from(bad.values());
  };

  // narrow: what is tapped and smaller than so many px.
  const narrow = (least) => {
    const list = all("a[href], button, select, input, textarea, summary").filter(seen).filter((e) => !e.classList.contains("skip"));
    const bad = list.filter((e) => {
      const r = e.getBoundingClientRect();
      return Math.min(r.width, r.height) < least - 0.01;
    }).map((e) => { const r = e.getBoundingClientRect(); return name(e) + " is " + r.width.toFixed(1) + " × " + r.height.toFixed(1) + " px"; });
    return list.length ? bad : ["nothing to tap was found: the check would prove nothing"];
  };

  // wide: how far the page can be pushed sideways, and by what.
  const wide = (width) => {
    const page = document.documentElement;
    if (page.scrollWidth <= width && innerWidth <= width) return [];
    const clipped = (e) => { for (let n = e.parentElement; n && n !== document.body; n = n.parentElement) if (getComputedStyle(n).overflowX !== "visible") return true; return false; };
    return ["the page is " + page.scrollWidth + " px wide on " + width].concat(all("body *").filter((e) => e.getBoundingClientRect().right > width + 0.5 && !clipped(e)).slice(0, 5).map(name));
  };

  // axe in full: with what a browser would leave undrawn off the screen. Nobody taps
  // on paper.
  const violations = async (tags, printed) => {
    const style = document.createElement("style");
    style.textContent = "* { content-visibility: visible !important; }";
    document.head.append(style);
    const r = await axe.run(document, { runOnly: { type: "tag", values: tags }, resultTypes: ["violations", "incomplete"], preload: false,
      rules: { "target-size": { enabled: !printed } } });
    style.remove();
    const lines = (list) => list.flatMap((v) => v.nodes.slice(0, 6).map((n) => v.id + " at " + n.target.join(" ") + ": " + v.help + ". " + n.failureSummary.replace(/\s+/g, " ")).concat(v.nodes.length > 6 ? [v.id + ": " + (v.nodes.length - 6) + " more places"] : []));
    return { passes: r.passes.length, violations: lines(r.violations), unsure: r.incomplete.map((v) => v.id + " × " + v.nodes.length + ", like " + v.nodes[0].target.join(" ")) };
  };

  // ring: how keyboard focus is shown on the element that has it.
  const ring = () => {
    const e = document.activeElement, s = getComputedStyle(e), r = e.getBoundingClientRect();
    const ground_ = e.parentElement ? ground(e.parentElement) : rgba("Canvas");
    return { name: name(e), body: e === document.body, style: s.outlineStyle, width: parseFloat(s.outlineWidth), contrast: contrast(over(rgba(s.outlineColor), ground_), ground_),
      inside: r.bottom > 0 && r.top < innerHeight && r.right > 0 && r.left < innerWidth };
  };
  return { all, seen, faint, narrow, wide, violations, ring, name };
})();
